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
    pub const ALL: [Self; 5] = [
        Self::Millimetre,
        Self::HalfMillimetre,
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

/// A graduation read from tick lengths.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// Which.
    pub graduation: Graduation,
    /// Number of a longest tick.
    pub phase: i32,
    /// How much better it explains the lengths than the best reading of another
    /// pitch or than no pattern at all: difference of the Bayesian information
    /// criterion; above 10 is very strong (Kass and Raftery, 1995).
    pub margin: f64,
}

/// Longest against shortest rank: at least this ratio, or the pattern is no
/// engraved one.
const LEAST_RATIO: f64 = 1.15;

/// Reads the graduation from (number, relative length) of the ticks; `None`
/// when no pattern explains the lengths.
pub fn read(ticks: &[(i32, f64)]) -> Option<Reading> {
    let n = ticks.len() as f64;
    if ticks.len() < 10 {
        return None;
    }
    let all = ticks.iter().map(|t| t.1).collect::<Vec<_>>();
    let spread =
        |lengths: &[f64], centre: f64| -> f64 { lengths.iter().map(|l| (l - centre).abs()).sum() };
    // Laplace likelihood: lengths are cut by glare, lengthened by numerals.
    let criterion = |sum: f64, parameters: f64| -> f64 {
        2.0 * n * (sum / n).max(0.01 * median(&all)).ln() + parameters * n.ln()
    };
    let plain = criterion(spread(&all, median(&all)), 1.0);
    // What each graduation explains at its best phase, and whether the ranks
    // are then as an engraver makes them.
    let mut sound: Vec<(f64, f64, Graduation, i32)> = Vec::new();
    let mut any: Vec<(f64, Graduation)> = Vec::new();
    for graduation in Graduation::ALL {
        let ranks = match graduation {
            Graduation::Millimetre => 3.0,
            Graduation::HalfMillimetre => 4.0,
            Graduation::Inch(d) => f64::from(d.trailing_zeros()) + 1.0,
        };
        for phase in 0..graduation.cycle() {
            let (sum, in_order) = misfit(ticks, graduation, phase);
            let value = criterion(sum, ranks + 1.0);
            any.push((value, graduation));
            if in_order {
                sound.push((value, sum, graduation, phase));
            }
        }
    }
    sound.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (value, sum, graduation, phase) = *sound.first()?;
    if sum > 0.12 * n * median(&all) {
        return None;
    }
    // A metric reading has to beat the inch patterns whatever their order: on
    // some inch rules whole and half inches are equally long. Inch patterns
    // contain one another, so among themselves only sound ones compete.
    let rival = any
        .iter()
        .filter(|r| r.1 != graduation && !(r.1.is_inch() && graduation.is_inch()))
        .map(|r| r.0)
        .chain(sound.iter().filter(|s| s.2 != graduation).map(|s| s.0))
        .fold(plain, f64::min);
    Some(Reading {
        graduation,
        phase,
        margin: rival - value,
    })
}

/// Sum of the distances of the lengths from their rank's median, and whether
/// enough ranks are seen and in order.
fn misfit(ticks: &[(i32, f64)], graduation: Graduation, phase: i32) -> (f64, bool) {
    let mut groups: Vec<Vec<f64>> = vec![Vec::new(); 8];
    for (i, length) in ticks {
        groups[graduation.rank(i - phase)].push(*length);
    }
    let mut sum = 0.0;
    let mut medians = Vec::new();
    for group in groups.iter().filter(|g| !g.is_empty()) {
        let m = median(group);
        sum += group.iter().map(|l| (l - m).abs()).sum::<f64>();
        medians.push((m, group.len()));
    }
    let seen_twice = medians.iter().filter(|m| m.1 >= 2).count();
    let enough = match graduation {
        Graduation::Millimetre => seen_twice >= 2 && medians.len() >= 2,
        Graduation::HalfMillimetre => seen_twice >= 3 || medians.len() == 4,
        Graduation::Inch(_) => seen_twice >= 3,
    };
    // Higher ranks are never shorter. Inch fractions repeat by doubling, so that
    // one unit's pattern is part of the next finer one's: there every rank has
    // to be longer than the one below, or nothing tells the two apart.
    let step = if graduation.is_inch() { 1.05 } else { 0.97 };
    let ordered = medians.windows(2).all(|w| w[1].0 > step * w[0].0);
    let clear = medians[medians.len() - 1].0 > LEAST_RATIO * medians[0].0
        && medians.get(1).is_some_and(|m| m.0 > 1.07 * medians[0].0);
    (sum, enough && ordered && clear)
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
    fn every_graduation_is_read_at_every_start() {
        for graduation in Graduation::ALL {
            for start in 0..graduation.cycle() {
                let n = 3 * graduation.cycle();
                let reading = read(&lengths(graduation, n, start, 0.5)).unwrap();
                assert_eq!(reading.graduation, graduation, "start {start}");
                assert!(reading.margin > 10.0);
            }
        }
    }

    #[test]
    fn equal_lengths_name_no_unit() {
        let same: Vec<(i32, f64)> = (0..60)
            .map(|i| (i, 3.0 + 0.01 * f64::from(i % 7)))
            .collect();
        assert!(read(&same).is_none_or(|r| r.margin < 10.0));
    }
}
