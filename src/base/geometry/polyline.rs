//! Open polylines given as their points in order.

use super::Point;

/// The nearest place of a polyline to some point.
#[derive(Clone, Copy, Debug)]
pub struct Nearest<F> {
    /// The nearest point of the polyline.
    pub point: Point<F>,
    /// Its distance, in the frame's unit.
    pub distance: f64,
    /// Arc length from the polyline's start to it, in the frame's unit.
    pub at: f64,
}

/// Length along the polyline, in the frame's unit.
pub fn length<F>(polyline: &[Point<F>]) -> f64 {
    polyline.windows(2).map(|w| w[0].distance(w[1])).sum()
}

/// The nearest point of the polyline to `p`; `None` for an empty polyline.
pub fn nearest<F>(polyline: &[Point<F>], p: Point<F>) -> Option<Nearest<F>> {
    let first = *polyline.first()?;
    let mut best = Nearest {
        point: first,
        distance: first.distance(p),
        at: 0.0,
    };
    let mut start = 0.0;
    for w in polyline.windows(2) {
        let step = w[1] - w[0];
        let squared = step.dot(step);
        let t = if squared > 0.0 {
            ((p - w[0]).dot(step) / squared).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let foot = w[0].lerp(w[1], t);
        let distance = foot.distance(p);
        if distance < best.distance {
            best = Nearest {
                point: foot,
                distance,
                at: start + t * squared.sqrt(),
            };
        }
        start += squared.sqrt();
    }
    Some(best)
}

/// Points at equal steps of at most `step` along the polyline, both ends kept.
pub fn resample<F>(polyline: &[Point<F>], step: f64) -> Vec<Point<F>> {
    let total = length(polyline);
    if polyline.len() < 2 || total <= 0.0 || step <= 0.0 {
        return polyline.to_vec();
    }
    let parts = (total / step).ceil().max(1.0) as usize;
    let mut out = Vec::with_capacity(parts + 1);
    let (mut i, mut start) = (0, 0.0);
    for k in 0..=parts {
        let want = total * k as f64 / parts as f64;
        let mut piece = polyline[i].distance(polyline[i + 1]);
        while start + piece < want && i + 2 < polyline.len() {
            start += piece;
            i += 1;
            piece = polyline[i].distance(polyline[i + 1]);
        }
        let t = if piece > 0.0 {
            ((want - start) / piece).clamp(0.0, 1.0)
        } else {
            0.0
        };
        out.push(polyline[i].lerp(polyline[i + 1], t));
    }
    out
}

/// Whether any two non-adjacent pieces cross (quadratic; for short outlines).
pub fn self_crossing<F>(polyline: &[Point<F>]) -> bool {
    let turn = |a: Point<F>, b: Point<F>, c: Point<F>| (b - a).cross(c - a);
    let pieces: Vec<_> = polyline.windows(2).map(|w| (w[0], w[1])).collect();
    for (i, (a, b)) in pieces.iter().enumerate() {
        for (c, d) in pieces.iter().skip(i + 2) {
            if turn(*a, *b, *c) * turn(*a, *b, *d) < 0.0
                && turn(*c, *d, *a) * turn(*c, *d, *b) < 0.0
            {
                return true;
            }
        }
    }
    false
}
