//! What was declared of the coupon.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a person declared of the coupon; nothing here was measured.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Coupon {
    /// The coupon's identity, e.g. `HR-07`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub id: Option<String>,
    /// Joint type.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub joint: Option<JointType>,
    /// Angle between the two members on the weld's side, degrees.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub dihedral_deg: Option<f64>,
    /// Thickness of the butting member, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub thickness_butting_mm: Option<f64>,
    /// Thickness of the nonbutting member, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub thickness_nonbutting_mm: Option<f64>,
    /// Leg length the drawing asks for, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub leg_mm: Option<f64>,
    /// Throat the drawing asks for, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub throat_mm: Option<f64>,
    /// Passes laid.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub passes: Option<u32>,
    /// Parent metal.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub material: Option<Material>,
    /// Discarded at each end, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub discard_mm: Option<f64>,
    /// Height of the scale reference above (+) or below (−) the measured face, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub scale_offset_mm: Option<f64>,
    /// Length of the whole coupon along the weld, mm.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub length_mm: Option<f64>,
    /// Whether the examiner saw cracks; Toeline finds only some of them.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cracks: Option<Cracks>,
    /// Towards which border of the picture the root side of the fracture face lies.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub root_side: Option<RootSide>,
    /// The coupon bent flat without breaking, so it has no fracture face.
    #[serde(skip_serializing_if = "std::ops::Not::not", default)]
    pub bent_flat: bool,
}

/// Towards which border of the picture a root side lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RootSide {
    /// The upper border.
    Top,
    /// The lower border.
    Bottom,
    /// The left border.
    Left,
    /// The right border.
    Right,
}

/// What the examiner saw of cracks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Cracks {
    /// The examiner looked and saw none.
    None,
    /// The examiner saw at least one.
    Seen,
}

/// How the two members meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum JointType {
    /// The butting member stands on the nonbutting one.
    Tee,
    /// The butting member lies on the nonbutting one; its end face carries a leg.
    Lap,
    /// Two members meet at their edges.
    Corner,
}

/// Parent metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Unalloyed and low-alloy steel.
    CarbonSteel,
    /// Stainless steel.
    Stainless,
    /// Aluminium and its alloys.
    Aluminium,
}
