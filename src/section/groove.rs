//! The bare surface just beyond a toe, traced square to the plate: an undercut
//! is a groove with steep walls, which the outline as one path rounds off.

use super::members::JointFrame;
use super::palette::Palette;
use super::strip::Strip;
use super::surface::crest;
use crate::base::geometry::{Joint, Mm, Point, Vector};
use crate::base::numeric::{Grid, optimal_path, quantile};
use crate::photo::Photo;
use crate::scale::PlaneMap;

/// How far beyond the toe a groove is looked for, mm.
const REACH_MM: f64 = 3.0;
/// Plate and surroundings are learned from here to there beyond the toe, mm: past
/// most grooves.
const PLAIN_MM: (f64, f64) = (2.0, 5.0);
/// Deepest groove looked for, and how far above the surface the search begins, mm.
const DEEPEST_MM: f64 = 1.6;
const ABOVE_MM: f64 = 0.4;
/// Distance between columns, mm.
const COLUMN_MM: f64 = 0.04;
/// Steepest wall followed, mm down for each mm along.
const STEEPEST: f64 = 8.0;
/// Cost of the squared step, in mm from one column to the next: of two ways alike
/// the straighter one.
const BEND_PER_MM2: f64 = 4.0;
/// Worth of a millimetre of surroundings taken for metal, or the reverse, a unit
/// of log-likelihood ratio, against one column without any edge.
const COLOUR_WEIGHT: f32 = 0.6;
/// Colours are compared over this far to each side of an edge, mm.
const SIDE_MM: f64 = 0.25;
/// Share of an edge's worth that does not depend on the colours beside it.
const COLOURLESS: f32 = 0.35;

/// One member's surface as seen from its toe.
#[derive(Clone, Copy)]
pub struct Beside {
    /// The toe.
    pub toe: Point<Joint>,
    /// Along the surface, away from the root.
    pub away: Vector<Joint>,
    /// Out of the plate.
    pub out: Vector<Joint>,
    /// How far beyond the toe the bare surface is in the picture, mm.
    pub bare_mm: f64,
}

/// The surface from the toe outwards, points in order. `None` where too little of
/// it is in the picture.
pub fn trace(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    at: &Beside,
) -> Option<Vec<Point<Joint>>> {
    let length = REACH_MM.min(at.bare_mm);
    let columns = (length / COLUMN_MM) as usize + 1;
    if columns < 12 {
        return None;
    }
    let px_mm = 1.0 / map.px_per_mm_at(frame.root);
    let step = (0.5 * px_mm).clamp(0.01, 0.04);
    let strip = |from: f64, columns: usize, low: f64, high: f64| {
        let spine: Vec<Point<Mm>> = (0..columns)
            .map(|c| frame.to_plane(at.toe + at.away * (from + c as f64 * COLUMN_MM)))
            .collect();
        let out = frame.to_plane(at.toe + at.out) - frame.to_plane(at.toe);
        Strip::new(photo, map, spine, vec![out; columns], low, high, step)
    };
    let palette = {
        let far = PLAIN_MM.1.min(at.bare_mm);
        let from = PLAIN_MM.0.min(0.5 * far);
        let plain = strip(from, ((far - from) / COLUMN_MM) as usize + 1, -1.4, 0.9);
        // Metal whatever the groove: the weld's own, and what lies deep under the
        // toe, which the heat has coloured.
        let weld = strip(-2.0, (1.5 / COLUMN_MM) as usize, -0.8, -0.2);
        let heated = strip(-0.5, (2.5 / COLUMN_MM) as usize, -DEEPEST_MM, -1.0);
        let all = |strip: &Strip| -> Vec<[f32; 3]> {
            (0..strip.columns())
                .flat_map(|c| strip.column(c).iter().copied())
                .collect()
        };
        let (mut air, mut plate) = (Vec::new(), Vec::new());
        for c in 0..plain.columns() {
            for (r, colour) in plain.column(c).iter().enumerate() {
                let height = plain.offset_mm(r as f64);
                if height > 0.15 {
                    air.push(*colour);
                } else if height < -0.2 {
                    plate.push(*colour);
                }
            }
        }
        Palette::learn_surroundings(&air, &[&plate, &all(&weld), &all(&heated)])
    };
    let strip = strip(0.0, columns, -DEEPEST_MM, ABOVE_MM).smoothed(1.0, (0.03 / step).max(1.0));
    let grid = costs(&strip, &palette);
    let per_row = (BEND_PER_MM2 * step * step) as f32;
    let steepest = (STEEPEST * COLUMN_MM / step).ceil() as usize;
    let (path, _) = optimal_path(&grid, steepest, per_row)?;
    let points = path
        .iter()
        .enumerate()
        .map(|(c, &r)| frame.to_joint(strip.place(c, crest(&strip, c, r))));
    Some(points.collect())
}

/// What it costs to take a row for the surface: no edge there, metal above it,
/// surroundings below it.
fn costs(strip: &Strip, palette: &Palette) -> Grid {
    let slopes: Vec<f64> = (0..strip.columns())
        .flat_map(|c| (1..strip.rows - 1).step_by(3).map(move |r| (c, r)))
        .map(|(c, r)| f64::from(strip.slope(c, r)))
        .collect();
    let noise = (quantile(&slopes, 0.5) as f32).max(0.02);
    let side = ((SIDE_MM / strip.step_mm).ceil() as usize).max(1);
    let mut grid = Grid::filled(strip.columns(), strip.rows, f32::INFINITY);
    for c in 0..strip.columns() {
        // Running sums of "surroundings" from the plate outwards.
        let mut sums = vec![0.0f32];
        for colour in strip.column(c) {
            sums.push(sums[sums.len() - 1] + palette.ratio(*colour));
        }
        let mean = |from: usize, to: usize| (sums[to] - sums[from]) / (to - from).max(1) as f32;
        let column = grid.column_mut(c);
        for (r, cost) in column.iter_mut().enumerate().take(strip.rows - 1).skip(1) {
            let relative = strip.slope(c, r) / (3.0 * noise);
            let e = relative * relative / (1.0 + relative * relative);
            let outside = mean(r, (r + side).min(strip.rows));
            let inside = mean(r.saturating_sub(side), r);
            let sided = (0.5 * (outside - inside)).clamp(0.0, 1.0);
            *cost = 1.0 - e * (COLOURLESS + (1.0 - COLOURLESS) * sided)
                + COLOUR_WEIGHT * strip.step_mm as f32 * sums[r];
        }
    }
    grid
}

#[cfg(test)]
mod tests {
    use super::*;

    const PX_PER_MM: f64 = 40.0;
    /// From the joint root to the toe, mm.
    const LEG: f64 = 4.0;

    /// Depth of the traced groove under the surface beside a painted weld whose
    /// undercut is `deep` mm, with walls as steep as `steep` mm to a millimetre.
    fn traced(deep: f64, steep: f64) -> f64 {
        let frame = JointFrame {
            root: Point::new(2.0, 6.0),
            along_nonbutting: Vector::new(1.0, 0.0),
            along_butting: Vector::new(0.0, -1.0),
        };
        let surface = |s: f64| match s - LEG {
            s if s < 0.0 => -s,
            s => -(deep.min(steep * s).min(steep * (0.8 - s))).max(0.0),
        };
        let (width, height) = (520, 400);
        let mut rgb = Vec::new();
        for row in 0..height {
            for column in 0..width {
                // Four by four samples of a pixel, and a little grain.
                let covered = (0..16)
                    .filter(|k| {
                        let x = (f64::from(column) + f64::from(k % 4) / 4.0) / PX_PER_MM;
                        let y = (f64::from(row) + f64::from(k / 4) / 4.0) / PX_PER_MM;
                        6.0 - y < surface(x - 2.0)
                    })
                    .count() as f64
                    / 16.0;
                let grain = f64::from((column * 7919 + row * 104_729) % 13) - 6.0;
                let tone = 45.0 + 110.0 * covered + grain;
                rgb.extend([tone as u8; 3]);
            }
        }
        let photo = Photo::from_rgb(width as usize, height as usize, rgb).unwrap();
        let map = PlaneMap::uniform(PX_PER_MM).unwrap();
        let at = Beside {
            toe: Point::new(LEG, 0.0),
            away: Vector::new(1.0, 0.0),
            out: Vector::new(0.0, 1.0),
            bare_mm: 6.0,
        };
        let points = trace(&photo, &map, &frame, &at).unwrap();
        points.iter().map(|p| -p.y).fold(0.0, f64::max)
    }

    #[test]
    fn steep_and_shallow_grooves_are_followed_to_their_ground() {
        for (deep, steep) in [(0.15, 2.0), (0.5, 4.0), (0.9, 6.0)] {
            let found = traced(deep, steep);
            assert!((found - deep).abs() < 0.05, "{deep}: {found}");
        }
    }

    #[test]
    fn a_plain_surface_has_no_groove() {
        let found = traced(0.0, 1.0);
        assert!(found < 0.03, "{found}");
    }
}
