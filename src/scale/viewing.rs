//! How far the camera was, as far as a photograph tells.

use crate::photo::Photo;

/// Usual focal length in half diagonals of the picture, and its standard
/// deviation as a natural logarithm: from phone main cameras (about 1.2) over
/// cropped or zoomed pictures to macro lenses (about 7).
const USUAL: (f64, f64) = (3.2, 0.55);

/// Below this share of what is usual, an uncertainty comes from the marks.
const SHOWN: f64 = 0.7;

/// Standard deviation of the natural logarithm of a focal length that the
/// metadata state: it is rounded to a millimetre, and at close range a lens acts
/// longer than it is marked, by the magnification (v = f (1 + m), thin lens).
const STATED_LN_SD: f64 = 0.10;

/// What is known of the camera's focal length before any mark is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Focal {
    /// Natural logarithm of the focal length over half the picture's diagonal.
    pub ln: f64,
    /// Its standard deviation.
    pub ln_sd: f64,
    /// The metadata state it.
    pub stated: bool,
}

impl Focal {
    /// What the metadata of `photo` say, or what is usual.
    pub fn of(photo: &Photo) -> Self {
        let stated = photo.focal_half_diagonals;
        let (focal, ln_sd) = stated.map_or(USUAL, |focal| (focal, STATED_LN_SD));
        Self {
            ln: focal.ln(),
            ln_sd,
            stated: stated.is_some(),
        }
    }

    /// Distance at which half the picture's diagonal spans `half_diagonal_mm` of
    /// a plane seen from straight above.
    pub fn distance(&self, half_diagonal_mm: f64) -> Distance {
        Distance {
            mm: self.ln.exp() * half_diagonal_mm,
            rel: self.ln_sd,
            stated: self.stated,
        }
    }
}

/// From the camera to the reference's plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distance {
    /// Distance, mm.
    pub mm: f64,
    /// Its relative standard uncertainty.
    pub rel: f64,
    /// Whether a focal length in the metadata speaks for it.
    pub stated: bool,
}

impl Distance {
    /// Where the figure comes from, for the report.
    pub fn origin(&self) -> &'static str {
        if self.stated {
            "from the focal length in the picture's metadata"
        } else if self.rel < SHOWN * USUAL.1 {
            "from how the marks converge"
        } else {
            "from the usual angle of view of a camera"
        }
    }
}
