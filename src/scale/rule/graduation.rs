//! Which unit a row of ticks is graduated in, from which ticks are longer.
//!
//! Metric rules draw every fifth and tenth millimetre longer, half millimetres
//! shorter; inch rules draw every second, fourth, eighth … fraction longer
//! (common practice of rule makers; ISO and JIS leave the lengths open). The
//! period of that pattern in ticks, not any length in pixels, names the unit.

use crate::base::numeric::median;

/// A graduation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Graduation {
    /// Whole millimetres.
    Millimetre,
    /// Half millimetres.
    HalfMillimetre,
    /// Fractions of an inch: the denominator of the smallest.
    Inch(u32),
}

impl Graduation {
    /// All that are read.
    pub const ALL: [Self; 6] = [
        Self::Millimetre,
        Self::HalfMillimetre,
        Self::Inch(8),
        Self::Inch(16),
        Self::Inch(32),
        Self::Inch(64),
    ];

    /// Distance of neighbouring ticks, mm.
    pub fn pitch_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::HalfMillimetre => 0.5,
            Self::Inch(n) => 25.4 / f64::from(n),
        }
    }

    /// As a person would say it.
    pub fn name(self) -> String {
        match self {
            Self::Millimetre => "whole millimetres".to_owned(),
            Self::HalfMillimetre => "half millimetres".to_owned(),
            Self::Inch(n) => format!("1/{n} inch"),
        }
    }

    /// How far `ticks` graduations are, as read off the rule.
    pub fn place(self, ticks: i32) -> String {
        match self {
            Self::Millimetre | Self::HalfMillimetre => {
                format!("{} mm", f64::from(ticks) * self.pitch_mm())
            }
            Self::Inch(n) => {
                let n = n as i32;
                let (whole, over) = (ticks / n, ticks % n);
                // Lowest terms: the denominator is a power of two.
                let shared = 1 << over.trailing_zeros().min(n.trailing_zeros());
                match (whole, over) {
                    (_, 0) => format!("{whole} in"),
                    (0, _) => format!("{}/{} in", over / shared, n / shared),
                    _ => format!("{whole} {}/{} in", over / shared, n / shared),
                }
            }
        }
    }

    /// Whether it is an inch graduation.
    pub fn is_inch(self) -> bool {
        matches!(self, Self::Inch(_))
    }

    /// Ticks until the pattern of lengths repeats.
    pub fn cycle(self) -> i32 {
        match self {
            Self::Millimetre => 10,
            Self::HalfMillimetre => 20,
            Self::Inch(n) => n as i32,
        }
    }

    /// How many lengths of tick it has.
    fn ranks(self) -> usize {
        match self {
            Self::Millimetre => 3,
            Self::HalfMillimetre => 4,
            Self::Inch(n) => n.trailing_zeros() as usize + 1,
        }
    }

    /// Rank of the tick `index` places after a longest one; higher is longer.
    fn rank(self, index: i32) -> usize {
        let i = index.rem_euclid(self.cycle());
        match self {
            Self::Millimetre if i == 0 => 2,
            Self::Millimetre => usize::from(i == 5),
            Self::HalfMillimetre if i == 0 => 3,
            Self::HalfMillimetre if i == 10 => 2,
            Self::HalfMillimetre => usize::from(i % 2 == 0),
            Self::Inch(n) if i == 0 => n.trailing_zeros() as usize,
            Self::Inch(_) => i.trailing_zeros() as usize,
        }
    }
}

/// A graduation that tick lengths allow.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// Which.
    pub graduation: Graduation,
    /// Number of a tick at a whole unit (a centimetre, an inch).
    pub phase: i32,
    /// How much better its kind (metric or inch) explains the lengths than the
    /// other kind, than none at all and, where it is metric, than the other
    /// metric one: difference of the Bayesian information criterion; above 10
    /// is very strong (Kass and Raftery, 1995).
    pub margin: f64,
}

/// Least margin of a reading.
const MARGIN: f64 = 10.0;
/// Longest against shortest rank: at least this ratio, or the pattern is no
/// engraved one.
const LEAST_RATIO: f64 = 1.15;
/// A tick this far from its rank's length, as a share of it, is spoilt: cut off
/// by rust or glare, or run together with a numeral.
const SPOILT: f64 = 0.12;
/// Spoilt ticks allowed: this share of all, and always two.
const SPOILT_SHARE: f64 = 0.1;

/// The graduations that the (number, relative length) of ticks allow: none, one
/// metric, or several in fractions of an inch. Inch fractions repeat by doubling,
/// so the pattern of one is part of the next finer one's and a few spoilt ticks
/// make up the difference; the numerals have to tell them apart.
pub fn readings(ticks: &[(i32, f64)]) -> Vec<Reading> {
    let n = ticks.len() as f64;
    if ticks.len() < 10 {
        return Vec::new();
    }
    let all = ticks.iter().map(|t| t.1).collect::<Vec<_>>();
    let usual = median(&all);
    // Laplace likelihood: lengths are cut by glare, lengthened by numerals.
    let criterion = |sum: f64, parameters: f64| -> f64 {
        2.0 * n * (sum / n).max(0.01 * usual).ln() + parameters * n.ln()
    };
    let plain = criterion(all.iter().map(|l| (l - usual).abs()).sum(), 1.0);
    let (mut metric, mut inch) = (Vec::new(), Vec::new());
    let (mut best_metric, mut best_inch) = (f64::INFINITY, f64::INFINITY);
    for graduation in Graduation::ALL {
        for phase in 0..graduation.cycle() {
            let groups = Groups::new(ticks, graduation, phase);
            let sum = groups.misfit();
            let value = criterion(sum, graduation.ranks() as f64 + 1.0);
            if graduation.is_inch() {
                best_inch = best_inch.min(value);
                if groups.doubling(ticks.len()) {
                    inch.push((value, graduation, phase));
                }
            } else {
                best_metric = best_metric.min(value);
                if groups.metric(graduation) && sum < SPOILT * n * usual {
                    metric.push((value, graduation, phase));
                }
            }
        }
    }
    metric.sort_by(|a, b| a.0.total_cmp(&b.0));
    if let Some(&(value, graduation, phase)) = metric.first() {
        // A metric reading has to beat inch patterns whatever their order.
        let margin = metric
            .iter()
            .filter(|m| m.1 != graduation)
            .map(|m| m.0)
            .fold(plain.min(best_inch), f64::min)
            - value;
        if margin >= MARGIN {
            return vec![Reading {
                graduation,
                phase,
                margin,
            }];
        }
    }
    let value = inch.iter().map(|i| i.0).fold(f64::INFINITY, f64::min);
    let margin = plain.min(best_metric) - value;
    if margin.is_nan() || margin < MARGIN {
        return Vec::new();
    }
    inch.into_iter()
        .map(|(_, graduation, phase)| Reading {
            graduation,
            phase,
            margin,
        })
        .collect()
}

/// Tick lengths by rank, shortest rank first.
struct Groups(Vec<Vec<f64>>);

impl Groups {
    fn new(ticks: &[(i32, f64)], graduation: Graduation, phase: i32) -> Self {
        let mut groups = vec![Vec::new(); graduation.ranks()];
        for (i, length) in ticks {
            groups[graduation.rank(i - phase)].push(*length);
        }
        Self(groups)
    }

    fn seen(&self) -> impl Iterator<Item = &Vec<f64>> {
        self.0.iter().filter(|g| !g.is_empty())
    }

    /// Sum of the distances of the lengths from their rank's median.
    fn misfit(&self) -> f64 {
        self.seen()
            .map(|g| {
                let m = median(g);
                g.iter().map(|l| (l - m).abs()).sum::<f64>()
            })
            .sum()
    }

    /// Whether enough ranks are seen and in order for a metric graduation;
    /// higher ranks are never shorter.
    fn metric(&self, graduation: Graduation) -> bool {
        let medians: Vec<(f64, usize)> = self.seen().map(|g| (median(g), g.len())).collect();
        let seen_twice = medians.iter().filter(|m| m.1 >= 2).count();
        let enough = match graduation {
            Graduation::HalfMillimetre => seen_twice >= 3 || medians.len() == 4,
            _ => seen_twice >= 2,
        };
        enough
            && medians.windows(2).all(|w| w[1].0 > 0.97 * w[0].0)
            && medians[medians.len() - 1].0 > LEAST_RATIO * medians[0].0
            && medians[1].0 > 1.07 * medians[0].0
    }

    /// Whether the ranks are those of inch fractions, each longer than the one
    /// below, except for a few spoilt ticks; one rank may be wholly spoilt. Only whole inches may be as long as
    /// halves, as some makers have them.
    fn doubling(&self, ticks: usize) -> bool {
        let top = self.0.len() - 1;
        let mut below = 0.0;
        let (mut spoilt, mut sure, mut lost) = (0, 0, 0);
        let mut first = None;
        for (rank, group) in self.0.iter().enumerate() {
            let least = below * if rank == top { 0.93 } else { 1.05 };
            let off = |centre: f64| {
                group
                    .iter()
                    .filter(|l| (*l - centre).abs() > SPOILT * centre)
                    .count()
            };
            let centre = match group.len() {
                0 => continue,
                // Either of two may be the spoilt one.
                1 | 2 => group
                    .iter()
                    .copied()
                    .filter(|l| *l > least)
                    .min_by_key(|l| off(*l)),
                _ => Some(median(group)).filter(|m| *m > least),
            };
            match centre {
                Some(centre) => {
                    spoilt += off(centre);
                    sure += usize::from(group.len() - off(centre) >= 2);
                    below = centre;
                    first.get_or_insert(centre);
                }
                None if group.len() <= 2 => {
                    spoilt += group.len();
                    lost += 1;
                }
                None => return false,
            }
        }
        let allowed = ((SPOILT_SHARE * ticks as f64) as usize).max(2);
        sure >= 3
            && lost <= 1
            && spoilt <= allowed
            && first.is_some_and(|f| below > LEAST_RATIO * f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(graduation: Graduation, n: i32, start: i32, noise: f64) -> Vec<(i32, f64)> {
        let mut state = 3u64;
        (0..n)
            .map(|i| {
                state = state
                    .wrapping_mul(6364136223846793005)
                    .wrapping_add(1442695040888963407);
                let r = (state >> 40) as f64 / (1u64 << 24) as f64 - 0.5;
                let rank = graduation.rank(i + start) as f64;
                (i, 3.0 + 1.2 * rank + noise * r)
            })
            .collect()
    }

    #[test]
    fn every_graduation_is_allowed_at_every_start_and_no_other_kind() {
        for graduation in Graduation::ALL {
            for start in 0..graduation.cycle() {
                let n = (3 * graduation.cycle()).max(30);
                let found = readings(&lengths(graduation, n, start, 0.3));
                assert!(
                    found.iter().any(|r| r.graduation == graduation
                        && (r.phase + start) % graduation.cycle() == 0),
                    "{graduation:?}, start {start}: {found:?}"
                );
                assert!(
                    found.iter().all(|r| r.graduation == graduation
                        || r.graduation.is_inch() && graduation.is_inch()),
                    "{graduation:?}, start {start}: {found:?}"
                );
            }
        }
    }

    #[test]
    fn a_few_spoilt_ticks_do_not_hide_a_graduation() {
        let mut ticks = lengths(Graduation::Inch(32), 60, 30, 0.2);
        // The first whole inch cut off by rust, a tick run into a numeral.
        ticks[2].1 = 4.0;
        ticks[40].1 *= 1.6;
        assert!(
            readings(&ticks)
                .iter()
                .any(|r| r.graduation == Graduation::Inch(32) && r.phase == 2)
        );
    }

    #[test]
    fn equal_lengths_name_no_unit() {
        let same: Vec<(i32, f64)> = (0..60)
            .map(|i| (i, 3.0 + 0.01 * f64::from(i % 7)))
            .collect();
        assert!(readings(&same).is_empty());
    }

    #[test]
    fn places_are_told_as_a_person_reads_them() {
        for (graduation, ticks, told) in [
            (Graduation::Millimetre, 35, "35 mm"),
            (Graduation::HalfMillimetre, 71, "35.5 mm"),
            (Graduation::Inch(32), 38, "1 3/16 in"),
            (Graduation::Inch(64), 1, "1/64 in"),
            (Graduation::Inch(16), 32, "2 in"),
        ] {
            assert_eq!(graduation.place(ticks), told);
        }
    }
}
