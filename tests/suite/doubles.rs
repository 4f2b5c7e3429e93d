//! Tees welded on both sides: both welds measured, the one in the middle of the picture
//! first. Our own pictures with exact truth, no outside source.

use crate::support::painted::measure;
use crate::support::section::noise::Stream;
use crate::support::section::scene::SectionSpec;
use crate::support::section::vary;
use std::collections::BTreeMap;
use toeline::record::{Measurement, Status};

/// Upright tees with a weld of another size behind the butting member.
fn doubles() -> impl Iterator<Item = SectionSpec> {
    let mut random = Stream::new(8);
    vary::cases(30, 83)
        .into_iter()
        .filter(|spec| spec.joint.dihedral_deg == 90.0)
        .filter(|spec| spec.joint.kind == crate::support::section::joint::Kind::Tee)
        .map(move |mut spec| {
            let mut second = spec.joint.clone();
            second.seed ^= 0x5ec0;
            let by = random.between(0.7, 1.0);
            second.leg_nonbutting *= by;
            second.leg_butting *= random.between(0.8, 1.0);
            second.bulge = random.between(-0.05, 0.1) * second.leg_nonbutting;
            // Both fusion curves stay short of each other.
            for joint in [&mut spec.joint, &mut second] {
                let most = 0.3 * joint.t_butting;
                joint.depth_butting = joint.depth_butting.min(most);
                joint.root_depth = joint.root_depth.min(most);
            }
            spec.joint.reach[0] = spec.joint.t_butting + second.leg_nonbutting + 7.0;
            spec.second = Some(second);
            spec
        })
        .take(12)
}

/// As far may a length be off, mm, besides twice what is stated: see `accuracy.rs`.
const SLACK_MM: f64 = 0.15;

/// Lengths stated, and those far off.
#[derive(Debug, Default)]
struct Tally {
    welds: usize,
    lengths: usize,
    wrong: Vec<String>,
}

impl Tally {
    fn add(
        &mut self,
        case: &str,
        stated: &BTreeMap<String, Measurement>,
        truth: &BTreeMap<String, f64>,
    ) {
        self.welds += 1;
        for name in ["leg_butting_mm", "leg_nonbutting_mm", "actual_throat_mm"] {
            let (Some(value), Some(u)) = (stated[name].value, stated[name].expanded_uncertainty)
            else {
                continue;
            };
            let off = value - truth[name];
            self.lengths += 1;
            if off.abs() > 2.0 * u + SLACK_MM {
                self.wrong.push(format!("{case} {name} {off:+.2} ± {u:.2}"));
            }
        }
    }
}

#[test]
fn both_welds_of_a_tee_are_measured() {
    let (mut first, mut second) = (Tally::default(), Tally::default());
    let mut coupons = 0;
    for spec in doubles() {
        let (record, truth) = measure(spec);
        coupons += 1;
        if record.status == Status::Refused {
            continue;
        }
        first.add(&truth.case, &record.measurements, &truth.measurements);
        for other in &record.other_welds {
            let behind = truth.second.as_ref().expect("a second weld");
            second.add(&truth.case, &other.measurements, behind);
        }
    }
    let told = format!("{coupons} coupons: {first:#?}, {second:#?}");
    for tally in [&first, &second] {
        assert!(3 * tally.welds >= 2 * coupons, "{told}");
        assert!(tally.lengths >= 2 * coupons, "{told}");
        // A reading that follows something else is wrong in several lengths at once.
        assert!(10 * tally.wrong.len() <= tally.lengths, "{told}");
    }
}
