//! Small cases over a range of coupons, lights and cameras.

use super::bench::Bench;
use super::coupon::{CouponSpec, Inclusion, Patch, Pore, Stretch, Surface};
use super::frame::arrange;
use super::scene::FractureSpec;
use crate::support::section::background::Background;
use crate::support::section::camera::CameraSpec;
use crate::support::section::noise::Stream;
use crate::support::section::reference::ReferenceKind;

/// One case of about 1.5 MP drawn from `seed`; the same for the same seed.
pub fn case(seed: u64) -> FractureSpec {
    let mut s = Stream::new(seed);
    let length = s.between(52.0, 62.0);
    let width = s.between(5.5, 7.5);
    let mut coupon = CouponSpec {
        length,
        width,
        plate: s.between(6.0, 8.0),
        cap: s.between(1.8, 3.0),
        beyond: s.between(6.0, 8.0),
        depth: s.between(6.0, 10.0),
        roots: vec![],
        walls: vec![],
        patches: vec![],
        pores: vec![],
        inclusions: vec![],
        crystalline: s.between(0.25, 0.65),
        surface: if s.chance(0.5) {
            Surface::Rolled
        } else {
            Surface::Machined
        },
        identity: ["31", "32", "35", "38"][s.pick(4)],
        seed: seed ^ 0xc0,
    };
    // Left third: root; middle: between runs; right: pores and inclusions.
    if s.chance(0.7) {
        let start = s.between(3.0, 7.0);
        let end = start + s.between(8.0, 13.0);
        coupon.roots.push(Stretch {
            start,
            end,
            depth: s.between(1.1, 1.9),
        });
    }
    if s.chance(0.5) {
        coupon.patches.push(Patch {
            at: [
                length * s.between(0.50, 0.54),
                width * s.between(0.50, 0.58),
            ],
            half_length: s.between(4.0, 6.0),
            half_width: s.between(0.9, 1.3),
            shiny: false,
        });
    }
    if s.chance(0.7) {
        let at = [length * s.between(0.70, 0.78), width * s.between(0.35, 0.6)];
        coupon.pores.push(Pore {
            at,
            diameter: s.between(0.9, 1.6),
        });
    }
    if s.chance(0.3) {
        coupon.inclusions.push(Inclusion {
            at: [length * s.between(0.86, 0.92), width * s.between(0.35, 0.6)],
            half_length: s.between(0.7, 1.1),
            half_width: s.between(0.3, 0.5),
            turn_deg: s.between(-50.0, 50.0),
        });
    }
    let mut spec = FractureSpec {
        name: format!("fracture-{seed}"),
        seed,
        coupon,
        bench: match s.pick(3) {
            0 => Bench::Table(Background::Paper),
            1 => Bench::Board,
            _ => Bench::Mat([0.030, 0.040, 0.037]),
        },
        reference: None,
        camera: CameraSpec {
            width: 1440,
            height: 1080,
            px_per_mm: 0.0,
            tilt_deg: s.between(0.0, 2.5),
            tilt_axis_deg: s.between(0.0, 180.0),
            focal: s.between(1.2, 2.2),
            blur_px: s.between(0.6, 1.0),
            noise: s.between(0.004, 0.012),
            quality: 90,
            exposure: s.between(0.85, 1.05),
            balance: [s.between(0.97, 1.04), 1.0, s.between(0.95, 1.03)],
        },
        rotation_deg: s.between(-6.0, 6.0),
        at: [0.0, 0.0],
        light_deg: s.between(-150.0, -30.0),
        vignette: s.between(0.05, 0.2),
    };
    let skew_deg = s.between(-2.0, 2.0);
    // Above the root's stretch: a side wall; and one patch in three shines.
    if s.chance(0.3) {
        let start = s.between(4.0, 8.0);
        spec.coupon.walls.push(Stretch {
            start,
            end: start + s.between(7.0, 10.0),
            depth: s.between(0.9, 1.3),
        });
    }
    let shiny = s.chance(0.33);
    spec.coupon.patches.iter_mut().for_each(|p| p.shiny = shiny);
    let strip = ReferenceKind::Chequer {
        pitch: 3.0,
        columns: 16,
    };
    arrange(&mut spec, Some(strip), skew_deg);
    spec
}
