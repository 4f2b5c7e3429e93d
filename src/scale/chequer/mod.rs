//! Printed chequer squares lying in the measured plane: strips of one, two or
//! three rows, boards, rows of separate squares one square apart.
//!
//! Dark squares are found one by one, their sides fitted to a fraction of a
//! pixel at full resolution, and put on one lattice by predicting neighbours
//! from each square's own sides. Whether ink or light makes squares look larger
//! or smaller than their cell is measured and taken out.

mod lattice;
mod paper;
mod squares;

use super::budget::{self, Budget};
use super::plane_fit::{Mark, PlaneFit};
use super::{PlaneMap, Scale};
use crate::base::geometry::{Point, Px};
use crate::base::numeric::median;
use crate::photo::Photo;
use crate::record::{Code, Reason, ScaleEvidence, ScaleFacts};
use lattice::Placed;

/// Fewest squares a scale may rest on.
const FEWEST: usize = 4;

/// Whether chequer squares lie in the picture: how many, and their centre.
pub fn seen(photo: &Photo) -> Option<(usize, Point<Px>)> {
    let placed = lattice::largest(&squares::find(&photo.luma));
    (placed.len() >= FEWEST).then(|| (placed.len(), centre_of(&placed)))
}

/// Reads the scale from squares of `pitch_mm`.
///
/// # Errors
/// `no-scale` when fewer than four squares on one lattice are found,
/// `scale-doubtful` when they fit no plane.
pub fn find(photo: &Photo, pitch_mm: f64, offset_mm: Option<f64>) -> Result<Scale, Reason> {
    let placed = lattice::largest(&squares::find(&photo.luma));
    if placed.len() < FEWEST {
        return Err(Reason::new(
            Code::NoScale,
            "no row of at least four chequer squares was found in the picture",
            "lay the chequer strip flat in the plane of the section, wholly in the picture, in focus and free of glare; or declare the scale",
        ));
    }
    let place = centre_of(&placed);
    let doubt = |what: &str| {
        Reason::new(
            Code::ScaleDoubtful,
            format!(
                "the chequer squares near ({:.0}, {:.0}) px {what}",
                place.x, place.y
            ),
            "lay the strip flat, free of glare, and check its square size; or declare the scale",
        )
    };
    // Size against spacing: the fit leans on both, so a few rounds are needed.
    let mut swell = 1.0;
    let mut settled = None;
    for _ in 0..6 {
        let fit = fit(photo, &placed, pitch_mm, swell).ok_or_else(|| doubt("fit no plane"))?;
        let map = fit.map().ok_or_else(|| doubt("fit no plane"))?;
        let sides: Vec<f64> = placed.iter().map(|s| side_mm(&map, s) / pitch_mm).collect();
        swell = median(&sides);
        settled = Some((fit, map));
    }
    let (fit, map) = settled.ok_or_else(|| doubt("fit no plane"))?;
    if !(0.8..1.25).contains(&swell) {
        return Err(doubt("are not as large as their spacing asks for"));
    }
    let middle = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
    let side_px = pitch_mm * fit.px_per_mm_at(place);
    if fit.residual_px > (0.02 * side_px).max(0.5) {
        return Err(doubt(&format!(
            "stray by {:.2} px from any flat chequer",
            fit.residual_px
        )));
    }
    let columns = placed.iter().map(|s| s.column);
    let rows = placed.iter().map(|s| s.row);
    let extent = |values: &mut dyn Iterator<Item = i32>| {
        let all: Vec<i32> = values.collect();
        all.iter().max().unwrap_or(&0) - all.iter().min().unwrap_or(&0) + 1
    };
    let (across, down) = (
        extent(&mut columns.into_iter()),
        extent(&mut rows.into_iter()),
    );
    let length_mm = pitch_mm * f64::from(across).hypot(f64::from(down));
    let halves = halves_difference(&placed, &map, pitch_mm);
    // A short strip of small squares shows less than its corners' noise.
    let noise = 3.0 * fit.residual_px / (0.5 * length_mm / pitch_mm * side_px);
    if halves > 0.01 + noise {
        return Err(doubt(&format!(
            "give scales {:.2} % apart in the two halves of the strip",
            100.0 * halves
        )));
    }
    let (factor, height) = budget::height(offset_mm, fit.distance_mm());
    let budget = Budget {
        fit: fit.scale_uncertainty_rel(middle),
        reference: budget::printed(length_mm),
        height,
    };
    let paper = paper::outline(&photo.luma, &map, &placed, pitch_mm);
    let map = map
        .rescaled(factor)
        .ok_or_else(|| doubt("leave no plane at the declared offset"))?;
    let standard_uncertainty_rel = budget.combined();
    Ok(Scale {
        facts: ScaleFacts {
            source: format!("chequer:{pitch_mm}"),
            px_per_mm: map.px_per_mm_at(map.to_mm(middle)),
            standard_uncertainty_rel,
            tilt_deg: Some(fit.tilt_deg()),
            at_px: Some(place.to_array()),
            evidence: ScaleEvidence {
                ticks: None,
                corners: Some(4 * placed.len()),
                residual_px: Some(fit.residual_px),
                cross_checks: vec![
                    format!(
                        "first half of the strip against its second half: {:.2} % apart",
                        100.0 * halves
                    ),
                    format!(
                        "{} squares on a lattice of {across} × {down}; they look {:+.1} % larger than their cell, which is taken out",
                        placed.len(),
                        100.0 * (swell - 1.0)
                    ),
                    format!(
                        "relative standard uncertainty: fit, tilt and lens {:.2} %, the print {:.2} %, its height against the plane {:.2} %",
                        100.0 * budget.fit,
                        100.0 * budget.reference,
                        100.0 * budget.height
                    ),
                    budget::effect_of_height(offset_mm, factor, fit.distance_mm()),
                ],
                outline_px: paper.iter().map(|p| p.to_array()).collect(),
                marks_px: placed
                    .iter()
                    .flat_map(|s| s.square.corners)
                    .map(Point::to_array)
                    .collect(),
            },
        },
        map,
        standard_uncertainty_rel,
        occupied: vec![paper],
    })
}

/// Fits the plane to all corners, drawn in towards their square's centre by
/// `swell`.
fn fit(photo: &Photo, placed: &[Placed], pitch_mm: f64, swell: f64) -> Option<PlaneFit> {
    let marks: Vec<Mark> = placed
        .iter()
        .flat_map(|s| {
            let centre = s.square.centre();
            s.cells().into_iter().map(move |(corner, u, v)| Mark {
                at: centre + (corner - centre) * (1.0 / swell),
                u: u * pitch_mm,
                v: Some(v * pitch_mm),
                sigma_px: None,
            })
        })
        .collect();
    PlaneFit::new(&marks, photo.width, photo.height)
}

/// Mean side of a square in the plane, mm.
fn side_mm(map: &PlaneMap, placed: &Placed) -> f64 {
    let c = placed.square.corners.map(|p| map.to_mm(p));
    (0..4).map(|k| c[k].distance(c[(k + 1) % 4])).sum::<f64>() / 4.0
}

/// Relative difference of the scales between the centres of the squares of the
/// two halves of the strip.
fn halves_difference(placed: &[Placed], map: &PlaneMap, pitch_mm: f64) -> f64 {
    let mut sorted: Vec<&Placed> = placed.iter().collect();
    let key = |s: &Placed| (s.column, s.row);
    let spread = |of: fn(&Placed) -> i32| {
        placed.iter().map(of).max().unwrap_or(0) - placed.iter().map(of).min().unwrap_or(0)
    };
    if spread(|s| s.column) >= spread(|s| s.row) {
        sorted.sort_by_key(|s| key(s));
    } else {
        sorted.sort_by_key(|s| (s.row, s.column));
    }
    let ratio = |part: &[&Placed]| {
        let (a, b) = (part[0], part[part.len() - 1]);
        let mm = map
            .to_mm(a.square.centre())
            .distance(map.to_mm(b.square.centre()));
        let cells = f64::from(a.column - b.column).hypot(f64::from(a.row - b.row));
        mm / (cells * pitch_mm)
    };
    let middle = sorted.len() / 2;
    (ratio(&sorted[..=middle]) - ratio(&sorted[middle..])).abs()
}

fn centre_of(placed: &[Placed]) -> Point<Px> {
    let n = placed.len() as f64;
    let (x, y) = placed.iter().fold((0.0, 0.0), |(x, y), s| {
        let c = s.square.centre();
        (x + c.x / n, y + c.y / n)
    });
    Point::new(x, y)
}
