//! Which unit each graduated edge is in, from all that speaks for it: lengths of
//! its ticks, numerals, the size that rules are made in, and the other edge.
//!
//! Millimetres are named by the lengths alone. Fractions of an inch are named
//! only when numerals, on this edge or the other, stand at its whole inches,
//! and every other fraction is ruled out.

use super::graduation::{self, Graduation, Reading};
use super::numerals::{self, Verdict};
use super::ticks::Edge;
use crate::base::numeric::{median, quantile};
use crate::photo::Photo;

/// A graduated edge with its unit.
pub struct Graduated {
    pub edge: Edge,
    pub reading: Reading,
    /// What the unit rests on, as a person would say it.
    pub grounds: String,
}

impl Graduated {
    /// Scale along the edge at its middle, px/mm.
    pub fn px_per_mm(&self) -> f64 {
        px_per_mm(&self.edge, self.reading.graduation)
    }
}

/// An edge with the graduations that nothing speaks against.
pub struct Row {
    pub edge: Edge,
    left: Vec<Left>,
}

#[derive(Clone, Copy)]
struct Left {
    reading: Reading,
    /// Whether it stands without the other edge.
    confirmed: bool,
}

/// Two edges of one rule agree within this share in scale: perspective across a
/// rule changes it less, and the nearest wrong unit by far more (a quarter).
const AGREE: f64 = 0.05;
/// Smallest graduation lines on rules: the shortest of an edge are not all below
/// the first, mm, with the longest below the second as well (common practice, no
/// source; pocket rules have 1.2 and 5).
const SHORTEST_MM: f64 = 1.0;
const LONGEST_MM: f64 = 4.0;

impl Row {
    /// What the ticks of `edge` and its numerals allow; `None` when nothing.
    pub fn new(photo: &Photo, edge: Edge) -> Result<Self, Edge> {
        let readings = graduation::readings(&edge.lengths());
        let left: Vec<Left> = Graduation::ALL
            .iter()
            .filter_map(|g| {
                let phases: Vec<&Reading> =
                    readings.iter().filter(|r| r.graduation == *g).collect();
                standing(photo, &edge, &phases)
            })
            .collect();
        if left.is_empty() {
            return Err(edge);
        }
        Ok(Self { edge, left })
    }
}

/// What is left of one graduation at its possible phases: the phase that
/// numerals confirm, or the first that they do not refute.
fn standing(photo: &Photo, edge: &Edge, phases: &[&Reading]) -> Option<Left> {
    let first = **phases.first()?;
    if !first.graduation.is_inch() {
        return Some(Left {
            reading: first,
            confirmed: true,
        });
    }
    if too_small(edge, first.graduation) {
        return None;
    }
    let mut open = None;
    for reading in phases {
        match numerals::verdict(photo, edge, reading) {
            Verdict::Confirmed => {
                return Some(Left {
                    reading: **reading,
                    confirmed: true,
                });
            }
            Verdict::Silent => {
                open.get_or_insert(Left {
                    reading: **reading,
                    confirmed: false,
                });
            }
            Verdict::Refuted => {}
        }
    }
    open
}

/// Whether lines this short are on no rule if their unit is `graduation`.
fn too_small(edge: &Edge, graduation: Graduation) -> bool {
    let mm: Vec<f64> = edge
        .ticks
        .iter()
        .map(|t| t.relative_length() * graduation.pitch_mm())
        .collect();
    quantile(&mm, 0.25) < SHORTEST_MM && quantile(&mm, 0.99) < LONGEST_MM
}

/// The edges whose unit is beyond doubt, and those left in doubt.
pub fn name(rows: Vec<Row>) -> (Vec<Graduated>, Vec<Edge>) {
    let decided: Vec<Option<(Left, String)>> = (0..rows.len()).map(|k| decide(&rows, k)).collect();
    let (mut named, mut doubtful) = (Vec::new(), Vec::new());
    for (row, decision) in rows.into_iter().zip(decided) {
        match decision {
            Some((left, grounds)) => named.push(Graduated {
                edge: row.edge,
                reading: left.reading,
                grounds,
            }),
            None => doubtful.push(row.edge),
        }
    }
    (named, doubtful)
}

fn decide(rows: &[Row], k: usize) -> Option<(Left, String)> {
    let row = &rows[k];
    if let [only] = row.left.as_slice()
        && only.confirmed
    {
        let grounds = if only.reading.graduation.is_inch() {
            "numerals stand at its whole inches and not between".to_owned()
        } else {
            format!(
                "the pattern of long and short ones reads so far better than any other (margin {:.0})",
                only.reading.margin
            )
        };
        return Some((*only, grounds));
    }
    for other in (0..rows.len()).filter(|j| *j != k).map(|j| &rows[j]) {
        let mut agreeing = row.left.iter().filter_map(|l| {
            other
                .left
                .iter()
                .find(|o| {
                    let own = px_per_mm(&row.edge, l.reading.graduation);
                    let others = px_per_mm(&other.edge, o.reading.graduation);
                    (own / others - 1.0).abs() < AGREE
                })
                .map(|o| (l, o))
        });
        if let (Some((left, with)), None) = (agreeing.next(), agreeing.next())
            && (left.confirmed || with.confirmed)
        {
            return Some((
                *left,
                format!(
                    "it alone agrees with the other edge, which is in {}",
                    with.reading.graduation.name()
                ),
            ));
        }
    }
    None
}

fn px_per_mm(edge: &Edge, graduation: Graduation) -> f64 {
    let pitches: Vec<f64> = edge.ticks.iter().map(|t| t.pitch_px).collect();
    median(&pitches) / graduation.pitch_mm()
}
