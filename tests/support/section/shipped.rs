//! The examples under `testdata/sections`, coupons of the invented Harbour
//! Row evening workshop.

use super::background::Background;
use super::camera::CameraSpec;
use super::frame::arrange;
use super::joint::{JointSpec, Kind};
use super::metal::Etch;
use super::reference::ReferenceKind;
use super::scene::SectionSpec;

/// HR-07: a sound T-joint, one run, steel rule below.
pub fn hr_07() -> SectionSpec {
    let mut spec = SectionSpec {
        name: "HR-07".to_owned(),
        seed: 7007,
        joint: JointSpec {
            kind: Kind::Tee,
            dihedral_deg: 90.0,
            t_nonbutting: 10.0,
            t_butting: 8.0,
            gap: 0.08,
            leg_nonbutting: 6.9,
            leg_butting: 6.5,
            bulge: 0.35,
            depth_nonbutting: 1.3,
            depth_butting: 1.0,
            root_depth: 1.1,
            undercut_nonbutting: 0.0,
            undercut_butting: 0.0,
            overlap_nonbutting: None,
            overlap_butting: None,
            reach: [17.0, 9.0, 13.0],
            passes: 1,
            gaps: Vec::new(),
            pores: vec![],
            seed: 71,
        },
        second: None,
        etch: Etch {
            parent: 0.40,
            tint: [1.0, 0.985, 0.96],
            weld: 0.50,
            band: 0.76,
            band_mm: 1.9,
            line: 0.30,
            line_mm: 0.06,
            grain: 0.15,
            marks: 0.12,
            marks_deg: 3.0,
        },
        background: Background::Stone,
        reference: None,
        camera: CameraSpec {
            width: 3072,
            height: 2304,
            px_per_mm: 0.0,
            tilt_deg: 1.2,
            tilt_axis_deg: 35.0,
            focal: 1.9,
            blur_px: 1.1,
            noise: 0.010,
            quality: 86,
            exposure: 1.02,
            balance: [1.03, 1.0, 0.96],
        },
        rotation_deg: -2.5,
        mirrored: false,
        at: [0.0, 0.0],
        depth_mm: 10.0,
        light_deg: 40.0,
    };
    let rule = ReferenceKind::Rule {
        half_mm: true,
        steel: true,
        width: 15.0,
        length: 160.0,
        first: 30.0,
        in_cm: false,
    };
    arrange(&mut spec, Some(rule), 1.6, false);
    spec
}

/// HR-11: two runs, turned and mirrored, short leg on the butting member,
/// chequer strip above.
pub fn hr_11() -> SectionSpec {
    let mut spec = hr_07();
    spec.name = "HR-11".to_owned();
    spec.seed = 7011;
    spec.joint = JointSpec {
        t_nonbutting: 12.0,
        t_butting: 10.0,
        gap: 0.35,
        leg_nonbutting: 8.8,
        leg_butting: 5.6,
        bulge: 0.45,
        depth_nonbutting: 1.7,
        depth_butting: 1.2,
        root_depth: 0.9,
        undercut_butting: 0.45,
        overlap_nonbutting: None,
        overlap_butting: None,
        reach: [19.0, 10.0, 14.0],
        passes: 2,
        seed: 111,
        ..spec.joint
    };
    spec.etch = Etch {
        parent: 0.36,
        tint: [0.96, 0.985, 1.0],
        weld: 1.32,
        band: 0.70,
        band_mm: 2.3,
        line: 0.45,
        line_mm: 0.07,
        grain: 0.13,
        marks: 0.10,
        marks_deg: 88.0,
    };
    spec.background = Background::Paper;
    spec.rotation_deg = 148.0;
    spec.mirrored = true;
    spec.depth_mm = 12.0;
    spec.light_deg = 120.0;
    spec.camera = CameraSpec {
        tilt_deg: 2.0,
        tilt_axis_deg: 100.0,
        blur_px: 1.3,
        balance: [0.99, 1.0, 1.03],
        ..spec.camera
    };
    arrange(
        &mut spec,
        Some(ReferenceKind::Chequer {
            pitch: 4.0,
            columns: 12,
        }),
        -4.0,
        true,
    );
    spec
}

/// HR-14: lap joint, concave face, no reference in view: the scale is declared.
pub fn hr_14() -> SectionSpec {
    let mut spec = hr_07();
    spec.name = "HR-14".to_owned();
    spec.seed = 7014;
    spec.joint = JointSpec {
        kind: Kind::Lap,
        t_nonbutting: 8.0,
        t_butting: 8.0,
        gap: 0.05,
        leg_nonbutting: 7.4,
        leg_butting: 6.6,
        bulge: -0.75,
        depth_nonbutting: 1.1,
        depth_butting: 0.9,
        root_depth: 0.8,
        overlap_nonbutting: None,
        overlap_butting: None,
        reach: [17.0, 10.0, 0.0],
        seed: 141,
        ..spec.joint
    };
    spec.etch = Etch {
        parent: 0.44,
        tint: [1.0, 0.97, 0.92],
        weld: 0.52,
        band: 0.80,
        marks: 0.12,
        marks_deg: 24.0,
        ..spec.etch
    };
    spec.background = Background::Cloth([0.10, 0.028, 0.026]);
    spec.rotation_deg = 6.0;
    spec.camera = CameraSpec {
        width: 2800,
        height: 2100,
        tilt_deg: 0.0,
        focal: 3.2,
        quality: 84,
        ..spec.camera
    };
    arrange(&mut spec, None, 0.0, false);
    spec
}

/// All of them.
pub fn all() -> Vec<SectionSpec> {
    vec![hr_07(), hr_11(), hr_14()]
}
