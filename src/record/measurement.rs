//! Numbers and flaws.

use super::PlacePx;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One measured quantity, or the reason why there is none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Measurement {
    /// The value, in the unit of the record name's ending.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub value: Option<f64>,
    /// Standard uncertainty, same unit.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub standard_uncertainty: Option<f64>,
    /// Half-width of the interval that holds the true value with `coverage`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub expanded_uncertainty: Option<f64>,
    /// Coverage probability of the expanded uncertainty, 0.95.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub coverage: Option<f64>,
    /// Whether there is a number.
    pub status: MeasurementStatus,
    /// Why there is no number, in words.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub why: Option<String>,
    /// Least and greatest value the doubtful parts of the picture allow, same
    /// unit: a share of area with every *unsure* place counted against it, and
    /// for it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub interval: Option<[f64; 2]>,
    /// Shortest interval that holds the true value with `coverage`, same unit; not
    /// symmetrical where a quantity cannot go below zero.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub shortest_interval: Option<[f64; 2]>,
    /// Chance that more of it is there and was overlooked, 0 … 1: how often such
    /// places were, on faces of which the truth is known. It is counted in the
    /// intervals.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub chance_overlooked: Option<f64>,
    /// What the uncertainty is made of, the largest share first.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub budget: Vec<BudgetShare>,
    /// The line that shows the measurement in the picture.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub drawn_px: Vec<PlacePx>,
}

impl Measurement {
    /// A number with its standard uncertainty (expanded with k = 2, coverage 0.95).
    pub fn measured(value: f64, standard_uncertainty: f64, drawn_px: Vec<PlacePx>) -> Self {
        Self {
            value: Some(value),
            standard_uncertainty: Some(standard_uncertainty),
            expanded_uncertainty: Some(2.0 * standard_uncertainty),
            coverage: Some(0.95),
            status: MeasurementStatus::Measured,
            why: None,
            interval: None,
            shortest_interval: None,
            chance_overlooked: None,
            budget: Vec::new(),
            drawn_px,
        }
    }

    /// No number, and why.
    pub fn not_assessed(why: impl Into<String>) -> Self {
        Self {
            value: None,
            standard_uncertainty: None,
            expanded_uncertainty: None,
            coverage: None,
            status: MeasurementStatus::NotAssessed,
            why: Some(why.into()),
            interval: None,
            shortest_interval: None,
            chance_overlooked: None,
            budget: Vec::new(),
            drawn_px: Vec::new(),
        }
    }
}

/// One part's share of a variance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BudgetShare {
    /// Of a section: `scale`, `tilt`, `lens`, `surfaces`, `outline` or
    /// `fusion-boundary`; of a broken weld: `scale`, `reach`, `ends`,
    /// `doubtful-zones`, `overlooked` or `hidden`.
    pub part: String,
    /// Its share of the variance, 0 … 1, to first order.
    pub share: f64,
}

/// Whether a measurement has a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MeasurementStatus {
    /// It has.
    Measured,
    /// It has none; `why` says why.
    NotAssessed,
}

/// A value with its expanded uncertainty (coverage 0.95).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Quantity {
    /// The value.
    pub value: f64,
    /// Half-width of the interval, same unit.
    pub expanded_uncertainty: f64,
}

/// A flaw found.
///
/// On a fracture face one that lies in a discarded end has its place but no
/// sizes: it is seen and does not count.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// E.g. `lack-of-root-fusion`, `pore`, `undercut`.
    #[serde(rename = "type")]
    pub kind: String,
    /// Reference number of ISO 6520-1.
    pub iso_6520: u32,
    /// Length or greatest dimension, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub length_mm: Option<Quantity>,
    /// Width across a line-like flaw, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub width_mm: Option<Quantity>,
    /// Where it begins along the weld, mm from the coupon's left end.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub start_mm: Option<f64>,
    /// Where it ends along the weld, mm from the coupon's left end.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub end_mm: Option<f64>,
    /// Mean extent across the weld: area by length, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub depth_mean_mm: Option<Quantity>,
    /// Greatest extent across the weld, mm; at the root: from the root line.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub depth_max_mm: Option<Quantity>,
    /// Area, mm².
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub area_mm2: Option<Quantity>,
    /// Distance of its centre of area from the root line, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub offset_from_root_mm: Option<f64>,
    /// Where its centre lies along the weld, mm from the coupon's left end.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub at_mm: Option<f64>,
    /// Greatest distance between two points of its outline, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub greatest_dimension_mm: Option<Quantity>,
    /// Outline, px, of a flaw with an area.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub outline_px: Vec<PlacePx>,
    /// Centre, px, of a flaw with an area.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub centre_px: Option<PlacePx>,
    /// Centre line, px, of a line-like flaw.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub polyline_px: Vec<PlacePx>,
    /// The passes it lies at, counted from 1.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub passes: Vec<u32>,
    /// How sure the finding is, 0 … 1.
    pub confidence: f64,
}

/// A kind of flaw the picture was searched for. An empty list of findings says
/// nothing of a kind that is not among these.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Searched {
    /// `type` of the findings.
    #[serde(rename = "type")]
    pub kind: String,
    /// Greatest dimension or length from which on it was searched for, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub from_mm: Option<f64>,
}

impl Searched {
    /// Searched for, in whatever size the picture shows.
    pub fn any_size(kind: &str) -> Self {
        Self {
            kind: kind.to_owned(),
            from_mm: None,
        }
    }
}

impl Finding {
    /// Whether it has a size; on a fracture face, whether it counts.
    pub fn is_counted(&self) -> bool {
        self.length_mm.is_some() || self.greatest_dimension_mm.is_some()
    }
}
