//! Laps: welds that cover the upper plate's end face, and welds that leave some of it
//! bare. Our own pictures with exact truth, no outside source.

use crate::support::painted::measure;
use crate::support::section::scene::SectionSpec;
use crate::support::section::vary;
use toeline::record::Status;

/// Laps whose weld is `share` of the upper plate high.
fn laps(share: f64) -> impl Iterator<Item = SectionSpec> {
    vary::cases(60, 73)
        .into_iter()
        .filter(|spec| spec.joint.kind == crate::support::section::joint::Kind::Lap)
        .map(move |mut spec| {
            let joint = &mut spec.joint;
            joint.gap = joint.gap.min(0.3);
            joint.leg_butting = share * joint.t_butting + joint.gap;
            joint.leg_nonbutting = joint.leg_butting;
            joint.bulge = joint.bulge.clamp(-0.2, 0.6);
            joint.undercut_nonbutting = 0.0;
            spec
        })
        .take(9)
}

/// Legs that were stated, those within ± and those far off.
#[derive(Debug, Default)]
struct Tally {
    coupons: usize,
    measured: usize,
    legs: usize,
    within: usize,
    wrong: Vec<String>,
}

fn tally(share: f64) -> Tally {
    let mut tally = Tally::default();
    for spec in laps(share) {
        let (record, truth) = measure(spec);
        tally.coupons += 1;
        if record.status == Status::Refused {
            continue;
        }
        tally.measured += 1;
        for name in ["leg_butting_mm", "leg_nonbutting_mm"] {
            let stated = &record.measurements[name];
            let (Some(value), Some(u)) = (stated.value, stated.expanded_uncertainty) else {
                continue;
            };
            let off = value - truth.measurements[name];
            tally.legs += 1;
            tally.within += usize::from(off.abs() <= u);
            if off.abs() > 2.0 * u {
                tally
                    .wrong
                    .push(format!("{} {name} {off:+.2} ± {u:.2}", truth.case));
            }
        }
    }
    tally
}

#[test]
fn a_weld_that_covers_the_end_face_is_measured() {
    let covered = tally(1.0);
    assert!(3 * covered.measured >= 2 * covered.coupons, "{covered:?}");
    assert!(10 * covered.within >= 9 * covered.legs, "{covered:?}");
    assert!(covered.wrong.is_empty(), "{covered:?}");
}

#[test]
fn an_end_face_that_is_partly_bare_is_no_covered_one() {
    for share in [0.93, 0.8, 0.6] {
        let partly = tally(share);
        assert!(
            partly.legs > 0 && partly.wrong.is_empty(),
            "{share} {partly:?}"
        );
    }
}
