//! Tees welded on both sides: both welds measured, the one in the middle of the picture
//! first. Our own pictures with exact truth, no outside source.

use crate::support::painted::measure;
use crate::support::section::frame::arrange;
use crate::support::section::noise::Stream;
use crate::support::section::scene::SectionSpec;
use crate::support::section::shapes::{centroid, length, sub};
use crate::support::section::vary;
use std::collections::BTreeMap;
use toeline::record::{Measurement, Outlines, Status};

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
            // The specimen has grown: the reference moves out of its way.
            let reference = spec.reference.take();
            let angle = reference.as_ref().map_or(0.0, |r| r.angle_deg);
            let on_top = reference
                .as_ref()
                .is_some_and(|r| r.corners().iter().map(|p| p[1]).sum::<f64>() < 0.0);
            arrange(&mut spec, reference.map(|r| r.kind), angle, on_top);
            spec
        })
        .take(12)
}

/// Lengths stated, and those farther off than twice what is stated.
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
            if off.abs() > 2.0 * u {
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
        let behind = truth.second.as_ref().expect("a second weld");
        let root = record.outlines_px.joint_root.expect("a joint root");
        let is_main = length(sub(root, truth.outlines_px.joint_root)) < truth.px_per_mm;
        let (main, other) = if is_main {
            (&truth.measurements, behind)
        } else {
            (behind, &truth.measurements)
        };
        first.add(&truth.case, &record.measurements, main);
        let middle = [0.5 * truth.width_px as f64, 0.5 * truth.height_px as f64];
        let off = |outlines: &Outlines| length(sub(centroid(&outlines.weld_metal), middle));
        for weld in &record.other_welds {
            second.add(&truth.case, &weld.measurements, other);
            assert!(
                off(&record.outlines_px) < off(&weld.outlines_px),
                "{}: the one in the middle is not the first",
                truth.case
            );
        }
    }
    let told = format!("{coupons} coupons: {first:#?}, {second:#?}");
    for tally in [&first, &second] {
        assert!(10 * tally.welds >= 9 * coupons, "{told}");
        assert!(tally.lengths >= 2 * coupons, "{told}");
        // A reading that follows something else is wrong in several lengths at once.
        assert!(tally.wrong.len() <= 1, "{told}");
    }
}
