//! From a photograph of an etched section to its record.

use super::timing::Timings;
use super::{Block, Draft, Outcome, Request, capture, finish_with_picture, guarded};
use crate::photo::{self, Photo};
use crate::record::{Kind, OtherWeld, PhotoFacts, Reason, ScaleFacts};
use crate::scale::{self, Scale};
use crate::section::{self, Weld};

/// What belongs to the main job: a record without these is partly measured.
pub(super) const MAIN_JOB: &[&str] = &[
    "leg_butting_mm",
    "leg_nonbutting_mm",
    "inscribed_throat_mm",
    "actual_throat_mm",
    "convexity_mm",
];

/// Measures the fillet weld in a photograph of an etched section.
///
/// `bytes` are the file's bytes as they came from the camera, `file_name` is
/// its name without the folder. Never fails: what cannot be measured is a
/// refused record with its reasons.
pub fn measure_section(bytes: &[u8], file_name: &str, request: &Request) -> Outcome {
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
            let record = found.draft().finish(request, timings.end(whole));
            return Outcome {
                record,
                annotated: None,
                straightened: None,
            };
        }
    };
    let mut found = Found::new(facts);
    let run = || found.measure(&photo, request, &mut timings);
    if let Err(reason) = guarded(run) {
        // Whatever stands half finished in it is not to be trusted.
        found.welds.clear();
        found.reasons.push(reason);
    }
    let record = found.draft().finish(request, timings.clone());
    finish_with_picture(record, &photo, timings, whole)
}

/// What the stages have given so far.
struct Found {
    photo: PhotoFacts,
    reasons: Vec<Reason>,
    scale: Option<ScaleFacts>,
    /// The coupon's name as the scale card in the picture has it.
    coupon_on_card: Option<String>,
    welds: Vec<Weld>,
}

impl Found {
    fn new(photo: PhotoFacts) -> Self {
        Self {
            photo,
            reasons: Vec::new(),
            scale: None,
            coupon_on_card: None,
            welds: Vec::new(),
        }
    }

    /// Runs the stages after reading until one cannot go on.
    fn measure(&mut self, photo: &Photo, request: &Request, timings: &mut Timings) {
        self.reasons = timings.stage("precheck", || photo::precheck(photo));
        if !self.reasons.is_empty() {
            return;
        }
        let scale = match timings.stage("scale", || scale::find(photo, &request.scale)) {
            Ok(scale) => scale,
            Err(reason) => {
                self.reasons.push(reason);
                return super::add_faults(photo, &mut self.reasons);
            }
        };
        self.scale = Some(scale.facts.clone());
        self.coupon_on_card.clone_from(&scale.coupon_id);
        self.reasons.extend(super::other_coupon(
            request.coupon.id.as_deref(),
            scale.coupon_id.as_deref(),
        ));
        match timings.stage("section", || {
            section::measure(
                photo,
                &scale,
                &request.coupon,
                super::seed(&self.photo.sha256),
            )
        }) {
            Ok(welds) => {
                let notes = welds.iter().filter_map(|weld| weld.note);
                self.photo.notes.extend(notes.map(ToOwned::to_owned));
                self.welds = welds;
            }
            Err(reasons) => {
                self.reasons.extend(reasons);
                super::add_faults(photo, &mut self.reasons);
            }
        }
        timings.stage("checks", || self.check_at_weld(photo, &scale));
    }

    /// Capture checks at the main weld, and the scale there.
    fn check_at_weld(&mut self, photo: &Photo, scale: &Scale) {
        let Some(weld) = self.welds.first() else {
            return;
        };
        let px_per_mm = scale.map.px_per_mm_at(scale.map.to_mm(weld.centre));
        if let Some(facts) = &mut self.scale {
            facts.px_per_mm = px_per_mm;
            facts
                .evidence
                .cross_checks
                .extend(weld.scale_checks.iter().cloned());
        }
        self.reasons.extend(weld.reasons.clone());
        let checks = photo::check(photo, &capture::region(weld), px_per_mm);
        self.photo.capture = checks.figures;
        for reason in checks.reasons {
            if !self.reasons.iter().any(|r| r.code == reason.code) {
                self.reasons.push(reason);
            }
        }
        // A blur this wide leaves no number to be trusted.
        if checks.hopeless {
            self.welds.clear();
        }
        self.check_others(photo, scale);
    }

    /// Capture checks at the other welds: what is wrong there becomes a note, and a weld
    /// that cannot be measured goes.
    fn check_others(&mut self, photo: &Photo, scale: &Scale) {
        let notes = &mut self.photo.notes;
        let mut first = true;
        self.welds.retain(|weld| {
            if std::mem::take(&mut first) {
                return true;
            }
            let px_per_mm = scale.map.px_per_mm_at(scale.map.to_mm(weld.centre));
            let checks = photo::check(photo, &capture::region(weld), px_per_mm);
            let wrong = weld.reasons.iter().chain(&checks.reasons);
            notes.extend(wrong.map(|reason| format!("the other weld: {}", reason.message)));
            !checks.hopeless
        });
    }

    fn draft(self) -> Draft {
        let searched = self
            .welds
            .first()
            .map_or_else(Vec::new, |w| w.searched.clone());
        let mut welds = self.welds.into_iter().map(|weld| Block {
            measurements: weld.measurements,
            outlines_px: weld.outlines_px,
            findings: weld.findings,
        });
        Draft {
            kind: Kind::Section,
            photo: self.photo,
            reasons: self.reasons,
            scale: self.scale,
            coupon_on_card: self.coupon_on_card,
            main: welds.next(),
            others: welds
                .map(|block| block.complete(Kind::Section))
                .map(|block| OtherWeld {
                    measurements: block.measurements,
                    outlines_px: block.outlines_px,
                    findings: block.findings,
                })
                .collect(),
            searched,
            main_job: MAIN_JOB,
        }
    }
}
