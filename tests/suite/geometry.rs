//! Floor 0 against independent code: the `geo` crate for polygons and lines,
//! all paths tried one by one for the optimal path, plain loops for rasters.

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Area, BooleanOps, Centroid, Closest, ClosestPoint, Contains, Coord, LineString};
use proptest::prelude::*;
use toeline::base::geometry::{self as own, Homography, Line, Mm, Point, Px, Vector};
use toeline::base::numeric::{Grid, optimal_path};
use toeline::base::raster::{Gray, gaussian_blur, halve};

type P = Point<Mm>;

/// A polygon that does not cross itself: corners at rising angles round a
/// centre, never half a turn apart.
fn simple_polygon() -> impl Strategy<Value = Vec<P>> {
    let spokes = prop::collection::vec((0.0..0.4f64, 0.5..10.0f64), 3..14);
    (spokes, -100.0..100.0f64, -100.0..100.0f64, any::<bool>()).prop_map(
        |(spokes, cx, cy, turn)| {
            let n = spokes.len() as f64;
            let mut corners: Vec<P> = spokes
                .iter()
                .enumerate()
                .map(|(i, (off, radius))| {
                    let angle = (i as f64 + off) / n * std::f64::consts::TAU;
                    P::new(cx + radius * angle.cos(), cy + radius * angle.sin())
                })
                .collect();
            if turn {
                corners.reverse();
            }
            corners
        },
    )
}

fn points(n: std::ops::Range<usize>) -> impl Strategy<Value = Vec<P>> {
    prop::collection::vec((-20.0..20.0f64, -20.0..20.0f64), n)
        .prop_map(|v| v.into_iter().map(|(x, y)| P::new(x, y)).collect())
}

fn line_string(points: &[P]) -> LineString {
    LineString::new(points.iter().map(|p| Coord { x: p.x, y: p.y }).collect())
}

fn polygon(points: &[P]) -> geo::Polygon {
    geo::Polygon::new(line_string(points), Vec::new())
}

fn close(a: f64, b: f64, within: f64) -> Result<(), TestCaseError> {
    prop_assert!((a - b).abs() <= within, "{a} is not {b} within {within}");
    Ok(())
}

proptest! {
    #[test]
    fn area_and_centroid_agree_with_geo(corners in simple_polygon()) {
        let other = polygon(&corners);
        close(own::area(&corners), other.unsigned_area(), 1e-8)?;
        let (a, b) = (own::centroid(&corners).unwrap(), other.centroid().unwrap());
        close(a.x, b.x(), 1e-6)?;
        close(a.y, b.y(), 1e-6)?;
        let mut turned = corners.clone();
        turned.reverse();
        close(own::signed_area(&corners), -own::signed_area(&turned), 1e-8)?;
    }

    #[test]
    fn inside_agrees_with_geo(corners in simple_polygon(), dx in -12.0..12.0f64, dy in -12.0..12.0f64) {
        let middle = own::centroid(&corners).unwrap();
        let p = P::new(middle.x + dx, middle.y + dy);
        let theirs = polygon(&corners).contains(&geo::Point::new(p.x, p.y));
        prop_assert_eq!(own::contains(&corners, p), theirs);
    }

    #[test]
    fn half_plane_clip_agrees_with_geo(corners in simple_polygon(), angle in 0.0..6.2f64, shift in -5.0..5.0f64) {
        let middle = own::centroid(&corners).unwrap();
        let along = Vector::from_angle(angle);
        let line = Line::new(middle + along.turned() * shift, along);
        let kept = own::clip_by_half_plane(&corners, &line);
        // The half-plane as a square large enough to hold the polygon.
        let square: Vec<P> = [(-60.0, 0.0), (60.0, 0.0), (60.0, 120.0), (-60.0, 120.0)]
            .iter()
            .map(|(t, n)| line.at(*t) + line.normal() * *n)
            .collect();
        let theirs = polygon(&corners).intersection(&polygon(&square)).unsigned_area();
        close(own::area(&kept), theirs, 1e-4)?;
        for p in &kept {
            prop_assert!(line.signed_distance(*p) > -1e-9);
        }
    }

    #[test]
    fn nearest_point_agrees_with_geo(line in points(2..9), p in points(1..2)) {
        let p = p[0];
        let found = own::nearest(&line, p).unwrap();
        let theirs = match line_string(&line).closest_point(&geo::Point::new(p.x, p.y)) {
            Closest::SinglePoint(q) | Closest::Intersection(q) => q,
            Closest::Indeterminate => return Ok(()),
        };
        close(found.distance, (theirs.x() - p.x).hypot(theirs.y() - p.y), 1e-9)?;
        close(found.point.distance(p), found.distance, 1e-9)?;
        // `at` is the way along the polyline to that very point.
        prop_assert!(found.at >= 0.0 && found.at <= own::length(&line) + 1e-9);
    }

    #[test]
    fn lines_cross_where_geo_says(a in points(2..3), b in points(2..3)) {
        let (first, second) = (Line::through(a[0], a[1]), Line::through(b[0], b[1]));
        let Some(p) = first.crossing(&second) else { return Ok(()) };
        let segment = |v: &[P]| geo::Line::new(Coord { x: v[0].x, y: v[0].y }, Coord { x: v[1].x, y: v[1].y });
        if let Some(LineIntersection::SinglePoint { intersection, is_proper: true }) =
            line_intersection(segment(&a), segment(&b))
        {
            // Shallow crossings lose digits in either code.
            let sine = first.direction.cross(second.direction).abs();
            close(p.x, intersection.x, 1e-9 / sine.max(1e-6))?;
            close(p.y, intersection.y, 1e-9 / sine.max(1e-6))?;
        }
    }

    #[test]
    fn self_crossing_agrees_with_geo(line in points(3..9)) {
        let pieces: Vec<geo::Line> = line_string(&line).lines().collect();
        let mut crosses = false;
        for i in 0..pieces.len() {
            for k in i + 2..pieces.len() {
                crosses |= matches!(
                    line_intersection(pieces[i], pieces[k]),
                    Some(LineIntersection::SinglePoint { is_proper: true, .. })
                );
            }
        }
        prop_assert_eq!(own::self_crossing(&line), crosses);
    }

    #[test]
    fn resampling_keeps_ends_and_lies_on_the_line(line in points(2..9), step in 0.05..7.0f64) {
        let out = own::resample(&line, step);
        prop_assert_eq!(out[0], line[0]);
        close(out[out.len() - 1].distance(line[line.len() - 1]), 0.0, 1e-9)?;
        let parts = (own::length(&line) / step).ceil().max(1.0) as usize;
        prop_assert_eq!(out.len(), parts + 1);
        let part = own::length(&line) / parts as f64;
        for w in out.windows(2) {
            // Along the line the points are `part` apart, so never further straight across.
            prop_assert!(w[0].distance(w[1]) <= part + 1e-9);
        }
        for p in &out {
            close(own::nearest(&line, *p).unwrap().distance, 0.0, 1e-9)?;
        }
    }

    #[test]
    fn homography_is_recovered_from_its_own_points(
        m in prop::collection::vec(-0.3..0.3f64, 8),
        extra in points(0..5),
    ) {
        let matrix = nalgebra::Matrix3::new(
            1.0 + m[0], m[1], 50.0 * m[2],
            m[3], 1.0 + m[4], 50.0 * m[5],
            0.01 * m[6], 0.01 * m[7], 1.0,
        );
        let truth: Homography<Mm, Px> = Homography::from_matrix(matrix).unwrap();
        let mut from: Vec<P> = [(-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0)]
            .iter()
            .map(|(x, y)| P::new(*x, *y))
            .collect();
        from.extend(extra);
        let to: Vec<Point<Px>> = from.iter().map(|p| truth.apply(*p)).collect();
        let found = Homography::fit(&from, &to).unwrap();
        let back = found.inverse().unwrap();
        for p in [P::new(3.0, -7.0), P::new(-11.0, 15.0)] {
            close(found.apply(p).distance(truth.apply(p)), 0.0, 1e-6)?;
            close(back.apply(truth.apply(p)).distance(p), 0.0, 1e-6)?;
        }
    }

    #[test]
    fn optimal_path_agrees_with_trying_all(
        costs in prop::collection::vec(0.0..9.0f32, 25),
        max_step in 0..4usize,
        bend in 0.0..2.0f32,
    ) {
        let (columns, rows) = (5, 5);
        let mut grid = Grid::filled(columns, rows, 0.0);
        for c in 0..columns {
            grid.column_mut(c).copy_from_slice(&costs[c * rows..(c + 1) * rows]);
        }
        let total = |path: &[usize]| -> f32 {
            let nodes: f32 = path.iter().enumerate().map(|(c, r)| costs[c * rows + r]).sum();
            let steps: f32 = path.windows(2).map(|w| bend * (w[0] as f32 - w[1] as f32).powi(2)).sum();
            nodes + steps
        };
        let mut least = f32::INFINITY;
        for code in 0..rows.pow(columns as u32) {
            let path: Vec<usize> = (0..columns).map(|c| code / rows.pow(c as u32) % rows).collect();
            if path.windows(2).all(|w| w[0].abs_diff(w[1]) <= max_step) {
                least = least.min(total(&path));
            }
        }
        let (path, cost) = optimal_path(&grid, max_step, bend).unwrap();
        prop_assert!((cost - least).abs() < 1e-3, "{cost} against {least}");
        prop_assert!((total(&path) - cost).abs() < 1e-3);
        prop_assert!(path.windows(2).all(|w| w[0].abs_diff(w[1]) <= max_step));
    }

    #[test]
    fn blur_agrees_with_the_plain_double_sum(
        samples in prop::collection::vec(0.0..255.0f32, 63),
        sigma in 0.3..2.0f64,
    ) {
        let gray = Gray::new(9, 7, samples);
        let soft = gaussian_blur(&gray, sigma);
        let radius = (3.0 * sigma).ceil() as i64;
        let weight = |d: i64| (-0.5 * (d as f64 / sigma).powi(2)).exp();
        for y in 0..7i64 {
            for x in 0..9i64 {
                let (mut sum, mut all) = (0.0, 0.0);
                for dy in -radius..=radius {
                    for dx in -radius..=radius {
                        let w = weight(dx) * weight(dy);
                        let (sx, sy) = ((x + dx).clamp(0, 8), (y + dy).clamp(0, 6));
                        sum += w * f64::from(gray.at(sx as usize, sy as usize));
                        all += w;
                    }
                }
                close(f64::from(soft.at(x as usize, y as usize)), sum / all, 1e-2)?;
            }
        }
    }

    #[test]
    fn halving_is_the_mean_of_four(w in 2..9usize, h in 2..9usize, seed in any::<u32>()) {
        let gray = Gray::from_fn(w, h, |x, y| ((x * 31 + y * 17 + seed as usize % 97) % 251) as f32);
        let half = halve(&gray);
        prop_assert_eq!((half.width(), half.height()), (w / 2, h / 2));
        for y in 0..h / 2 {
            for x in 0..w / 2 {
                let four = gray.at(2 * x, 2 * y) + gray.at(2 * x + 1, 2 * y)
                    + gray.at(2 * x, 2 * y + 1) + gray.at(2 * x + 1, 2 * y + 1);
                close(f64::from(half.at(x, y)), f64::from(four / 4.0), 1e-4)?;
            }
        }
    }
}

#[test]
fn forbidden_nodes_leave_no_path() {
    let mut grid = Grid::filled(3, 3, 1.0);
    grid.column_mut(1).fill(f32::INFINITY);
    assert!(optimal_path(&grid, 2, 0.0).is_none());
    assert!(optimal_path(&Grid::filled(0, 3, 1.0), 1, 0.0).is_none());
}
