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
/// What the tapering ends of zones lose, mm an end, on average: from nothing to the
/// length of an evidence window, 1.5 mm, in which the zone is no longer the greater
/// part, at all ends alike. (Zones on rendered faces are found 0.2 to 1.9 mm an end too
/// short, 0.7 mm in the mean.)
pub const TAPER_MM: f64 = 0.75;
/// Where no zone is found, one shorter than this may still be there, mm: the
/// shortest that is looked for.
pub const SHORTEST_MM: f64 = SHORTEST_ROOT_RUN_MM;

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

    /// Root mean square about what is stated of a sum over zones of which each
    /// was judged wrongly or not, by its own chance.
    pub fn existence(&self, of: impl Fn(&Doubtful) -> f64) -> f64 {
        let parts = self.doubtful.iter().map(|d| d.wrong * of(d).powi(2));
        parts.sum::<f64>().sqrt()
    }

    /// Root mean square about the stated figure of a rectangle from the strict
    /// to the lenient one.
    pub fn doubt(&self, of: impl Fn(&Extent) -> f64) -> f64 {
        about(of(&self.best), of(&self.strict), of(&self.lenient))
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

/// Root mean square distance from `stated` of what may lie anywhere between two
/// figures. What is stated is seldom their middle, and a standard deviation
/// about the middle would not reach the far one.
pub fn about(stated: f64, a: f64, b: f64) -> f64 {
    let (below, above) = ((stated - a.min(b)).max(0.0), (a.max(b) - stated).max(0.0));
    ((below * below - below * above + above * above) / 3.0).sqrt()
}

/// A zone that may not be one, or what was passed over and may be one.
#[derive(Clone, Copy, Debug)]
pub struct Doubtful {
    /// Chance that it was judged wrongly.
    pub wrong: f64,
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
/// none. Each is right or wrong as a whole and by itself, so that the mean squares
/// of what they add can be summed.
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
                wrong: if taken {
                    1.0 - zone.confidence
                } else {
                    zone.confidence
                },
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fracture::zones::Zone;
    use crate::fracture::zones::features::{Cells, Look};

    const COLUMNS: usize = 60;
    const ROWS: usize = 10;
    const WHOLE: Evaluated = Evaluated {
        start_mm: 0.0,
        end_mm: 30.0,
    };

    /// Cells of half a millimetre in `columns`, `height` cells high.
    fn block(columns: std::ops::Range<usize>, height: usize) -> Vec<usize> {
        (0..height)
            .flat_map(|r| columns.clone().map(move |c| r * COLUMNS + c))
            .collect()
    }

    fn kinds(parts: &[Vec<usize>]) -> Vec<Option<Kind>> {
        let mut kinds = vec![None; COLUMNS * ROWS];
        parts
            .iter()
            .flatten()
            .for_each(|i| kinds[*i] = Some(Kind::Root));
        kinds
    }

    fn zone(cells: Vec<usize>, confidence: f64) -> Zone {
        Zone {
            kind: Kind::Root,
            cells,
            outline: Vec::new(),
            confidence,
        }
    }

    /// A sure zone from 5 to 10 mm and a likely one from 15 to 17 mm; one from
    /// 20 to 24 mm that was passed over; the lenient reading reaches to 11 mm.
    fn face() -> Zones {
        let n = COLUMNS * ROWS;
        let (sure, likely, passed) = (block(10..20, 2), block(30..34, 2), block(40..48, 4));
        Zones {
            cells: Cells {
                columns: COLUMNS,
                rows: ROWS,
                side_mm: 0.5,
                low_mm: 0.0,
                inside: vec![true; n],
                looks: vec![Look::default(); n],
            },
            strict: kinds(std::slice::from_ref(&sure)),
            best: kinds(&[sure.clone(), likely.clone()]),
            lenient: kinds(&[block(10..22, 2), likely.clone()]),
            zones: vec![zone(sure, 0.99), zone(likely, 0.8)],
            passed_over: vec![zone(passed, 0.3)],
            evidence: vec![0.0; n],
            hidden: vec![false; n],
            unsure: vec![false; n],
            pairing: None,
        }
    }

    #[test]
    fn what_is_stated_at_one_end_of_a_rectangle_reaches_its_other_end() {
        assert!((about(5.0, 5.0, 8.0) - 3.0 / 3.0_f64.sqrt()).abs() < 1e-12);
        // In the middle: the rectangle's own standard deviation.
        assert!((about(5.0, 4.0, 6.0) - 1.0 / 3.0_f64.sqrt()).abs() < 1e-12);
        assert_eq!(about(5.0, 5.0, 5.0), 0.0);
    }

    #[test]
    fn zones_count_by_their_chance_to_be_judged_wrongly() {
        let read = Read::new(&face(), Kind::Root, &WHOLE);
        assert_eq!((read.best.length_mm, read.lenient.length_mm), (7.0, 8.0));
        // The sure zone is in no doubt.
        assert_eq!(read.doubtful.len(), 2);
        // 2 mm wrong by 0.2, 4 mm by 0.3.
        let expected = (0.2 * 4.0 + 0.3 * 16.0_f64).sqrt();
        assert!((read.existence(|d| d.length_mm) - expected).abs() < 1e-9);
        // Strictly 5 mm, stated 7, leniently 8.
        assert!((read.doubt(|e| e.length_mm) - about(7.0, 5.0, 8.0)).abs() < 1e-12);
        // Outside the range nothing counts.
        let range = Evaluated {
            start_mm: 0.0,
            end_mm: 12.0,
        };
        assert!(Read::new(&face(), Kind::Root, &range).doubtful.is_empty());
    }

    #[test]
    fn the_greatest_depth_changes_by_what_is_higher_or_holds_it() {
        let read = Read::new(&face(), Kind::Root, &WHOLE);
        assert_eq!(read.best.highest_mm, 1.0);
        let passed = read.doubtful.iter().find(|d| !d.taken).unwrap();
        // 2 mm high against 1 mm.
        assert_eq!(changes_depth(&read.best, passed), 1.0);
        let likely = read.doubtful.iter().find(|d| d.taken).unwrap();
        assert_eq!(changes_depth(&read.best, likely), 0.0);
        assert_eq!(taken_from_longest(&read.best, likely), 0.0);
    }

    #[test]
    fn the_longest_stretch_may_go_on_over_a_short_gap() {
        let mut zones = face();
        // 1 mm of torn metal between the sure zone and the next.
        zones.best = kinds(&[block(10..20, 2), block(22..26, 2)]);
        let read = Read::new(&zones, Kind::Root, &WHOLE);
        assert_eq!(read.best.longest_mm, 5.0);
        assert_eq!(read.longest_possible_mm(&zones, Kind::Root, &WHOLE), 8.0);
    }

    #[test]
    fn hidden_places_count_where_zones_of_the_kind_lie() {
        let mut zones = face();
        // From 25 to 27 mm, 2 to 3 mm above the root line.
        for c in 50..54 {
            (4..6).for_each(|r| zones.hidden[r * COLUMNS + c] = true);
        }
        assert_eq!(hidden_mm(&zones, Kind::Root, &WHOLE), 0.0);
        assert_eq!(hidden_mm(&zones, Kind::InterRun, &WHOLE), 2.0);
        let read = Read::new(&zones, Kind::InterRun, &WHOLE);
        assert_eq!(read.hidden_mm, 2.0);
    }
}
