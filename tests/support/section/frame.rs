//! Where things lie in the picture: the specimen beside its reference, both
//! wholly in view.

use super::camera::apply;
use super::joint::Joint;
use super::reference::{Reference, ReferenceKind};
use super::scene::{SectionSpec, bounds, pose};
use super::shapes::*;

/// Fills in the enlargement, the specimen's place and the reference's place.
/// `angle_deg` = the reference's direction; near 0, or near 180 with its
/// graduated edge turned away from the specimen.
pub fn arrange(
    spec: &mut SectionSpec,
    kind: Option<ReferenceKind>,
    angle_deg: f64,
    reference_on_top: bool,
) {
    let joint = Joint::build(spec.joint.clone());
    let corners: Vec<P> = joint
        .nonbutting
        .iter()
        .chain(&joint.butting)
        .chain(&joint.weld)
        .copied()
        .collect();
    let turned: Vec<P> = {
        let m = pose(
            spec.rotation_deg,
            spec.mirrored,
            centroid(&joint.weld),
            [0.0, 0.0],
        );
        corners.iter().map(|p| apply(&m, *p)).collect()
    };
    let (low, high) = bounds(&turned, 0.0);
    let margin = 2.5 + 0.04 * (high[0] - low[0]);
    // A rule may run out of the picture with its plain edge, never with its
    // graduated one.
    let flipped = (angle_deg.rem_euclid(360.0) - 180.0).abs() < 90.0;
    let rule = matches!(kind, Some(ReferenceKind::Rule { .. }));
    let shown = if rule && flipped == reference_on_top {
        0.8
    } else {
        1.0
    };
    let band = match &kind {
        None => 0.0,
        Some(ReferenceKind::Rule { width, .. }) => {
            width * shown + if shown < 1.0 { 3.0 } else { 7.0 }
        }
        Some(ReferenceKind::Chequer { pitch, .. }) => 4.0 * pitch + 5.0,
    };
    let (w, h) = (spec.camera.width as f64, spec.camera.height as f64);
    let (view_w, view_h) = (
        high[0] - low[0] + 2.0 * margin,
        high[1] - low[1] + 2.0 * margin + band,
    );
    let scale = (w / view_w).min(h / view_h);
    spec.camera.px_per_mm = scale;
    let (view_w, view_h) = (w / scale, h / scale);

    // Specimen in the middle of what the band leaves over.
    let middle = if reference_on_top {
        band / 2.0
    } else {
        -band / 2.0
    };
    spec.at = [-(low[0] + high[0]) / 2.0, middle - (low[1] + high[1]) / 2.0];
    spec.reference = kind.map(|kind| {
        let (length, width) = match &kind {
            ReferenceKind::Rule { width, length, .. } => (*length - 10.0, *width),
            ReferenceKind::Chequer { pitch, columns } => {
                (pitch * (*columns as f64 + 2.0), pitch * 4.0)
            }
        };
        // Height in the picture of the object's middle line.
        let y = match shown < 1.0 {
            true => view_h / 2.0 - width * (shown - 0.5),
            false => view_h / 2.0 - width / 2.0 - 3.0,
        };
        let y = if reference_on_top { -y } else { y };
        let (s, c) = angle_deg.to_radians().sin_cos();
        let half = [
            c * length / 2.0 - s * width / 2.0,
            s * length / 2.0 + c * width / 2.0,
        ];
        let room = (view_w - length).max(0.0) * 0.25;
        let x = if flipped { -room } else { room };
        Reference {
            kind,
            origin: [x - half[0], y - half[1]],
            angle_deg,
        }
    });
}
