//! What the flaw search takes over from the weld found: its shape in the
//! joint's own frame.

use crate::base::geometry::{Joint, Mm, Point, Px, Vector};
use crate::record::PlacePx;
use crate::scale::PlaneMap;
use crate::section::Weld;
use crate::section::members::JointFrame;

/// A weld's outlines, mm.
pub struct WeldShape {
    /// Where the joint lies.
    pub frame: JointFrame,
    /// Direction of the butting surface in the joint's frame.
    pub riser: Vector<Joint>,
    /// Legs along the nonbutting and the butting surface.
    pub legs: (f64, f64),
    /// Weld metal, closed; the deposit alone where no fusion boundary is known.
    pub metal: Vec<Point<Joint>>,
    /// Weld metal outside the original plates, closed.
    pub deposit: Vec<Point<Joint>>,
    /// Face from the butting toe to the nonbutting toe.
    pub face: Vec<Point<Joint>>,
}

/// One of the two original surfaces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Of the member that runs through.
    Nonbutting,
    /// Of the member that ends at the joint.
    Butting,
}

impl WeldShape {
    /// The shape of a traced weld. `None` when its surfaces or its face are missing.
    pub fn of(weld: &Weld, map: &PlaneMap) -> Option<Self> {
        let outlines = &weld.outlines_px;
        let plane = |p: &PlacePx| -> Point<Mm> { map.to_mm(Point::<Px>::new(p[0], p[1])) };
        let root = plane(&outlines.joint_root?);
        let along = |surface: &Vec<PlacePx>| Some((plane(surface.last()?) - root).unit());
        let frame = JointFrame {
            root,
            along_nonbutting: along(outlines.plates.first()?)?,
            along_butting: along(outlines.plates.get(1)?)?,
        };
        let joint = |points: &[PlacePx]| -> Vec<Point<Joint>> {
            points.iter().map(|p| frame.to_joint(plane(p))).collect()
        };
        let face = joint(&outlines.face);
        let toes = outlines.toes?;
        let origin = Point::new(0.0, 0.0);
        let leg = |toe: &PlacePx| frame.to_joint(plane(toe)).distance(origin);
        let mut deposit = vec![origin];
        deposit.extend(&face);
        let metal = joint(&outlines.weld_metal);
        let fused = metal.len() > 3;
        (face.len() > 2).then(|| Self {
            frame,
            riser: frame.butting_direction(),
            legs: (leg(&toes.nonbutting), leg(&toes.butting)),
            metal: if fused { metal } else { deposit.clone() },
            deposit,
            face,
        })
    }

    /// Place along a surface from the joint root, and height over it, on the
    /// weld's side positive, mm.
    pub fn beside(&self, side: Side, p: Point<Joint>) -> (f64, f64) {
        let d = p - Point::new(0.0, 0.0);
        match side {
            Side::Nonbutting => (d.x, d.y),
            Side::Butting => (d.dot(self.riser), -self.riser.cross(d)),
        }
    }

    /// The place with these coordinates beside a surface, as [`beside`](Self::beside) has them.
    pub fn at(&self, side: Side, along: f64, over: f64) -> Point<Joint> {
        let (run, out) = match side {
            Side::Nonbutting => (Vector::new(1.0, 0.0), Vector::new(0.0, 1.0)),
            Side::Butting => (self.riser, -self.riser.turned()),
        };
        Point::new(0.0, 0.0) + run * along + out * over
    }

    /// The weld metal deepest against the bisector.
    pub fn weld_root(&self) -> Point<Joint> {
        let inwards = -Vector::<Joint>::from_angle(0.5 * self.riser.angle());
        let origin = Point::new(0.0, 0.0);
        let deep = |p: &Point<Joint>| (*p - origin).dot(inwards);
        self.metal
            .iter()
            .max_by(|a, b| deep(a).total_cmp(&deep(b)))
            .copied()
            .unwrap_or(origin)
    }

    /// Whether a place lies within `reach` mm of an original surface under the weld.
    pub fn on_surface(&self, p: Point<Joint>, reach: f64) -> bool {
        self.surface_under(p, reach).is_some()
    }

    /// The surface a line at `p` lies on within `reach` mm: as
    /// [`surface_under`](Self::surface_under), and the nonbutting one carried on
    /// behind the root, where the members face each other.
    pub fn surface_or_faying(&self, p: Point<Joint>, reach: f64) -> Option<Side> {
        let (along, over) = self.beside(Side::Nonbutting, p);
        if along < 0.0 && over.abs() <= reach {
            return Some(Side::Nonbutting);
        }
        self.surface_under(p, reach)
    }

    /// Whether a place lies in the corner between the two surfaces, a rim's
    /// width from the butting one at least, where a gap between the members
    /// cannot be.
    pub fn in_front_of_root(&self, p: Point<Joint>) -> bool {
        self.beside(Side::Nonbutting, p).1 > -0.1 && self.beside(Side::Butting, p).1 > 0.1
    }

    /// The original surface under the weld nearest to a place within `reach` mm of it.
    pub fn surface_under(&self, p: Point<Joint>, reach: f64) -> Option<Side> {
        let near = |side: Side, leg: f64| {
            let (along, over) = self.beside(side, p);
            ((-reach..=leg).contains(&along) && over.abs() <= reach).then_some((over.abs(), side))
        };
        [
            near(Side::Nonbutting, self.legs.0),
            near(Side::Butting, self.legs.1),
        ]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, side)| side)
    }
}
