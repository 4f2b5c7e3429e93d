//! Printed chequer squares lying in the measured plane: strips of one, two or
//! three rows, boards, rows of separate squares one square apart.
//!
//! Dark squares are found one by one, their sides fitted to a fraction of a
//! pixel at full resolution, and put on one lattice by predicting neighbours
//! from each square's own sides. Whether ink or light makes squares look larger
//! or smaller than their cell is measured and taken out.

pub(super) mod flat;
pub(super) mod lattice;
mod paper;
pub(super) mod squares;

use super::Scale;
use super::budget::{self, Budget};
use super::sight::Sight;
use crate::base::geometry::{Point, Px};
use crate::record::{Code, NumberedMark, Reason, ScaleEvidence, ScaleFacts};
use flat::{Flat, Seat};
use lattice::Placed;

/// Fewest squares a scale may rest on.
const FEWEST: usize = 4;

/// Whether chequer squares lie in the picture: how many, and their centre.
pub fn seen(sight: &Sight) -> Option<(usize, Point<Px>)> {
    let placed = lattice::largest(sight.squares());
    (placed.len() >= FEWEST).then(|| (placed.len(), centre_of(&placed)))
}

/// Reads the scale from squares of `pitch_mm`.
///
/// # Errors
/// `no-scale` when fewer than four squares on one lattice are found,
/// `scale-doubtful` when they fit no plane.
pub fn find(sight: &Sight, pitch_mm: f64, offset_mm: Option<f64>) -> Result<Scale, Reason> {
    let photo = sight.photo;
    let placed = lattice::largest(sight.squares());
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
    let seats: Vec<Seat> = placed
        .iter()
        .map(|s| Seat {
            square: s.square,
            places: s
                .cells()
                .map(|(_, u, v)| Point::new(u * pitch_mm, v * pitch_mm)),
        })
        .collect();
    let Flat {
        fit,
        map,
        swell,
        length_mm,
        halves_rel: halves,
    } = flat::settle(photo, &seats, pitch_mm).map_err(|what| doubt(&what))?;
    let middle = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
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
    let (factor, height) = budget::height(offset_mm, &fit.distance());
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
                    budget::effect_of_height(offset_mm, factor, &fit.distance()),
                ],
                outline_px: paper.iter().map(|p| p.to_array()).collect(),
                marks_px: placed
                    .iter()
                    .flat_map(|s| s.square.corners)
                    .map(Point::to_array)
                    .collect(),
                numbered: numbered(&placed),
            },
        },
        map,
        standard_uncertainty_rel,
        occupied: vec![paper],
        coupon_id: None,
    })
}

/// The squares by column and row, counted from the first of either.
fn numbered(placed: &[Placed]) -> Vec<NumberedMark> {
    let first = |of: fn(&Placed) -> i32| placed.iter().map(of).min().unwrap_or(0);
    let (column, row) = (first(|p| p.column), first(|p| p.row));
    placed
        .iter()
        .map(|p| NumberedMark {
            at_px: p.square.centre().to_array(),
            place: format!("{},{}", p.column - column, p.row - row),
        })
        .collect()
}

fn centre_of(placed: &[Placed]) -> Point<Px> {
    flat::centre_of(placed.iter().map(|s| &s.square))
}
