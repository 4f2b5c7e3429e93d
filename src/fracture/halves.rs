//! The two halves of a break laid onto each other.
//!
//! A surface that never fused is bare on both halves, and torn metal is torn on both.
//! What lies at s on one half, seen with the root side at the bottom, lies at the length
//! less s on the other, at the same height. Where the evidence of both, laid so, agrees
//! clearly better than laid unmirrored, they are the halves of one break, and each
//! place is judged by both.

use super::zones::features::Cells;
use crate::base::geometry::Point;
use crate::base::numeric;
use crate::fracture::strip::Straight;

/// Side of the blocks that are compared, mm: what the root lines and ends of two halves
/// are off by must not matter.
const BLOCK_MM: f64 = 0.6;
/// How far the halves may be off from where ends and root lines put them, mm along and
/// across the weld.
const ALONG_MM: f64 = 4.0;
const ACROSS_MM: f64 = 0.9;
/// Least correlation at which halves belong together, and its lead over any place of the
/// unmirrored half: what the same search finds in strangers.
const LEAST: f64 = 0.3;
const LEAD: f64 = 0.12;
/// Most that a cell may say in the comparison, log-odds: a few glaring ones must not
/// decide it.
const MOST: f32 = 6.0;
/// Fewest blocks that both halves show.
const FEWEST: usize = 60;

/// Where the places of one half lie on the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pairing {
    /// Sum of s on the one and s on the other half, mm.
    turn_mm: f64,
    /// Height on the other less height on the one, mm.
    up_mm: f64,
}

impl Pairing {
    /// The place on the other half.
    pub fn on_other(&self, p: Point<Straight>) -> Point<Straight> {
        Point::new(self.turn_mm - p.x, p.y + self.up_mm)
    }
}

/// One half: its cells and their log-odds of "never fused".
#[derive(Clone, Copy)]
pub struct Half<'a> {
    pub cells: &'a Cells,
    pub evidence: &'a [f32],
}

/// How the halves lie onto each other; nothing when they do not clearly belong together.
pub fn pair(one: Half<'_>, other: Half<'_>) -> Option<Pairing> {
    let (a, b) = (Blocks::of(one), Blocks::of(other));
    let best = best_place(&a, &b.mirrored())?;
    let stranger = best_place(&a, &b).map_or(0.0, |place| place.2);
    let (columns, rows, agreement) = best;
    // Column c of `a` lies on column c + columns of the mirrored `b`.
    (agreement >= LEAST && agreement - stranger >= LEAD).then_some(Pairing {
        turn_mm: (b.columns as f64 - columns as f64) * BLOCK_MM,
        up_mm: rows as f64 * BLOCK_MM + b.low_mm - a.low_mm,
    })
}

/// The evidence of both halves, cell by cell of the one: the mean where both show metal.
pub fn joined(one: Half<'_>, other: Half<'_>, pairing: &Pairing) -> Vec<f32> {
    let (a, b) = (one.cells, other.cells);
    (0..one.evidence.len())
        .map(|i| {
            let own = one.evidence[i];
            let here = Point::new(a.s(i % a.columns), a.height(i / a.columns));
            let there = pairing.on_other(here);
            let (c, r) = (
                (there.x / b.side_mm).floor(),
                ((there.y - b.low_mm) / b.side_mm).floor(),
            );
            if !a.inside[i] || c < 0.0 || r < 0.0 {
                return own;
            }
            let (c, r) = (c as usize, r as usize);
            if c >= b.columns || r >= b.rows || !b.inside[r * b.columns + c] {
                return own;
            }
            0.5 * (own + other.evidence[r * b.columns + c])
        })
        .collect()
}

/// Mean evidence a block; `None` where the half shows no metal.
struct Blocks {
    columns: usize,
    rows: usize,
    /// h of the lowest row's border, mm.
    low_mm: f64,
    values: Vec<Option<f64>>,
}

impl Blocks {
    fn of(half: Half<'_>) -> Self {
        let cells = half.cells;
        let block = (BLOCK_MM / cells.side_mm).round().max(1.0) as usize;
        let (columns, rows) = (cells.columns / block, cells.rows / block);
        let mean = |i: usize| {
            let (c, r) = (i % columns * block, i / columns * block);
            let inside: Vec<f64> = (r..r + block)
                .flat_map(|r| (c..c + block).map(move |c| r * cells.columns + c))
                .filter(|i| cells.inside[*i])
                .map(|i| f64::from(half.evidence[i].clamp(-MOST, MOST)))
                .collect();
            (2 * inside.len() > block * block)
                .then(|| inside.iter().sum::<f64>() / inside.len() as f64)
        };
        Self {
            columns,
            rows,
            low_mm: cells.low_mm,
            values: (0..columns * rows).map(mean).collect(),
        }
    }

    fn mirrored(&self) -> Self {
        Self {
            values: self
                .values
                .chunks(self.columns.max(1))
                .flat_map(|row| row.iter().rev().copied())
                .collect(),
            ..*self
        }
    }
}

/// Blocks by which `b` has to be moved to lie on `a` best, along and across, and the
/// correlation there.
fn best_place(a: &Blocks, b: &Blocks) -> Option<(isize, isize, f64)> {
    let along = (ALONG_MM / BLOCK_MM).round() as isize;
    let across = (ACROSS_MM / BLOCK_MM).round() as isize;
    let places = (-along..=along).flat_map(|c| (-across..=across).map(move |r| (c, r)));
    places
        .filter_map(|(c, r)| Some((c, r, correlation(a, b, c, r)?)))
        .max_by(|x, y| x.2.total_cmp(&y.2))
}

fn correlation(a: &Blocks, b: &Blocks, columns: isize, rows: isize) -> Option<f64> {
    let (mut xs, mut ys) = (Vec::new(), Vec::new());
    for r in 0..a.rows {
        let Some(other) = r.checked_add_signed(rows).filter(|r| *r < b.rows) else {
            continue;
        };
        for c in 0..a.columns {
            if let Some(there) = c.checked_add_signed(columns).filter(|c| *c < b.columns)
                && let (Some(x), Some(y)) = (
                    a.values[r * a.columns + c],
                    b.values[other * b.columns + there],
                )
            {
                xs.push(x);
                ys.push(y);
            }
        }
    }
    if xs.len() < FEWEST {
        return None;
    }
    Some(numeric::correlation(&xs, &ys))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fracture::zones::features::Look;

    /// A half of 60 × 7 mm whose evidence is `of` (s, h), mm.
    fn half(of: impl Fn(f64, f64) -> f32) -> (Cells, Vec<f32>) {
        let (columns, rows) = (600, 70);
        let cells = Cells {
            columns,
            rows,
            side_mm: 0.1,
            low_mm: 0.0,
            inside: vec![true; columns * rows],
            looks: vec![Look::default(); columns * rows],
        };
        let odds = (0..columns * rows)
            .map(|i| of(cells.s(i % columns), cells.height(i / columns)))
            .collect();
        (cells, odds)
    }

    /// Unfused from 10 to 22 mm at the root, and a patch at 40 mm; a ripple that every
    /// torn face has in its own way.
    fn broken(s: f64, h: f64, ripple: f64) -> f32 {
        let bare = (10.0..22.0).contains(&s) && h < 1.5
            || (38.0..43.0).contains(&s) && (3.0..4.5).contains(&h);
        let own = (s * ripple).sin() * (h * (ripple + 0.7)).cos();
        if bare { 2.0 } else { -4.0 + own as f32 }
    }

    fn as_half<'a>(of: &'a (Cells, Vec<f32>)) -> Half<'a> {
        Half {
            cells: &of.0,
            evidence: &of.1,
        }
    }

    #[test]
    fn mirrored_halves_are_laid_onto_each_other_and_read_together() {
        let one = half(|s, h| broken(s, h, 2.1));
        // The other half's ends and root line are off by 1.8 mm and 0.6 mm.
        let other = half(|s, h| broken(61.8 - s, h - 0.6, 3.3));
        let pairing = pair(as_half(&one), as_half(&other)).unwrap();
        let there = pairing.on_other(Point::new(16.0, 1.0));
        assert!(
            (there.x - 45.8).abs() < 0.7 && (there.y - 1.6).abs() < 0.35,
            "{there:?}"
        );
        let joined = joined(as_half(&one), as_half(&other), &pairing);
        let at = |s: f64, h: f64| joined[(h / 0.1) as usize * 600 + (s / 0.1) as usize];
        assert_eq!(at(16.05, 0.55), 2.0);
        assert!(at(30.05, 3.05) < -2.9);
    }

    #[test]
    fn the_same_half_twice_and_strangers_are_no_pair() {
        let one = half(|s, h| broken(s, h, 2.1));
        let again = half(|s, h| broken(s, h, 3.3));
        assert_eq!(pair(as_half(&one), as_half(&again)), None);
        let stranger = half(|s, h| {
            if (27.0..33.0).contains(&s) && h > 5.0 {
                3.0
            } else {
                -4.0
            }
        });
        assert_eq!(pair(as_half(&one), as_half(&stranger)), None);
        // An even face says nothing.
        let even = half(|_, _| -4.0);
        assert_eq!(pair(as_half(&one), as_half(&even)), None);
    }
}
