//! What was found in the picture, in px: the upper keys in a section, the last
//! three on a fracture face.

use super::PlacePx;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Outlines in px; an empty list means "not found".
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Outlines {
    /// Weld metal, closed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub weld_metal: Vec<PlacePx>,
    /// Fusion boundary in the butting member, from its toe to the root.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fusion_boundary_butting: Vec<PlacePx>,
    /// Fusion boundary in the nonbutting member, from the root to its toe.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fusion_boundary_nonbutting: Vec<PlacePx>,
    /// Weld face, from the butting toe to the nonbutting toe.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub face: Vec<PlacePx>,
    /// The two toes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub toes: Option<Toes>,
    /// Where the two original surfaces cross.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joint_root: Option<PlacePx>,
    /// Passes, first laid first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub passes: Vec<PassOutline>,
    /// The members' original surfaces as drawn lines or outlines.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub plates: Vec<Vec<PlacePx>>,
    /// Fracture face, closed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub face_strip: Vec<PlacePx>,
    /// Root line of the fracture face, along the weld.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub root_side: Vec<PlacePx>,
    /// What the fracture face shows where it is not torn metal.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<Zone>,
}

/// A part of a fracture face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Zone {
    /// What it shows: `root-unfused`, `inter-run-unfused`, `sidewall-unfused`,
    /// `pore`, `wormhole`, `inclusion` or `unsure`; the rest of the face is
    /// fractured metal.
    pub class: String,
    /// Outline, closed.
    pub outline: Vec<PlacePx>,
}

/// The two toes of a fillet weld.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Toes {
    /// On the butting member.
    pub butting: PlacePx,
    /// On the nonbutting member.
    pub nonbutting: PlacePx,
}

/// One pass.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PassOutline {
    /// Order of laying, from 1.
    pub number: u32,
    /// Outline, closed.
    pub outline_px: Vec<PlacePx>,
    /// True until a person confirms it.
    pub proposed: bool,
}
