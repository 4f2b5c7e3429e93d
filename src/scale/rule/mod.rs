//! A rule lying in the measured plane.
//!
//! Rows of ticks are proposed ([`proposals`]), traced to a graduated edge
//! ([`crossing`], [`comb`], [`ticks`]), their unit named ([`graduation`], [`numerals`],
//! [`naming`]) and one of them fitted ([`fit`]).

mod body;
mod comb;
mod crossing;
mod fit;
mod graduation;
mod naming;
mod numerals;
mod proposals;
mod ticks;
mod tone;

use super::sight::Sight;
use super::{Request, Scale};
use crate::base::geometry::{Line, Point, Px};
use crate::base::raster::Gray;
use crate::photo::Photo;
use crate::record::{Code, Reason};
use naming::{Graduated, Row};
use rayon::prelude::*;
use ticks::Edge;

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
    fn allows(self, graduated: &Graduated) -> bool {
        let inch = graduated.reading.graduation.is_inch();
        match self {
            Self::Millimetre => !inch,
            Self::Inch => inch,
            Self::Any => true,
        }
    }
}

/// Lines looked at cheaply (fewer for a rule that cannot be overlooked), and rows of ticks followed in full resolution.
const LINES: usize = 60;
const GLANCE_LINES: usize = 20;
const ROWS: usize = 12;
/// Fewest ticks a scale may rest on.
const FEWEST: usize = 12;
/// What a row has to score before a rule that nobody spoke of is looked for there:
/// 25 ticks of full depth in a row without gap or stranger. Scratches, squares and
/// bead ripples make rows too; a rule laid down for use is far above.
const UNMISTAKABLE: f64 = 25.0 * comb::DEEPEST;
/// Graduated edges a rule has.
const EDGES: usize = 2;

/// Finds a rule and reads its scale.
///
/// # Errors
/// `no-scale` when no row of ticks is found, `scale-doubtful` when its unit or
/// numbering is not beyond doubt.
pub fn find(sight: &Sight, unit: Unit, request: &Request) -> Result<Scale, Reason> {
    let (small, factor) = sight.small();
    read(
        sight.photo,
        candidates(small, factor, LINES, 0.0),
        unit,
        request,
    )
}

/// A rule that lies in the picture although nobody spoke of one, if it cannot be
/// overlooked.
pub fn unasked(sight: &Sight, request: &Request) -> Option<Scale> {
    let (small, factor) = sight.small();
    let lines = candidates(small, factor, GLANCE_LINES, UNMISTAKABLE);
    read(sight.photo, lines, Unit::Any, request).ok()
}

/// Reads the rule whose ticks stand along one of `lines`.
fn read(
    photo: &Photo,
    lines: Vec<(Line<Px>, f64)>,
    unit: Unit,
    request: &Request,
) -> Result<Scale, Reason> {
    let (rows, nameless) = edges(photo, lines);
    let (named, doubtful) = naming::name(rows);
    let mut refused = None;
    for chosen in named.iter().filter(|g| unit.allows(g)) {
        let others: Vec<&Graduated> = named.iter().filter(|g| !std::ptr::eq(*g, chosen)).collect();
        let beside: Vec<&Edge> = others.iter().map(|o| &o.edge).chain(&doubtful).collect();
        match fit::scale_of(photo, chosen, &others, &beside, request) {
            Ok(scale) => return Ok(scale),
            Err(reason) => refused = Some(reason),
        }
    }
    if let Some(reason) = refused {
        return Err(reason);
    }
    if let Some(other) = named.first() {
        return Err(of_the_other_unit(other));
    }
    Err(match doubtful.first().or(nameless.first()) {
        Some(edge) => unclear(edge),
        None => Reason::new(
            Code::NoScale,
            "no row of rule graduations was found in the picture",
            "lay a rule flat in the plane of the section, in focus and free of glare, with at least 20 graduations in the picture; or declare the scale",
        ),
    })
}

/// Rows of ticks along `lines` whose lengths allow a unit, and rows whose lengths allow none.
fn edges(photo: &Photo, lines: Vec<(Line<Px>, f64)>) -> (Vec<Row>, Vec<Edge>) {
    let gray = &photo.luma;
    let mut rows: Vec<Row> = Vec::new();
    let mut nameless: Vec<Edge> = Vec::new();
    for (line, sign) in lines {
        let known = |line: &Line<Px>| rows.iter().any(|r| same_row(&r.edge, line));
        if known(&line) {
            continue;
        }
        let Some(edge) = ticks::edge_from(gray, &line, sign) else {
            continue;
        };
        if edge.ticks.len() < FEWEST || known(&edge.baseline) {
            continue;
        }
        match Row::new(photo, edge) {
            Ok(row) => rows.push(row),
            Err(edge) => nameless.push(edge),
        }
        if rows.len() == EDGES {
            break;
        }
    }
    (rows, nameless)
}

/// Of the `most` likeliest lines those with a regular row of ticks that scores `least` or more, the best first, with
/// the sign that makes their ticks dark. Looked for in `small`, whose samples span
/// `factor` px; the lines are in the photograph.
fn candidates(small: &Gray, factor: f64, most: usize, least: f64) -> Vec<(Line<Px>, f64)> {
    let mut rated: Vec<(f64, Line<Px>, f64)> = proposals::tick_lines(small, most)
        .into_par_iter()
        .flat_map_iter(|line| {
            let rows = crossing::rows_on(small, &line, 1.0).filter(|(row, _)| row.score >= least);
            rows.map(move |(row, sign)| {
                let p = line.at(row.ticks[row.ticks.len() / 2].1);
                let full = Line::new(Point::new(p.x * factor, p.y * factor), line.direction);
                (row.score, full, sign)
            })
        })
        .collect();
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

fn of_the_other_unit(other: &Graduated) -> Reason {
    let (found, say) = if other.reading.graduation.is_inch() {
        ("inches", "rule-inch")
    } else {
        ("millimetres", "rule-mm")
    };
    Reason::new(
        Code::NoScale,
        format!("the rule in the picture is graduated in {found} on the edge that can be read"),
        format!("use --scale {say}, or lay the other edge of the rule so that it is seen"),
    )
}

/// Two ticks of the row, as far apart as they come, are named A and B: whoever
/// reads their distance off the rule has the scale.
fn unclear(edge: &Edge) -> Reason {
    let at = edge.centre();
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
            "show at least three centimetres (or two inches, with their numerals) of the rule with clean graduations; or \
             read off the rule how many millimetres lie between A and B and give --scale declared:PX with \
             PX = {apart_px:.1} divided by them"
        ),
    )
    .pointing_at(ends.map(Point::to_array).to_vec())
}
