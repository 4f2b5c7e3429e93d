//! Where things lie in the picture: the coupon, and along its root side the
//! reference, both turned together.

use super::scene::FractureSpec;
use crate::support::section::reference::{Reference, ReferenceKind};
use crate::support::section::shapes::*;

/// Fills in the enlargement, the coupon's place and the reference's place.
/// `skew_deg` = turn of the reference against the coupon.
pub fn arrange(spec: &mut FractureSpec, kind: Option<ReferenceKind>, skew_deg: f64) {
    let c = &spec.coupon;
    let coupon = [c.length, c.plate + c.width + c.cap + c.beyond];
    let gap = 5.0;
    let reference = match &kind {
        None => [0.0, -gap],
        Some(ReferenceKind::Rule { width, length, .. }) => [*length - 5.0, *width],
        Some(ReferenceKind::Chequer { pitch, columns }) => {
            [pitch * (*columns as f64 + 2.0), pitch * 4.0]
        }
    };
    // A rule may run out of the picture at both ends; a strip must be in it.
    let rule = matches!(kind, Some(ReferenceKind::Rule { .. }));
    let wide = if rule {
        coupon[0]
    } else {
        coupon[0].max(reference[0])
    };
    let block = [wide, coupon[1] + gap + reference[1]];
    let (s, k) = spec.rotation_deg.to_radians().sin_cos();
    let turned = |p: P| [k * p[0] - s * p[1], s * p[0] + k * p[1]];
    let span = [
        block[0] * k.abs() + block[1] * s.abs(),
        block[0] * s.abs() + block[1] * k.abs(),
    ];
    let margin = 4.0 + 0.03 * coupon[0];
    let (w, h) = (spec.camera.width as f64, spec.camera.height as f64);
    spec.camera.px_per_mm = (w / (span[0] + 2.0 * margin)).min(h / (span[1] + 2.0 * margin));
    spec.at = turned([0.0, (coupon[1] - block[1]) / 2.0]);
    spec.reference = kind.map(|kind| {
        // Turned about the middle of its edge next to the coupon.
        let (s, k) = skew_deg.to_radians().sin_cos();
        let from = -reference[0] / 2.0 + if rule { 2.5 } else { 0.0 };
        let edge = coupon[1] + gap - block[1] / 2.0;
        Reference {
            kind,
            origin: turned([k * from, edge + s * from]),
            angle_deg: spec.rotation_deg + skew_deg,
        }
    });
}
