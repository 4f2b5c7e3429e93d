//! One reading followed through the photograph: toes, surfaces, fusion boundary.

use super::evidence::Run;
use super::fusion::{self, Fusion};
use super::lap::{self, Upper};
use super::members::{JointFrame, Reading};
use super::outline::{self, Guide};
use super::surface::{self, Surface};
use super::toes::{self, Toes};
use crate::base::geometry::{Joint, Mm, Point, Vector};
use crate::photo::Photo;
use crate::scale::Scale;

/// Bare surface kept clear of the toe when a surface line is fitted, mm: an
/// undercut or a rounded toe must not bend it.
const CLEAR_OF_TOE_MM: f64 = 0.8;
/// Bare surface used at most, mm.
const MOST_SURFACE_MM: f64 = 25.0;
/// Shares of it that are tried until the line turns no more than this from the edge it
/// was found by, radians.
const SHORTENED: [f64; 4] = [1.0, 0.5, 0.25, 0.125];
const MOST_TURN: f64 = 0.06;
/// Bare surface that makes a surface line sure, mm.
const ENOUGH_SURFACE_MM: f64 = 2.5;
/// Share of surrounding colours near the root from which on the corner counts
/// as empty. Right readings of pictures with known truth have at most 0.14.
const EMPTY_CORNER: f64 = 0.5;
/// Support left to an outline under which no fusion boundary stands out.
const NO_FUSION_LINE: f64 = 0.75;
/// The joint root lies at least this share of the picture's shorter side from
/// its border.
const BORDER_SHARE: f64 = 0.02;
/// Bare surface followed beyond the guessed toe, mm.
const BEYOND_TOE_MM: f64 = 12.0;
/// Penetration looked for, as a share of the longer leg, beyond 1.2 mm.
const DEEPEST_OF_LEG: f64 = 0.27;
/// Edge of a plate's other surface looked at, mm from the joint root: of the nonbutting
/// member on both sides of it, of the butting one clear of the other plate.
const BACK_MM: (f64, f64) = (-10.0, 30.0);
const BACK_OF_BUTTING_MM: f64 = 3.0;
/// Upper surface of a lap followed behind the corner, mm.
const ALONG_UPPER_MM: f64 = 5.0;
/// Rounds of toes → surfaces → outline → toes.
const ROUNDS: usize = 2;

/// Why there is no fusion boundary, and what to do.
const NO_BOUNDARY: &str = "the fusion boundary does not stand out in this picture: etch again until it does, and photograph with even light";
const DEEP_BOUNDARY: &str = "the line found lies as deep as was searched (a quarter of the leg and 1.2 mm), so the fusion boundary may be another line or run deeper: look at the etched section with a glass and measure it there";
const HIDDEN_BOUNDARY: &str = "glare hides part of the fusion boundary: turn the lamp or the section until the weld shows no white patch, and photograph again";

/// One reading, traced, and how sure its parts are.
pub struct Tracing {
    /// Support its outline has in the picture, 0 … 1.
    pub support: f64,
    /// Where the joint lies.
    pub frame: JointFrame,
    /// Toes, face and bare surfaces.
    pub toes: Toes,
    /// The fusion boundary, or why it is not stated and what to do.
    pub fusion: Result<Fusion, &'static str>,
    /// Nonbutting and butting surface.
    pub surfaces: (Surface, Surface),
    /// Thickness of the butting member where its other surface stands out, mm.
    pub butting_mm: Option<f64>,
    /// Standard uncertainty of an outline position, mm.
    pub outline_mm: f64,
    /// Standard uncertainty of the joint root along either surface, mm.
    pub root_mm: f64,
    /// Standard uncertainty of a fusion boundary position, mm, besides its own
    /// deviation.
    pub fusion_mm: f64,
    /// Largest penetration looked for, mm.
    deepest_mm: f64,
    /// Whether the weld covers the end face of a lap's upper plate.
    pub covered: bool,
}

/// Traces one reading. `None` when the outline cannot be followed from one surface
/// to the other.
pub fn trace(photo: &Photo, scale: &Scale, reading: &Reading, guide: Guide) -> Option<Tracing> {
    let mut reading = *reading;
    let root = Point::<Joint>::new(0.0, 0.0);
    // Over a covered end face the frame moves to the corner that the outline shows.
    let follow = |reading: &mut Reading| {
        let far = |run: Run, clear: f64| run.end.min(clear + BEYOND_TOE_MM) - 0.4;
        let far_n = far(reading.nonbutting, reading.clear_from.0);
        let Some(upper) = reading.upper else {
            let far = (far_n, far(reading.butting, reading.clear_from.1));
            let outline = outline::trace(photo, &scale.map, reading, far, guide)?;
            return toes::find(&outline, reading.frame.dihedral());
        };
        let far = (far_n, far(upper.bare, 0.0).min(ALONG_UPPER_MM));
        let outline = outline::trace(photo, &scale.map, reading, far, guide)?;
        let cut = lap::cut(outline)?;
        let frame = reading.frame;
        let by = cut.corner.x;
        reading.frame.root = frame.to_plane(Point::new(by, 0.0));
        reading.upper = Some(Upper {
            height: cut.corner.y,
            ..upper
        });
        let mut outline = cut.outline;
        for p in &mut outline.points {
            *p = reading.frame.to_joint(frame.to_plane(*p));
        }
        outline.legs = (outline.legs.0 - by, cut.corner.y);
        toes::find(&outline, reading.frame.dihedral())
    };
    let mut toes = follow(&mut reading)?;
    let mut surfaces = None;
    for _ in 0..ROUNDS {
        reading.nonbutting.begin = toes.nonbutting.x;
        reading.butting.begin = toes.butting.distance(root);
        reading.clear_from = (reading.nonbutting.begin, reading.butting.begin);
        surfaces = Some(refine_surfaces(photo, scale, &mut reading)?);
        toes = follow(&mut reading)?;
    }
    let (surface_n, mut surface_b) = surfaces?;
    if let Some(upper) = &reading.upper {
        surface_b = lap::end_face(&reading.frame, &surface_b, upper);
    }
    let frame = &reading.frame;
    // A joint root at the very border of the picture is no joint one can see.
    let border = BORDER_SHARE * photo.width.min(photo.height) as f64;
    let at = scale.map.to_px(frame.root);
    let inside = |v: f64, size: usize| v >= border && v <= size as f64 - border;
    if !(inside(at.x, photo.width) && inside(at.y, photo.height)) {
        return None;
    }
    if toes.both_flat(frame.butting_direction()) {
        return None;
    }
    let deepest_mm = (DEEPEST_OF_LEG * reading.nonbutting.begin.max(reading.butting.begin) + 1.2)
        .min(0.9 * reading.thickness_nonbutting.max(3.0));
    let fusion = boundary(photo, scale, frame, &toes, deepest_mm, true);
    let bare = |s: &Surface| s.clarity * (s.support_mm / ENOUGH_SURFACE_MM).min(1.0);
    // A corner coloured like the surroundings is empty.
    let filled = (1.0 - (toes.corner_is_air / EMPTY_CORNER).powi(2)).max(0.0);
    let support = toes.clarity
        * (bare(&surface_n) * bare(&surface_b)).sqrt()
        * filled
        * if matches!(fusion, Err(NO_BOUNDARY)) {
            NO_FUSION_LINE
        } else {
            1.0
        };
    let px_mm = 1.0 / scale.map.px_per_mm_at(frame.root);
    let scatter = surface_n.scatter_mm.max(surface_b.scatter_mm);
    Some(Tracing {
        support,
        frame: reading.frame,
        outline_mm: (0.03f64).hypot(0.5 * px_mm).hypot(0.5 * scatter) * faint(toes.clarity, 1.5),
        root_mm: (0.02f64).hypot(0.3 * px_mm).hypot(scatter),
        fusion_mm: fusion_mm(scale, frame, &fusion),
        deepest_mm,
        toes,
        fusion,
        surfaces: (surface_n, surface_b),
        butting_mm: reading.back.1,
        covered: reading.upper.is_some(),
    })
}

impl Tracing {
    /// Follows the fusion boundary with all care; what [`trace`] has of it is good enough
    /// to choose between readings.
    pub fn settle(&mut self, photo: &Photo, scale: &Scale) {
        let (frame, toes) = (&self.frame, &self.toes);
        self.fusion = boundary(photo, scale, frame, toes, self.deepest_mm, false);
        self.fusion_mm = fusion_mm(scale, frame, &self.fusion);
    }
}

/// The fusion boundary under a face, or why it is not stated and what to do.
fn boundary(
    photo: &Photo,
    scale: &Scale,
    frame: &JointFrame,
    toes: &Toes,
    deepest_mm: f64,
    quick: bool,
) -> Result<Fusion, &'static str> {
    match fusion::trace(photo, &scale.map, frame, toes, deepest_mm, quick) {
        Some(fusion) if fusion.is_clear() && fusion.is_hidden() => Err(HIDDEN_BOUNDARY),
        Some(fusion) if fusion.is_clear() && fusion.is_cut_off() => Err(DEEP_BOUNDARY),
        Some(fusion) if fusion.is_clear() => Ok(fusion),
        _ => Err(NO_BOUNDARY),
    }
}

/// Standard uncertainty of a boundary's position, besides its own deviation, mm.
fn fusion_mm(scale: &Scale, frame: &JointFrame, fusion: &Result<Fusion, &'static str>) -> f64 {
    let px_mm = 1.0 / scale.map.px_per_mm_at(frame.root);
    (0.06f64).hypot(0.7 * px_mm) * fusion.as_ref().map_or(1.0, |f| faint(f.clarity, 3.0))
}

/// Factor on an uncertainty where an edge is faint: `by` more where none shows.
fn faint(clarity: f64, by: f64) -> f64 {
    1.0 + by * (1.0 - clarity)
}

/// Fits both surfaces beyond the toes as known so far and moves the frame to
/// them. `None` where too little bare surface is in the picture.
fn refine_surfaces(
    photo: &Photo,
    scale: &Scale,
    reading: &mut Reading,
) -> Option<(Surface, Surface)> {
    let frame = reading.frame;
    let refine = |origin, direction, outward, range| {
        surface::refine(photo, &scale.map, origin, direction, outward, range)
    };
    let fit = |direction, outward: Vector<Mm>, run: Run, thickness: Option<f64>, back_mm: f64| {
        let from = run.begin + CLEAR_OF_TOE_MM;
        let to = (run.end - 0.4).min(run.begin + MOST_SURFACE_MM);
        // A stretch that ran beyond the plate's end followed whatever lies there. Or the
        // edge is bent and no plate's: so much less is it worth.
        let own = SHORTENED.iter().find_map(|share| {
            let to = from + share * (to - from);
            let own = refine(frame.root, direction, outward, (from, to))?;
            let straight = own.line.direction.cross(direction).abs() <= MOST_TURN;
            straight.then_some(Surface {
                clarity: share * own.clarity,
                ..own
            })
        })?;
        let back = thickness.and_then(|mm| {
            let range = (back_mm, run.end.min(BACK_MM.1));
            refine(frame.root - outward * mm, direction, -outward, range)
        });
        Some(match back {
            Some(back) => own.turned_to(&back),
            None => own,
        })
    };
    let n = fit(
        frame.along_nonbutting,
        frame.out_of_nonbutting(),
        reading.nonbutting,
        reading.back.0,
        BACK_MM.0,
    )?;
    if let Some(upper) = &mut reading.upper {
        // The end face stands square on the nonbutting surface; what is fitted on the
        // butting side is the plate's other surface.
        let corner = frame.root + frame.along_butting * upper.height;
        let to = (upper.bare.end - 0.4).min(MOST_SURFACE_MM);
        let top = refine(
            corner,
            lap::away(&frame),
            frame.along_butting,
            (CLEAR_OF_TOE_MM, to),
        )?;
        let root = n.line.at(n.line.along(corner));
        let square = n.line.direction.turned();
        let along_butting = if square.dot(frame.along_butting) > 0.0 {
            square
        } else {
            -square
        };
        upper.height = top.line.point.distance(root);
        reading.frame = JointFrame {
            root,
            along_nonbutting: n.line.direction,
            along_butting,
        };
        return Some((n, top));
    }
    let b = fit(
        frame.along_butting,
        frame.out_of_butting(),
        reading.butting,
        reading.back.1,
        BACK_OF_BUTTING_MM,
    )?;
    let root = n.line.crossing(&b.line)?;
    reading.frame = JointFrame {
        root,
        along_nonbutting: n.line.direction,
        along_butting: b.line.direction,
    };
    Some((n, b))
}
