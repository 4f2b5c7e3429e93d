//! The most regular row of ticks that a line crosses.

use super::comb::{self, Row};
use super::tone::tone;
use crate::base::geometry::{Line, Px};
use crate::base::raster::Gray;

/// Pitches that can be told apart and still be a rule's, px.
const PITCH_RANGE: (f64, f64) = (3.5, 400.0);

/// Mean brightness along `line` across the picture, averaged over `half` px to
/// either side; samples are 1 px apart. Returns the profile and the place along
/// the line of its first sample.
fn profile(gray: &Gray, line: &Line<Px>, half: f64) -> Option<(Vec<f64>, f64)> {
    let (from, to) = within(gray, line)?;
    let rows = (half * 2.0).round().clamp(1.0, 7.0) as usize;
    let n = (to - from) as usize;
    let normal = line.normal();
    let values = (0..n)
        .map(|i| {
            let p = line.at(from + i as f64);
            let sum: f64 = (0..rows)
                .map(|r| {
                    let off = if rows > 1 {
                        half * (2.0 * r as f64 / (rows - 1) as f64 - 1.0)
                    } else {
                        0.0
                    };
                    tone(gray, p.x + normal.x * off, p.y + normal.y * off)
                })
                .sum();
            sum / rows as f64
        })
        .collect();
    Some((values, from))
}

/// Where `line` runs inside the picture, as places along it.
fn within(gray: &Gray, line: &Line<Px>) -> Option<(f64, f64)> {
    let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
    for (p, d, size) in [
        (line.point.x, line.direction.x, gray.width() as f64),
        (line.point.y, line.direction.y, gray.height() as f64),
    ] {
        if d.abs() < 1e-12 {
            if p < 0.0 || p > size {
                return None;
            }
            continue;
        }
        let (a, b) = ((1.0 - p) / d, (size - 1.0 - p) / d);
        from = from.max(a.min(b));
        to = to.min(a.max(b));
    }
    (to - from > 20.0).then_some((from, to))
}

/// The most regular row of ticks crossing `line`, its places along the line.
/// `sign` is 1 for dark ticks and −1 for light ones.
pub fn row_on(gray: &Gray, line: &Line<Px>, half: f64, sign: f64) -> Option<Row> {
    let (mut values, from) = profile(gray, line, half)?;
    if sign < 0.0 {
        negate(&mut values);
    }
    row_in(&values, from)
}

/// The most regular row of dark ticks crossing `line` and that of light ones,
/// with their signs.
pub fn rows_on(
    gray: &Gray,
    line: &Line<Px>,
    half: f64,
) -> impl Iterator<Item = (Row, f64)> + use<> {
    let rows = match profile(gray, line, half) {
        None => [None, None],
        Some((mut values, from)) => {
            let dark = row_in(&values, from);
            negate(&mut values);
            [dark, row_in(&values, from)]
        }
    };
    rows.into_iter()
        .zip([1.0, -1.0])
        .filter_map(|(row, sign)| Some((row?, sign)))
}

/// Makes light ticks dark.
fn negate(values: &mut [f64]) {
    values.iter_mut().for_each(|v| *v = -*v);
}

fn row_in(profile: &[f64], from: f64) -> Option<Row> {
    let mut row = comb::best_row(&comb::dips(profile), PITCH_RANGE)?;
    for tick in &mut row.ticks {
        tick.1 += from;
    }
    Some(row)
}
