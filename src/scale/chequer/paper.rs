//! The paper around chequer squares.

use super::lattice::Placed;
use crate::base::geometry::{Mm, Point, Px};
use crate::base::numeric::{median, quantile};
use crate::base::raster::Gray;
use crate::scale::PlaneMap;

/// Widest paper margin looked for, in squares.
const WIDEST: f64 = 8.0;

/// Outline of the strip's paper: from the squares outwards on each side to the
/// first lasting change of brightness, else one square.
pub fn outline(gray: &Gray, map: &PlaneMap, placed: &[Placed], pitch_mm: f64) -> Vec<Point<Px>> {
    let corners: Vec<Point<Mm>> = placed
        .iter()
        .flat_map(|s| s.square.corners)
        .map(|p| map.to_mm(p))
        .collect();
    let limit = |of: fn(&Point<Mm>) -> f64, q: f64| {
        quantile(&corners.iter().map(of).collect::<Vec<_>>(), q)
    };
    let (left, right) = (limit(|p| p.x, 0.0), limit(|p| p.x, 1.0));
    let (top, bottom) = (limit(|p| p.y, 0.0), limit(|p| p.y, 1.0));
    let reach = |from: &dyn Fn(f64) -> Point<Mm>, dx: f64, dy: f64| -> f64 {
        let rays: Vec<f64> = (0..9)
            .map(|k| {
                ray(
                    gray,
                    map,
                    from(0.06 + 0.11 * f64::from(k)),
                    dx,
                    dy,
                    pitch_mm,
                )
            })
            .collect();
        // A margin for the blurred edge of the paper.
        median(&rays) + 0.06 * pitch_mm
    };
    let l = left - reach(&|t| Point::new(left, top + t * (bottom - top)), -1.0, 0.0);
    let r = right + reach(&|t| Point::new(right, top + t * (bottom - top)), 1.0, 0.0);
    let t = top - reach(&|t| Point::new(left + t * (right - left), top), 0.0, -1.0);
    let b = bottom + reach(&|t| Point::new(left + t * (right - left), bottom), 0.0, 1.0);
    [(l, t), (r, t), (r, b), (l, b)]
        .map(|(x, y)| map.to_px(Point::new(x, y)))
        .to_vec()
}

/// How far the paper goes on from `from` along (dx, dy), mm.
fn ray(gray: &Gray, map: &PlaneMap, from: Point<Mm>, dx: f64, dy: f64, pitch_mm: f64) -> f64 {
    let step = pitch_mm / 24.0;
    let value = |k: f64| -> Option<f64> {
        let p = map.to_px(Point::new(from.x + dx * k * step, from.y + dy * k * step));
        gray.covers(p.x, p.y)
            .then(|| f64::from(gray.sample(p.x, p.y)))
    };
    let Some(paper) = (2..8)
        .map(|k| value(f64::from(k)))
        .collect::<Option<Vec<f64>>>()
        .map(|v| median(&v))
    else {
        return 0.3 * pitch_mm;
    };
    let mut k = 8.0;
    while k * step < WIDEST * pitch_mm {
        match value(k) {
            // The paper leaves the picture.
            None => return k * step,
            Some(v) if (v - paper).abs() > 0.18 * paper.max(40.0) => return k * step,
            _ => k += 1.0,
        }
    }
    pitch_mm
}
