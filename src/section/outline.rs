//! The specimen's outline across the joint: bare butting surface, weld face,
//! bare nonbutting surface, as one path.
//!
//! Coarse: the cheapest path on rays from a point inside the metal, through
//! edge evidence and through colours learned beside the two bare surfaces.
//! Fine: the same in a narrow strip along the coarse path, in the original.

use super::bare::bare_sides;
use super::members::{JointFrame, Reading};
use super::palette::{Palette, overlap};
use super::strip::{Strip, distance};
use super::surface::crest;
use crate::base::geometry::{Joint, Line, Mm, Point, Vector, resample};
use crate::base::numeric::{Grid, Track, excursion, optimal_path, quantile};
use crate::photo::Photo;
use crate::scale::PlaneMap;

/// The outline from the bare nonbutting surface over the face to the bare
/// butting surface, in the joint's frame, and how clear its edge is.
#[derive(Clone, Debug)]
pub struct Outline {
    /// Points in order.
    pub points: Vec<Point<Joint>>,
    /// Edge evidence at each point, 0 … 1.
    pub clarity: Vec<f32>,
    /// How far from the root it leaves the nonbutting and joins the butting
    /// surface, roughly, mm.
    pub legs: (f64, f64),
    /// Share of the colours near the root that are those of the surroundings:
    /// near 1, the corner is empty and there is no weld in it.
    pub corner_is_air: f64,
}

/// Weight of colour evidence, per mm of ray and unit of log-likelihood ratio,
/// against one unit of missing edge a column.
const COLOUR_WEIGHT: f32 = 0.1;
/// Colours are compared over this far to each side of an edge, mm.
const SIDE_MM: f64 = 0.6;
/// Share of an edge's worth that does not depend on the colours beside it.
const COLOURLESS: f32 = 0.35;
/// How far from a surface line the bare surface's edge may lie, mm: the line
/// is straight, lens and plate are not quite.
const TRACK_SLACK_MM: f64 = 0.25;
/// No bare surface begins nearer to the joint root than this, mm.
const FROM_ROOT_MM: f64 = 0.5;
/// Cost of a column without an edge on a surface line, against 1 on the face:
/// a straight edge where one is expected needs less proof.
const TRACK_WORTH: f32 = 0.6;
/// A face is never so hollow that less than this share of the triangle's
/// height is filled; keeps the path off lines inside the weld.
const LEAST_FILLED: f64 = 0.45;
/// A face never bulges further than this against the longer leg (a quarter
/// circle reaches √2); 3 mm at least, since the legs are not known well yet.
const MOST_FILLED: f64 = 1.6;
/// Cost of the squared step, in rows, from one ray to the next.
const BEND: f32 = 0.008;
/// Width of a column at the chord's distance, mm.
const COLUMN_MM: f64 = 0.15;

/// What the path is led by besides edges.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guide {
    /// Colours learned beside the bare surfaces: strong where the surroundings
    /// look unlike metal.
    Colours,
    /// How sharp an edge is: where a shadow or glare has the metal's tone, its
    /// border is still softer than that of a cut face.
    Sharpness,
}

/// Finds the outline. `far` = how far along the nonbutting and the butting
/// surface to follow it, mm from the root; over a covered end face, how far along the
/// upper surface, mm from its corner.
pub fn trace(
    photo: &Photo,
    map: &PlaneMap,
    reading: &Reading,
    far: (f64, f64),
    guide: Guide,
) -> Option<Outline> {
    let coarse = coarse(photo, map, reading, far, guide)?;
    fine(photo, map, &reading.frame, &coarse)
}

/// The outline to about a tenth of a millimetre.
struct Coarse {
    points: Vec<Point<Joint>>,
    /// How far from the root it leaves the nonbutting and joins the butting
    /// surface, mm.
    legs: (f64, f64),
    corner_is_air: f64,
}

/// What the colours beside the surfaces and near the root tell.
struct Learned {
    palette: Palette,
    corner_is_air: f64,
}

fn coarse(
    photo: &Photo,
    map: &PlaneMap,
    reading: &Reading,
    far: (f64, f64),
    guide: Guide,
) -> Option<Coarse> {
    let frame = &reading.frame;
    let psi = frame.dihedral();
    let riser = frame.butting_direction();
    // The centre of the rays lies in the metal, behind the root on the
    // bisector, so that both bare surfaces are seen under an angle.
    let back = 0.5 * far.0.max(far.1).clamp(6.0, 30.0);
    let centre = Point::<Joint>::new(0.0, 0.0) - Vector::from_angle(0.5 * psi) * back;
    let root = Point::<Joint>::new(0.0, 0.0);
    let start = (Point::new(far.0, 0.0) - centre).angle();
    // Over a covered end face the outline goes on along the upper surface.
    let (last_line, last_begin, last_place) = match reading.upper {
        None => (Line::new(root, riser), FROM_ROOT_MM, root + riser * far.1),
        Some(upper) => {
            let corner = root + riser * upper.height;
            let place = corner - Vector::new(far.1, 0.0);
            // Its place itself, the line's zero, belongs to it.
            (
                Line::new(place, Vector::new(1.0, 0.0)),
                -FROM_ROOT_MM,
                place,
            )
        }
    };
    let end = (last_place - centre).angle();
    let reach = far.0.max(far.1) + back + 2.0;
    let typical = back + 0.7 * far.0.max(far.1);
    let columns = ((end - start) * typical / COLUMN_MM).ceil() as usize;
    if columns < 16 {
        return None;
    }
    let angle = |c: usize| start + (end - start) * c as f64 / (columns - 1) as f64;
    let origin = frame.to_plane(centre);
    let rays: Vec<Vector<Mm>> = (0..columns)
        .map(|c| frame.to_plane(centre + Vector::from_angle(angle(c))) - origin)
        .collect();
    let px_mm = 1.0 / map.px_per_mm_at(frame.root);
    let step = (0.08f64).max(px_mm);
    let low = 0.3 * back;
    let strip =
        Strip::new(photo, map, vec![origin; columns], rays, low, reach, step).smoothed(1.0, 1.0);

    let Learned {
        palette,
        corner_is_air,
    } = learn(photo, map, reading, far);
    let turn = (end - start) / (columns - 1) as f64;
    let mut slopes = vec![0.0f32; columns * strip.rows];
    for c in 0..columns {
        for r in 0..strip.rows {
            // Colour gradient in polar coordinates.
            let radial = strip.slope(c, r) / step as f32;
            let (before, after) = (c.saturating_sub(1), (c + 1).min(columns - 1));
            let arc = (strip.offset_mm(r as f64) * turn * (after - before) as f64) as f32;
            let around = distance(strip.column(before)[r], strip.column(after)[r]) / arc;
            slopes[c * strip.rows + r] = radial.hypot(around);
        }
    }
    let sample: Vec<f64> = slopes.iter().step_by(7).map(|s| f64::from(*s)).collect();
    let noise = (quantile(&sample, 0.6) as f32).max(1.0);
    let evidence = |slope: f32| {
        let relative = slope / (2.5 * noise);
        relative * relative / (1.0 + relative * relative)
    };
    let mut colour_sum = vec![0.0f32; columns * strip.rows];
    let least_filled = LEAST_FILLED * reading.nonbutting.begin.min(reading.butting.begin);
    let longer = reading.nonbutting.begin.max(reading.butting.begin);
    let longer = reading
        .clear_from
        .0
        .max(reading.clear_from.1)
        .min(1.5 * longer + 2.0);
    let most_filled = (MOST_FILLED * longer).max(longer + 3.0);
    let mut grid = Grid::filled(columns, strip.rows, f32::INFINITY);
    for c in 0..columns {
        let direction = Vector::<Joint>::from_angle(angle(c));
        // Where this ray leaves the plates: the outline cannot lie deeper than
        // a bad undercut below the surfaces.
        let surface = match reading.upper {
            None => exit(centre, direction, psi, 1.2),
            // Behind the end face lies the upper plate, not air: the nonbutting surface
            // alone bounds the metal there.
            Some(_) => exit(centre, direction, 0.0, 1.2),
        };
        // Running sums of "air" along the ray.
        let mut sums = Vec::with_capacity(strip.rows + 1);
        sums.push(0.0f32);
        for colour in strip.column(c) {
            sums.push(sums[sums.len() - 1] + palette.ratio(*colour));
        }
        let side = (SIDE_MM / step).ceil() as usize;
        let mean = |from: usize, to: usize| (sums[to] - sums[from]) / (to - from).max(1) as f32;
        for r in 0..strip.rows {
            let inside = match guide {
                Guide::Colours => COLOUR_WEIGHT * step as f32 * sums[r],
                Guide::Sharpness => 0.0,
            };
            colour_sum[c * strip.rows + r] = inside;
            let e = evidence(slopes[c * strip.rows + r]);
            let e = match guide {
                Guide::Colours => {
                    let outside_air = mean(r, (r + side).min(strip.rows));
                    let inside_air = mean(r.saturating_sub(side), r);
                    let sided = (0.5 * (outside_air - inside_air)).clamp(0.0, 1.0);
                    e * (COLOURLESS + (1.0 - COLOURLESS) * sided)
                }
                Guide::Sharpness => e * sharpness(&strip, c, r, side),
            };
            let offset = strip.offset_mm(r as f64);
            let place = centre + direction * offset;
            // Oblique coordinates along the surfaces: their sum says how far
            // towards the face the place lies.
            let beta = place.y / psi.sin();
            let filled = place.x - beta * psi.cos() + beta;
            if offset >= surface && (least_filled..=most_filled).contains(&filled) {
                grid.column_mut(c)[r] = 1.0 - e + inside;
            }
        }
    }
    // `begin`: from where on along the line there may be a bare surface, mm.
    let track = |line: &Line<Joint>, begin: f64| {
        let ray = |c: usize| Line::new(centre, Vector::from_angle(angle(c)));
        let rows: Vec<Option<usize>> = (0..columns)
            .map(|c| {
                let p = ray(c).crossing(line)?;
                let (out, along) = (ray(c).along(p), line.along(p));
                (out > 0.0 && along > begin).then(|| strip.row_at(out))
            })
            .collect();
        let window = (TRACK_SLACK_MM / step).ceil() as usize;
        let edge: Vec<f32> = rows
            .iter()
            .enumerate()
            .map(|(c, row)| {
                row.map_or(0.0, |row| {
                    (row.saturating_sub(window)..=(row + window).min(strip.rows - 1))
                        .map(|r| evidence(slopes[c * strip.rows + r]))
                        .fold(0.0, f32::max)
                })
            })
            .collect();
        let costs = rows.iter().enumerate().map(|(c, row)| match row {
            None => f32::INFINITY,
            Some(row) => {
                let near = &edge[c.saturating_sub(3)..(c + 4).min(columns)];
                let mean = near.iter().sum::<f32>() / near.len() as f32;
                TRACK_WORTH * (1.0 - mean) + colour_sum[c * strip.rows + row]
            }
        });
        Track {
            costs: costs.collect(),
            rows: rows.iter().map(|r| r.unwrap_or(0)).collect(),
        }
    };
    let first = track(&Line::new(root, Vector::new(1.0, 0.0)), FROM_ROOT_MM);
    let last = track(&last_line, last_begin);
    // Seen from the centre, a face runs at no less than about 25° against the
    // rays: dr/ds stays below about 2.
    let steepest = ((COLUMN_MM * 3.0) / step).ceil().max(3.0) as usize;
    let slack = (TRACK_SLACK_MM / step).ceil() as usize;
    let (path, wandered) = excursion(&grid, (&first, &last), slack, steepest, BEND)?;
    let points: Vec<Point<Joint>> = path
        .iter()
        .enumerate()
        .map(|(c, &r)| centre + Vector::from_angle(angle(c)) * strip.offset_mm(r as f64))
        .collect();
    let left = wandered.iter().position(|w| *w)?;
    let joined = wandered.iter().rposition(|w| *w)?;
    let legs = (points[left].distance(root), points[joined].distance(root));
    Some(Coarse {
        points,
        legs,
        corner_is_air,
    })
}

/// Share of the colour step across a place that falls within its middle third,
/// 0 … 1: near 1 for a cut edge, a third for a shadow that fades over the whole
/// of `side` rows to either side.
fn sharpness(strip: &Strip, c: usize, r: usize, side: usize) -> f32 {
    let near = (side / 3).max(1);
    let at = |r: usize| strip.column(c)[r.min(strip.rows - 1)];
    let step = |reach: usize| distance(at(r.saturating_sub(reach)), at(r + reach));
    (step(near) / step(side).max(step(near)).max(1.0)).clamp(0.0, 1.0)
}

/// Distance along `direction` from `centre` (inside the metal) to where the
/// ray comes within `below` mm under both plate surfaces.
fn exit(centre: Point<Joint>, direction: Vector<Joint>, psi: f64, below: f64) -> f64 {
    // Depth under the nonbutting surface is −y; under the butting surface it
    // is the distance to its line, on the far side from the weld.
    let normal = Vector::<Joint>::new(psi.sin(), -psi.cos());
    let reach = |depth: f64, rate: f64| {
        if rate > 1e-6 {
            ((depth - below) / rate).max(0.0)
        } else {
            0.0
        }
    };
    let under = -centre.y;
    let behind = -(centre - Point::new(0.0, 0.0)).dot(normal);
    // A ray leaves the metal once it has left both plates' half-planes' common part.
    let (a, b) = (
        reach(under, direction.y),
        reach(behind, direction.dot(normal)),
    );
    if direction.y <= 1e-6 {
        b
    } else if direction.dot(normal) <= 1e-6 {
        a
    } else {
        a.max(b)
    }
}

/// Air against metal: colours beside the two bare surfaces, and near the root.
fn learn(photo: &Photo, map: &PlaneMap, reading: &Reading, far: (f64, f64)) -> Learned {
    let frame = &reading.frame;
    let (mut air, mut plate, mut weld) = (Vec::new(), Vec::new(), Vec::new());
    let [side_n, side_b] = bare_sides(reading);
    let clear_b = match reading.upper {
        None => reading.clear_from.1,
        Some(_) => 0.0,
    };
    for (side, clear, far) in [
        (side_n, reading.clear_from.0, far.0),
        (side_b, clear_b, far.1),
    ] {
        // The outer half only: where the weld ends is not certain yet.
        let from = (clear + 0.6).max(0.5 * (clear + far)).min(far - 1.0);
        let to = far;
        let count = ((to - from) / 0.15).ceil() as usize;
        let spine: Vec<Point<Mm>> = (0..count)
            .map(|i| side.from + side.along * (from + i as f64 * 0.15))
            .collect();
        let strip = Strip::new(photo, map, spine, vec![side.out; count], -3.0, 5.0, 0.15);
        for c in 0..count {
            for (r, colour) in strip.column(c).iter().enumerate() {
                let offset = strip.offset_mm(r as f64);
                if offset > 0.25 {
                    air.push(*colour);
                } else if offset < -0.25 {
                    plate.push(*colour);
                }
            }
        }
    }
    // The corner near the root is weld metal whatever the legs turn out to be.
    let size = 0.5 * reading.nonbutting.begin.min(reading.butting.begin);
    let count = (size / 0.1).ceil() as usize + 1;
    let riser = frame.butting_direction();
    for i in 0..count {
        let foot = Point::<Joint>::new(size * i as f64 / count as f64, 0.0);
        let length = size * (1.0 - i as f64 / count as f64);
        let strip = Strip::new(
            photo,
            map,
            vec![frame.to_plane(foot)],
            vec![frame.to_plane(foot + riser) - frame.to_plane(foot)],
            0.0,
            length,
            0.1,
        );
        weld.extend_from_slice(strip.column(0));
    }
    Learned {
        corner_is_air: overlap(&weld, &air),
        palette: Palette::learn_surroundings(&air, &[&plate, &weld]),
    }
}

/// Follows the coarse outline in the original.
fn fine(photo: &Photo, map: &PlaneMap, frame: &JointFrame, coarse: &Coarse) -> Option<Outline> {
    let smooth = relax(&resample(&coarse.points, 0.1), 4);
    let points = resample(&smooth, 0.08);
    let n = points.len();
    if n < 16 {
        return None;
    }
    let spine: Vec<Point<Mm>> = points.iter().map(|p| frame.to_plane(*p)).collect();
    let across: Vec<Vector<Mm>> = (0..n)
        .map(|i| {
            let along = points[(i + 2).min(n - 1)] - points[i.saturating_sub(2)];
            // Out of the metal: to the right of the way from nonbutting to butting.
            let out = Vector::<Joint>::new(along.y, -along.x).unit();
            frame.to_plane(points[i] + out) - spine[i]
        })
        .collect();
    let px_mm = 1.0 / map.px_per_mm_at(frame.root);
    let step = (0.5 * px_mm).clamp(0.01, 0.04);
    let strip = Strip::new(photo, map, spine, across, -0.5, 0.5, step)
        .smoothed(1.2, (0.035 / step).max(1.0));
    let slopes: Vec<f64> = (0..n)
        .flat_map(|c| (0..strip.rows).step_by(3).map(move |r| (c, r)))
        .map(|(c, r)| f64::from(strip.slope(c, r)))
        .collect();
    let noise = (quantile(&slopes, 0.5) as f32).max(0.02);
    let mut grid = Grid::filled(n, strip.rows, 1.0);
    for c in 0..n {
        for r in 1..strip.rows - 1 {
            let relative = strip.slope(c, r) / (3.0 * noise);
            grid.column_mut(c)[r] = 1.0 / (1.0 + relative * relative);
        }
    }
    let (path, _) = optimal_path(&grid, 2, 0.03)?;
    let mut outline = Vec::with_capacity(n);
    let mut clarity = Vec::with_capacity(n);
    for (c, &r) in path.iter().enumerate() {
        outline.push(frame.to_joint(strip.place(c, crest(&strip, c, r))));
        clarity.push(1.0 - grid.column(c)[r]);
    }
    Some(Outline {
        points: outline,
        clarity,
        legs: coarse.legs,
        corner_is_air: coarse.corner_is_air,
    })
}

/// Moving average over `half` neighbours to each side.
fn relax(points: &[Point<Joint>], half: usize) -> Vec<Point<Joint>> {
    (0..points.len())
        .map(|i| {
            let reach = half.min(i).min(points.len() - 1 - i);
            let (mut x, mut y) = (0.0, 0.0);
            for p in &points[i - reach..=i + reach] {
                x += p.x;
                y += p.y;
            }
            let n = (2 * reach + 1) as f64;
            Point::new(x / n, y / n)
        })
        .collect()
}
