//! What is not known exactly of a traced section, as one list of independent
//! inputs, each a standard normal number; and the traced section as it would be
//! were they other than they were found.
//!
//! Positions along one line err together over about a millimetre and more: noise
//! on an outline is a few slow waves, not white. White noise would average out and
//! understate areas, throats and lengths.

use super::fusion::Fusion;
use super::members::JointFrame;
use super::surface::Surface;
use super::toes::Toes;
use super::tracing::Tracing;
use crate::base::geometry::{Joint, Line, Mm, Point, Px, Vector};
use crate::scale::Scale;
use std::f64::consts::{PI, SQRT_2};

/// Where an input belongs in a budget.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Tilt of the camera that the reference does not show.
    Tilt,
    /// The lens, where the reference does not show it.
    Lens,
    /// Where the plates' surfaces run.
    Surfaces,
    /// Where the weld's outline runs.
    Outline,
    /// Where the fusion boundary runs.
    Fusion,
}

/// Waves along the face and along the fusion boundary: on a usual weld the shortest
/// is a millimetre or two long, as long as the grain, marks and blur that displace
/// an edge.
const FACE_WAVES: usize = 16;
const FUSION_WAVES: usize = 8;
/// Share of a line's uncertainty that moves all of it together.
const TOGETHER: f64 = 0.6;
/// Relative stretch that an unseen tilt makes between two directions, and a tilt
/// nobody sees, radians (a rectangle of 6°, as for the scale).
const STRETCH: f64 = 0.0032;
const TILT: f64 = 0.06;
/// Strength of a lens nobody knows, at the picture's corner.
const KAPPA: f64 = 0.02;
/// Usual viewing distance in half diagonals of the picture.
const DISTANCE: f64 = 3.2;
/// Length over which a plate's edge errs in one direction, mm; how well it is
/// placed at all, mm and px; and how straight a plate is, radians.
const WAVE_MM: f64 = 1.0;
const PLACED_MM: f64 = 0.01;
const PLACED_PX: f64 = 0.2;
const STRAIGHT_RAD: f64 = 0.001;

/// The inputs' parts, in the order of a trial's numbers.
pub fn parts() -> Vec<Part> {
    let mut parts = vec![Part::Tilt; 4];
    parts.push(Part::Lens);
    parts.extend([Part::Surfaces; 4]);
    parts.extend([Part::Outline; 2 + FACE_WAVES]);
    parts.extend([Part::Fusion; 1 + FUSION_WAVES]);
    parts
}

/// Everything a trial needs, computed once.
pub struct Doubts<'a> {
    traced: &'a Tracing,
    /// What a lens of strength [`KAPPA`] does to a place, mm.
    lens: Box<dyn Fn(Point<Joint>) -> Vector<Joint> + Sync + 'a>,
    /// How much of tilt and lens the reference leaves open, 0 … 1.
    open: f64,
    distance_mm: f64,
    px_mm: f64,
}

/// A traced section as one trial has it.
pub struct Varied {
    /// Where the joint lies.
    pub frame: JointFrame,
    /// Toes, face and bare surfaces.
    pub toes: Toes,
    /// The fusion boundary.
    pub fusion: Option<Fusion>,
}

impl<'a> Doubts<'a> {
    /// `size_px`: width and height of the photograph.
    pub fn new(traced: &'a Tracing, scale: &'a Scale, size_px: (usize, usize)) -> Self {
        let centre = Point::<Px>::new(0.5 * size_px.0 as f64, 0.5 * size_px.1 as f64);
        let radius = centre.x.hypot(centre.y);
        let px_per_mm = scale.map.px_per_mm_at(traced.frame.root);
        let frame = &traced.frame;
        let bent = move |p: Point<Joint>| {
            let at = scale.map.to_px(frame.to_plane(p));
            let d = at - centre;
            let shifted = at + d * (KAPPA * d.dot(d) / (radius * radius));
            frame.to_joint(scale.map.to_mm(shifted)) - p
        };
        // What a lens does to all places alike is part of the scale.
        let root = Point::<Joint>::new(0.0, 0.0);
        let (x, y) = (Point::new(1.0, 0.0), Point::new(0.0, 1.0));
        let moved = bent(root);
        let grown = 0.5 * ((bent(x) - moved).x + (bent(y) - moved).y);
        let shows = scale.map.shows_lens();
        Self {
            traced,
            lens: Box::new(move |p| bent(p) - moved - (p - root) * grown),
            open: match (shows, scale.facts.source.starts_with("rule")) {
                (false, _) => 1.0,
                // A rule shows tilt along itself only.
                (true, true) => 0.5,
                (true, false) => 0.0,
            },
            distance_mm: DISTANCE * radius / px_per_mm,
            px_mm: 1.0 / px_per_mm,
        }
    }

    /// The section with its inputs at `z`, as many as [`parts`] has. `None` where
    /// no joint is left.
    pub fn at(&self, z: &[f64]) -> Option<Varied> {
        let (tilt, rest) = z.split_at(4);
        let (lens, rest) = rest.split_at(1);
        let (plates, rest) = rest.split_at(4);
        let (outline, fusion) = rest.split_at(2 + FACE_WAVES);
        let seen = |p: Point<Joint>| self.seen(p, tilt, lens[0]);
        let t = self.traced;
        let psi = t.frame.dihedral();
        let surface = |surface: &Surface, angle: f64, z: &[f64]| {
            let waves = (surface.support_mm / WAVE_MM).max(1.0).sqrt();
            let own = (surface.scatter_mm / waves)
                .hypot(surface.placed_mm)
                .hypot(PLACED_MM)
                .hypot(PLACED_PX * self.px_mm);
            let line = Line::<Joint>::new(
                t.frame.to_joint(surface.middle),
                Vector::from_angle(angle + surface.turn.hypot(STRAIGHT_RAD) * z[1]),
            );
            let shifted = line.point + line.normal() * (own * z[0]);
            Line::through(seen(shifted), seen(shifted + line.direction))
        };
        let n = surface(&t.surfaces.0, 0.0, &plates[..2]);
        let b = surface(&t.surfaces.1, psi, &plates[2..]);
        let root = n.crossing(&b)?;

        let face = moved(&t.toes.face, |_, s| t.outline_mm * waves(&outline[1..], s));
        let face: Vec<Point<Joint>> = face.into_iter().map(seen).collect();
        let lift = t.outline_mm * outline[0];
        let bare = |points: &[Point<Joint>], out: Vector<Joint>| -> Vec<Point<Joint>> {
            points.iter().map(|p| seen(*p + out * lift)).collect()
        };
        let in_front = Vector::<Joint>::new(psi.sin(), -psi.cos());
        let bare_n = bare(&t.toes.bare_nonbutting, Vector::new(0.0, 1.0));
        let bare_b = bare(&t.toes.bare_butting, in_front);
        // Into the frame that the moved surfaces have.
        let along = n.direction;
        let place = |p: Point<Joint>| {
            let d = p - root;
            Point::<Joint>::new(d.dot(along), along.cross(d))
        };
        let all = |points: &[Point<Joint>]| points.iter().map(|p| place(*p)).collect::<Vec<_>>();
        let mut face = all(&face);
        let riser = Vector::<Joint>::new(b.direction.dot(along), along.cross(b.direction));
        let toe_b = toe(&face, &Line::new(Point::new(0.0, 0.0), riser))?;
        face.reverse();
        let toe_n = toe(
            &face,
            &Line::new(Point::new(0.0, 0.0), Vector::new(1.0, 0.0)),
        )?;
        face.reverse();
        let last = face.len() - 1;
        (face[0], face[last]) = (toe_b, toe_n);
        let plane = |d: Vector<Joint>| -> Vector<Mm> {
            (t.frame.to_plane(root + d) - t.frame.to_plane(root)).unit()
        };
        let fusion = t.fusion.as_ref().ok().map(|f| {
            let own = |i: usize| f.deviation_mm[i].hypot(t.fusion_mm);
            let points = moved(&f.points, |i, s| own(i) * waves(fusion, s));
            let mut points: Vec<_> = points.into_iter().map(|p| place(seen(p))).collect();
            let last = points.len() - 1;
            (points[0], points[last]) = (toe_n, toe_b);
            Fusion {
                points,
                ..f.clone()
            }
        });
        Some(Varied {
            frame: JointFrame {
                root: t.frame.to_plane(root),
                along_nonbutting: plane(along),
                along_butting: plane(b.direction),
            },
            toes: Toes {
                nonbutting: toe_n,
                butting: toe_b,
                face,
                bare_nonbutting: all(&bare_n),
                bare_butting: all(&bare_b),
                ..t.toes.clone()
            },
            fusion,
        })
    }

    /// Where a place lies when tilt and lens are what they may be.
    fn seen(&self, p: Point<Joint>, tilt: &[f64], lens: f64) -> Point<Joint> {
        if self.open == 0.0 {
            return p;
        }
        let d = p - Point::new(0.0, 0.0);
        let (stretch, shear) = (STRETCH * tilt[0], STRETCH * tilt[1]);
        let nearer = (d.x * tilt[2] + d.y * tilt[3]) * TILT / self.distance_mm;
        let by_tilt = Vector::new(
            stretch * d.x + shear * d.y + nearer * d.x,
            shear * d.x - stretch * d.y + nearer * d.y,
        );
        p + by_tilt * self.open + (self.lens)(p) * (lens * self.open)
    }
}

/// A slow wave of unit variance at share `s` of a line: `z[0]` moves all of it.
fn waves(z: &[f64], s: f64) -> f64 {
    let n = (z.len() - 1) as f64;
    let rest = (1.0 - TOGETHER * TOGETHER).sqrt() * SQRT_2 / n.sqrt();
    let waves: f64 = (1..z.len()).map(|k| z[k] * (k as f64 * PI * s).cos()).sum();
    TOGETHER * z[0] + rest * waves
}

/// Points moved square to their line by `by` (index, share of its length).
fn moved(points: &[Point<Joint>], by: impl Fn(usize, f64) -> f64) -> Vec<Point<Joint>> {
    let last = points.len().saturating_sub(1);
    (0..points.len())
        .map(|i| {
            let along = points[(i + 2).min(last)] - points[i.saturating_sub(2)];
            if along.length() < 1e-9 {
                return points[i];
            }
            points[i] + along.unit().turned() * by(i, i as f64 / last.max(1) as f64)
        })
        .collect()
}

/// Where a face that ends at its first point meets a surface.
fn toe(face: &[Point<Joint>], surface: &Line<Joint>) -> Option<Point<Joint>> {
    let end = *face.first()?;
    let up = *face
        .iter()
        .find(|p| p.distance(end) >= END_MM)
        .or(face.last())?;
    let met = Line::through(end, up).crossing(surface)?;
    (met.distance(end) < MOST_TOE_MM).then_some(met)
}

/// Length of face that says in which direction it meets the surface, mm, and the
/// farthest a toe moves, mm.
const END_MM: f64 = 0.5;
const MOST_TOE_MM: f64 = 2.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::uncertainty::normals;

    const TRIALS: usize = 4000;
    /// Standard deviation of `of` over trials of a wave's numbers.
    fn deviation(of: impl Fn(&[f64]) -> f64) -> f64 {
        let values: Vec<f64> = (0..TRIALS)
            .map(|t| of(&normals(3, t, 1 + FACE_WAVES)))
            .collect();
        let mean = values.iter().sum::<f64>() / TRIALS as f64;
        (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / TRIALS as f64).sqrt()
    }

    #[test]
    fn a_place_on_a_line_errs_by_its_own_uncertainty() {
        for s in [0.13, 0.37, 0.71] {
            let found = deviation(|z| waves(z, s));
            assert!((found - 1.0).abs() < 0.1, "{s}: {found}");
        }
    }

    /// White noise would average out over a line's points: over a hundred of them
    /// to a tenth. Edges do not err like that.
    #[test]
    fn the_mean_of_a_line_is_far_less_sure_than_white_noise_would_have_it() {
        let points = 100;
        let found = deviation(|z| {
            (0..points)
                .map(|i| waves(z, (f64::from(i) + 0.5) / f64::from(points)))
                .sum::<f64>()
                / f64::from(points)
        });
        let white = 1.0 / f64::from(points).sqrt();
        assert!(found > 5.0 * white, "{found} against {white}");
    }

    #[test]
    fn every_number_of_a_trial_has_its_part() {
        assert_eq!(parts().len(), 4 + 1 + 4 + 2 + FACE_WAVES + 1 + FUSION_WAVES);
    }

    #[test]
    fn a_toe_is_where_the_face_s_end_meets_the_surface() {
        let surface = Line::new(Point::new(0.0, 0.0), Vector::new(1.0, 0.0));
        let face: Vec<Point<Joint>> = (0..20)
            .map(|i| Point::new(6.0 - 0.1 * f64::from(i), 0.05 + 0.1 * f64::from(i)))
            .collect();
        let met = toe(&face, &surface).unwrap();
        assert!((met.x - 6.05).abs() < 1e-9 && met.y.abs() < 1e-9);
    }
}
