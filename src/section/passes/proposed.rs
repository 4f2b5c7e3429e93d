//! Proposed outlines of passes from the places where they meet.
//!
//! Two junctions are the two ends of one border. Three meet in a point inside,
//! the place the borders to them are shortest from in all. With more junctions
//! several divisions fit the same outline, and none is proposed.

use crate::base::geometry::{Joint, Point, centroid};

/// Steps of the search for the point with the least total distance
/// (Weiszfeld, Tohoku Math. J. 43, 1937); it converges long before.
const STEPS: usize = 60;

/// Divides the weld metal between `face` (butting toe to nonbutting toe) and
/// `boundary` (nonbutting toe to butting toe). Passes come in the order of
/// laying: what lies deeper below the face was laid first. Empty where the
/// division is open.
pub fn divide(
    face: &[Point<Joint>],
    boundary: &[Point<Joint>],
    on_face: &[Point<Joint>],
    on_boundary: &[Point<Joint>],
) -> Vec<Vec<Point<Joint>>> {
    let mut ring = face.to_vec();
    ring.extend(
        boundary
            .get(1..boundary.len().saturating_sub(1))
            .unwrap_or(&[]),
    );
    let mut cuts: Vec<usize> = on_face
        .iter()
        .map(|p| nearest(&ring[..face.len()], *p))
        .chain(
            on_boundary
                .iter()
                .map(|p| face.len() + nearest(&ring[face.len()..], *p)),
        )
        .collect();
    cuts.sort_unstable();
    cuts.dedup();
    let ends: Vec<Point<Joint>> = cuts.iter().map(|i| ring[*i]).collect();
    let middle = match (cuts.len(), on_face.len() + on_boundary.len()) {
        (0, 0) => return vec![ring],
        (2, 2) => None,
        (3, 3) => Some(meeting(&ends)),
        _ => return Vec::new(),
    };
    let mut pieces: Vec<Vec<Point<Joint>>> = (0..cuts.len())
        .map(|k| {
            let (from, to) = (cuts[k], cuts[(k + 1) % cuts.len()]);
            let mut piece: Vec<Point<Joint>> = if from < to {
                ring[from..=to].to_vec()
            } else {
                ring[from..].iter().chain(&ring[..=to]).copied().collect()
            };
            piece.extend(middle);
            piece
        })
        .collect();
    let depth = |piece: &[Point<Joint>]| {
        let place = centroid(piece).unwrap_or(piece[0]);
        face.iter()
            .map(|p| p.distance(place))
            .fold(f64::INFINITY, f64::min)
    };
    pieces.sort_by(|a, b| depth(b).total_cmp(&depth(a)));
    pieces
}

fn nearest(points: &[Point<Joint>], to: Point<Joint>) -> usize {
    (0..points.len())
        .min_by(|a, b| points[*a].distance(to).total_cmp(&points[*b].distance(to)))
        .unwrap_or(0)
}

/// The point with the least sum of distances to all `ends`.
fn meeting(ends: &[Point<Joint>]) -> Point<Joint> {
    let count = ends.len() as f64;
    let mut at = Point::new(
        ends.iter().map(|p| p.x).sum::<f64>() / count,
        ends.iter().map(|p| p.y).sum::<f64>() / count,
    );
    for _ in 0..STEPS {
        let (mut x, mut y, mut sum) = (0.0, 0.0, 0.0);
        for p in ends {
            let weight = 1.0 / p.distance(at).max(1e-6);
            x += weight * p.x;
            y += weight * p.y;
            sum += weight;
        }
        at = Point::new(x / sum, y / sum);
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::area;

    /// A square of 6 mm: the face on top, the boundary round the other sides.
    fn square() -> (Vec<Point<Joint>>, Vec<Point<Joint>>) {
        let face = (0..=60)
            .map(|i| Point::new(0.1 * f64::from(i), 6.0))
            .collect();
        let mut boundary: Vec<Point<Joint>> = (0..60)
            .map(|i| Point::new(6.0, 6.0 - 0.1 * f64::from(i)))
            .collect();
        boundary.extend((0..60).map(|i| Point::new(6.0 - 0.1 * f64::from(i), 0.0)));
        boundary.extend((0..=60).map(|i| Point::new(0.0, 0.1 * f64::from(i))));
        (face, boundary)
    }

    #[test]
    fn three_junctions_give_three_passes_the_deepest_first() {
        let (face, boundary) = square();
        let sides = [Point::new(6.0, 2.0), Point::new(0.0, 2.0)];
        let passes = divide(&face, &boundary, &[Point::new(3.0, 6.0)], &sides);
        assert_eq!(passes.len(), 3);
        let whole: f64 = passes.iter().map(|p| area(p)).sum();
        assert!((whole - 36.0).abs() < 0.1, "{whole}");
        let first = centroid(&passes[0]).unwrap();
        assert!(first.y < 2.0 && (first.x - 3.0).abs() < 0.1, "{first:?}");
    }

    #[test]
    fn an_open_division_is_not_proposed() {
        let (face, boundary) = square();
        let sides = [
            Point::new(6.0, 2.0),
            Point::new(0.0, 2.0),
            Point::new(3.0, 0.0),
        ];
        assert!(divide(&face, &boundary, &[Point::new(3.0, 6.0)], &sides).is_empty());
    }
}
