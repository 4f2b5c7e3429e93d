//! What one reading of the face adds up to, in millimetres along the weld.

use super::evaluated::Evaluated;
use super::zones::Kind;

/// Least length along the weld of a run without root fusion, mm: what is
/// shorter is not told from the corner's own unevenness.
pub const SHORTEST_ROOT_RUN_MM: f64 = 1.0;

/// The grid a reading is laid out on.
#[derive(Clone, Copy, Debug)]
pub struct Grid {
    /// Columns, along s.
    pub columns: usize,
    /// Side of a cell, mm.
    pub side_mm: f64,
    /// h of the first row's lower border, mm.
    pub low_mm: f64,
}

impl Grid {
    /// s and h of a cell's centre, mm.
    pub fn centre(&self, cell: usize) -> (f64, f64) {
        let at = |i: usize| (i as f64 + 0.5) * self.side_mm;
        (
            at(cell % self.columns),
            self.low_mm + at(cell / self.columns),
        )
    }
}

/// Lengths and areas of one kind of zone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Extent {
    /// Length along the weld, parts above each other counted once, mm.
    pub length_mm: f64,
    /// Separate stretches along the weld.
    pub runs: usize,
    /// Longest of them, mm.
    pub longest_mm: f64,
    /// Where the longest one begins and ends, mm.
    pub longest: (f64, f64),
    /// Highest place above the root line, mm.
    pub highest_mm: f64,
    /// Where that is along the weld, mm.
    pub highest_at_mm: f64,
    /// Area, mm².
    pub area_mm2: f64,
}

/// Sums up the zones of one kind inside the evaluated range. Of the root only
/// runs of at least [`SHORTEST_ROOT_RUN_MM`] count.
pub fn extent(grid: &Grid, kinds: &[Option<Kind>], kind: Kind, range: &Evaluated) -> Extent {
    let mut cells = vec![0usize; grid.columns];
    let mut tops = vec![0.0f64; grid.columns];
    for (i, k) in kinds.iter().enumerate() {
        let (s, h) = grid.centre(i);
        if *k == Some(kind) && range.contains(s) {
            cells[i % grid.columns] += 1;
            let top = &mut tops[i % grid.columns];
            *top = top.max(h + 0.5 * grid.side_mm);
        }
    }
    let mut extent = Extent::default();
    let mut start = None;
    for c in 0..=grid.columns {
        let covered = cells.get(c).is_some_and(|n| *n > 0);
        match (start, covered) {
            (None, true) => start = Some(c),
            (Some(from), false) => {
                start = None;
                let length = (c - from) as f64 * grid.side_mm;
                if kind == Kind::Root && length < SHORTEST_ROOT_RUN_MM - 1e-9 {
                    continue;
                }
                extent.runs += 1;
                extent.length_mm += length;
                if length > extent.longest_mm {
                    extent.longest_mm = length;
                    extent.longest = (from as f64 * grid.side_mm, c as f64 * grid.side_mm);
                }
                for column in from..c {
                    extent.area_mm2 += cells[column] as f64 * grid.side_mm * grid.side_mm;
                    if tops[column] > extent.highest_mm {
                        extent.highest_mm = tops[column];
                        extent.highest_at_mm = (column as f64 + 0.5) * grid.side_mm;
                    }
                }
            }
            _ => {}
        }
    }
    extent
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOLE: Evaluated = Evaluated {
        start_mm: 0.0,
        end_mm: 100.0,
    };

    /// Cells of half a millimetre; the lowest line is the root. r root, i
    /// between runs, s side wall.
    fn read(picture: &[&str]) -> (Grid, Vec<Option<Kind>>) {
        let kind = |c: u8| match c {
            b'r' => Some(Kind::Root),
            b'i' => Some(Kind::InterRun),
            b's' => Some(Kind::Sidewall),
            _ => None,
        };
        let kinds = picture
            .iter()
            .rev()
            .flat_map(|line| line.bytes().map(kind))
            .collect();
        let grid = Grid {
            columns: picture[0].len(),
            side_mm: 0.5,
            low_mm: 0.0,
        };
        (grid, kinds)
    }

    #[test]
    fn projections_are_merged_where_they_overlap() {
        let (grid, kinds) = read(&["....iiii........", "................", "..iiii......iii."]);
        let found = extent(&grid, &kinds, Kind::InterRun, &WHOLE);
        // Columns 2 to 7 and 12 to 14: 3 mm and 1.5 mm; eleven cells of 0.25 mm².
        assert_eq!(
            (found.length_mm, found.runs, found.longest_mm),
            (4.5, 2, 3.0)
        );
        assert_eq!(found.longest, (1.0, 4.0));
        assert_eq!(found.area_mm2, 2.75);
    }

    #[test]
    fn a_root_run_has_a_least_length_and_a_depth() {
        let (grid, kinds) = read(&["......r...", ".....rr...", "r...rrrr.."]);
        let found = extent(&grid, &kinds, Kind::Root, &WHOLE);
        // The single cell at the left is half a millimetre: no run.
        assert_eq!((found.length_mm, found.runs), (2.0, 1));
        assert_eq!((found.highest_mm, found.highest_at_mm), (1.5, 3.25));
        // Mean depth: 7 cells of 0.25 mm² over 2 mm.
        assert_eq!(found.area_mm2 / found.length_mm, 0.875);
    }

    #[test]
    fn discarded_ends_do_not_count() {
        let (grid, kinds) = read(&["ssssssssss"]);
        let range = Evaluated {
            start_mm: 1.0,
            end_mm: 3.5,
        };
        let found = extent(&grid, &kinds, Kind::Sidewall, &range);
        assert_eq!((found.length_mm, found.area_mm2), (2.5, 1.25));
        // What is cut down to less than a run at the root is none.
        let (grid, kinds) = read(&["rrrr......"]);
        let range = Evaluated {
            start_mm: 1.5,
            end_mm: 5.0,
        };
        assert_eq!(extent(&grid, &kinds, Kind::Root, &range), Extent::default());
    }
}
