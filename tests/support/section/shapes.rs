//! The generator's own plane geometry: points are `[x, y]`, polygons list
//! their corners without repeating the first.

/// A point or a displacement, mm or px as the caller says.
pub type P = [f64; 2];

pub fn add(a: P, b: P) -> P {
    [a[0] + b[0], a[1] + b[1]]
}

pub fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1]]
}

pub fn scale(a: P, k: f64) -> P {
    [a[0] * k, a[1] * k]
}

pub fn dot(a: P, b: P) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub fn cross(a: P, b: P) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub fn length(a: P) -> f64 {
    a[0].hypot(a[1])
}

pub fn mix(a: P, b: P, t: f64) -> P {
    [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]
}

/// Distance from `p` to the segment `a`–`b` and the nearest point.
pub fn to_segment(p: P, a: P, b: P) -> (f64, P) {
    let along = sub(b, a);
    let squared = dot(along, along);
    let t = if squared > 0.0 {
        (dot(sub(p, a), along) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let foot = mix(a, b, t);
    (length(sub(p, foot)), foot)
}

/// Distance to a polyline and the nearest point on it.
pub fn to_polyline(p: P, line: &[P]) -> (f64, P) {
    line.windows(2)
        .map(|w| to_segment(p, w[0], w[1]))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .expect("a polyline has two points")
}

/// Signed distance to a polygon's border, negative inside.
pub fn signed_distance(p: P, polygon: &[P]) -> f64 {
    let mut squared = f64::INFINITY;
    let mut inside = false;
    let mut a = polygon[polygon.len() - 1];
    for &b in polygon {
        let (ab, ap) = (sub(b, a), sub(p, a));
        let t = (dot(ap, ab) / dot(ab, ab).max(1e-18)).clamp(0.0, 1.0);
        let d = sub(ap, scale(ab, t));
        squared = squared.min(dot(d, d));
        if (a[1] > p[1]) != (b[1] > p[1]) && (p[1] - a[1]) / ab[1] * ab[0] + a[0] > p[0] {
            inside = !inside;
        }
        a = b;
    }
    if inside {
        -squared.sqrt()
    } else {
        squared.sqrt()
    }
}

pub fn area(polygon: &[P]) -> f64 {
    let n = polygon.len();
    let twice: f64 = (0..n)
        .map(|i| cross(polygon[i], polygon[(i + 1) % n]))
        .sum();
    twice.abs() / 2.0
}

pub fn centroid(polygon: &[P]) -> P {
    let n = polygon.len();
    let mut sum = [0.0, 0.0];
    let mut twice = 0.0;
    for i in 0..n {
        let (a, b) = (polygon[i], polygon[(i + 1) % n]);
        let c = cross(a, b);
        twice += c;
        sum = add(sum, scale(add(a, b), c));
    }
    scale(sum, 1.0 / (3.0 * twice))
}

/// The part of `subject` inside the convex polygon `window` (corners in
/// either turning sense); half-plane after half-plane.
pub fn clip_convex(subject: &[P], window: &[P]) -> Vec<P> {
    let middle = centroid(window);
    let mut kept = subject.to_vec();
    for i in 0..window.len() {
        let (a, b) = (window[i], window[(i + 1) % window.len()]);
        let sign = cross(sub(b, a), sub(middle, a)).signum();
        let side = |p: P| sign * cross(sub(b, a), sub(p, a));
        let mut next = Vec::with_capacity(kept.len() + 2);
        for k in 0..kept.len() {
            let (p, q) = (kept[k], kept[(k + 1) % kept.len()]);
            let (sp, sq) = (side(p), side(q));
            if sp >= 0.0 {
                next.push(p);
            }
            if (sp >= 0.0) != (sq >= 0.0) {
                next.push(mix(p, q, sp / (sp - sq)));
            }
        }
        kept = next;
        if kept.is_empty() {
            break;
        }
    }
    kept
}

/// `n + 1` points of a cubic Bézier curve.
pub fn bezier(c: [P; 4], n: usize) -> Vec<P> {
    (0..=n)
        .map(|i| {
            let t = i as f64 / n as f64;
            let s = 1.0 - t;
            let w = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
            (0..4).fold([0.0, 0.0], |p, k| add(p, scale(c[k], w[k])))
        })
        .collect()
}

/// Point at arc length `s` from the start of a polyline.
pub fn at_length(line: &[P], s: f64) -> P {
    let mut left = s;
    for w in line.windows(2) {
        let piece = length(sub(w[1], w[0]));
        if left <= piece && piece > 0.0 {
            return mix(w[0], w[1], left / piece);
        }
        left -= piece;
    }
    line[line.len() - 1]
}
