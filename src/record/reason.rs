//! Why a photograph, or a number, was refused.

use super::PlacePx;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One reason: what is wrong and what to do about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Reason {
    /// Machine-readable.
    pub code: Code,
    /// What is wrong, and where.
    pub message: String,
    /// What to do.
    pub remedy: String,
    /// Places in the photograph that the message names A, B …, px.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub at_px: Vec<PlacePx>,
}

impl Reason {
    /// A reason from its three parts.
    pub fn new(code: Code, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            code,
            message: message.into(),
            remedy: remedy.into(),
            at_px: Vec::new(),
        }
    }

    /// The same with the places that its message names A, B …
    #[must_use]
    pub fn pointing_at(self, at_px: Vec<PlacePx>) -> Self {
        Self { at_px, ..self }
    }
}

/// The kinds of reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Code {
    /// No scale was found or declared.
    NoScale,
    /// A scale was found but its parts contradict each other.
    ScaleDoubtful,
    /// The weld is not in focus.
    OutOfFocus,
    /// The camera or the coupon moved.
    MotionBlur,
    /// Light is reflected so strongly that the weld is washed out.
    Glare,
    /// Too dark.
    Underexposed,
    /// The weld is cut off by the picture's edge.
    Cropped,
    /// No fillet weld was found.
    NoWeldFound,
    /// Not the face of a broken fillet weld.
    NotAFracture,
    /// Too few pixels a millimetre.
    ResolutionTooLow,
    /// The file is damaged or no picture.
    UnreadableFile,
    /// A picture format that is not read.
    UnsupportedFormat,
    /// More pixels or memory than the limits allow.
    TooLarge,
    /// Several readings of the picture are equally good.
    Ambiguous,
    /// The boundary asked for cannot be seen in this picture.
    BoundaryUnclear,
    /// Toeline itself failed; the photograph may be good.
    InternalFault,
}
