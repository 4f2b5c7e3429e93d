//! Floor 4: the one place that knows all stages.
//!
//! photo → whole-picture checks → scale → section → checks at the weld →
//! limits → record → annotated picture. A stage that cannot go on gives its
//! reasons; the record is complete all the same: every measurement stands in
//! it, with a number or with why there is none.

mod capture;
mod timing;

use crate::limits;
use crate::photo::{self, Photo};
use crate::record::catalogue::SECTION;
use crate::record::{
    Code, Coupon, Finding, Kind, Measurement, MeasurementStatus, OtherWeld, Outlines, PhotoFacts,
    Provenance, RECORD_VERSION, Reason, Record, ScaleFacts, Status, Tool,
};
use crate::report;
use crate::scale::{self, Scale};
use crate::section::{self, Weld};
// What a request is made of, so that the floors above need not know the stages.
pub use crate::limits::{LimitsError, Profile};
pub use crate::photo::Limits as PhotoLimits;
pub use crate::scale::{CardDesign, Request as ScaleRequest, RuleClass, Source as ScaleSource};

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use timing::Timings;

/// What to do with a photograph.
#[derive(Clone, Debug)]
pub struct Request {
    /// What was declared of the coupon.
    pub coupon: Coupon,
    /// Where the scale comes from.
    pub scale: ScaleRequest,
    /// Limits to compare with. Default: none, no verdict.
    pub limits: Option<Profile>,
    /// How large a photograph may be.
    pub photo_limits: PhotoLimits,
    /// Settings as resolved, name → value, kept in the record.
    pub settings: BTreeMap<String, String>,
}

impl Default for Request {
    /// Nothing declared, any scale reference, no verdict.
    fn default() -> Self {
        Self {
            coupon: Coupon::default(),
            scale: ScaleRequest::of(ScaleSource::Auto),
            limits: None,
            photo_limits: PhotoLimits::default(),
            settings: BTreeMap::new(),
        }
    }
}

/// What one photograph gave.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The record.
    pub record: Record,
    /// The photograph with what was found drawn into it, a JPEG file; `None`
    /// when the file could not be read as a picture.
    pub annotated: Option<Vec<u8>>,
}

/// Kinds of finding the section stage searches the picture for. An empty list
/// of findings says nothing of a kind nobody looked for; whoever adds a search
/// to the section stage adds its kinds here.
const SEARCHED: &[&str] = &[];

/// What belongs to the main job: a record without these is partly measured.
const MAIN_JOB: [&str; 5] = [
    "leg_butting_mm",
    "leg_nonbutting_mm",
    "inscribed_throat_mm",
    "actual_throat_mm",
    "convexity_mm",
];

/// Reasons that leave a weld partly measured, whatever was measured of it.
const SPOILING: [Code; 6] = [
    Code::Glare,
    Code::Cropped,
    Code::OutOfFocus,
    Code::MotionBlur,
    Code::Underexposed,
    Code::ResolutionTooLow,
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
        Ok((photo, facts)) => (Some(photo), facts),
        Err(refused) => {
            let mut draft = Draft::new(refused.facts);
            draft.reasons.push(refused.reason);
            let record = draft.finish(Kind::Section, request, timings.end(whole));
            return Outcome {
                record,
                annotated: None,
            };
        }
    };
    let mut draft = Draft::new(facts);
    if let Some(photo) = &photo {
        let run = || draft.measure(photo, request, &mut timings);
        if let Err(reason) = guarded(run) {
            // Whatever stands half finished in the draft is not to be trusted.
            draft.welds.clear();
            draft.reasons.push(reason);
        }
    }
    let record = draft.finish(Kind::Section, request, timings.clone());
    finish_with_picture(record, photo.as_ref(), timings, whole)
}

/// Answers for a photograph of a broken fillet weld. This version reads the
/// photograph and refuses it with `not-built-yet`.
pub fn measure_fracture(bytes: &[u8], file_name: &str, request: &Request) -> Outcome {
    let mut timings = Timings::default();
    let whole = timings.start("whole");
    let read = timings.stage("photo", || {
        photo::read(bytes, file_name, &request.photo_limits)
    });
    let (photo, mut draft) = match read {
        Ok((photo, facts)) => {
            let mut draft = Draft::new(facts);
            draft.reasons.push(Reason::new(
                Code::NotBuiltYet,
                "broken fillet welds are not measured by this version",
                "keep the photograph; until then measure the broken face by hand",
            ));
            (Some(photo), draft)
        }
        Err(refused) => {
            let mut draft = Draft::new(refused.facts);
            draft.reasons.push(refused.reason);
            (None, draft)
        }
    };
    draft.refused = true;
    let record = draft.finish(Kind::Fracture, request, timings.clone());
    finish_with_picture(record, photo.as_ref(), timings, whole)
}

/// Runs a measuring step; a panic in it is a fault of ours, told as a reason, so
/// that one odd photograph does not end a batch without a record.
fn guarded<T>(run: impl FnOnce() -> T) -> Result<T, Reason> {
    catch_unwind(AssertUnwindSafe(run)).map_err(|_| {
        Reason::new(
            Code::InternalFault,
            "measuring this photograph failed inside Toeline; that is a fault of the program, \
             not necessarily of the photograph",
            "please report it with the photograph; declaring --joint, --thickness and another \
             --scale may get around it",
        )
    })
}

fn finish_with_picture(
    mut record: Record,
    photo: Option<&Photo>,
    mut timings: Timings,
    whole: timing::Running,
) -> Outcome {
    let annotated = photo.and_then(|photo| {
        timings.stage("picture", || {
            report::annotate(&photo.rgb, photo.width, photo.height, &record)
                .inspect_err(|error| tracing::error!(%error, "no annotated picture"))
                .ok()
        })
    });
    record.provenance.timings_ms = timings.end(whole).into_ms();
    Outcome { record, annotated }
}

/// A record in the making.
struct Draft {
    photo: PhotoFacts,
    reasons: Vec<Reason>,
    scale: Option<ScaleFacts>,
    /// The coupon's name as the scale card in the picture has it.
    coupon_on_card: Option<String>,
    welds: Vec<Weld>,
    refused: bool,
}

impl Draft {
    fn new(photo: PhotoFacts) -> Self {
        Self {
            photo,
            reasons: Vec::new(),
            scale: None,
            coupon_on_card: None,
            welds: Vec::new(),
            refused: false,
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
            Err(reason) => return self.reasons.push(reason),
        };
        self.scale = Some(scale.facts.clone());
        self.coupon_on_card.clone_from(&scale.coupon_id);
        self.reasons.extend(other_coupon(
            request.coupon.id.as_deref(),
            scale.coupon_id.as_deref(),
        ));
        match timings.stage("section", || {
            section::measure(photo, &scale, &request.coupon)
        }) {
            Ok(welds) => self.welds = welds,
            Err(reasons) => self.reasons.extend(reasons),
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
    }

    fn finish(self, kind: Kind, request: &Request, timings: Timings) -> Record {
        let mut welds = self.welds.into_iter();
        let main = welds.next().filter(|_| !self.refused);
        let names = match kind {
            Kind::Section => SECTION,
            Kind::Fracture => &[],
        };
        let why = why_nothing(&self.reasons);
        let weld_index = main.is_some().then_some(0);
        let (measurements, outlines_px, findings) = match main {
            Some(weld) => block(weld),
            None => (
                names
                    .iter()
                    .map(|entry| {
                        (
                            entry.name.to_owned(),
                            Measurement::not_assessed(why.clone()),
                        )
                    })
                    .collect(),
                Outlines::default(),
                Vec::new(),
            ),
        };
        let verdict = (kind == Kind::Section)
            .then_some(request.limits.as_ref())
            .flatten()
            .map(|profile| {
                limits::judge(profile, &request.coupon, &measurements, &findings, SEARCHED)
            });
        Record {
            record: RECORD_VERSION,
            tool: Tool {
                name: "toeline".to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            kind,
            coupon: Coupon {
                id: request.coupon.id.clone().or(self.coupon_on_card),
                ..request.coupon.clone()
            },
            status: status(weld_index, &measurements, &self.reasons),
            reasons: self.reasons,
            scale: self.scale,
            weld_index,
            other_welds: welds
                .map(|weld| {
                    let (measurements, outlines_px, findings) = block(weld);
                    OtherWeld {
                        measurements,
                        outlines_px,
                        findings,
                    }
                })
                .collect(),
            measurements,
            outlines_px,
            findings,
            verdict,
            provenance: Provenance {
                settings: request.settings.clone(),
                random_seed: seed(&self.photo.sha256),
                corrections: Vec::new(),
                timings_ms: timings.into_ms(),
            },
            photo: self.photo,
        }
    }
}

/// What to say when the card in the picture names another coupon than declared.
/// The measurement goes on: the card gives the scale whosever it is.
fn other_coupon(declared: Option<&str>, on_card: Option<&str>) -> Option<Reason> {
    let (declared, on_card) = (declared?, on_card?);
    (declared.trim() != on_card.trim()).then(|| {
        Reason::new(
            Code::Ambiguous,
            format!("the coupon was declared as '{declared}', but the scale card in the picture names '{on_card}'"),
            "check which coupon the photograph shows; the record keeps the declared name",
        )
    })
}

/// One weld as the record holds it, every measurement of the catalogue in it.
fn block(weld: Weld) -> (BTreeMap<String, Measurement>, Outlines, Vec<Finding>) {
    let mut measurements = weld.measurements;
    for entry in SECTION {
        measurements
            .entry(entry.name.to_owned())
            .or_insert_with(|| Measurement::not_assessed("this version does not measure it"));
    }
    (measurements, weld.outlines_px, weld.findings)
}

fn status(
    weld_index: Option<usize>,
    measurements: &BTreeMap<String, Measurement>,
    reasons: &[Reason],
) -> Status {
    let measured = |name: &str| {
        measurements
            .get(name)
            .is_some_and(|m| m.status == MeasurementStatus::Measured)
    };
    if weld_index.is_none() || !measurements.keys().any(|name| measured(name)) {
        return Status::Refused;
    }
    let complete = MAIN_JOB.iter().all(|name| measured(name));
    let spoilt = reasons.iter().any(|r| SPOILING.contains(&r.code));
    if complete && !spoilt {
        Status::Measured
    } else {
        Status::PartlyMeasured
    }
}

fn why_nothing(reasons: &[Reason]) -> String {
    match reasons.first() {
        Some(reason) => format!("the photograph was refused: {}", reason.message),
        None => "nothing was measured".to_owned(),
    }
}

/// The seed of every random stream: the first 64 bits of the photograph's hash,
/// so that the same bytes give the same record.
fn seed(sha256: &str) -> u64 {
    sha256
        .get(..16)
        .and_then(|digits| u64::from_str_radix(digits, 16).ok())
        .unwrap_or(0)
}

#[cfg(test)]
mod tests;
