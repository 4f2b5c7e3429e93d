//! The part of the weld that counts: all of it, or without the ends that are
//! to be discarded.

use crate::base::rounding::plain;
use crate::record::{Code, Reason};

/// The evaluated range along the weld, mm from the face's left end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evaluated {
    /// Where it begins.
    pub start_mm: f64,
    /// Where it ends.
    pub end_mm: f64,
}

/// Least that must be left between discarded ends, mm.
const LEAST_MM: f64 = 5.0;

impl Evaluated {
    /// The range of a face `length_mm` long, less the declared length at each
    /// end. Scribed or painted discard marks are not looked for.
    ///
    /// # Errors
    /// `cropped` when discarding leaves nothing to evaluate.
    pub fn new(length_mm: f64, discard_mm: Option<f64>) -> Result<Self, Reason> {
        let discard = discard_mm.unwrap_or(0.0).max(0.0);
        let range = Self {
            start_mm: discard,
            end_mm: length_mm - discard,
        };
        if range.length_mm() < LEAST_MM {
            return Err(Reason::new(
                Code::Cropped,
                format!(
                    "the face is {} mm long, and discarding {} mm at each end leaves nothing to evaluate",
                    plain(length_mm, 1),
                    plain(discard, 1)
                ),
                "photograph the whole coupon, or declare a shorter --discard",
            ));
        }
        Ok(range)
    }

    /// Its length, mm.
    pub fn length_mm(&self) -> f64 {
        self.end_mm - self.start_mm
    }

    /// Whether a place along the weld lies in it.
    pub fn contains(&self, s_mm: f64) -> bool {
        (self.start_mm..=self.end_mm).contains(&s_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_declared_length_is_left_out_at_both_ends() {
        let all = Evaluated::new(100.0, None).unwrap();
        assert_eq!((all.start_mm, all.end_mm), (0.0, 100.0));
        let inner = Evaluated::new(120.0, Some(25.0)).unwrap();
        assert_eq!((inner.start_mm, inner.end_mm), (25.0, 95.0));
        assert!(inner.contains(25.0) && !inner.contains(24.0));
    }

    #[test]
    fn discarding_everything_is_refused() {
        let refused = Evaluated::new(50.0, Some(25.0)).unwrap_err();
        assert!(refused.remedy.contains("--discard"));
    }
}
