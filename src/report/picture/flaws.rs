//! Flaws of a section in the annotated picture: a thin line around each, so
//! that the metal it rests on stays to be seen, and a number with words beside.

use super::labels::Labels;
use super::pen::{At, Pen};
use super::view::View;
use super::{FLAW, unit};
use crate::record::Finding;
use crate::report::flaw_words::in_words;

/// Distance of the line drawn from what it surrounds, line units.
const CLEAR: f32 = 7.0;
/// Corners of an end's half circle.
const CAP: usize = 6;

/// Draws the line around each finding.
pub fn draw(pen: &mut Pen, view: &View, findings: &[Finding]) {
    for finding in findings {
        let clear = CLEAR * pen.unit;
        let ring = match view.places(&finding.outline_px) {
            outline if !outline.is_empty() => widened(&outline, clear),
            _ => around(&view.places(&finding.polyline_px), clear),
        };
        pen.line(&ring, true, FLAW);
    }
}

/// Writes each finding's number and words beside the metal, or the number
/// alone where there is no room for more: the page lists them by number.
pub fn label(
    pen: &mut Pen,
    view: &View,
    findings: &[Finding],
    labels: &mut Labels,
    into_air: Option<At>,
) {
    let direction = into_air.unwrap_or([0.0, -1.0]);
    for (number, finding) in (1..).zip(findings) {
        let places = view.places(if finding.outline_px.is_empty() {
            &finding.polyline_px
        } else {
            &finding.outline_px
        });
        // The leader starts where the flaw is nearest to the air.
        let towards = |p: &At| p[0] * direction[0] + p[1] * direction[1];
        let Some(&anchor) = places
            .iter()
            .max_by(|a, b| towards(a).total_cmp(&towards(b)))
        else {
            continue;
        };
        let text = format!("{number}: {}", in_words(finding));
        if !labels.write(pen, &text, anchor, direction) {
            labels.write(pen, &number.to_string(), anchor, direction);
        }
    }
}

/// A closed outline moved outwards by `clear`.
fn widened(outline: &[At], clear: f32) -> Vec<At> {
    let n = outline.len() as f32;
    let centre = outline
        .iter()
        .fold([0.0, 0.0], |[x, y], p| [x + p[0] / n, y + p[1] / n]);
    outline
        .iter()
        .map(|p| {
            let out = unit([p[0] - centre[0], p[1] - centre[1]]);
            [p[0] + clear * out[0], p[1] + clear * out[1]]
        })
        .collect()
}

/// The closed line at distance `clear` around a polyline: along one side,
/// round its end and back along the other.
fn around(line: &[At], clear: f32) -> Vec<At> {
    let side = |sign: f32| {
        (0..line.len()).map(move |i| {
            let (a, b) = (line[i.saturating_sub(1)], line[(i + 1).min(line.len() - 1)]);
            let along = unit([b[0] - a[0], b[1] - a[1]]);
            let out = [-along[1] * sign * clear, along[0] * sign * clear];
            [line[i][0] + out[0], line[i][1] + out[1]]
        })
    };
    let (Some(&first), Some(&last)) = (line.first(), line.last()) else {
        return Vec::new();
    };
    if line.len() < 2 {
        return Vec::new();
    }
    let cap = |centre: At, from: At| {
        let start = (from[1] - centre[1]).atan2(from[0] - centre[0]);
        (1..CAP).map(move |k| {
            let angle = start - std::f32::consts::PI * k as f32 / CAP as f32;
            [
                centre[0] + clear * angle.cos(),
                centre[1] + clear * angle.sin(),
            ]
        })
    };
    let left: Vec<At> = side(1.0).collect();
    let right: Vec<At> = side(-1.0).collect();
    let mut ring = left.clone();
    ring.extend(cap(last, left[left.len() - 1]));
    ring.extend(right.iter().rev());
    ring.extend(cap(first, right[0]));
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_around_keeps_its_distance_everywhere() {
        let line = [[0.0, 0.0], [40.0, 0.0], [80.0, 0.0]];
        let ring = around(&line, 5.0);
        for p in &ring {
            let x = p[0].clamp(0.0, 80.0);
            let distance = (p[0] - x).hypot(p[1]);
            assert!((distance - 5.0).abs() < 1e-3, "{p:?}");
        }
        assert!(ring.iter().any(|p| p[0] > 84.0) && ring.iter().any(|p| p[0] < -4.0));
    }
}
