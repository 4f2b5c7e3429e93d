//! Floor 4: the one place that knows all stages.
//!
//! photo → whole-picture checks → scale → section or fracture face → checks at
//! the weld → limits → record → pictures. What is common to both stands here,
//! their order in [`section`] and [`fracture`]. A stage that cannot go on gives its
//! reasons; the record is complete all the same: every measurement stands in
//! it, with a number or with why there is none.

mod capture;
mod fracture;
mod scale_reading;
mod section;
mod straight;
mod timing;

pub use fracture::measure_fracture;
pub use scale_reading::{ScaleReading, coupon_on_card, read_scale};
pub use section::measure_section;

use crate::limits;
use crate::photo::Photo;
use crate::record::{
    Code, Coupon, Finding, Kind, Measurement, MeasurementStatus, OtherWeld, Outlines, PhotoFacts,
    Provenance, RECORD_VERSION, Reason, Record, ScaleFacts, Searched, Status, Tool, catalogue,
};
use crate::report;
// What a request is made of, so that the floors above need not know the stages.
pub use crate::limits::{Decision, LimitsError, Profile};
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

impl Request {
    /// The same with its settings written out, as the record keeps them.
    pub fn described(mut self, kind: Kind) -> Self {
        let command = match kind {
            Kind::Section => "section",
            Kind::Fracture => "fracture",
        };
        let limits = self.limits.as_ref();
        let card_line = self.scale.card_line_mm;
        let text = |value: &dyn ToString| value.to_string();
        self.settings = [
            ("command", text(&command)),
            ("scale", text(&self.scale.source)),
            ("rule-class", text(&self.scale.rule_class)),
            (
                "card-line",
                card_line.map_or("not measured".to_owned(), |mm| mm.to_string()),
            ),
            (
                "limits",
                limits.map_or("none".to_owned(), |l| l.name.clone()),
            ),
            (
                "decision",
                limits.map_or("none".to_owned(), |l| l.decision.to_string()),
            ),
            ("max-pixels", text(&self.photo_limits.max_pixels)),
            ("max-alloc-bytes", text(&self.photo_limits.max_alloc_bytes)),
        ]
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect();
        self
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
    /// The fracture face straightened, with zones and ruler, a JPEG file; only
    /// where a face was measured.
    pub straightened: Option<Vec<u8>>,
}

/// Reasons that leave a weld partly measured, whatever was measured of it.
const SPOILING: [Code; 6] = [
    Code::Glare,
    Code::Cropped,
    Code::OutOfFocus,
    Code::MotionBlur,
    Code::Underexposed,
    Code::ResolutionTooLow,
];

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

/// Adds to why a search failed what of the photograph itself may be the cause.
fn add_faults(photo: &Photo, reasons: &mut Vec<Reason>) {
    for fault in crate::photo::faults(photo) {
        if reasons.iter().all(|r| r.code != fault.code) {
            reasons.push(fault);
        }
    }
}

fn finish_with_picture(
    mut record: Record,
    photo: &Photo,
    mut timings: Timings,
    whole: timing::Running,
) -> Outcome {
    let annotated = timings.stage("picture", || {
        report::annotate(&photo.rgb, photo.width, photo.height, &record)
            .inspect_err(|error| tracing::error!(%error, "no annotated picture"))
            .ok()
    });
    record.provenance.timings_ms = timings.end(whole).into_ms();
    Outcome {
        record,
        annotated,
        straightened: None,
    }
}

/// What the stages gave, before it becomes a record.
struct Draft {
    kind: Kind,
    photo: PhotoFacts,
    reasons: Vec<Reason>,
    scale: Option<ScaleFacts>,
    /// The coupon's name as the scale card in the picture has it.
    coupon_on_card: Option<String>,
    /// The measured weld or face; `None`: refused.
    main: Option<Block>,
    others: Vec<OtherWeld>,
    /// Kinds of finding that were searched for where something was measured.
    searched: Vec<Searched>,
    /// Measurements without which the record is partly measured.
    main_job: &'static [&'static str],
}

/// One weld as the record holds it.
struct Block {
    measurements: BTreeMap<String, Measurement>,
    outlines_px: Outlines,
    findings: Vec<Finding>,
}

impl Block {
    /// With every measurement of the catalogue in it.
    fn complete(mut self, kind: Kind) -> Self {
        for entry in catalogue::of(kind) {
            self.measurements
                .entry(entry.name.to_owned())
                .or_insert_with(|| Measurement::not_assessed("this version does not measure it"));
        }
        self
    }

    /// Nothing measured, and why.
    fn empty(kind: Kind, why: &str) -> Self {
        Self {
            measurements: catalogue::of(kind)
                .iter()
                .map(|entry| (entry.name.to_owned(), Measurement::not_assessed(why)))
                .collect(),
            outlines_px: Outlines::default(),
            findings: Vec::new(),
        }
    }
}

impl Draft {
    /// The record, with its verdict.
    fn finish(self, request: &Request, timings: Timings) -> Record {
        let kind = self.kind;
        let declared = kind == Kind::Fracture && request.coupon.bent_flat;
        let searched = match &self.main {
            Some(_) => self.searched,
            None => Vec::new(),
        };
        let weld_index = self.main.is_some().then_some(0);
        let block = match self.main {
            Some(block) => block.complete(kind),
            None if declared => Block::empty(kind, BENT_FLAT),
            None => Block::empty(kind, &why_nothing(&self.reasons)),
        };
        let kinds: Vec<&str> = searched.iter().map(|s| s.kind.as_str()).collect();
        let verdict = request.limits.as_ref().map(|profile| {
            limits::judge(
                profile,
                &request.coupon,
                &block.measurements,
                &block.findings,
                &kinds,
            )
        });
        let status = if declared && self.reasons.is_empty() {
            Status::Declared
        } else {
            status(
                weld_index,
                &block.measurements,
                &self.reasons,
                self.main_job,
            )
        };
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
            status,
            reasons: self.reasons,
            scale: self.scale,
            weld_index,
            other_welds: self.others,
            measurements: block.measurements,
            outlines_px: block.outlines_px,
            findings: block.findings,
            searched,
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

/// Why a coupon that bent flat has no measurements.
const BENT_FLAT: &str = "the coupon was declared to have bent flat without breaking: it has no \
                         fracture face to measure";

fn status(
    weld_index: Option<usize>,
    measurements: &BTreeMap<String, Measurement>,
    reasons: &[Reason],
    main_job: &[&str],
) -> Status {
    let measured = |name: &str| {
        measurements
            .get(name)
            .is_some_and(|m| m.status == MeasurementStatus::Measured)
    };
    if weld_index.is_none() || !measurements.keys().any(|name| measured(name)) {
        return Status::Refused;
    }
    let complete = main_job.iter().all(|name| measured(name));
    let spoilt = reasons.iter().any(|r| SPOILING.contains(&r.code));
    if complete && !spoilt {
        Status::Measured
    } else {
        Status::PartlyMeasured
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
