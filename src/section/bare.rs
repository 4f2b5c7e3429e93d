//! The bare surface along one straight edge, going out from the corner where it
//! crosses another.

use super::evidence::{Evidence, Profile, Run};
use super::lap;
use super::members::Reading;
use super::view::colour_distance;
use crate::base::geometry::{Mm, Point, Vector};

/// Smallest and largest distance from the root at which a bare surface may begin, mm.
const LEG_RANGE_MM: (f64, f64) = (2.0, 25.0);

/// What may be the bare surface along one edge, going out from a corner.
pub struct Bare {
    /// Edge with nothing before it.
    alone: Option<Run>,
    /// All of an edge that goes on towards the corner.
    whole: Option<Run>,
}

/// An edge that begins this near to the corner, mm, may as well go on inside the
/// weld.
const DOUBTFUL_BEGIN_MM: f64 = 6.0;

/// The bare surface along an edge each way from `origin`, forwards first.
pub fn bare_runs(profile: &Profile, origin: f64) -> [Bare; 2] {
    [1.0, -1.0].map(|sign| {
        let alone = profile.run(origin, sign, LEG_RANGE_MM.0, LEG_RANGE_MM.1);
        let whole = alone
            .is_none_or(|run| run.begin < DOUBTFUL_BEGIN_MM)
            .then(|| profile.run_from_corner(origin, sign, LEG_RANGE_MM.0))
            .flatten();
        Bare { alone, whole }
    })
}

impl Bare {
    /// The readings of it that the colours allow.
    pub fn each(
        &self,
        evidence: &Evidence,
        root: Point<Mm>,
        along: Vector<Mm>,
        out: Vector<Mm>,
    ) -> Vec<Run> {
        let beyond = self
            .whole
            .and_then(|run| beyond_the_weld(evidence, root, along, out, run))
            .filter(|run| self.alone.is_none_or(|a| run.begin > a.begin + 1.0));
        self.alone.into_iter().chain(beyond).collect()
    }
}

/// The bare part of an edge that goes on inside the weld: from where the colour
/// outside it is that of the surroundings. Less sure than an edge that ends at the
/// weld, so it counts for less. `None` when no such place is found.
fn beyond_the_weld(
    evidence: &Evidence,
    root: Point<Mm>,
    along: Vector<Mm>,
    out: Vector<Mm>,
    run: Run,
) -> Option<Run> {
    let begin = clear_of_weld(evidence, root, along, out, &run);
    let share = (run.end - begin) / (run.end - run.begin).max(1e-9);
    (begin > run.begin + 1.0 && begin <= LEG_RANGE_MM.1).then_some(Run {
        begin,
        end: run.end,
        gain: INTO_CORNER_WORTH * share * run.gain,
    })
}

/// What an edge that goes on into the corner is worth against one that does not.
const INTO_CORNER_WORTH: f64 = 0.7;

/// From where on along a surface the colour just outside stays what it is at
/// the far end: beyond this the weld does not reach, mm from the root.
pub fn clear_of_weld(
    evidence: &Evidence,
    root: Point<Mm>,
    along: Vector<Mm>,
    out: Vector<Mm>,
    run: &Run,
) -> f64 {
    let mean = |from: f64, to: f64, depths: [f64; 3]| {
        let (mut sum, mut n) = ([0.0f64; 3], 0.0);
        let mut t = from;
        while t <= to {
            for d in depths {
                for (s, c) in sum.iter_mut().zip(
                    evidence
                        .view
                        .colour(evidence.map.to_px(root + along * t + out * d)),
                ) {
                    *s += f64::from(c);
                }
                n += 1.0;
            }
            t += 0.15;
        }
        sum.map(|s| s / n)
    };
    let end = run.end.min(run.begin + 16.0) - 0.3;
    if end - run.begin < 2.0 {
        return run.begin;
    }
    let (outside, inside) = ([0.4, 0.6, 0.8], [-0.4, -0.6, -0.8]);
    let start = (end - 4.0).max(0.5 * (run.begin + end));
    let (air, plate) = (mean(start, end, outside), mean(start, end, inside));
    let most = 0.5 * colour_distance(air, plate);
    let mut t = start;
    while t > run.begin && colour_distance(mean(t - 0.5, t, outside), air) <= most {
        t -= 0.25;
    }
    t.max(run.begin)
}

/// A bare surface beyond the weld.
pub struct BareSide {
    /// Where its distances are counted from.
    pub from: Point<Mm>,
    /// The way it runs, away from the weld.
    pub along: Vector<Mm>,
    /// Out of the plate.
    pub out: Vector<Mm>,
    /// What of it is bare.
    pub run: Run,
}

/// The bare surfaces beside the nonbutting and the butting toe.
pub fn bare_sides(reading: &Reading) -> [BareSide; 2] {
    let frame = &reading.frame;
    let nonbutting = BareSide {
        from: frame.root,
        along: frame.along_nonbutting,
        out: frame.out_of_nonbutting(),
        run: reading.nonbutting,
    };
    let butting = match reading.upper {
        None => BareSide {
            from: frame.root,
            along: frame.along_butting,
            out: frame.out_of_butting(),
            run: reading.butting,
        },
        Some(upper) => BareSide {
            from: frame.root + frame.along_butting * upper.height,
            along: lap::away(frame),
            out: frame.along_butting,
            run: upper.bare,
        },
    };
    [nonbutting, butting]
}
