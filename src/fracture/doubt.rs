//! What the readings of a face leave open about one kind of zone: how far
//! zones reach, where they end, and whether what was taken for a zone is one
//! and what was passed over is none.

use super::evaluated::Evaluated;
use super::figures::{Extent, SHORTEST_ROOT_RUN_MM, extent};
use super::zones::{Kind, Zones};

/// Standard uncertainty of where a zone ends along the weld, mm: half a window
/// of the evidence as a rectangle (0.8 mm / √3 ≈ 0.46 mm) would be the most;
/// the steps seen against rendered faces scatter by this.
pub const END_MM: f64 = 0.3;
/// What the tapering ends of zones lose, mm an end: below the least height told
/// from the corner's unevenness a band goes on unseen, at all ends alike.
const TAPER_MM: f64 = 0.3;
/// Where no zone is found, one shorter than this may still be there, mm: the
/// shortest that is looked for.
const SHORTEST_MM: f64 = SHORTEST_ROOT_RUN_MM;
/// A rectangle's half-width over its standard deviation, twice.
pub const FULL_WIDTH: f64 = 3.464_101_615_137_754_4;

/// One kind of zone as the three readings see it.
#[derive(Clone, Debug)]
pub struct Read {
    /// Read strictly.
    pub strict: Extent,
    /// As stated.
    pub best: Extent,
    /// Read leniently.
    pub lenient: Extent,
    /// Zones that are neither surely zones nor surely none.
    pub doubtful: Vec<Doubtful>,
    /// Length along the weld where zones of the kind would lie and nothing of
    /// the metal is seen, mm.
    pub hidden_mm: f64,
}

impl Read {
    /// What the readings say of one kind in the range.
    pub fn new(zones: &Zones, kind: Kind, range: &Evaluated) -> Self {
        let grid = zones.cells.grid();
        let of = |kinds: &[Option<Kind>]| extent(&grid, kinds, kind, range);
        Self {
            strict: of(&zones.strict),
            best: of(&zones.best),
            lenient: of(&zones.lenient),
            doubtful: doubtful(zones, kind, range),
            hidden_mm: hidden_mm(zones, kind, range),
        }
    }

    /// Standard deviation of a sum over zones of which each is one or not, by
    /// its own chance.
    pub fn existence(&self, of: impl Fn(&Doubtful) -> f64) -> f64 {
        let parts = self.doubtful.iter().map(|d| d.variance * of(d).powi(2));
        parts.sum::<f64>().sqrt()
    }

    /// Standard deviation of a rectangle from the strict to the lenient figure.
    pub fn doubt(&self, of: impl Fn(&Extent) -> f64) -> f64 {
        let values = [of(&self.strict), of(&self.best), of(&self.lenient)];
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(0.0, f64::max);
        (most - least) / FULL_WIDTH
    }

    /// The same of what is hidden along the weld, mm.
    pub fn unseen_mm(&self) -> f64 {
        self.hidden_mm / FULL_WIDTH
    }

    /// Standard uncertainty of the length from where stretches end, mm.
    pub fn ends_mm(&self) -> f64 {
        if self.best.runs == 0 {
            return SHORTEST_MM / FULL_WIDTH;
        }
        let ends = 2.0 * self.best.runs as f64;
        (END_MM * ends.sqrt()).hypot(TAPER_MM * ends)
    }

    /// The same of the longest stretch alone, mm.
    pub fn longest_ends_mm(&self) -> f64 {
        if self.best.runs == 0 {
            return SHORTEST_MM / FULL_WIDTH;
        }
        (END_MM * std::f64::consts::SQRT_2).hypot(2.0 * TAPER_MM)
    }

    /// Longest stretch if gaps shorter than the evidence's windows, and those
    /// that a zone passed over in doubt fills, were unfused as well, mm.
    pub fn longest_possible_mm(&self, zones: &Zones, kind: Kind, range: &Evaluated) -> f64 {
        let grid = zones.cells.grid();
        let mut stretches: Vec<(f64, f64)> = self
            .doubtful
            .iter()
            .filter(|d| !d.taken)
            .map(|d| d.place)
            .collect();
        for (i, k) in zones.best.iter().enumerate() {
            let s = grid.centre(i).0;
            if *k == Some(kind) && range.contains(s) {
                stretches.push((s - 0.5 * grid.side_mm, s + 0.5 * grid.side_mm));
            }
        }
        stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut longest = self.best.longest_mm;
        let mut open: Option<(f64, f64)> = None;
        for (from, to) in stretches {
            let joined = match open {
                Some((start, end)) if from < end + JOIN_MM => (start, end.max(to)),
                _ => (from, to),
            };
            longest = longest.max(joined.1 - joined.0);
            open = Some(joined);
        }
        longest
    }
}

/// A zone that may not be one, or what was passed over and may be one.
#[derive(Clone, Copy, Debug)]
pub struct Doubtful {
    /// Variance of whether it is one, p (1 − p).
    pub variance: f64,
    /// Whether it was taken for one.
    pub taken: bool,
    /// What it adds or would add inside the range, mm along the weld.
    pub length_mm: f64,
    /// Likewise, mm².
    pub area_mm2: f64,
    /// Highest place above the root line, mm.
    pub highest_mm: f64,
    /// Where it begins and ends along the weld, mm.
    pub place: (f64, f64),
}

/// The zones of one kind in the range that are neither surely zones nor surely
/// none. Each is right or wrong as a whole and by itself, so that the variances
/// of what they add can be summed (Bernoulli).
fn doubtful(zones: &Zones, kind: Kind, range: &Evaluated) -> Vec<Doubtful> {
    let grid = zones.cells.grid();
    let mut read = vec![false; grid.columns];
    for (i, k) in zones.best.iter().enumerate() {
        read[i % grid.columns] |= *k == Some(kind);
    }
    let both = [(true, &zones.zones), (false, &zones.passed_over)];
    both.into_iter()
        .flat_map(|(taken, zones)| zones.iter().map(move |z| (taken, z)))
        .filter(|(_, z)| z.kind == kind && z.in_doubt())
        .filter_map(|(taken, zone)| {
            let inside = |i: &&usize| range.contains(grid.centre(**i).0);
            let cells: Vec<usize> = zone.cells.iter().filter(inside).copied().collect();
            let mut columns: Vec<usize> = cells.iter().map(|i| i % grid.columns).collect();
            columns.sort_unstable();
            columns.dedup();
            let (first, last) = (*columns.first()?, *columns.last()?);
            let adds = columns.iter().filter(|c| taken || !read[**c]).count();
            let top = cells.iter().map(|i| grid.centre(*i).1);
            Some(Doubtful {
                variance: zone.confidence * (1.0 - zone.confidence),
                taken,
                length_mm: adds as f64 * grid.side_mm,
                area_mm2: cells.len() as f64 * grid.side_mm * grid.side_mm,
                highest_mm: top.fold(0.0, f64::max) + 0.5 * grid.side_mm,
                place: (
                    first as f64 * grid.side_mm,
                    (last + 1) as f64 * grid.side_mm,
                ),
            })
        })
        .collect()
}

/// Height of a zone's place at its edge of the face, mm: bands begin there.
const AT_EDGE_MM: f64 = 1.0;

/// Length along the weld over which places of one kind are hidden, mm.
pub fn hidden_mm(zones: &Zones, kind: Kind, range: &Evaluated) -> f64 {
    let grid = zones.cells.grid();
    let mut columns = vec![false; grid.columns];
    let hidden = (0..zones.hidden.len()).filter(|i| zones.hidden[*i]);
    for i in hidden {
        let (s, h) = grid.centre(i);
        let concerned = match kind {
            Kind::Root => h < AT_EDGE_MM,
            Kind::InterRun | Kind::Sidewall => true,
        };
        columns[i % grid.columns] |= concerned && range.contains(s);
    }
    columns.iter().filter(|c| **c).count() as f64 * grid.side_mm
}

/// Stretches nearer to each other than this may be one, mm: the windows of the
/// evidence are that long.
const JOIN_MM: f64 = 1.5;

/// What the longest stretch loses without a zone taken in doubt, mm.
pub fn taken_from_longest(best: &Extent, zone: &Doubtful) -> f64 {
    let (from, to) = best.longest;
    if zone.taken && zone.place.0 < to && zone.place.1 > from {
        zone.length_mm.min(best.longest_mm)
    } else {
        0.0
    }
}

/// What one doubtful zone may change the greatest depth by, mm.
pub fn changes_depth(best: &Extent, zone: &Doubtful) -> f64 {
    let at = best.highest_at_mm;
    let holds = zone.place.0 <= at && at <= zone.place.1;
    if zone.taken && !holds {
        0.0
    } else if zone.taken {
        best.highest_mm
    } else {
        (zone.highest_mm - best.highest_mm).max(0.0)
    }
}
