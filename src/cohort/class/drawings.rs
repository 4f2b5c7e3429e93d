//! The page's drawings: sizes against their limits, where along the weld fusion
//! failed, and a welder's coupons over time. Everything that a colour tells a
//! letter, a place or a line style tells as well.

use super::row::{Look, Row, Size};
use crate::base::rounding::{plain, shortest};
use crate::record::{Kind, Sense};
use maud::{Markup, html as markup};

/// Width of every drawing and of the names at its left, drawing units.
const WIDTH: f64 = 900.0;
const NAMES: f64 = 150.0;
const MARGIN: f64 = 20.0;
/// Height of a coupon's line.
const LINE: f64 = 22.0;
/// Coupons in one drawing, so that each has its axis near and fits on a sheet of paper.
const TOGETHER: usize = 24;

/// Sizes that are drawn against their limits.
pub(super) const DRAWN: [(&str, &str); 3] = [
    ("leg_butting_mm", "Leg at the butting member"),
    ("leg_nonbutting_mm", "Leg at the nonbutting member"),
    ("inscribed_throat_mm", "Throat"),
];

/// Kinds of missing fusion: letter, what a reader calls it, place in a coupon's
/// line as a share from the top, pattern.
const FUSION: [(&str, &str, &str, f64, &str); 3] = [
    (
        "lack-of-sidewall-fusion",
        "S",
        "not fused at the side wall",
        0.05,
        "side",
    ),
    (
        "lack-of-inter-run-fusion",
        "P",
        "not fused between passes",
        0.36,
        "runs",
    ),
    ("lack-of-root-fusion", "R", "root not fused", 0.67, "root"),
];

/// A round step so that `span` has at most `most` of them.
fn step(span: f64, most: f64) -> f64 {
    let raw = (span / most).max(1e-6);
    let tens = 10f64.powf(raw.log10().floor());
    let factor = [1.0, 2.0, 5.0, 10.0].into_iter().find(|f| f * tens >= raw);
    factor.unwrap_or(10.0) * tens
}

/// A coupon's size with the limits on it, mm.
type Found<'a> = (&'a Row, Size, Vec<(f64, Sense)>);

/// One size of every coupon that has it, smallest first, with its interval and the
/// limits the coupons were held to; nothing when no coupon has it.
pub(super) fn sizes(rows: &[Row], name: &str, title: &str) -> Option<Markup> {
    let mut found: Vec<Found<'_>> = Vec::new();
    for row in rows {
        for look in &row.looks {
            if let Some(size) = look.sizes.get(name) {
                found.push((row, *size, limits(look, name)));
            }
        }
    }
    if found.is_empty() {
        return None;
    }
    found.sort_by(|a, b| a.1.value.total_cmp(&b.1.value));
    let ends = |pick: fn(f64, f64) -> f64, start: f64| {
        found.iter().fold(start, |so_far, (_, size, limits)| {
            let sign = if start > 0.0 { -1.0 } else { 1.0 };
            let reach = pick(so_far, size.value + sign * size.expanded);
            limits.iter().fold(reach, |r, (limit, _)| pick(r, *limit))
        })
    };
    let (low, high) = (
        ends(f64::min, f64::INFINITY),
        ends(f64::max, f64::NEG_INFINITY),
    );
    // A millimetre at least, so that small differences look small.
    let wider = (0.5 * (1.0 - (high - low))).max(0.0);
    let (low, high) = (low - wider, high + wider);
    let step = step(high - low, 10.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let x = |v: f64| NAMES + (v - low) / (high - low).max(1e-9) * (WIDTH - NAMES - MARGIN);
    let ticks = ((high - low) / step).round() as usize;
    Some(markup! {
        figure {
            @for some in found.chunks(TOGETHER) {
            @let height = LINE * some.len() as f64 + 40.0;
            svg viewBox=(format!("0 0 {WIDTH} {height}")) role="img" aria-label=(format!("{title}, mm, by coupon")) {
                @for i in 0..=ticks {
                    @let v = low + i as f64 * step;
                    line.grid x1=(r(x(v))) x2=(r(x(v))) y1="0" y2=(r(height - 24.0)) {}
                    text.tick x=(r(x(v))) y=(r(height - 8.0)) { (shortest(v, 2)) }
                }
                @for (n, (row, size, limits)) in some.iter().enumerate() {
                    @let y = LINE * (n as f64 + 0.5) + 4.0;
                    text.name x=(r(NAMES - 10.0)) y=(r(y + 4.0)) { (row.coupon) }
                    @for (limit, sense) in limits {
                        line.limit x1=(r(x(*limit))) x2=(r(x(*limit))) y1=(r(y - 10.0)) y2=(r(y + 10.0)) {}
                        // The barb points to where the size has to lie.
                        @let to = if *sense == Sense::AtLeast { 7.0 } else { -7.0 };
                        line.limit x1=(r(x(*limit))) x2=(r(x(*limit) + to)) y1=(r(y)) y2=(r(y)) {}
                    }
                    line.bar x1=(r(x(size.value - size.expanded))) x2=(r(x(size.value + size.expanded))) y1=(r(y)) y2=(r(y)) {}
                    circle.dot cx=(r(x(size.value))) cy=(r(y)) r="4" {
                        title { (row.coupon) ": " (plain(size.value, 2)) " ± " (plain(size.expanded, 2)) " mm" }
                    }
                }
            } }
            figcaption {
                (title) ", mm: "
                (summary(&found))
            }
        }
    })
}

fn limits(look: &Look, name: &str) -> Vec<(f64, Sense)> {
    let of = look.limits.iter().filter(|(of, _, _)| of == name);
    of.map(|(_, value, sense)| (*value, *sense)).collect()
}

fn summary(found: &[Found<'_>]) -> String {
    let middle = found[found.len() / 2].1.value;
    let (least, most) = (found[0].1.value, found[found.len() - 1].1.value);
    format!(
        "{} measured, from {} to {} mm, the middle one {} mm.",
        found.len(),
        plain(least, 1),
        plain(most, 1),
        plain(middle, 1)
    )
}

/// Where along the weld fusion failed, one line a broken coupon.
pub(super) fn along(rows: &[Row]) -> Option<Markup> {
    let broken: Vec<(&Row, &Look, f64)> = rows
        .iter()
        .flat_map(|row| row.of_kind(Kind::Fracture).map(move |look| (row, look)))
        .filter_map(|(row, look)| Some((row, look, look.evaluated_mm?)))
        .collect();
    if broken.is_empty() {
        return None;
    }
    let reach = |look: &Look, evaluated: f64| {
        let ends = look.stretches.iter().filter_map(|s| s.along_mm);
        ends.map(|e| e[1]).fold(evaluated, f64::max)
    };
    let longest = broken
        .iter()
        .map(|(_, look, mm)| reach(look, *mm))
        .fold(1.0, f64::max);
    let step = step(longest, 12.0);
    let x = |mm: f64| NAMES + mm / longest * (WIDTH - NAMES - MARGIN);
    let high = LINE + 10.0;
    Some(markup! {
        figure {
            @for (part, some) in broken.chunks(TOGETHER * 2 / 3).enumerate() {
            @let height = high * some.len() as f64 + 36.0;
            svg viewBox=(format!("0 0 {WIDTH} {height}")) role="img" aria-label="where along the weld fusion failed, by coupon" {
                (patterns(part))
                @for i in 0..=((longest / step).floor() as usize) {
                    @let mm = i as f64 * step;
                    line.grid x1=(r(x(mm))) x2=(r(x(mm))) y1="0" y2=(r(height - 24.0)) {}
                    text.tick x=(r(x(mm))) y=(r(height - 8.0)) { (shortest(mm, 0)) }
                }
                @for (n, (row, look, evaluated)) in some.iter().enumerate() {
                    @let top = high * n as f64 + 4.0;
                    text.name x=(r(NAMES - 10.0)) y=(r(top + 0.65 * LINE)) { (row.coupon) }
                    rect.weld x=(r(NAMES)) y=(r(top)) width=(r(x(reach(look, *evaluated)) - NAMES)) height=(r(LINE)) {}
                    @for stretch in &look.stretches { (placed(stretch, top, &x, part)) }
                }
            } }
            figcaption {
                "mm along the weld from its left end, root side below. Each coupon is a bar; in it from the \
                top: " b { "S" } " not fused at the side wall (upright lines), " b { "P" } " not fused between \
                passes (rising lines), " b { "R" } " root not fused (falling lines), " b { "●" } " a pore or an \
                inclusion. Pale: doubtful, less than three in four."
            }
        }
    })
}

/// Patterns under names that no other drawing of the page has.
fn patterns(part: usize) -> Markup {
    let name = |kind: &str| format!("{kind}-{part}");
    markup! {
        defs {
            pattern id=(name("root")) width="6" height="6" patternUnits="userSpaceOnUse" { path d="M0 0L6 6" stroke="#8a4b00" stroke-width="1.6" {} }
            pattern id=(name("runs")) width="6" height="6" patternUnits="userSpaceOnUse" { path d="M0 6L6 0" stroke="#004f7c" stroke-width="1.6" {} }
            pattern id=(name("side")) width="5" height="5" patternUnits="userSpaceOnUse" { path d="M2 0V5" stroke="#005c46" stroke-width="1.6" {} }
        }
    }
}

fn placed(stretch: &super::row::Stretch, top: f64, x: &impl Fn(f64) -> f64, part: usize) -> Markup {
    let Some([from, to]) = stretch.along_mm else {
        return markup! {};
    };
    let pale = if stretch.confidence < 0.75 {
        "0.4"
    } else {
        "1"
    };
    let said = format!(
        "{}, {} to {} mm{}",
        stretch.kind.replace('-', " "),
        plain(from, 1),
        plain(to, 1),
        if stretch.counts {
            ""
        } else {
            ", in a discarded end"
        }
    );
    let fusion = FUSION.iter().find(|(kind, ..)| *kind == stretch.kind);
    markup! {
        @match fusion {
            Some((_, letter, _, share, pattern)) => {
                @let (y, wide) = (top + share * LINE, (x(to) - x(from)).max(2.0));
                rect x=(r(x(from))) y=(r(y)) width=(r(wide)) height=(r(0.28 * LINE)) opacity=(pale)
                    fill=(format!("url(#{pattern}-{part})")) stroke="#222" stroke-width="0.8" { title { (said) } }
                @if wide > 14.0 { text.letter x=(r(x(from) + 3.0)) y=(r(y + 0.27 * LINE)) { (letter) } }
            }
            None => {
                circle cx=(r(x(0.5 * (from + to)))) cy=(r(top + 0.5 * LINE)) r="3" opacity=(pale) { title { (said) } }
            }
        }
    }
}

/// What is drawn over time: record name, title, unit.
const OVER_TIME: [(&str, &str, &str); 3] = [
    ("root_unfused_percent", "root not fused", "%"),
    ("inter_run_unfused_percent", "not fused between passes", "%"),
    ("inscribed_throat_mm", "throat", "mm"),
];

/// A welder's coupons in order of their dates, one small drawing a figure.
pub(super) fn over_time(rows: &[Row]) -> Markup {
    let points = |row: &Row| {
        row.points().map(|p| Size {
            value: p.left,
            expanded: p.expanded_uncertainty,
        })
    };
    markup! {
        (course(rows, "points", "", points))
        @for (name, title, unit) in OVER_TIME {
            (course(rows, title, unit, |row| row.size(name)))
        }
    }
}

fn course(rows: &[Row], title: &str, unit: &str, of: impl Fn(&Row) -> Option<Size>) -> Markup {
    let found: Vec<(&Row, Size)> = rows
        .iter()
        .filter_map(|row| Some((row, of(row)?)))
        .collect();
    if found.len() < 2 {
        return markup! {};
    }
    let (tall, foot) = (150.0, 44.0);
    let most = found
        .iter()
        .map(|(_, s)| s.value + s.expanded)
        .fold(0.1, f64::max);
    let step = step(most, 5.0);
    let most = (most / step).ceil() * step;
    let y = |v: f64| 10.0 + (1.0 - v.max(0.0) / most) * tall;
    let x = |n: usize| 70.0 + (n as f64 + 0.5) * (WIDTH - 90.0) / found.len() as f64;
    let path: Vec<String> = found
        .iter()
        .enumerate()
        .map(|(n, (_, s))| {
            format!(
                "{}{} {}",
                if n == 0 { "M" } else { "L" },
                r(x(n)),
                r(y(s.value))
            )
        })
        .collect();
    markup! {
        figure {
            svg viewBox=(format!("0 0 {WIDTH} {}", tall + foot + 10.0)) role="img" aria-label=(format!("{title} over time")) {
                @for i in 0..=((most / step).round() as usize) {
                    @let v = i as f64 * step;
                    line.grid x1="60" x2=(r(WIDTH - MARGIN)) y1=(r(y(v))) y2=(r(y(v))) {}
                    text.name x="52" y=(r(y(v) + 4.0)) { (shortest(v, 2)) }
                }
                path.course d=(path.join("")) {}
                @for (n, (row, size)) in found.iter().enumerate() {
                    line.bar x1=(r(x(n))) x2=(r(x(n))) y1=(r(y(size.value - size.expanded))) y2=(r(y(size.value + size.expanded))) {}
                    circle.dot cx=(r(x(n))) cy=(r(y(size.value))) r="4" {
                        title { (row.coupon) ": " (shortest(size.value, 2)) " ± " (shortest(size.expanded, 2)) " " (unit) }
                    }
                    text.tick x=(r(x(n))) y=(r(tall + 28.0)) { (row.coupon) }
                    text.tick x=(r(x(n))) y=(r(tall + 44.0)) { (row.facts.date.as_deref().unwrap_or("no date")) }
                }
            }
            figcaption { (title) @if !unit.is_empty() { ", " (unit) } ", coupon by coupon" }
        }
    }
}

/// A coordinate with as many digits as a drawing needs.
fn r(v: f64) -> String {
    format!("{v:.1}")
}

#[cfg(test)]
mod tests {
    use super::super::row::tests::{look, row};
    use super::*;

    #[test]
    fn steps_are_round() {
        assert_eq!(step(100.0, 12.0), 10.0);
        assert_eq!(step(3.1, 10.0), 0.5);
        assert_eq!(step(0.9, 10.0), 0.1);
    }

    #[test]
    fn a_size_is_drawn_with_its_limit_on_one_axis() {
        let mut coupon = row("HR-01", 1.0, 0.0);
        let mut section = look(Kind::Section, &[("leg_butting_mm", 6.0, 0.2)]);
        section
            .limits
            .push(("leg_butting_mm".into(), 5.0, Sense::AtLeast));
        coupon.looks = vec![section];
        let drawn = sizes(&[coupon], "leg_butting_mm", "Leg")
            .unwrap()
            .into_string();
        // 5.0 is the lowest place, the dot lies at 6.0 of 5.0 … 6.2, in steps of 0.2.
        assert!(drawn.contains("class=\"limit\" x1=\"150.0\""), "{drawn}");
        let at = 150.0 + 730.0 * 1.0 / 1.2;
        assert!(drawn.contains(&format!("cx=\"{at:.1}\"")), "{drawn}");
        assert!(sizes(&[row("HR-02", 1.0, 0.0)], "leg_butting_mm", "Leg").is_none());
    }
}
