//! The examples under `testdata/fractures`, coupons of the invented Harbour
//! Row evening workshop.

use super::bench::Bench;
use super::coupon::{CouponSpec, Inclusion, Patch, Pore, Stretch, Surface};
use super::frame::arrange;
use super::scene::FractureSpec;
use crate::support::section::background::Background;
use crate::support::section::camera::CameraSpec;
use crate::support::section::reference::ReferenceKind;

/// HR-27: a sound face, steel rule along the root side.
pub fn hr_27() -> FractureSpec {
    let mut spec = FractureSpec {
        name: "HR-27".to_owned(),
        seed: 9027,
        coupon: CouponSpec {
            length: 95.0,
            width: 7.2,
            plate: 8.0,
            cap: 2.6,
            beyond: 9.0,
            depth: 9.0,
            roots: vec![],
            walls: vec![],
            patches: vec![],
            pores: vec![],
            inclusions: vec![],
            crystalline: 0.45,
            surface: Surface::Rolled,
            identity: "27",
            seed: 271,
        },
        bench: Bench::Table(Background::Paper),
        reference: None,
        camera: CameraSpec {
            width: 3072,
            height: 1792,
            px_per_mm: 0.0,
            tilt_deg: 1.5,
            tilt_axis_deg: 20.0,
            focal: 1.5,
            blur_px: 0.9,
            noise: 0.008,
            quality: 78,
            exposure: 1.25,
            balance: [1.02, 1.0, 0.97],
        },
        rotation_deg: -2.0,
        at: [0.0, 0.0],
        light_deg: 65.0,
        vignette: 0.12,
    };
    arrange(&mut spec, Some(rule()), 1.2);
    spec
}

/// HR-21: the root not reached over one stretch, a pore.
pub fn hr_21() -> FractureSpec {
    let mut spec = hr_27();
    spec.name = "HR-21".to_owned();
    spec.seed = 9021;
    spec.coupon = CouponSpec {
        roots: vec![Stretch {
            start: 21.0,
            end: 47.0,
            depth: 1.5,
        }],
        pores: vec![Pore {
            at: [68.0, 3.9],
            diameter: 1.4,
        }],
        crystalline: 0.35,
        identity: "21",
        seed: 211,
        ..spec.coupon
    };
    spec.rotation_deg = 3.0;
    spec.light_deg = 118.0;
    arrange(&mut spec, Some(rule()), -1.0);
    spec
}

/// HR-24: a stretch where two runs did not fuse, an inclusion, seen upside
/// down beside a chequer strip.
pub fn hr_24() -> FractureSpec {
    let mut spec = hr_27();
    spec.name = "HR-24".to_owned();
    spec.seed = 9024;
    spec.coupon = CouponSpec {
        width: 8.0,
        patches: vec![Patch {
            at: [38.0, 4.4],
            half_length: 8.0,
            half_width: 1.4,
            shiny: false,
        }],
        inclusions: vec![Inclusion {
            at: [72.0, 3.2],
            half_length: 1.0,
            half_width: 0.45,
            turn_deg: 20.0,
        }],
        crystalline: 0.5,
        identity: "24",
        seed: 241,
        ..spec.coupon
    };
    spec.bench = Bench::Mat([0.030, 0.040, 0.037]);
    spec.rotation_deg = 176.0;
    spec.light_deg = -110.0;
    let strip = ReferenceKind::Chequer {
        pitch: 4.0,
        columns: 18,
    };
    arrange(&mut spec, Some(strip), 1.5);
    spec
}

/// All of them.
pub fn all() -> Vec<FractureSpec> {
    vec![hr_21(), hr_24(), hr_27()]
}

/// The steel rule beside them.
pub fn rule() -> ReferenceKind {
    ReferenceKind::Rule {
        half_mm: false,
        steel: true,
        width: 15.0,
        length: 160.0,
        first: 20.0,
        in_cm: false,
    }
}
