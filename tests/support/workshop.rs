//! The class under `testdata/class`: coupons of one evening in the invented Harbour
//! Row workshop, some sound, some not. `toeline demo` measures it.

use super::fracture::bench::Bench;
use super::fracture::coupon::{CouponSpec, Inclusion, Patch, Pore, Stretch};
use super::fracture::scene::FractureSpec;
use super::fracture::{self, shipped as broken};
use super::section::background::Background;
use super::section::camera::CameraSpec;
use super::section::joint::{JointSpec, Kind};
use super::section::scene::SectionSpec;
use super::section::{self, reference::ReferenceKind, shipped as cut};

/// Every photograph of the class: name without ending, and the JPEG file.
pub fn photographs() -> Vec<(String, Vec<u8>)> {
    let cut = sections().into_iter().map(|spec| {
        let name = format!("{}-section", spec.name);
        (name, section::render(spec).0)
    });
    let broken = breaks().into_iter().map(|spec| {
        let name = format!("{}-break", spec.name);
        (name, fracture::render(spec).0)
    });
    cut.chain(broken).collect()
}

fn rule(first: f64) -> ReferenceKind {
    ReferenceKind::Rule {
        half_mm: true,
        steel: true,
        width: 15.0,
        length: 160.0,
        first,
        in_cm: false,
    }
}

/// A tee of 8 on 10 mm with the legs given, else like HR-07.
fn tee(name: &str, seed: u64, legs: [f64; 2]) -> SectionSpec {
    let mut spec = cut::hr_07();
    spec.name = name.to_owned();
    spec.seed = seed;
    spec.joint = JointSpec {
        leg_nonbutting: legs[0],
        leg_butting: legs[1],
        seed,
        ..spec.joint
    };
    spec.camera = CameraSpec {
        width: 2048,
        height: 1536,
        ..spec.camera
    };
    spec.rotation_deg = (seed % 11) as f64 - 5.0;
    spec
}

fn sections() -> Vec<SectionSpec> {
    let lay = |mut spec: SectionSpec, first: f64, angle: f64| {
        section::frame::arrange(&mut spec, Some(rule(first)), angle, false);
        spec
    };
    let mut concave = tee("HR-33", 7033, [7.6, 7.2]);
    concave.joint.bulge = -0.9;
    concave.background = Background::Paper;
    let mut undercut = tee("HR-34", 7034, [6.9, 6.6]);
    undercut.joint.undercut_butting = 0.7;
    let mut three = tee("HR-35", 7035, [9.4, 9.0]);
    three.joint.passes = 3;
    three.joint.depth_nonbutting = 1.5;
    let mut lap = tee("HR-36", 7036, [6.6, 6.2]);
    lap.joint.kind = Kind::Lap;
    lap.joint.reach = [17.0, 10.0, 0.0];
    lap.mirrored = true;
    vec![
        lay(tee("HR-31", 7031, [6.6, 6.4]), 20.0, 1.0),
        // The leg on the upright plate is short.
        lay(tee("HR-32", 7032, [7.4, 4.6]), 40.0, -1.5),
        lay(concave, 30.0, 2.0),
        lay(undercut, 10.0, -0.5),
        lay(three, 50.0, 1.5),
        lay(lap, 30.0, 0.5),
        // The section of a coupon that was broken as well.
        lay(tee("HR-41", 7041, [6.7, 6.3]), 60.0, -2.0),
    ]
}

/// A coupon 95 mm long, sound unless `flaws` says otherwise, else like HR-27.
fn coupon(
    name: &str,
    identity: &'static str,
    seed: u64,
    flaws: fn(&mut CouponSpec),
) -> FractureSpec {
    let mut spec = broken::hr_27();
    spec.name = name.to_owned();
    spec.seed = seed;
    spec.coupon.seed = seed;
    spec.coupon.identity = identity;
    flaws(&mut spec.coupon);
    spec.camera = CameraSpec {
        width: 2432,
        height: 1418,
        ..spec.camera
    };
    spec.rotation_deg = (seed % 9) as f64 - 4.0;
    spec.light_deg = 70.0 + (seed % 5) as f64 * 10.0;
    if seed.is_multiple_of(2) {
        spec.bench = Bench::Board;
    }
    fracture::frame::arrange(&mut spec, Some(broken::rule()), (seed % 3) as f64 - 1.0);
    spec
}

fn breaks() -> Vec<FractureSpec> {
    vec![
        coupon("HR-41", "41", 9041, |c| {
            c.roots.push(Stretch {
                start: 9.0,
                end: 27.0,
                depth: 1.4,
            });
            c.roots.push(Stretch {
                start: 61.0,
                end: 69.0,
                depth: 1.2,
            });
        }),
        coupon("HR-42", "42", 9042, |c| {
            for (at, diameter) in [([22.0, 3.4], 1.1), ([24.6, 4.1], 0.9), ([71.0, 2.9], 1.5)] {
                c.pores.push(Pore { at, diameter });
            }
        }),
        coupon("HR-43", "43", 9043, |c| {
            c.patches.push(Patch {
                at: [52.0, 4.2],
                half_length: 9.0,
                half_width: 1.3,
                shiny: false,
            });
            c.roots.push(Stretch {
                start: 14.0,
                end: 26.0,
                depth: 1.3,
            });
        }),
        coupon("HR-44", "44", 9044, |c| {
            c.walls.push(Stretch {
                start: 33.0,
                end: 50.0,
                depth: 1.3,
            });
            c.inclusions.push(Inclusion {
                at: [74.0, 3.3],
                half_length: 1.1,
                half_width: 0.45,
                turn_deg: 12.0,
            });
        }),
        coupon("HR-45", "45", 9045, |_| {}),
    ]
}
