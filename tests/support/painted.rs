//! A painted section, measured with what its painter would declare of it.

use super::section::render;
use super::section::scene::SectionSpec;
use super::section::truth::{Declared, Truth};
use std::str::FromStr;
use toeline::pipeline::{Request, ScaleRequest, ScaleSource, measure_section};
use toeline::record::{Coupon, JointType, Record};

/// What a user would say of the coupon, without its number of passes.
pub fn coupon(declared: &Declared) -> Coupon {
    Coupon {
        joint: Some(match declared.joint.as_str() {
            "lap" => JointType::Lap,
            _ => JointType::Tee,
        }),
        dihedral_deg: Some(declared.dihedral_deg),
        thickness_butting_mm: Some(declared.thickness_butting_mm),
        thickness_nonbutting_mm: Some(declared.thickness_nonbutting_mm),
        ..Coupon::default()
    }
}

/// The record of a painted section, and its truth.
pub fn measure(spec: SectionSpec) -> (Record, Truth) {
    let (photo, truth) = render(spec);
    let request = Request {
        coupon: coupon(&truth.declared),
        scale: ScaleRequest::of(ScaleSource::from_str(&truth.declared.scale).expect("a scale")),
        ..Request::default()
    };
    let record = measure_section(&photo, &truth.case, &request).record;
    (record, truth)
}
