//! Closed polygons given as their corner points, without repeating the first.

use super::{Line, Point};

/// Signed area (shoelace formula): positive when the corners run from +x
/// towards +y, i.e. clockwise as pictured in a y-down frame.
pub fn signed_area<F>(polygon: &[Point<F>]) -> f64 {
    let n = polygon.len();
    (0..n)
        .map(|i| {
            let (a, b) = (polygon[i], polygon[(i + 1) % n]);
            a.x * b.y - b.x * a.y
        })
        .sum::<f64>()
        / 2.0
}

/// Area, never negative.
pub fn area<F>(polygon: &[Point<F>]) -> f64 {
    signed_area(polygon).abs()
}

/// Centroid of the area; the mean of the corners when the area vanishes.
/// `None` for an empty polygon.
pub fn centroid<F>(polygon: &[Point<F>]) -> Option<Point<F>> {
    let n = polygon.len();
    let first = *polygon.first()?;
    let twice = 2.0 * signed_area(polygon);
    if twice.abs() < 1e-12 {
        let (sx, sy) = polygon
            .iter()
            .fold((0.0, 0.0), |(x, y), p| (x + p.x, y + p.y));
        return Some(Point::new(sx / n as f64, sy / n as f64));
    }
    let (mut cx, mut cy) = (0.0, 0.0);
    for i in 0..n {
        // Relative to the first corner, so that far-off origins lose no digits.
        let (a, b) = (polygon[i] - first, polygon[(i + 1) % n] - first);
        let cross = a.cross(b);
        cx += (a.x + b.x) * cross;
        cy += (a.y + b.y) * cross;
    }
    Some(Point::new(
        first.x + cx / (3.0 * twice),
        first.y + cy / (3.0 * twice),
    ))
}

/// Whether `p` lies inside (even-odd rule; points on the border are undefined).
pub fn contains<F>(polygon: &[Point<F>], p: Point<F>) -> bool {
    let n = polygon.len();
    let mut inside = false;
    for i in 0..n {
        let (a, b) = (polygon[i], polygon[(i + 1) % n]);
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            inside = !inside;
        }
    }
    inside
}

/// The part of `polygon` on the normal's side of `line` (Sutherland and
/// Hodgman, 1974). A concave polygon may come back with coincident edges on
/// the line; its area is right all the same.
pub fn clip_by_half_plane<F>(polygon: &[Point<F>], line: &Line<F>) -> Vec<Point<F>> {
    let n = polygon.len();
    let mut kept = Vec::with_capacity(n + 4);
    for i in 0..n {
        let (a, b) = (polygon[i], polygon[(i + 1) % n]);
        let (da, db) = (line.signed_distance(a), line.signed_distance(b));
        if da >= 0.0 {
            kept.push(a);
        }
        if (da >= 0.0) != (db >= 0.0) {
            kept.push(a.lerp(b, da / (da - db)));
        }
    }
    kept
}
