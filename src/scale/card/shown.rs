//! The parts of the card that are to be seen in the picture: where no specimen
//! lies. The window is not one of them, nor is what the specimen covers.

use super::code::Code;
use super::design::{Area, Design};
use crate::base::geometry::{Mm, Point, Px};
use crate::base::numeric::median;
use crate::photo::Photo;
use crate::scale::PlaneMap;
use crate::scale::chequer::flat::Seat;

/// Margin for the blurred edge of the print, mm.
const MARGIN_MM: f64 = 0.5;
/// Corners a side of an outline, so that it follows a bent lens.
const STEPS: usize = 6;
/// Beside the ring: the code and the lines below it.
const PANEL: Area = [113.0, -1.5, 24.0, 34.0];
/// Below the ring: the coupon's name and the control line.
const FOOT: Area = [-1.0, 81.0, 137.0, 22.0];
/// A lettered part is to be seen when this share of it is as light as the ring's
/// light cells, within a quarter.
const LIGHT_SHARE: f64 = 0.6;

/// Outline of an area of the card in the picture.
pub fn outline(
    map: &PlaneMap,
    [left, top, width, height]: Area,
    on_plane: &impl Fn([f64; 2]) -> Point<Mm>,
) -> Vec<Point<Px>> {
    let corners = [
        [left, top],
        [left + width, top],
        [left + width, top + height],
        [left, top + height],
    ];
    (0..4)
        .flat_map(|k| {
            let (a, b) = (corners[k], corners[(k + 1) % 4]);
            (0..STEPS).map(move |i| {
                let t = i as f64 / STEPS as f64;
                [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
            })
        })
        .map(|place| map.to_px(on_plane(place)))
        .collect()
}

/// Outlines of the parts that are to be seen.
pub fn parts(
    photo: &Photo,
    map: &PlaneMap,
    seats: &[Seat],
    qr: &Code,
    on_plane: &impl Fn([f64; 2]) -> Point<Mm>,
    stretch: f64,
) -> Vec<Vec<Point<Px>>> {
    let mut areas = ring(seats, stretch);
    if matches!(qr, Code::Read(_)) {
        areas.push(PANEL);
    }
    if is_light(photo, map, seats, FOOT, on_plane) {
        areas.push(FOOT);
    }
    areas
        .into_iter()
        .map(|[left, top, width, height]| {
            let grown = [
                left - MARGIN_MM,
                top - MARGIN_MM,
                width + 2.0 * MARGIN_MM,
                height + 2.0 * MARGIN_MM,
            ];
            outline(map, grown, on_plane)
        })
        .collect()
}

/// Stretches of the ring's four sides without a gap of two squares or more.
fn ring(seats: &[Seat], stretch: f64) -> Vec<Area> {
    let [columns, rows] = Design::CELLS;
    let side = Design::SQUARE_MM;
    let cells: Vec<(i32, i32)> = seats
        .iter()
        .map(|s| {
            let middle = s.places[0].lerp(s.places[2], 0.5);
            let cell = |v: f64| (v.abs() / stretch / side).floor() as i32;
            (cell(middle.x), cell(middle.y))
        })
        .collect();
    let mut areas = Vec::new();
    let depth = f64::from(Design::DEPTH) * side;
    let (far_x, far_y) = (Design::RING[2] - depth, Design::RING[3] - depth);
    for (across, near, far, length) in [
        (false, rows - Design::DEPTH, far_y, columns),
        (true, columns - Design::DEPTH, far_x, rows),
    ] {
        for (from, at) in [(0, 0.0), (near, far)] {
            let seen: Vec<bool> = (0..length)
                .map(|i| {
                    cells.iter().any(|&(column, row)| {
                        let (along, deep) = if across { (row, column) } else { (column, row) };
                        along == i && (from..from + Design::DEPTH).contains(&deep)
                    })
                })
                .collect();
            for (first, last) in runs(&seen) {
                let (start, long) = (first as f64 * side, (last - first + 1) as f64 * side);
                areas.push(if across {
                    [at, start, depth, long]
                } else {
                    [start, at, long, depth]
                });
            }
        }
    }
    areas
}

/// First and last of each run of `true`, single gaps bridged.
fn runs(seen: &[bool]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (i, _) in seen.iter().enumerate().filter(|(_, s)| **s) {
        match found.last_mut() {
            Some(last) if i - last.1 <= 2 => last.1 = i,
            _ => found.push((i, i)),
        }
    }
    found
}

/// Whether an area looks like the card's paper with some lettering on it.
fn is_light(
    photo: &Photo,
    map: &PlaneMap,
    seats: &[Seat],
    [left, top, width, height]: Area,
    on_plane: &impl Fn([f64; 2]) -> Point<Mm>,
) -> bool {
    let paper: Vec<f64> = seats
        .iter()
        .map(|s| {
            let (e, _) = s.square.axes();
            let beside = s.square.centre() + e;
            f64::from(photo.luma.sample(beside.x, beside.y))
        })
        .collect();
    let paper = median(&paper);
    let (across, down) = (40, 8);
    let light = (0..across * down)
        .filter(|i| {
            let (u, v) = (
                (f64::from(i % across) + 0.5) / f64::from(across),
                (f64::from(i / across) + 0.5) / f64::from(down),
            );
            let p = map.to_px(on_plane([left + u * width, top + v * height]));
            let level = f64::from(photo.luma.sample(p.x, p.y));
            photo.luma.covers(p.x, p.y) && (level / paper - 1.0).abs() < 0.25
        })
        .count();
    let middle = map.to_px(on_plane([left + 0.5 * width, top + 0.5 * height]));
    photo.luma.covers(middle.x, middle.y) && light as f64 > LIGHT_SHARE * f64::from(across * down)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_gap_is_bridged_and_a_wider_one_is_not() {
        let seen = [true, true, false, true, false, false, true];
        assert_eq!(runs(&seen), [(0, 3), (6, 6)]);
        assert!(runs(&[false; 3]).is_empty());
    }
}
