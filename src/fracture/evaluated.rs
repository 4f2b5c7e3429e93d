//! The part of the weld that counts: all of it, or without the ends that are
//! declared or marked to be discarded.

use super::marks::Marks;
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

/// How far marks may lie from where ends are declared to be discarded, mm: a
/// line is drawn by hand with a brush.
const DIFFER_MM: f64 = 2.5;

/// What to say when the coupon is marked at another place than was declared.
pub fn contradiction(
    length_mm: f64,
    discard_mm: Option<f64>,
    marks: Option<Marks>,
) -> Option<Reason> {
    let (declared, marks) = (discard_mm?, marks?);
    let marked = 0.5 * (marks.left_mm + length_mm - marks.right_mm);
    ((declared - marked).abs() > DIFFER_MM).then(|| {
        Reason::new(
            Code::Ambiguous,
            format!(
                "{} mm are to be discarded at each end, but the coupon is marked {} mm from its ends",
                plain(declared, 1),
                plain(marked, 1)
            ),
            "leave --discard out to go by the marks, or keep it if the marks mean something else",
        )
    })
}

impl Evaluated {
    /// The range of a face `length_mm` long: less the declared length at each
    /// end, or between the marks that were found, or all of it.
    ///
    /// # Errors
    /// `cropped` when discarding leaves nothing to evaluate.
    pub fn new(
        length_mm: f64,
        discard_mm: Option<f64>,
        marks: Option<Marks>,
    ) -> Result<Self, Reason> {
        let left = marks.map_or(0.0, |m| m.left_mm);
        let right = marks.map_or(0.0, |m| length_mm - m.right_mm);
        let range = Self {
            start_mm: discard_mm.unwrap_or(left).max(0.0),
            end_mm: length_mm - discard_mm.unwrap_or(right).max(0.0),
        };
        let discard = range.start_mm;
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
        let all = Evaluated::new(100.0, None, None).unwrap();
        assert_eq!((all.start_mm, all.end_mm), (0.0, 100.0));
        let inner = Evaluated::new(120.0, Some(25.0), None).unwrap();
        assert_eq!((inner.start_mm, inner.end_mm), (25.0, 95.0));
        assert!(inner.contains(25.0) && !inner.contains(24.0));
    }

    #[test]
    fn marks_stand_in_for_what_was_not_declared_and_are_held_against_it() {
        let marks = Some(Marks {
            left_mm: 24.0,
            right_mm: 95.0,
        });
        let marked = Evaluated::new(120.0, None, marks).unwrap();
        assert_eq!((marked.start_mm, marked.end_mm), (24.0, 95.0));
        let declared = Evaluated::new(120.0, Some(0.0), marks).unwrap();
        assert_eq!((declared.start_mm, declared.end_mm), (0.0, 120.0));
        assert_eq!(contradiction(120.0, None, marks), None);
        assert_eq!(contradiction(120.0, Some(25.0), marks), None);
        assert_eq!(contradiction(120.0, Some(0.0), None), None);
        let reason = contradiction(120.0, Some(0.0), marks).unwrap();
        assert!(reason.message.contains("24.5 mm"), "{}", reason.message);
    }

    #[test]
    fn discarding_everything_is_refused() {
        let refused = Evaluated::new(50.0, Some(25.0), None).unwrap_err();
        assert!(refused.remedy.contains("--discard"));
    }
}
