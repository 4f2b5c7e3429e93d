//! Small cases over a range of joints, etches, tables and cameras.

use super::background::Background;
use super::camera::CameraSpec;
use super::frame::arrange;
use super::joint::{JointSpec, Kind};
use super::metal::Etch;
use super::noise::Stream;
use super::reference::ReferenceKind;
use super::scene::SectionSpec;

/// `n` cases of about 1.5 MP; the same for the same `seed`.
pub fn cases(n: usize, seed: u64) -> Vec<SectionSpec> {
    (0..n as u64)
        .map(|i| case(seed.wrapping_mul(1000) + i))
        .collect()
}

/// One case drawn from `seed`.
pub fn case(seed: u64) -> SectionSpec {
    let mut s = Stream::new(seed);
    let lap = s.chance(0.2);
    let skewed = !lap && s.chance(0.25);
    let leg = s.between(4.0, 9.0);
    let passes = if leg > 6.5 { 1 + s.pick(3) } else { 1 };
    let t_butting = if lap {
        leg * s.between(1.0, 1.4)
    } else {
        s.between(5.0, 12.0)
    };
    let leg_butting = if lap {
        leg.min(t_butting) * s.between(0.8, 0.97)
    } else {
        leg * s.between(0.75, 1.25)
    };
    let deep = s.between(0.08, 0.24) * leg;
    let joint = JointSpec {
        kind: if lap { Kind::Lap } else { Kind::Tee },
        dihedral_deg: if skewed { s.between(68.0, 115.0) } else { 90.0 },
        t_nonbutting: s.between(6.0, 14.0),
        t_butting,
        gap: if s.chance(0.3) {
            s.between(0.2, 0.9)
        } else {
            s.between(0.03, 0.08)
        },
        leg_nonbutting: leg,
        leg_butting,
        bulge: s.between(-0.09, 0.12) * leg,
        depth_nonbutting: deep,
        depth_butting: deep * s.between(0.6, 1.2),
        root_depth: deep * s.between(0.7, 1.2) + 0.1,
        undercut_nonbutting: if s.chance(0.12) {
            s.between(0.2, 0.7)
        } else {
            0.0
        },
        undercut_butting: if !lap && s.chance(0.2) {
            s.between(0.2, 0.8)
        } else {
            0.0
        },
        overlap_nonbutting: None,
        overlap_butting: None,
        reach: [
            t_butting + s.between(4.0, 12.0),
            s.between(5.0, 12.0),
            s.between(6.0, 14.0),
        ],
        passes,
        gaps: Vec::new(),
        pores: vec![],
        seed,
    };
    let lighter = s.chance(0.3);
    let etch = Etch {
        parent: s.between(0.28, 0.48),
        tint: [1.0, s.between(0.96, 1.0), s.between(0.9, 1.04)],
        weld: if lighter {
            s.between(1.15, 1.4)
        } else {
            s.between(0.5, 0.82)
        },
        band: s.between(0.62, 0.92),
        band_mm: s.between(0.8, 2.6),
        line: s.between(0.1, 0.5),
        line_mm: s.between(0.04, 0.09),
        grain: s.between(0.08, 0.2),
        marks: s.between(0.03, 0.11),
        marks_deg: s.between(0.0, 180.0),
    };
    let background = match s.pick(4) {
        0 => Background::Paper,
        1 => Background::Cloth([0.10, 0.03, 0.03]),
        2 => Background::Cloth([0.03, 0.045, 0.06]),
        _ => Background::Stone,
    };
    let mut spec = SectionSpec {
        name: format!("varied-{seed}"),
        seed,
        joint,
        second: None,
        etch,
        background,
        reference: None,
        camera: CameraSpec {
            width: 1440,
            height: 1080,
            px_per_mm: 0.0,
            tilt_deg: s.between(0.0, 5.0),
            tilt_axis_deg: s.between(0.0, 180.0),
            focal: s.between(1.2, 3.0),
            blur_px: s.between(0.6, 1.5),
            noise: s.between(0.004, 0.014),
            quality: 80 + s.pick(15) as u8,
            exposure: s.between(0.8, 1.1),
            balance: [s.between(0.94, 1.06), 1.0, s.between(0.94, 1.06)],
        },
        rotation_deg: if s.chance(0.5) {
            s.between(-12.0, 12.0)
        } else {
            s.between(0.0, 360.0)
        },
        mirrored: s.chance(0.5),
        at: [0.0, 0.0],
        depth_mm: s.between(6.0, 14.0),
        light_deg: s.between(0.0, 360.0),
    };
    let on_top = s.chance(0.5);
    let angle = s.between(-5.0, 5.0) + if s.chance(0.3) { 180.0 } else { 0.0 };
    let kind = match s.pick(3) {
        0 => None,
        1 => Some(ReferenceKind::Rule {
            half_mm: s.chance(0.5),
            steel: s.chance(0.6),
            width: s.between(14.0, 22.0),
            length: 160.0,
            first: 10.0 * s.pick(10) as f64,
            in_cm: s.chance(0.5),
        }),
        _ => Some(ReferenceKind::Chequer {
            pitch: [2.0, 3.0, 4.0, 5.0][s.pick(4)],
            columns: 8 + s.pick(5),
        }),
    };
    // A declared scale holds for a camera that looks straight down.
    if kind.is_none() {
        spec.camera.tilt_deg = 0.0;
    }
    arrange(&mut spec, kind, angle, on_top);
    spec
}
