//! Declared plate thickness against the picture: a check of the scale.

use super::evidence::Evidence;
use super::members::{Reading, SURE_BACK_MM, best_parallel};
use crate::base::geometry::{Line, Mm, Vector};
use crate::record::{Code, Coupon, JointType, Reason};

/// Plates of wrong thickness must show this many times as much edge as any near
/// the declared thickness does: rust, side walls and shadows run parallel, too.
const CLEARLY: f64 = 3.0;

/// What a plate's thickness says of the scale.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// The other surface lies where it was declared: a sentence with the figures.
    Agrees(String),
    /// It clearly lies elsewhere.
    Disagrees(Reason),
}

/// Compares each declared thickness with the plate's other surface, where one
/// stands out; says nothing where none does.
pub fn compare(evidence: &Evidence, reading: &Reading, declared: &Coupon) -> Vec<Told> {
    let frame = &reading.frame;
    let (u, v) = (frame.along_nonbutting, frame.along_butting);
    let surface = Line::new(frame.root, u);
    let riser = Line::new(frame.root, v);
    let nonbutting = declared.thickness_nonbutting_mm.and_then(|mm| {
        let range = (-10.0, reading.nonbutting.end.min(30.0));
        told(evidence, "nonbutting", mm, (&surface, v), range)
    });
    // The upper plate of a lap is not bounded by a parallel to its end face.
    let tee = declared.joint != Some(JointType::Lap);
    let butting = declared
        .thickness_butting_mm
        .filter(|_| tee)
        .and_then(|mm| {
            let range = (3.0, reading.butting.end.min(30.0));
            told(evidence, "butting", mm, (&riser, u), range)
        });
    nonbutting.into_iter().chain(butting).collect()
}

/// For the plate whose surface runs along `line`, away from `air`.
fn told(
    evidence: &Evidence,
    member: &str,
    declared_mm: f64,
    (line, air): (&Line<Mm>, Vector<Mm>),
    range: (f64, f64),
) -> Option<Told> {
    let side = if line.normal().dot(air) > 0.0 {
        -1.0
    } else {
        1.0
    };
    let (near_mm, near) = best_parallel(evidence, line, side, Some(declared_mm), range);
    let (any_mm, any) = best_parallel(evidence, line, side, None, range);
    if near >= SURE_BACK_MM {
        return Some(Told::Agrees(format!(
            "the {member} member, declared {declared_mm} mm thick, looks {near_mm:.1} mm thick at this scale ({:+.1} %)",
            100.0 * (near_mm / declared_mm - 1.0)
        )));
    }
    (any >= SURE_BACK_MM && any > CLEARLY * near.max(0.0)).then(|| {
        Told::Disagrees(Reason::new(
            Code::ScaleDoubtful,
            format!(
                "the {member} member was declared {declared_mm} mm thick, but at this scale it looks {any_mm:.1} mm thick"
            ),
            "check the declared thickness, and that the scale is what --scale says and lies level with the etched face",
        ))
    })
}
