//! A rule lying in the measured plane.

use super::budget::{self, Budget};
use super::graduation::{self, Graduation, Reading};
use super::plane_fit::{Mark, PlaneFit};
use super::ticks::{self, Edge, Tick};
use super::{Request, Scale, body, numerals, proposals};
use crate::base::geometry::{Line, Point, Px};
use crate::base::numeric::{median, quantile};
use crate::base::raster::{Gray, reduced};
use crate::photo::Photo;
use crate::record::{Code, NumberedMark, Reason, ScaleEvidence, ScaleFacts};

/// Which graduation is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Millimetres.
    Millimetre,
    /// Inches.
    Inch,
    /// Either.
    Any,
}

impl Unit {
    fn allows(self, reading: &Reading) -> bool {
        match self {
            Self::Millimetre => !reading.graduation.is_inch(),
            Self::Inch => reading.graduation.is_inch(),
            Self::Any => true,
        }
    }
}

/// Detection runs on at most this many samples.
const DETECTION_SAMPLES: usize = 3_200_000;
/// Lines looked at cheaply, and rows of ticks followed in full resolution.
const LINES: usize = 60;
const ROWS: usize = 12;
/// Fewest ticks a scale may rest on.
const FEWEST: usize = 12;
/// Least margin of the graduation over any other reading (see
/// [`Reading::margin`]).
const MARGIN: f64 = 10.0;

/// A graduated edge with its unit.
struct Graduated {
    edge: Edge,
    reading: Reading,
    /// Whether the reading stands without a second edge.
    confirmed: bool,
}

impl Graduated {
    fn px_per_mm(&self) -> f64 {
        px_per_mm_along(&self.edge, self.reading.graduation.pitch_mm())
    }
}

/// Finds a rule and reads its scale.
///
/// # Errors
/// `no-scale` when no row of ticks is found, `scale-doubtful` when its unit or
/// numbering is not beyond doubt.
pub fn find(photo: &Photo, unit: Unit, request: &Request) -> Result<Scale, Reason> {
    let gray = &photo.luma;
    let mut doubtful: Option<Reason> = None;
    let mut read: Vec<Graduated> = Vec::new();
    for (line, sign) in candidates(gray) {
        if read.iter().any(|g| same_row(&g.edge, &line)) {
            continue;
        }
        let Some(edge) = ticks::edge_from(gray, &line, sign) else {
            continue;
        };
        if edge.ticks.len() < FEWEST || read.iter().any(|g| same_row(&g.edge, &edge.baseline)) {
            continue;
        }
        let lengths: Vec<(i32, f64)> = edge
            .ticks
            .iter()
            .map(|t| (t.index, t.relative_length()))
            .collect();
        match graduation::read(&lengths) {
            Some(reading) if reading.margin >= MARGIN => {
                let confirmed =
                    !reading.graduation.is_inch() || numerals::confirm(gray, &edge, &reading);
                read.push(Graduated {
                    edge,
                    reading,
                    confirmed,
                });
            }
            _ => {
                doubtful.get_or_insert_with(|| unclear(&edge));
            }
        }
        if read.len() == 2 {
            break;
        }
    }
    // An inch edge without numerals at its inches needs a second edge that
    // gives the same scale.
    let agrees = |g: &Graduated| {
        read.iter()
            .any(|o| !std::ptr::eq(o, g) && (o.px_per_mm() / g.px_per_mm() - 1.0).abs() < 0.05)
    };
    let sure: Vec<bool> = read.iter().map(|g| g.confirmed || agrees(g)).collect();
    if let Some(k) = sure.iter().position(|s| !s) {
        doubtful.get_or_insert_with(|| unclear(&read[k].edge));
    }
    let mut keep = sure.iter();
    read.retain(|_| keep.next().copied().unwrap_or(false));
    let mut refused = None;
    for chosen in read.iter().filter(|g| unit.allows(&g.reading)) {
        let others: Vec<&Graduated> = read.iter().filter(|g| !std::ptr::eq(*g, chosen)).collect();
        match scale_of(photo, chosen, &others, request) {
            Ok(scale) => return Ok(scale),
            Err(reason) => refused = Some(reason),
        }
    }
    if let Some(reason) = refused {
        return Err(reason);
    }
    if let Some(other) = read.first() {
        let (found, say) = if other.reading.graduation.is_inch() {
            ("inches", "rule-inch")
        } else {
            ("millimetres", "rule-mm")
        };
        return Err(Reason::new(
            Code::NoScale,
            format!("the rule in the picture is graduated in {found} on the edge that can be read"),
            format!("use --scale {say}, or lay the other edge of the rule so that it is seen"),
        ));
    }
    Err(doubtful.unwrap_or_else(|| {
        Reason::new(
            Code::NoScale,
            "no row of rule graduations was found in the picture",
            "lay a rule flat in the plane of the section, in focus and free of glare, with at least 20 graduations in the picture; or declare the scale",
        )
    }))
}

/// Lines with a regular row of ticks, the best first, in full-resolution
/// coordinates, with the sign that makes their ticks dark.
fn candidates(gray: &Gray) -> Vec<(Line<Px>, f64)> {
    let (small, factor) = reduced(gray, DETECTION_SAMPLES);
    let small = small.as_ref();
    let mut rated: Vec<(f64, Line<Px>, f64)> = Vec::new();
    for line in proposals::tick_lines(small, LINES) {
        for sign in [1.0, -1.0] {
            if let Some(row) = ticks::row_on(small, &line, 1.0, sign) {
                let middle = row.ticks[row.ticks.len() / 2].1;
                let p = line.at(middle);
                let full = Line::new(Point::new(p.x * factor, p.y * factor), line.direction);
                rated.push((row.score, full, sign));
            }
        }
    }
    rated.sort_by(|a, b| b.0.total_cmp(&a.0));
    rated.truncate(ROWS);
    rated
        .into_iter()
        .map(|(_, line, sign)| (line, sign))
        .collect()
}

/// Whether `line` runs through the ticks of `edge`.
fn same_row(edge: &Edge, line: &Line<Px>) -> bool {
    let middle = &edge.ticks[edge.ticks.len() / 2];
    let crossing = Line::new(middle.foot, edge.baseline.normal());
    let longest = edge
        .ticks
        .iter()
        .map(|t| t.foot.distance(t.tip))
        .fold(0.0, f64::max);
    line.direction.cross(edge.baseline.direction).abs() < 0.1
        && line.crossing(&crossing).is_some_and(|p| {
            let v = crossing.along(p);
            v > -edge.pitch_px && v < longest + edge.pitch_px
        })
}

/// Scale of a graduated edge whose unit is known.
fn scale_of(
    photo: &Photo,
    chosen: &Graduated,
    others: &[&Graduated],
    request: &Request,
) -> Result<Scale, Reason> {
    let gray = &photo.luma;
    let pitch_mm = chosen.reading.graduation.pitch_mm();
    let marks = marks_of(&chosen.edge, pitch_mm);
    let doubt = |what: String| {
        Reason::new(
            Code::ScaleDoubtful,
            what,
            "lay the rule flat beside the section, without glare on its graduations, and photograph straight from above; or declare the scale",
        )
    };
    let place = centre_of(&chosen.edge);
    let fit = PlaneFit::new(&marks, photo).ok_or_else(|| {
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
    let halves = halves_difference(&marks, &fit);
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
            "the pattern of long and short graduations reads {} far better than any other (margin {:.0})",
            name(&chosen.reading),
            chosen.reading.margin
        ),
    ];
    for other in others {
        let own = other.px_per_mm();
        let at = centre_of(&other.edge);
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
            name(&other.reading),
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
    let outline = body::outline(gray, &chosen.edge, along);
    let standard_uncertainty_rel = budget.combined();
    let used: Vec<[f64; 2]> = marks
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
                sigma_px: None,
            });
        }
        marks.push(Mark {
            at: tick.foot,
            u,
            v: Some(0.0),
            sigma_px: Some(foot_sigma),
        });
    }
    marks
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

/// Scale along the edge at its middle, px/mm.
fn px_per_mm_along(edge: &Edge, pitch_mm: f64) -> f64 {
    let pitches: Vec<f64> = edge.ticks.iter().map(|t| t.pitch_px).collect();
    quantile(&pitches, 0.5) / pitch_mm
}

fn centre_of(edge: &Edge) -> Point<Px> {
    edge.ticks[0]
        .foot
        .lerp(edge.ticks[edge.ticks.len() - 1].foot, 0.5)
}

fn name(reading: &Reading) -> String {
    match reading.graduation {
        Graduation::Millimetre => "whole millimetres".to_owned(),
        Graduation::HalfMillimetre => "half millimetres".to_owned(),
        Graduation::Inch(n) => format!("1/{n} inch"),
    }
}

/// Two ticks of the row, as far apart as they come, are named A and B: whoever
/// reads their distance off the rule has the scale.
fn unclear(edge: &Edge) -> Reason {
    let at = centre_of(edge);
    let ends = [edge.ticks[0].foot, edge.ticks[edge.ticks.len() - 1].foot];
    let apart_px = ends[0].distance(ends[1]);
    Reason::new(
        Code::ScaleDoubtful,
        format!(
            "a row of {} ticks near ({:.0}, {:.0}) px was found, but its pattern of long and short ticks does not name its unit; \
             the two marked A and B in the picture are {apart_px:.1} px apart",
            edge.ticks.len(),
            at.x,
            at.y
        ),
        format!(
            "show at least three centimetres (or two inches) of the rule with clean graduations; or read off the rule \
             how many millimetres lie between A and B and give --scale declared:PX with PX = {apart_px:.1} divided by them"
        ),
    )
    .pointing_at(ends.map(Point::to_array).to_vec())
}
