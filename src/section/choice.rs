//! Which reading of the picture is the weld, and which the one on the other side
//! of the butting member. A reading is a guess until it has been traced: the best
//! few are, and the one that holds together best is taken.

use super::members::{JointFrame, Reading};
use super::outline::Guide;
use super::tracing::{self, Tracing};
use crate::base::geometry::{Joint, Point, Px};
use crate::photo::Photo;
use crate::scale::Scale;
use rayon::prelude::*;

/// Candidates traced at most.
const CANDIDATES: usize = 4;
/// Candidates for the second weld traced at most.
const SECOND_CANDIDATES: usize = 2;

/// What a traced reading has to show to be taken for the weld.
#[derive(Clone, Copy)]
struct Least {
    /// Score of the reading × support of its outline.
    merit: f64,
    /// Support of its outline, 0 … 1.
    support: f64,
}

/// Over pictures with known truth the right readings have a merit of 9.8 to 26 and
/// a support of 0.52 to 0.97; of pictures in which no right one is found the best
/// wrong ones have 8.2. A reading that only looks likely and whose outline hardly
/// holds is no weld.
const LED_BY_COLOURS: Least = Least {
    merit: 9.0,
    support: 0.5,
};
/// Without colours there is more to show: wrong readings reach a merit of 9.6, and
/// outlines with a support of 0.62 were wrong at a toe.
const LED_BY_SHARPNESS: Least = Least {
    merit: 12.0,
    support: 0.7,
};
/// Least merit of a lap that shows no fusion boundary: with metal and surroundings
/// exchanged, the corner between the outer surface of the one plate and the end of the
/// other reached 9.7.
const LAP_WITHOUT_FUSION: f64 = 12.0;
/// Support of an outline from which on no other is looked for.
const SURE_SUPPORT: f64 = 0.8;
/// Least distance from the joint root to the face, px of the photograph. An edge is
/// some three pixels wide by lens, sensor and compression, and an outline follows it
/// to about half a pixel: what is only a few times as large, such as the printed
/// corner of a rule, encloses no metal that could be told from its edges. (The
/// smallest of 35 welds with known truth has a hundred.)
const SMALLEST_PX: f64 = 20.0;
/// A second weld's joint root lies this far behind the first one's, mm: a butting
/// member's thickness.
const BEHIND_MM: (f64, f64) = (2.0, 45.0);
/// How far beside the first weld's nonbutting surface it may lie, mm, and how far
/// its members may run askew to those of the first (cosine).
const BESIDE_MM: f64 = 1.0;
const ALIKE: f64 = 0.99;

/// A traced reading.
pub struct Choice {
    /// The reading as it was found.
    pub reading: Reading,
    /// What it led to.
    pub tracing: Tracing,
    merit: f64,
}

/// The weld among `readings`, best first; `lap`: the joint is one, as declared. `None`
/// when none holds together.
pub fn main(photo: &Photo, scale: &Scale, readings: &[Reading], lap: bool) -> Option<Choice> {
    let candidates = &readings[..readings.len().min(CANDIDATES)];
    // Colours lead better than the sharpness of edges, unless shadow or glare
    // gives the surroundings the metal's own tone. Then the outline they lead to
    // holds together badly, and the other one is asked for.
    let by_colours = best(photo, scale, candidates, lap, Guide::Colours);
    if by_colours
        .as_ref()
        .is_some_and(|c| c.tracing.support >= SURE_SUPPORT)
    {
        return by_colours;
    }
    best(photo, scale, candidates, lap, Guide::Sharpness)
        .into_iter()
        .chain(by_colours)
        .max_by(|a, b| a.merit.total_cmp(&b.merit))
}

/// The weld on the other side of the butting member, where there is one.
pub fn second(
    photo: &Photo,
    scale: &Scale,
    readings: &[Reading],
    main: &JointFrame,
    lap: bool,
) -> Option<Choice> {
    let candidates: Vec<Reading> = readings
        .iter()
        .filter(|r| is_behind(&r.frame, main))
        .take(SECOND_CANDIDATES)
        .copied()
        .collect();
    best(photo, scale, &candidates, lap, Guide::Colours)
}

/// Of two welds the one nearer to the middle of the picture comes first: that is where a
/// photographer puts what a picture is of.
pub fn in_order(photo: &Photo, scale: &Scale, main: Choice, other: Choice) -> [Choice; 2] {
    let middle = Point::<Px>::new(0.5 * photo.width as f64, 0.5 * photo.height as f64);
    let off = |choice: &Choice| {
        let Tracing { frame, toes, .. } = &choice.tracing;
        let corners = [Point::new(0.0, 0.0), toes.nonbutting, toes.butting];
        let at = corners.map(|p| scale.map.to_px(frame.to_plane(p)));
        at.iter().map(|p| p.distance(middle)).sum::<f64>()
    };
    if off(&other) < off(&main) {
        [other, main]
    } else {
        [main, other]
    }
}

/// Whether a joint is the one across the butting member: the same nonbutting
/// surface the other way, the butting member's other surface.
fn is_behind(joint: &JointFrame, main: &JointFrame) -> bool {
    let at = main.to_joint(joint.root);
    joint.along_nonbutting.dot(main.along_nonbutting) < -ALIKE
        && joint.along_butting.dot(main.along_butting) > ALIKE
        && at.y.abs() < BESIDE_MM
        && (BEHIND_MM.0..=BEHIND_MM.1).contains(&-at.x)
}

/// The candidate whose outline holds together best, if it does well enough.
fn best(
    photo: &Photo,
    scale: &Scale,
    candidates: &[Reading],
    lap: bool,
    guide: Guide,
) -> Option<Choice> {
    let traced: Vec<Choice> = candidates
        .par_iter()
        .filter_map(|reading| {
            let tracing = tracing::trace(photo, scale, reading, guide)?;
            let px_per_mm = scale.map.px_per_mm_at(tracing.frame.root);
            is_large(&tracing.toes.face, px_per_mm).then_some(Choice {
                reading: *reading,
                merit: reading.score * tracing.support,
                tracing,
            })
        })
        .collect();
    let least = match guide {
        Guide::Colours => LED_BY_COLOURS,
        Guide::Sharpness => LED_BY_SHARPNESS,
    };
    let enough = |c: &Choice| {
        let merit = match c.tracing.fusion {
            Ok(_) => least.merit,
            Err(_) if lap => least.merit.max(LAP_WITHOUT_FUSION),
            Err(_) => least.merit,
        };
        c.merit >= merit && c.tracing.support >= least.support
    };
    let mut best = traced
        .into_iter()
        .filter(&enough)
        .max_by(|a, b| a.merit.total_cmp(&b.merit))?;
    best.tracing.settle(photo, scale);
    // The careful look may see no boundary where the quick one did.
    enough(&best).then_some(best)
}

/// Whether a face lies far enough from the joint root to be one.
fn is_large(face: &[Point<Joint>], px_per_mm: f64) -> bool {
    let root = Point::new(0.0, 0.0);
    let nearest = face.iter().map(|p| p.distance(root));
    nearest.fold(f64::INFINITY, f64::min) * px_per_mm >= SMALLEST_PX
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Vector;

    #[test]
    fn what_is_hardly_larger_than_an_edge_is_wide_is_no_weld() {
        // A throat of 0.95 mm at 7.8 px/mm is some lines on a rule; one of 1.5 mm at
        // 15 px/mm, the least that is advised, is a weld.
        let face = |throat: f64| {
            [
                Point::new(9.0, 0.0),
                Point::new(throat, 0.0),
                Point::new(0.0, 9.0),
            ]
        };
        assert!(!is_large(&face(0.95), 7.8));
        assert!(is_large(&face(1.5), 15.0));
    }

    fn joint(x: f64, y: f64, along: f64) -> JointFrame {
        JointFrame {
            root: Point::new(x, y),
            along_nonbutting: Vector::new(along, 0.0),
            along_butting: Vector::new(0.0, 1.0),
        }
    }

    #[test]
    fn the_weld_behind_a_tee_is_known_by_its_place() {
        let main = joint(0.0, 0.0, 1.0);
        assert!(is_behind(&joint(-10.0, 0.2, -1.0), &main));
        // Beside the surface, on the same side, or without a member between.
        assert!(!is_behind(&joint(-10.0, 3.0, -1.0), &main));
        assert!(!is_behind(&joint(10.0, 0.0, -1.0), &main));
        assert!(!is_behind(&joint(-0.5, 0.0, -1.0), &main));
        assert!(!is_behind(&joint(-10.0, 0.0, 1.0), &main));
    }
}
