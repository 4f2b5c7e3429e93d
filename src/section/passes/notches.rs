//! Notches of an outline: places where it turns back into the weld metal.
//!
//! Every pass leaves a convex bead on the face and a convex lobe in the fusion
//! boundary, because surface tension and heat flow round each weld pool. Where
//! two passes meet at the outline there is a notch between them.

use crate::base::geometry::{Joint, Point, Vector};

/// One notch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notch {
    /// Its deepest place.
    pub at: Point<Joint>,
    /// Depth below the chord between the two places `reach` away on either
    /// side, as a share of `reach`: the tangent of half the re-entrant angle.
    pub depth: f64,
}

/// Distance of the places an outline is resampled at, mm.
const PITCH_MM: f64 = 0.05;
/// Smoothing along the outline before notches are read, mm: the noise of a
/// traced line.
const SMOOTH_MM: f64 = 0.1;
/// Shallower dents are not listed.
const SHALLOWEST: f64 = 0.02;
/// Notches lie at least this share of `reach` apart.
const APART: f64 = 0.8;

/// The notches of an open line, deepest first. `inside` is any place well
/// inside the weld metal, `reach` the half length a notch is looked at over,
/// mm; nearer to an end of the line than `clear` · `reach` nothing is listed,
/// for there the toe is.
pub fn find(line: &[Point<Joint>], inside: Point<Joint>, reach: f64, clear: f64) -> Vec<Notch> {
    let points = smoothed(&resampled(line));
    let k = (reach / PITCH_MM) as usize;
    if k < 2 || points.len() <= k {
        return Vec::new();
    }
    let last = points.len() - 1;
    let mut dents: Vec<(usize, f64)> = (k / 2..=last.saturating_sub(k / 2))
        .filter_map(|i| {
            let (a, b) = (points[i.saturating_sub(k)], points[(i + k).min(last)]);
            let chord = (b - a).unit();
            let normal = Vector::<Joint>::new(-chord.y, chord.x);
            let inwards = if (inside - a.lerp(b, 0.5)).dot(normal) < 0.0 {
                -normal
            } else {
                normal
            };
            let depth = (points[i] - a).dot(inwards) / reach;
            (depth >= SHALLOWEST).then_some((i, depth))
        })
        .collect();
    dents.sort_by(|a, b| b.1.total_cmp(&a.1));
    let apart = (APART * k as f64) as usize;
    let mut kept: Vec<(usize, f64)> = Vec::new();
    for dent in dents {
        if kept.iter().all(|other| other.0.abs_diff(dent.0) > apart) {
            kept.push(dent);
        }
    }
    let (first, end) = (points[0], points[last]);
    kept.into_iter()
        .map(|(i, depth)| Notch {
            at: points[i],
            depth,
        })
        .filter(|n| n.at.distance(first).min(n.at.distance(end)) > clear * reach)
        .collect()
}

/// The line at equal distances.
fn resampled(line: &[Point<Joint>]) -> Vec<Point<Joint>> {
    let mut out = Vec::new();
    let mut ahead = 0.0;
    for w in line.windows(2) {
        let length = w[0].distance(w[1]);
        while ahead < length {
            out.push(w[0].lerp(w[1], ahead / length));
            ahead += PITCH_MM;
        }
        ahead -= length;
    }
    out.extend(line.last());
    out
}

/// Means of neighbours with Gaussian weights; the ends stay.
fn smoothed(points: &[Point<Joint>]) -> Vec<Point<Joint>> {
    let sigma = SMOOTH_MM / PITCH_MM;
    let half = (3.0 * sigma).ceil() as usize;
    (0..points.len())
        .map(|i| {
            let half = half.min(i).min(points.len() - 1 - i);
            let (mut x, mut y, mut sum) = (0.0, 0.0, 0.0);
            for (k, p) in points[i - half..=i + half].iter().enumerate() {
                let weight = (-0.5 * (k.abs_diff(half) as f64 / sigma).powi(2)).exp();
                x += weight * p.x;
                y += weight * p.y;
                sum += weight;
            }
            Point::new(x / sum, y / sum)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Beads of 4 mm chord side by side along x, each a circular arc 0.8 mm high.
    fn beads(count: usize) -> Vec<Point<Joint>> {
        let (half, rise) = (2.0f64, 0.8);
        let radius = (half * half + rise * rise) / (2.0 * rise);
        (0..count * 40)
            .map(|i| {
                let x = 0.1 * i as f64;
                let u = x.rem_euclid(4.0) - half;
                Point::new(x, (radius * radius - u * u).sqrt() - (radius - rise))
            })
            .collect()
    }

    #[test]
    fn a_notch_lies_between_two_beads() {
        let inside = Point::new(6.0, -5.0);
        let notches = find(&beads(3), inside, 1.0, 0.5);
        let clear: Vec<&Notch> = notches.iter().filter(|n| n.depth > 0.1).collect();
        assert_eq!(clear.len(), 2, "{notches:?}");
        for x in [4.0, 8.0] {
            assert!(clear.iter().any(|n| (n.at.x - x).abs() < 0.1), "{clear:?}");
        }
    }

    #[test]
    fn a_single_bead_has_none() {
        assert!(find(&beads(1), Point::new(2.0, -5.0), 1.0, 0.5).is_empty());
    }

    #[test]
    fn from_the_other_side_beads_have_one_notch_each() {
        let notches = find(&beads(2), Point::new(4.0, 9.0), 1.0, 0.2);
        assert!(
            notches.iter().all(|n| (n.at.x - 4.0).abs() > 0.3),
            "{notches:?}"
        );
    }
}
