//! From a graduated edge of known unit to the plane map.

use super::body;
use super::graduation::Graduation;
use super::naming::Graduated;
use super::ticks::{Edge, Tick};
use crate::base::geometry::{Point, Px};
use crate::base::numeric::median;
use crate::photo::Photo;
use crate::record::{Code, NumberedMark, Reason, ScaleEvidence, ScaleFacts};
use crate::scale::budget::{self, Budget};
use crate::scale::plane_fit::{Mark, PlaneFit};
use crate::scale::{Request, Scale};

/// Scale of a graduated edge whose unit is known.
pub fn scale_of(
    photo: &Photo,
    chosen: &Graduated,
    others: &[&Graduated],
    beside: &[&Edge],
    request: &Request,
) -> Result<Scale, Reason> {
    let pitch_mm = chosen.reading.graduation.pitch_mm();
    let first_edge = marks_of(&chosen.edge, pitch_mm);
    let mut marks = first_edge.clone();
    let partner = others.iter().find(|o| of_one_rule(chosen, o));
    marks.extend(partner.into_iter().flat_map(|p| second_edge(chosen, p)));
    let doubt = |what: String| {
        Reason::new(
            Code::ScaleDoubtful,
            what,
            "lay the rule flat beside the section, without glare on its graduations, and photograph straight from above; or declare the scale",
        )
    };
    let place = chosen.edge.centre();
    let fit = PlaneFit::new(&marks, photo, 0.0).ok_or_else(|| {
        doubt(format!(
            "the rule graduations near ({:.0}, {:.0}) px fit no plane",
            place.x, place.y
        ))
    })?;
    if fit.residual_px > (0.06 * chosen.edge.pitch_px).max(0.6) {
        return Err(doubt(format!(
            "the rule graduations near ({:.0}, {:.0}) px stray by {:.2} px from any straight rule",
            place.x, place.y, fit.residual_px
        )));
    }
    let halves = halves_difference(&first_edge, &fit);
    if halves > 0.005 {
        return Err(doubt(format!(
            "the two halves of the rule near ({:.0}, {:.0}) px give scales {:.2} % apart",
            place.x,
            place.y,
            100.0 * halves
        )));
    }
    let map = fit
        .map()
        .ok_or_else(|| doubt("the plane of the rule cannot be inverted".to_owned()))?;
    let along = chosen.px_per_mm();
    let mut cross_checks = vec![
        format!(
            "first half of the rule against its second half: {:.2} % apart",
            100.0 * halves
        ),
        format!(
            "the graduations were read as {}: {}",
            chosen.reading.graduation.name(),
            chosen.grounds
        ),
    ];
    for other in others {
        let own = other.px_per_mm();
        let at = other.edge.centre();
        let predicted = fit.px_per_mm_at(at) / fit.px_per_mm_at(place) * along;
        let apart = own / predicted - 1.0;
        if apart.abs() > 0.03 {
            return Err(doubt(format!(
                "two graduated edges disagree: {along:.2} px/mm near ({:.0}, {:.0}) px and {own:.2} px/mm near ({:.0}, {:.0}) px",
                place.x, place.y, at.x, at.y
            )));
        }
        cross_checks.push(format!(
            "a second graduated edge ({}) gives a scale {:.2} % apart",
            other.reading.graduation.name(),
            100.0 * apart
        ));
    }
    let first = chosen.edge.ticks[0].index;
    let last = chosen.edge.ticks[chosen.edge.ticks.len() - 1].index;
    let length_mm = f64::from(last - first) * pitch_mm;
    let middle = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
    let distance = fit.distance();
    let (factor, height) = budget::height(request.offset_mm, &distance);
    let budget = Budget {
        fit: fit.scale_uncertainty_rel(middle),
        reference: budget::rule(request.rule_class, length_mm),
        height,
    };
    cross_checks.push(format!(
        "relative standard uncertainty: fit, tilt and lens {:.2} %, the rule itself (class {} over {length_mm:.0} mm) {:.2} %, its height against the plane {:.2} %",
        100.0 * budget.fit,
        request.rule_class,
        100.0 * budget.reference,
        100.0 * budget.height
    ));
    cross_checks.push(budget::effect_of_height(
        request.offset_mm,
        factor,
        &distance,
    ));
    let map = map
        .rescaled(factor)
        .ok_or_else(|| doubt("the declared offset leaves no plane".to_owned()))?;
    let outline = body::outline(&photo.luma, &chosen.edge, along, beside);
    let standard_uncertainty_rel = budget.combined();
    let used: Vec<[f64; 2]> = first_edge
        .iter()
        .filter(|m| m.sigma_px.is_none())
        .map(|m| m.at.to_array())
        .collect();
    Ok(Scale {
        facts: ScaleFacts {
            source: if chosen.reading.graduation.is_inch() {
                "rule-inch"
            } else {
                "rule-mm"
            }
            .to_owned(),
            px_per_mm: map.px_per_mm_at(map.to_mm(middle)),
            standard_uncertainty_rel,
            tilt_deg: Some(fit.tilt_deg()),
            at_px: Some(place.to_array()),
            evidence: ScaleEvidence {
                ticks: Some(chosen.edge.ticks.len()),
                corners: None,
                residual_px: Some(fit.residual_px),
                cross_checks,
                outline_px: outline.iter().map(|p| p.to_array()).collect(),
                marks_px: used,
                numbered: numbered(&chosen.edge, chosen.reading.graduation),
            },
        },
        map,
        standard_uncertainty_rel,
        occupied: vec![outline],
        coupon_id: None,
    })
}

/// The ticks' free ends, counted from the first.
fn numbered(edge: &Edge, graduation: Graduation) -> Vec<NumberedMark> {
    let first = edge.ticks[0].index;
    edge.ticks
        .iter()
        .map(|t| NumberedMark {
            at_px: t.tip.to_array(),
            place: graduation.place(t.index - first),
        })
        .collect()
}

/// Three marks a tick (its root, middle and tip thirds), and its foot, which
/// lies on the edge and is less sharp.
fn marks_of(edge: &Edge, pitch_mm: f64) -> Vec<Mark> {
    let mut marks = Vec::new();
    // Squareness of graduations and edge is trusted to a third of a degree
    // (common practice, no source): so coarse that together the feet turn the
    // edge no better.
    let length = edge.ticks[0]
        .foot
        .distance(edge.ticks[edge.ticks.len() - 1].foot);
    let foot_sigma = 0.006 * 0.29 * length * (edge.ticks.len() as f64).sqrt();
    for tick in &edge.ticks {
        let u = f64::from(tick.index) * pitch_mm;
        for at in thirds(tick) {
            marks.push(Mark {
                at,
                u,
                v: None,
                second: false,
                sigma_px: None,
            });
        }
        marks.push(Mark {
            at: tick.foot,
            u,
            v: Some(0.0),
            second: false,
            sigma_px: Some(foot_sigma),
        });
    }
    marks
}

/// Whether `other` is the other edge of the rule that carries `chosen`: parallel
/// to it, alongside, and no further away than rules are wide.
fn of_one_rule(chosen: &Graduated, other: &Graduated) -> bool {
    let (a, b) = (&chosen.edge, &other.edge);
    let along = a.baseline.direction.unit();
    let parallel = along.cross(b.baseline.direction.unit()).abs() < MOST_SKEW;
    let apart = b.centre() - a.centre();
    let across_mm = along.cross(apart).abs() / chosen.px_per_mm();
    let half = 0.5 * a.ticks[0].foot.distance(a.ticks[a.ticks.len() - 1].foot);
    parallel && RULE_WIDTH_MM.contains(&across_mm) && along.dot(apart).abs() < half
}

/// Widths of rules, mm, and the most that perspective turns one edge against the
/// other, radians (common practice, no source).
const RULE_WIDTH_MM: std::ops::Range<f64> = 6.0..60.0;
const MOST_SKEW: f64 = 0.06;

/// The marks of the rule's other edge, counted the way of the first.
fn second_edge(chosen: &Graduated, other: &Graduated) -> Vec<Mark> {
    let way = |edge: &Edge| edge.ticks[edge.ticks.len() - 1].foot - edge.ticks[0].foot;
    let sign = way(&chosen.edge).dot(way(&other.edge)).signum();
    marks_of(&other.edge, sign * other.reading.graduation.pitch_mm())
        .into_iter()
        .filter(|m| m.sigma_px.is_none())
        .map(|m| Mark { second: true, ..m })
        .collect()
}

/// Mean place of each third of a tick's centre line; shorter ticks give one.
fn thirds(tick: &Tick) -> Vec<Point<Px>> {
    let n = tick.centres.len();
    let parts = if n >= 9 { 3 } else { 1 };
    // The very ends are blurred into edge and numeral.
    let (from, to) = if n >= 9 { (n / 10, n - n / 10) } else { (0, n) };
    (0..parts)
        .map(|k| {
            let piece =
                &tick.centres[from + (to - from) * k / parts..from + (to - from) * (k + 1) / parts];
            let count = piece.len() as f64;
            let (x, y) = piece
                .iter()
                .fold((0.0, 0.0), |(x, y), p| (x + p.x, y + p.y));
            Point::new(x / count, y / count)
        })
        .collect()
}

/// Relative difference between the two halves' scales, each against the fit.
fn halves_difference(marks: &[Mark], fit: &PlaneFit) -> f64 {
    // Slope of the residuals along u in each half, robustly (Theil and Sen
    // would do; medians of the quarters are enough here).
    let mut rows: Vec<(f64, f64)> = marks
        .iter()
        .zip(&fit.residuals_px)
        .filter(|(m, _)| m.sigma_px.is_none())
        .map(|(m, r)| (m.u, *r))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let quarter = rows.len() / 4;
    if quarter < 2 {
        return 0.0;
    }
    let mid = |q: usize| {
        let part = &rows[q * quarter..(q + 1) * quarter];
        (
            median(&part.iter().map(|r| r.0).collect::<Vec<_>>()),
            median(&part.iter().map(|r| r.1).collect::<Vec<_>>()),
        )
    };
    let slope = |a: (f64, f64), b: (f64, f64)| (b.1 - a.1) / (b.0 - a.0).abs().max(1e-9);
    let scale = marks[0].at.distance(marks[marks.len() - 1].at)
        / (marks[marks.len() - 1].u - marks[0].u).abs().max(1e-9);
    (slope(mid(0), mid(1)) - slope(mid(2), mid(3))).abs() / scale
}
