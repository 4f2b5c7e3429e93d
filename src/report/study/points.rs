//! Every value as a mark: a row a coupon, in it a lane and a shape an examiner.

use crate::base::rounding::{plain, shortest};
use crate::record::study::{Allowed, StudyColumn, ValueStudy};
use maud::{Markup, html};

/// Coupons that are drawn at most; more would not fit a sheet of paper.
const MOST: usize = 40;

const WIDTH: f64 = 560.0;
const RIGHT: f64 = 546.0;
const TOP: f64 = 10.0;
/// Height of a lane.
const LANE: f64 = 13.0;
/// Width of a letter, roughly.
const LETTER: f64 = 8.0;

/// The drawing with its key.
pub fn figure(column: &StudyColumn, found: &ValueStudy) -> Markup {
    let drawn = column.coupons.len().min(MOST);
    let longest = column.coupons[..drawn].iter().map(|c| c.chars().count());
    // A name takes up a third of the width at most; the rest of it is cut off.
    let letters = longest.max().unwrap_or(0).clamp(3, 20);
    let left = 14.0 + LETTER * letters as f64;
    let row = LANE * column.examiners.len() as f64 + 8.0;
    let bottom = TOP + row * drawn as f64;
    let limit = match found.allowed {
        Some(Allowed::LimitMm(limit)) => Some(limit),
        _ => None,
    };
    let ticks = ticks(found, limit);
    let (from, to) = (ticks[0], ticks[ticks.len() - 1]);
    let x = |value: f64| plain(left + (value - from) / (to - from) * (RIGHT - left), 1);
    let y = |coupon: usize, examiner: usize| {
        TOP + row * coupon as f64 + 4.0 + LANE * (examiner as f64 + 0.5)
    };
    let said = format!(
        "{}: values of {drawn} coupons by {} examiners, from {} to {} mm",
        column.title,
        column.examiners.len(),
        shortest(from, 4),
        shortest(to, 4)
    );
    html! {
        figure.drawn {
            figcaption {
                "Every value, mm: a row a coupon, a shape an examiner"
                @if drawn < column.coupons.len() {
                    " (the first " (drawn) " of " (column.coupons.len()) " coupons)"
                }
            }
            ul.key {
                @for (e, examiner) in column.examiners.iter().enumerate() {
                    li {
                        svg class="swatch" viewBox="-9 -9 18 18" aria-hidden="true" { (shape(e)) }
                        " " (examiner)
                    }
                }
                @if let Some(limit) = limit {
                    li {
                        svg class="swatch" viewBox="-9 -9 18 18" aria-hidden="true" {
                            line class="limit" x1="0" x2="0" y1="-9" y2="9" {}
                        }
                        " the limit, " (shortest(limit, 4)) " mm"
                    }
                }
            }
            svg viewBox=(format!("0 0 {WIDTH} {}", plain(bottom + 24.0, 0))) role="img" aria-label=(said) {
                @for tick in &ticks {
                    line class="grid" x1=(x(*tick)) x2=(x(*tick)) y1=(TOP) y2=(plain(bottom, 1)) {}
                    text class="mid" x=(x(*tick)) y=(plain(bottom + 18.0, 1)) { (shortest(*tick, 6)) }
                }
                @if let Some(limit) = limit {
                    line class="limit" x1=(x(limit)) x2=(x(limit)) y1=(TOP) y2=(plain(bottom, 1)) {}
                }
                @for (c, coupon) in column.coupons[..drawn].iter().enumerate() {
                    @let edge = plain(TOP + row * c as f64, 1);
                    line class="rule" x1="0" x2=(RIGHT) y1=(edge) y2=(edge) {}
                    text x="2" y=(plain(TOP + row * (c as f64 + 0.5) + 5.0, 1)) { (cut(coupon, letters)) }
                    @for (e, examiner) in column.examiners.iter().enumerate() {
                        @for value in &found.values_mm[c][e] {
                            g transform=(format!("translate({} {})", x(*value), plain(y(c, e), 1))) {
                                (shape(e))
                                title { (coupon) ", " (examiner) ": " (shortest(*value, 6)) " mm" }
                            }
                        }
                    }
                }
                line class="rule" x1="0" x2=(RIGHT) y1=(plain(bottom, 1)) y2=(plain(bottom, 1)) {}
            }
        }
    }
}

/// Round values that span all that is drawn, four to eight of them.
fn ticks(found: &ValueStudy, limit: Option<f64>) -> Vec<f64> {
    let all = found.values_mm.iter().flatten().flatten().copied();
    let (low, high) = all
        .chain(limit)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        });
    let span = (high - low).max(1e-6 * high.abs()).max(1e-9);
    let power = 10f64.powf((span / 4.0).log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| span / step <= 5.0)
        .unwrap_or(10.0 * power);
    let (first, last) = ((low / step).floor(), (high / step).ceil());
    let count = ((last - first) as usize).clamp(1, 8);
    (0..=count).map(|i| (first + i as f64) * step).collect()
}

fn cut(name: &str, letters: usize) -> String {
    match name.chars().count() > letters {
        true => name.chars().take(letters - 1).chain(['…']).collect(),
        false => name.to_owned(),
    }
}

/// Twelve shapes about the origin: six, hollow and filled.
fn shape(examiner: usize) -> Markup {
    let class = match (examiner / 6) % 2 {
        0 => "mark",
        _ => "mark full",
    };
    let path = match examiner % 6 {
        0 => return html! { circle class=(class) r="4.6" {} },
        1 => "M-4.4-4.4H4.4V4.4H-4.4Z",
        2 => "M0-5.4 5.2 4.2H-5.2Z",
        3 => "M0-6 6 0 0 6-6 0Z",
        4 => "M0 5.4 5.2-4.2H-5.2Z",
        _ => "M-4.6-4.6 4.6 4.6M4.6-4.6-4.6 4.6M0-6V6",
    };
    html! { path class=(class) d=(path) {} }
}
