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

/// A found mark this far from where the declared length ends is said, mm.
const FAR_OFF_MM: f64 = 2.0;

/// Least that must be left between discarded ends, mm.
const LEAST_MM: f64 = 5.0;

impl Evaluated {
    /// The range of a face `length_mm` long. A declared discard length wins;
    /// without one, `marks` (fractions of the length) bound the range, the
    /// innermost one of each half. The reason tells when a mark lies elsewhere
    /// than the declared length says.
    ///
    /// # Errors
    /// `cropped` when discarding leaves nothing to evaluate.
    pub fn new(
        length_mm: f64,
        declared_mm: Option<f64>,
        marks: &[f64],
    ) -> Result<(Self, Option<Reason>), Reason> {
        let mark = |left: bool| {
            let own = marks
                .iter()
                .filter(|m| (0.0..=1.0).contains(*m) && (**m < 0.5) == left);
            own.map(|m| if left { *m } else { 1.0 - *m })
                .max_by(f64::total_cmp)
                .map(|m| m * length_mm)
        };
        let marked = [mark(true), mark(false)];
        let discard = marked.map(|m| declared_mm.or(m).unwrap_or(0.0).max(0.0));
        let range = Self {
            start_mm: discard[0],
            end_mm: length_mm - discard[1],
        };
        if range.length_mm() < LEAST_MM {
            return Err(Reason::new(
                Code::Cropped,
                format!(
                    "the face is {} mm long, and discarding {} mm and {} mm at its ends leaves nothing to evaluate",
                    plain(length_mm, 1),
                    plain(discard[0], 1),
                    plain(discard[1], 1)
                ),
                "photograph the whole coupon, or declare a shorter --discard",
            ));
        }
        let off = |m: Option<f64>| {
            let (m, declared) = (m?, declared_mm?);
            ((m - declared).abs() > FAR_OFF_MM).then_some((m, declared))
        };
        let doubt = marked.into_iter().find_map(off).map(|(found, declared)| {
            Reason::new(
                Code::Ambiguous,
                format!(
                    "a discard mark was found {} mm from the end, {} mm were declared; the declared length was used",
                    plain(found, 1),
                    plain(declared, 1)
                ),
                "check --discard against the marks on the coupon",
            )
        });
        Ok((range, doubt))
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
    fn nothing_declared_and_nothing_marked_counts_all() {
        let (range, doubt) = Evaluated::new(100.0, None, &[]).unwrap();
        assert_eq!((range.start_mm, range.end_mm), (0.0, 100.0));
        assert!(doubt.is_none());
    }

    #[test]
    fn marks_bound_the_range_where_nothing_is_declared() {
        // The innermost mark of each half; one end may have none.
        let (range, _) = Evaluated::new(120.0, None, &[0.1, 0.2, 0.8]).unwrap();
        assert!((range.start_mm - 24.0).abs() < 1e-9 && (range.end_mm - 96.0).abs() < 1e-9);
        let (range, _) = Evaluated::new(120.0, None, &[0.8]).unwrap();
        assert!(range.start_mm == 0.0 && (range.end_mm - 96.0).abs() < 1e-9);
    }

    #[test]
    fn a_declared_length_wins_over_a_mark_and_says_so() {
        let (range, doubt) = Evaluated::new(120.0, Some(25.0), &[0.1, 0.79]).unwrap();
        assert_eq!((range.start_mm, range.end_mm), (25.0, 95.0));
        assert!(doubt.unwrap().message.contains("12.0 mm"));
        let (_, doubt) = Evaluated::new(120.0, Some(25.0), &[0.2, 0.8]).unwrap();
        assert!(doubt.is_none(), "24 mm and 25 mm agree");
    }

    #[test]
    fn discarding_everything_is_refused() {
        let refused = Evaluated::new(50.0, Some(25.0), &[]).unwrap_err();
        assert!(refused.remedy.contains("--discard"));
    }
}
