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
    let margin = 4.0 + 0.10 * (high[0] - low[0]);
    let band = match &kind {
        None => 0.0,
        Some(ReferenceKind::Rule { width, .. }) => width * 0.8 + 3.0,
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
        let flipped = (angle_deg.rem_euclid(360.0) - 180.0).abs() < 90.0;
        // Height in the picture of the object's middle line.
        let y = match &kind {
            ReferenceKind::Rule { .. } => view_h / 2.0 - width * 0.8 / 2.0 + width * 0.1,
            ReferenceKind::Chequer { .. } => view_h / 2.0 - width / 2.0 - 3.0,
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
