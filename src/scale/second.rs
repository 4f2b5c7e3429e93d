//! A second reference in the same picture speaks for the first, or against it.
//!
//! Only references that name their own unit are looked for: Toeline's card and a
//! rule. A second graduated edge of the same rule is compared where the rule is
//! read.

use super::sight::Sight;
use super::{Request, Scale, Source, card, rule};
use crate::base::geometry::Point;
use crate::record::{Code, Reason};

/// Two references may differ by this many combined standard uncertainties: each
/// contains its own unknown height, class and fit.
const AGREE_U: f64 = 3.0;
/// What is never held against two references, relative: where their places are
/// far apart, perspective and lens are known no better.
const ALWAYS_ALLOWED: f64 = 0.01;

/// Looks for a second reference and compares it with `scale`; a sentence of the
/// outcome joins the checks.
///
/// # Errors
/// `scale-doubtful` when there is one that gives another scale.
pub fn compare(sight: &Sight, request: &Request, mut scale: Scale) -> Result<Scale, Reason> {
    let Some(other) = other(sight, request, &scale) else {
        return Ok(scale);
    };
    let Some([x, y]) = other.facts.at_px else {
        return Ok(scale);
    };
    let there = Point::new(x, y);
    let (own, second) = (local(&scale, there), local(&other, there));
    let apart = second / own - 1.0;
    let allowed = ALWAYS_ALLOWED.max(
        AGREE_U
            * scale
                .standard_uncertainty_rel
                .hypot(other.standard_uncertainty_rel),
    );
    let sides = format!(
        "{} says {own:.2} px a millimetre near ({x:.0}, {y:.0}) px and the {} found there {second:.2}",
        scale.facts.source, other.facts.source
    );
    if apart.abs() > allowed {
        return Err(Reason::new(
            Code::ScaleDoubtful,
            format!(
                "two references disagree by {:.1} %: {sides}",
                100.0 * apart.abs()
            ),
            "check what was said of the scale; lay both references level with the measured face, or cover the one that is not",
        )
        .pointing_at(vec![[x, y]]));
    }
    scale.facts.evidence.cross_checks.push(format!(
        "a second reference in the picture agrees to {:.2} %: {sides}",
        100.0 * apart.abs()
    ));
    scale.occupied.extend(other.occupied);
    Ok(scale)
}

/// A reference of another kind than the one `scale` was read from.
fn other(sight: &Sight, request: &Request, scale: &Scale) -> Option<Scale> {
    let from_rule = scale.facts.source.starts_with("rule");
    let from_card = scale.facts.source == "card";
    // Looking for any reference, the card was tried before the rule.
    let card_tried = from_card || (from_rule && request.source == Source::Auto);
    let card = || card::find(sight, request.offset_mm, request.card_line_mm).ok();
    let rule = || rule::unasked(sight, request);
    (!card_tried)
        .then(card)
        .flatten()
        .or_else(|| (!from_rule).then(rule).flatten())
}

fn local(scale: &Scale, at: Point<crate::base::geometry::Px>) -> f64 {
    scale.map.px_per_mm_at(scale.map.to_mm(at))
}
