//! From a photograph of a broken weld to its record.

use super::timing::Timings;
use super::{Block, Draft, Outcome, Request, ScaleSource, finish_with_picture, guarded};
use super::{capture, straight};
use crate::base::geometry::Point;
use crate::fracture::{self, Fracture, Strip, face};
use crate::photo::{self, Photo};
use crate::record::{Code, Kind, PhotoFacts, Reason, ScaleFacts, Searched};
use crate::report;
use crate::scale::{self, Scale};

/// Kinds of finding the fracture stage searches a face for. Cracks are not
/// among them: the examiner looks for those.
const SEARCHED: &[&str] = &[
    "inclusion",
    "lack-of-inter-run-fusion",
    "lack-of-root-fusion",
    "lack-of-sidewall-fusion",
    "pore",
    "wormhole",
];

/// What belongs to the main job: a record without these is partly measured.
pub(super) const MAIN_JOB: &[&str] = &[
    "evaluated_length_mm",
    "root_unfused_length_mm",
    "inter_run_unfused_length_mm",
    "sidewall_unfused_length_mm",
    "flaw_sum_mm",
];

/// Measures the fracture face in a photograph of a broken fillet weld.
///
/// `bytes` and `file_name` as for [`measure_section`](super::measure_section).
/// Of a coupon declared to have bent flat nothing is measured; the photograph
/// is kept as evidence. Never fails: what cannot be measured is a refused
/// record with its reasons.
pub fn measure_fracture(bytes: &[u8], file_name: &str, request: &Request) -> Outcome {
    let mut timings = Timings::default();
    let whole = timings.start("whole");
    let read = timings.stage("photo", || {
        photo::read(bytes, file_name, &request.photo_limits)
    });
    let (photo, facts) = match read {
        Ok(read) => read,
        Err(refused) => {
            let mut found = Found::new(refused.facts);
            found.reasons.push(refused.reason);
            return Outcome {
                record: found.draft().0.finish(request, timings.end(whole)),
                annotated: None,
                straightened: None,
            };
        }
    };
    let mut found = Found::new(facts);
    if !request.coupon.bent_flat {
        let run = || found.measure(&photo, request, &mut timings);
        if let Err(reason) = guarded(run) {
            // Whatever stands half finished in it is not to be trusted.
            found.face = None;
            found.reasons.push(reason);
        }
    }
    let (draft, strip) = found.draft();
    let record = draft.finish(request, timings.clone());
    let straightened = strip.and_then(|strip| {
        timings.stage("straightened", || {
            report::straightened(&straight::picture(&strip), &record)
                .inspect_err(|error| tracing::error!(%error, "no straightened picture"))
                .ok()
        })
    });
    Outcome {
        straightened,
        ..finish_with_picture(record, &photo, timings, whole)
    }
}

/// What the stages have given so far.
struct Found {
    photo: PhotoFacts,
    reasons: Vec<Reason>,
    scale: Option<ScaleFacts>,
    /// The coupon's name as the scale card in the picture has it.
    coupon_on_card: Option<String>,
    face: Option<Fracture>,
}

impl Found {
    fn new(photo: PhotoFacts) -> Self {
        Self {
            photo,
            reasons: Vec::new(),
            scale: None,
            coupon_on_card: None,
            face: None,
        }
    }

    /// Runs the stages after reading until one cannot go on.
    fn measure(&mut self, photo: &Photo, request: &Request, timings: &mut Timings) {
        self.reasons = timings.stage("precheck", || photo::precheck(photo));
        if !self.reasons.is_empty() {
            return;
        }
        // With the coupon's own length as scale the face comes first.
        let reference = match request.scale.source {
            ScaleSource::CouponLength { .. } => None,
            _ => match timings.stage("scale", || scale::find(photo, &request.scale)) {
                Ok(scale) => Some(scale),
                Err(reason) => return self.refuse(photo, vec![reason]),
            },
        };
        // Kept even if there is no face to measure with it.
        self.scale = reference.as_ref().map(|scale| scale.facts.clone());
        let px_per_mm = reference.as_ref().map(|scale| middle(photo, scale));
        let occupied = reference
            .as_ref()
            .map_or(&[][..], |scale| &scale.occupied[..]);
        let faces = match timings.stage("face", || {
            face::find(photo, occupied, px_per_mm, request.coupon.root_side)
        }) {
            Ok(found) => {
                self.reasons.extend(found.reasons);
                found.faces
            }
            Err(reasons) => return self.refuse(photo, reasons),
        };
        let scale = match (reference, request.scale.source) {
            (None, ScaleSource::CouponLength { length_mm }) => by_coupon_length(&faces, length_mm),
            (Some(scale), _) => Ok(scale),
            (None, _) => return,
        };
        let scale = match scale {
            Ok(scale) => scale,
            Err(reason) => return self.reasons.push(reason),
        };
        self.scale = Some(scale.facts.clone());
        self.coupon_on_card.clone_from(&scale.coupon_id);
        self.reasons.extend(super::other_coupon(
            request.coupon.id.as_deref(),
            scale.coupon_id.as_deref(),
        ));
        match timings.stage("fracture", || {
            let seed = super::seed(&self.photo.sha256);
            fracture::measure(photo, &scale, &faces, &request.coupon, seed)
        }) {
            Ok(face) => {
                self.photo
                    .notes
                    .extend(face.other_half.map(ToOwned::to_owned));
                self.face = Some(face);
            }
            Err(reasons) => return self.refuse(photo, reasons),
        }
        timings.stage("checks", || self.check_at_face(photo, &scale));
    }

    /// Takes over why nothing can be measured; a refusal is never without a reason.
    fn refuse(&mut self, photo: &Photo, reasons: Vec<Reason>) {
        self.reasons.extend(reasons);
        if self.reasons.is_empty() {
            self.reasons.push(Reason::new(
                Code::NotAFracture,
                "no fracture face of a broken fillet weld was found in this picture",
                "photograph the broken coupon with the torn face towards the camera, whole, in \
                 focus and evenly lit",
            ));
        }
        super::add_faults(photo, &mut self.reasons);
    }

    /// Capture checks on the face, and the scale there.
    fn check_at_face(&mut self, photo: &Photo, scale: &Scale) {
        let Some(face) = &self.face else { return };
        let px_per_mm = scale.map.px_per_mm_at(scale.map.to_mm(face.centre));
        if let Some(facts) = &mut self.scale {
            facts.px_per_mm = px_per_mm;
        }
        let mut reasons = face.reasons.clone();
        let region = capture::outline(&face.outlines_px.face_strip);
        let checks = photo::check(photo, &region, px_per_mm);
        self.photo.capture = checks.figures;
        reasons.extend(checks.reasons);
        for reason in reasons {
            if !self.reasons.iter().any(|r| r.code == reason.code) {
                self.reasons.push(reason);
            }
        }
        // A blur this wide leaves no number to be trusted.
        if checks.hopeless {
            self.face = None;
        }
    }

    /// What becomes the record, and the straightened face for its picture.
    fn draft(self) -> (Draft, Option<Strip>) {
        let (main, strip) = match self.face {
            Some(face) => {
                let block = Block {
                    measurements: face.measurements,
                    outlines_px: face.outlines_px,
                    findings: face.findings,
                };
                (Some(block), Some(face.strip))
            }
            None => (None, None),
        };
        let draft = Draft {
            kind: Kind::Fracture,
            photo: self.photo,
            reasons: self.reasons,
            scale: self.scale,
            coupon_on_card: self.coupon_on_card,
            main,
            others: Vec::new(),
            searched: SEARCHED.iter().map(|k| Searched::any_size(k)).collect(),
            main_job: MAIN_JOB,
        };
        (draft, strip)
    }
}

/// Pixels a millimetre in the middle of the photograph.
fn middle(photo: &Photo, scale: &Scale) -> f64 {
    let centre = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
    let mm = scale.map.to_mm(centre);
    scale.map.px_per_mm_at(mm)
}

/// The scale from the longest face and the coupon's declared length.
fn by_coupon_length(faces: &[face::Face], length_mm: f64) -> Result<Scale, Reason> {
    let ends = faces
        .iter()
        .filter_map(|face| Some([*face.root_px.first()?, *face.root_px.last()?]))
        .max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])))
        .unwrap_or([Point::new(0.0, 0.0); 2]);
    scale::from_coupon_length(ends, length_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Px;

    fn face(root: &[[f64; 2]], far: &[[f64; 2]]) -> face::Face {
        let points = |line: &[[f64; 2]]| -> Vec<Point<Px>> {
            line.iter().map(|p| Point::new(p[0], p[1])).collect()
        };
        face::Face {
            root_px: points(root),
            far_px: points(far),
            far_doubt_px: 0.0,
            whole: true,
            side_confidence: 1.0,
        }
    }

    #[test]
    fn the_longest_face_is_the_coupon_s_length() {
        let short = face(
            &[[20.0, 200.0], [420.0, 200.0]],
            &[[20.0, 150.0], [420.0, 150.0]],
        );
        let long = face(
            &[[20.0, 100.0], [820.0, 100.0]],
            &[[20.0, 50.0], [820.0, 50.0]],
        );
        let scale = by_coupon_length(&[short, long], 100.0).unwrap();
        assert!((scale.facts.px_per_mm - 8.0).abs() < 1e-9);
        assert_eq!(scale.facts.source, "length:100");
        // No face, no scale, and no panic.
        assert!(by_coupon_length(&[], 100.0).is_err());
    }
}
