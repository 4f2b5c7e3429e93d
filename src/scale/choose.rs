//! Which reference answers the request.

use super::{Request, Scale, Source, declared, rule};
use crate::photo::Photo;
use crate::record::{Code, Reason};

/// See [`super::find`].
pub fn find(photo: &Photo, request: &Request) -> Result<Scale, Reason> {
    match request.source {
        Source::Declared { px_per_mm } => declared::scale(px_per_mm),
        Source::RuleMm => rule::find(photo, rule::Unit::Millimetre, request.offset_mm),
        Source::RuleInch => rule::find(photo, rule::Unit::Inch, request.offset_mm),
        Source::Auto => rule::find(photo, rule::Unit::Any, request.offset_mm),
        Source::Card | Source::Chequer { .. } | Source::Bar { .. } => Err(Reason::new(
            Code::NoScale,
            format!(
                "the reference '{}' is not read by this version",
                request.source
            ),
            "lay a steel rule in the plane of the section and use --scale rule-mm, or declare the pixels per millimetre",
        )),
    }
}
