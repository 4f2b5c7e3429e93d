//! Floor 1: the record, what one measured photograph leaves behind.
//!
//! Plain versioned data; no computing. Documented in `docs/record.md`; the
//! JSON Schema is generated from these types.

mod asked;
pub mod catalogue;
mod coupon;
mod measurement;
mod outlines;
mod reason;
pub mod study;
mod verdict;
mod word;

pub use asked::{Asked, AskedLimits};
pub use coupon::{Coupon, Cracks, JointType, Material, RootSide};
pub use measurement::{BudgetShare, Finding, Measurement, MeasurementStatus, Quantity, Searched};
pub use outlines::{Outlines, PassOutline, Toes, Zone};
pub use reason::{Code, Reason};
pub use verdict::{Check, Outcome, PointLine, Points, Sense, Verdict};
pub use word::word;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The version of the record's shape.
pub const RECORD_VERSION: u32 = 1;

/// A place in the photograph after EXIF orientation, `[x, y]` in px, x right,
/// y down, the centre of the first pixel = `[0.5, 0.5]`.
pub type PlacePx = [f64; 2];

/// What one photograph of one coupon gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Record {
    /// The record's shape; see [`RECORD_VERSION`].
    pub record: u32,
    /// What wrote it.
    pub tool: Tool,
    /// What was photographed.
    pub kind: Kind,
    /// What was declared of the coupon.
    pub coupon: Coupon,
    /// The photograph.
    pub photo: PhotoFacts,
    /// How far measuring came.
    pub status: Status,
    /// Why the photograph was refused, or what speaks against some numbers.
    pub reasons: Vec<Reason>,
    /// The scale, when one was found or declared.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub scale: Option<ScaleFacts>,
    /// Which weld of the picture the measurements below belong to (0 = first).
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub weld_index: Option<usize>,
    /// Every measurement by its record name.
    pub measurements: BTreeMap<String, Measurement>,
    /// What was found in the picture, in px.
    pub outlines_px: Outlines,
    /// Flaws found.
    pub findings: Vec<Finding>,
    /// Kinds of flaw searched for, and from which size on.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub searched: Vec<Searched>,
    /// Further welds of the same picture.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub other_welds: Vec<OtherWeld>,
    /// The comparison with the limits, when a profile was chosen.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub verdict: Option<Verdict>,
    /// Settings, seed, corrections, timings.
    pub provenance: Provenance,
}

/// The same block for a further weld of the picture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OtherWeld {
    /// Every measurement by its record name.
    pub measurements: BTreeMap<String, Measurement>,
    /// What was found in the picture, in px.
    pub outlines_px: Outlines,
    /// Flaws found.
    pub findings: Vec<Finding>,
}

/// What wrote the record.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Tool {
    /// Always `toeline`.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// What was photographed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// An etched section through a fillet weld.
    Section,
    /// A fillet weld broken open.
    Fracture,
}

/// How far measuring came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// All that belongs to the main job was measured.
    Measured,
    /// Some measurements are `not-assessed`; the reasons say why.
    PartlyMeasured,
    /// No number is stated; the reasons say why.
    Refused,
    /// Nothing had to be measured: the coupon's state was declared (it bent
    /// flat), and the photograph is kept as evidence.
    Declared,
}

/// The photograph as it was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PhotoFacts {
    /// File name, without its folder.
    pub file: String,
    /// SHA-256 of the original bytes, hexadecimal; empty when the file could
    /// not be read.
    pub sha256: String,
    /// Width after EXIF orientation, px; 0 when it could not be decoded.
    pub width_px: u32,
    /// Height after EXIF orientation, px; 0 when it could not be decoded.
    pub height_px: u32,
    /// File format found from the bytes, e.g. `JPEG`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub format: Option<String>,
    /// EXIF orientation that was applied (1 … 8).
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub orientation: Option<u8>,
    /// What else is worth knowing, e.g. colour space, bit depth, decoder.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub notes: Vec<String>,
    /// Capture checks: name → value with its unit in the name.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub capture: BTreeMap<String, f64>,
}

/// The scale that turned pixels into millimetres.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ScaleFacts {
    /// `declared`, `rule-mm`, `chequer:5` … as found.
    pub source: String,
    /// Pixels per millimetre at the weld's centre.
    pub px_per_mm: f64,
    /// Relative standard uncertainty of `px_per_mm`.
    pub standard_uncertainty_rel: f64,
    /// Tilt of the plane against the camera, where the reference shows it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub tilt_deg: Option<f64>,
    /// Where in the photograph the reference was found (its centre).
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub at_px: Option<PlacePx>,
    /// What the scale rests on.
    pub evidence: ScaleEvidence,
}

/// What a scale rests on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ScaleEvidence {
    /// Tick marks used.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub ticks: Option<usize>,
    /// Chequer corners used.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub corners: Option<usize>,
    /// Root mean square residual of the fit, px.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub residual_px: Option<f64>,
    /// One sentence a check, with its figure.
    pub cross_checks: Vec<String>,
    /// Outline of the reference, px, to be drawn and to be kept out of the search.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub outline_px: Vec<PlacePx>,
    /// Positions used for the fit (ticks, corners), px.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub marks_px: Vec<PlacePx>,
    /// Marks with their place on the reference.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub numbered: Vec<NumberedMark>,
}

/// A mark of the reference and what it was taken for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NumberedMark {
    /// Where it is pictured.
    pub at_px: PlacePx,
    /// Its place on the reference, counted from the first mark used: `35 mm`,
    /// `1 3/16 in`, or a chequer square's column and row, `4,2`.
    pub place: String,
}

/// Where the record comes from.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Provenance {
    /// Resolved settings, name → value as typed or default.
    pub settings: BTreeMap<String, String>,
    /// Seed of every random stream, from the photograph's hash.
    pub random_seed: u64,
    /// Corrections by a person; none at first.
    pub corrections: Vec<String>,
    /// Milliseconds a stage took, by stage name.
    pub timings_ms: BTreeMap<String, f64>,
}
