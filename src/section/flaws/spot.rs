//! What a dark spot is: a pore, an inclusion, a line seen as a spot, or the
//! gap between the members.

use super::blob::Blob;
use super::geometry::WeldShape;
use super::line::MOST_WIDTH_MM;
use crate::base::geometry::{Joint, Point};

/// Smallest pore or inclusion stated, mm.
pub const LEAST_MM: f64 = 0.2;
/// Narrowest spot with an area, mm; what is narrower is a line.
const LEAST_WIDTH_MM: f64 = 0.1;
/// Share of light missing in a hole.
const LEAST_DEPTH: f64 = 0.6;
/// The same against what the darkest tenth of the metal shows.
const LEAST_OVER_TEXTURE: f64 = 3.3;
/// Slimness from which on a spot is a line ([`Blob::slimness`]). Lines with
/// known truth have 3.8 to 15, inclusions 1.5 to 4.2, so that between the two
/// neither is sure; lines as wide as a quarter of their length lie below.
const LINE_FROM: f64 = 3.6;
/// Slimness up to which a line inside the metal may be an inclusion after all.
const SURE_LINE_FROM: f64 = 4.8;
/// The same on an original surface, where lines are expected.
const LINE_FROM_ON_SURFACE: f64 = 2.3;
/// Share of a spot in the searched area from which on it belongs to the weld.
pub const LEAST_OPEN: f64 = 0.7;
/// Least area by that of the circle around it for a pore: an ellipse of three
/// to two has 0.67.
const ROUND: f64 = 0.6;
/// Red less green that a stain of rust has over the metal, grey levels.
const RUST: f64 = 18.0;
/// Hardness indents: this many at least in a row, of sizes and distances alike
/// within these shares.
const IN_A_ROW: usize = 3;
const ALIKE: f64 = 0.25;
/// Distance of an indent from the row's line, against its size.
const OFF_ROW: f64 = 0.5;

/// What a spot is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A round hole.
    Pore,
    /// A hole or foreign body of another shape.
    Inclusion,
    /// Long and thin: judged as a line.
    Line,
    /// Judged as a line, and may be an inclusion.
    PerhapsLine,
    /// Not in the weld, or no flaw: gap between the members, stain, indent.
    Other,
}

/// How far a spot's evidence lies over what is asked for.
pub fn merit(blob: &Blob, dark_tenth: f64) -> f64 {
    let over_texture = LEAST_OVER_TEXTURE * dark_tenth.max(1e-3);
    (blob.depth / LEAST_DEPTH).min(blob.depth / over_texture)
}

/// A spot's kind and its merit (1 = just enough evidence). `dark_tenth` = the
/// darkness that a tenth of the metal exceeds; `tint` = the metal's own red
/// less green; `rowed` = whether it stands in a row of its like.
pub fn judge(
    blob: &Blob,
    shape: &WeldShape,
    sample_mm2: f64,
    (dark_tenth, tint): (f64, f64),
    rowed: bool,
) -> (Kind, f64) {
    let merit = merit(blob, dark_tenth);
    let line_from = if shape.on_surface(blob.centre, 0.2) {
        LINE_FROM_ON_SURFACE
    } else {
        LINE_FROM
    };
    let slimness = blob.slimness(sample_mm2);
    let long = slimness >= line_from;
    let rusty = blob.chroma[0] - tint > RUST;
    let kind = if blob.share_open < LEAST_OPEN || rusty || rowed {
        Kind::Other
    } else if blob.widest_mm < LEAST_WIDTH_MM || (long && blob.widest_mm <= MOST_WIDTH_MM) {
        if slimness < SURE_LINE_FROM {
            Kind::PerhapsLine
        } else {
            Kind::Line
        }
    } else if merit < 1.0 || blob.greatest_mm < LEAST_MM {
        Kind::Other
    } else if blob.roundness() >= ROUND {
        Kind::Pore
    } else {
        Kind::Inclusion
    };
    (kind, merit)
}

/// For every spot, whether it stands in a straight row of evenly spaced spots
/// of one size, as hardness indents do and pores do not.
pub fn in_rows(spots: &[(Point<Joint>, f64)]) -> Vec<bool> {
    let mut rowed = vec![false; spots.len()];
    for i in 0..spots.len() {
        for j in 0..spots.len() {
            let ((a, size), (b, _)) = (spots[i], spots[j]);
            let step = b - a;
            if i == j || !alike(size, spots[j].1) || step.length() < 1.2 * size {
                continue;
            }
            let mut row = vec![i, j];
            let mut at = b;
            while let Some(k) = (0..spots.len()).find(|k| {
                let off = spots[*k].0 - (at + step);
                !row.contains(k)
                    && alike(size, spots[*k].1)
                    && off.length() <= (OFF_ROW * size).min(ALIKE * step.length())
            }) {
                row.push(k);
                at = spots[k].0;
            }
            if row.len() >= IN_A_ROW {
                for k in row {
                    rowed[k] = true;
                }
            }
        }
    }
    rowed
}

fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= ALIKE * a.max(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_row_is_known_and_scattered_spots_are_not() {
        let row = |x: f64, y: f64| (Point::<Joint>::new(x, y), 0.2);
        let spots = [
            row(0.0, 0.0),
            row(0.51, 0.26),
            row(1.0, 0.5),
            row(1.49, 0.76),
            row(0.4, 1.9),
            (Point::new(2.0, 1.0), 0.5),
        ];
        assert_eq!(in_rows(&spots), [true, true, true, true, false, false]);
        let scattered = [row(0.0, 0.0), row(0.5, 0.6), row(2.0, 0.1), row(1.1, 2.0)];
        assert_eq!(in_rows(&scattered), [false; 4]);
    }
}
