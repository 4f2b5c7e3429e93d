//! Which reference answers the request.

use super::sight::Sight;
use super::{Request, Scale, Source, bar, card, chequer, declared, rule, second};
use crate::photo::Photo;
use crate::record::{Code, Reason};

/// See [`super::find`].
pub fn find(photo: &Photo, request: &Request) -> Result<Scale, Reason> {
    let sight = Sight::new(photo);
    let scale = asked_for(&sight, request)?;
    second::compare(&sight, request, scale)
}

fn asked_for(sight: &Sight, request: &Request) -> Result<Scale, Reason> {
    match request.source {
        Source::Declared { px_per_mm } => declared::scale(px_per_mm),
        Source::RuleMm => rule::find(sight, rule::Unit::Millimetre, request),
        Source::RuleInch => rule::find(sight, rule::Unit::Inch, request),
        Source::Chequer { pitch_mm } => chequer::find(sight, pitch_mm, request.offset_mm),
        Source::Auto => auto(sight, request),
        Source::Bar { length_mm } => bar::find(sight.photo, length_mm, request.offset_mm),
        Source::Card => card::find(sight, request.offset_mm, request.card_line_mm),
        Source::CouponLength { .. } => Err(Reason::new(
            Code::NoScale,
            "a coupon's length is a scale only for a broken coupon, whose two ends are found",
            "use toeline fracture, or another scale, for example --scale rule-mm",
        )),
    }
}

/// Whatever names its own unit: Toeline's card, then a rule. A chequer's squares
/// and a drawn bar could be of any size, so one is reported, not guessed.
fn auto(sight: &Sight, request: &Request) -> Result<Scale, Reason> {
    match card::find(sight, request.offset_mm, request.card_line_mm) {
        // No card: something else may be there.
        Err(reason) if reason.code == Code::NoScale => {}
        answer => return answer,
    }
    let refusal = match rule::find(sight, rule::Unit::Any, request) {
        Ok(scale) => return Ok(scale),
        Err(reason) => reason,
    };
    if let Some((count, at)) = chequer::seen(sight) {
        return Err(Reason::new(
            Code::NoScale,
            format!(
                "{count} chequer squares were found near ({:.0}, {:.0}) px, but nothing in the picture tells their size",
                at.x, at.y
            ),
            "measure one square and say its size, for example --scale chequer:5",
        ));
    }
    // A row of ticks of doubtful unit is more to go by than a bar.
    if refusal.code != Code::NoScale {
        return Err(refusal);
    }
    match bar::seen(sight.photo) {
        Some(at) => Err(Reason::new(
            Code::NoScale,
            format!(
                "a drawn scale bar with a label was found near ({:.0}, {:.0}) px, but its label is not read",
                at.x, at.y
            ),
            "say how long the bar is in millimetres, for example --scale bar:5",
        )),
        None => Err(refusal),
    }
}
