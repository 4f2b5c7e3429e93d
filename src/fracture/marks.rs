//! Marks painted across a coupon where its ends are to be discarded.
//!
//! Codes discard a stretch at each end of a test coupon, and whoever lays the
//! coupon out marks both before it is broken: a line of paint across the weld
//! from plate to plate, as far from one end as from the other. It is looked for
//! on the plates beside the face, which are even enough to show it: a narrow
//! line, brighter or darker than the plate, at the same place along the weld on
//! both plates and again at the other end. Scratched lines are as thin as the
//! plates' own machining marks and are not found.

use super::strip::{Straight, Strip};
use crate::base::geometry::Point;
use crate::base::numeric::{mad, median, quantile};
use crate::photo::Photo;

/// Steps along and across the weld, mm.
const STEP_MM: f64 = 0.2;
/// Strips of the plates that are looked at, from the face's edges outwards, mm,
/// and the height of one.
const PLATE_MM: (f64, f64) = (1.0, 5.8);
const STRIP_MM: f64 = 0.6;
/// Length along the weld against whose median a place is compared, mm: more than
/// twice as long as the broadest line.
const AROUND_MM: f64 = 6.0;
/// Least scatter of ln(luma) along a plate.
const LEAST_SCATTER: f64 = 0.01;
/// Standard deviations by which a line stands out. On 24 rendered pictures and 27
/// of another painter's the plates of unmarked coupons reached 2.3 in a pair, and
/// those of marked ones 5.3 and more.
const CLEAR: f64 = 4.0;
/// A stretch to discard is at least this long, mm, and leaves this share of the
/// coupon.
const SHORTEST_MM: f64 = 8.0;
const MOST: f64 = 0.42;
/// How much the distances from the two ends may differ, mm.
const APART_MM: f64 = 3.0;
/// How far the line may lie apart on the two plates, mm: it is drawn by hand.
const SLANT_MM: f64 = 1.0;

/// Lines across the coupon, one near each end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marks {
    /// Middle of the left line, mm from the face's left end.
    pub left_mm: f64,
    /// Middle of the right line, likewise.
    pub right_mm: f64,
}

/// Finds the pair of lines that stands out most, if one does.
pub fn find(photo: &Photo, strip: &Strip) -> Option<Marks> {
    let columns = (strip.length_mm() / STEP_MM) as usize;
    let cap = stands_out(photo, strip, columns, |s| strip.far_at(s), 1.0);
    let root = stands_out(photo, strip, columns, |_| 0.0, -1.0);
    // The fainter of the two plates decides.
    let slant = (SLANT_MM / STEP_MM).round() as usize;
    let near = |side: &[f64], c: usize| {
        let reach = c.saturating_sub(slant)..(c + slant + 1).min(columns);
        side[reach].iter().copied().fold(0.0, f64::max)
    };
    let both: Vec<f64> = (0..columns)
        .map(|c| near(&cap, c).min(near(&root, c)))
        .collect();
    let reach = (SHORTEST_MM / STEP_MM) as usize;
    let most = (MOST * columns as f64) as usize;
    let strongest = |range: std::ops::Range<usize>| {
        let at = range.max_by(|a, b| both[*a].total_cmp(&both[*b]))?;
        (both[at] >= CLEAR).then(|| place(&both, at) * STEP_MM)
    };
    if most <= reach {
        return None;
    }
    let marks = Marks {
        left_mm: strongest(reach..most)?,
        right_mm: strongest(columns - most..columns - reach)?,
    };
    let uneven = marks.left_mm - (strip.length_mm() - marks.right_mm);
    (uneven.abs() <= APART_MM).then_some(marks)
}

/// Middle of the stretch around `at` that stands out half as much, columns.
fn place(values: &[f64], at: usize) -> f64 {
    let half = 0.5 * values[at];
    let first = (0..=at).rev().take_while(|c| values[*c] >= half).last();
    let last = (at..values.len()).take_while(|c| values[*c] >= half).last();
    0.5 * (first.unwrap_or(at) + last.unwrap_or(at) + 1) as f64
}

/// How far each column of one plate stands out from its surroundings along the
/// weld, in standard deviations; the median over strips, so that letters and
/// stains do not count.
fn stands_out(
    photo: &Photo,
    strip: &Strip,
    columns: usize,
    edge: impl Fn(f64) -> f64,
    outwards: f64,
) -> Vec<f64> {
    let strips = ((PLATE_MM.1 - PLATE_MM.0) / STRIP_MM).round() as usize;
    let steps = (STRIP_MM / STEP_MM).round() as usize;
    let tone = |s: f64, from: f64| -> f64 {
        let sum: f64 = (0..steps)
            .map(|i| {
                let h = edge(s) + outwards * (from + (i as f64 + 0.5) * STEP_MM);
                let p = strip.to_px(Point::<Straight>::new(s, h));
                f64::from(photo.luma.sample(p.x, p.y)).max(1.0).ln()
            })
            .sum();
        sum / steps as f64
    };
    let half = (0.5 * AROUND_MM / STEP_MM) as usize;
    let profiles: Vec<Vec<f64>> = (0..strips)
        .map(|k| {
            let from = PLATE_MM.0 + k as f64 * STRIP_MM;
            let tones: Vec<f64> = (0..columns)
                .map(|c| tone((c as f64 + 0.5) * STEP_MM, from))
                .collect();
            let off: Vec<f64> = (0..columns)
                .map(|c| {
                    let near = c.saturating_sub(half)..(c + half + 1).min(columns);
                    tones[c] - median(&tones[near])
                })
                .collect();
            let scatter = mad(&off).max(LEAST_SCATTER);
            off.iter().map(|v| v / scatter).collect()
        })
        .collect();
    (0..columns)
        .map(|c| {
            let across: Vec<f64> = profiles.iter().map(|p| p[c]).collect();
            quantile(&across, 0.5).abs()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fracture::face::Face;
    use crate::scale::{self, Request, Source};

    /// What is found on a coupon 100 mm long at 10 px/mm with lines of a tone at
    /// the given places, mm, on (cap side, root side).
    fn found(lines: &[(f64, [bool; 2])], tone: u8) -> Option<Marks> {
        let (w, h) = (1000, 260);
        let mut state = 5u64;
        let mut rgb = Vec::new();
        for y in 0..h {
            for x in 0..w {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                let chance = ((state >> 33) % 13) as u8;
                let s = x as f64 / 10.0;
                let on = |(at, [cap, root]): &(f64, [bool; 2])| {
                    (s - at).abs() < 0.6 && (y < 100 && *cap || y > 160 && *root)
                };
                let v = if lines.iter().any(on) { tone } else { 100 };
                rgb.extend([v + chance; 3]);
            }
        }
        let photo = Photo::from_rgb(w, h, rgb).unwrap();
        let declared = Request::of(Source::Declared { px_per_mm: 10.0 });
        let scale = scale::find(&photo, &declared).unwrap();
        let line = |y: f64| vec![Point::new(0.0, y), Point::new(1000.0, y)];
        let face = Face {
            root_px: line(160.0),
            far_px: line(100.0),
            far_doubt_px: 0.0,
            whole: true,
            side_confidence: 1.0,
        };
        find(&photo, &Strip::new(&photo, &scale, &face).unwrap())
    }

    #[test]
    fn a_pair_of_lines_across_both_plates_is_found() {
        for tone in [220, 40] {
            let marks = found(&[(25.0, [true; 2]), (74.5, [true; 2])], tone).unwrap();
            assert!((marks.left_mm - 25.0).abs() < 0.3, "{marks:?}");
            assert!((marks.right_mm - 74.5).abs() < 0.3, "{marks:?}");
        }
    }

    #[test]
    fn what_is_no_pair_across_both_plates_is_not() {
        let both = [true; 2];
        // None at all; one line; on one plate only; not as far from both ends.
        assert_eq!(found(&[], 220), None);
        assert_eq!(found(&[(25.0, both)], 220), None);
        assert_eq!(found(&[(25.0, both), (75.0, [true, false])], 220), None);
        assert_eq!(found(&[(25.0, both), (85.0, both)], 220), None);
    }
}
