//! The roster: one line a coupon, as any spreadsheet writes it.
//!
//! Read strictly: what cannot be understood is told with line and column and
//! what to write instead, and that line is left out; the rest goes on.

mod cells;
mod columns;
mod example;
pub(super) mod layout;
pub(super) mod reading;

pub use columns::COLUMNS;
pub use example::example;

use crate::archive::CouponFacts;
use crate::pipeline::{CardDesign, Decision, RuleClass, ScaleSource};
use crate::record::Coupon;
use cells::Cells;
use columns::Column;
use layout::Layout;
use std::fmt;

/// A read sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Lines that were understood.
    pub lines: Vec<Line>,
    /// What was not.
    pub faults: Vec<SheetFault>,
    /// Columns that are left out because they are not known.
    pub unknown: Vec<SheetFault>,
}

/// One line: a coupon, or some more photographs of one.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Line of the file, from 1.
    pub line: u64,
    /// The coupon's name.
    pub coupon: String,
    /// Who made it, when and how.
    pub facts: CouponFacts,
    /// What is declared of it, its name included.
    pub declared: Coupon,
    /// Where millimetres come from.
    pub scale: ScaleSource,
    /// Accuracy class of a rule.
    pub rule_class: RuleClass,
    /// Measured length of the scale card's control line, mm.
    pub card_line_mm: Option<f64>,
    /// Names or paths of limits; empty: the run's.
    pub limits: Vec<String>,
    /// Decision rule instead of the profile's.
    pub decision: Option<Decision>,
    /// Photographs of sections.
    pub section: Photos,
    /// Photographs of fracture faces.
    pub fracture: Photos,
}

/// Which photographs a line names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Photos {
    /// The sheet has no such column, so there are none.
    NoColumn,
    /// The cell is empty.
    Empty,
    /// Those that show the coupon's scale card.
    Card,
    /// These files.
    Named(Vec<String>),
}

/// Something in the sheet that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetFault {
    /// Line of the file, from 1.
    pub line: u64,
    /// The column's title; empty when it is about the whole line.
    pub column: String,
    /// What is wrong and what to write.
    pub message: String,
}

impl fmt::Display for SheetFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.column.as_str() {
            "" => write!(f, "line {}: {}", self.line, self.message),
            column => write!(f, "line {}, column '{column}': {}", self.line, self.message),
        }
    }
}

impl Sheet {
    /// Reads the bytes of a sheet.
    ///
    /// # Errors
    /// It is no such sheet at all; what to do stands in the message. Faults of
    /// single lines are in [`Sheet::faults`].
    pub fn read(bytes: &[u8]) -> Result<Self, String> {
        let layout = Layout::of(bytes)?;
        let mut sheet = Self::default();
        let mut titled: Option<Vec<Option<Column>>> = None;
        for row in layout.rows() {
            let row = row?;
            if row.cells.iter().all(|cell| cell.is_empty()) {
                continue;
            }
            let Some(columns) = &titled else {
                titled = Some(columns::titles(&row, &mut sheet.unknown)?);
                continue;
            };
            let mut cells = Cells::of(&row, columns, layout.decimal_comma());
            let line = line(&mut cells);
            match cells.into_faults() {
                faults if faults.is_empty() => sheet.lines.push(line),
                faults => sheet.faults.extend(faults),
            }
        }
        if titled.is_none() {
            return Err(
                "the sheet is empty; 'toeline batch --new SHEET.csv' writes one to fill in"
                    .to_owned(),
            );
        }
        sheet.agree();
        Ok(sheet)
    }

    /// Several lines may be about one coupon; what they say of it must agree.
    fn agree(&mut self) {
        let mut kept: Vec<Line> = Vec::with_capacity(self.lines.len());
        for mut line in std::mem::take(&mut self.lines) {
            let earlier = kept.iter().find(|kept| kept.coupon == line.coupon);
            match earlier.map(|earlier| (earlier.line, merged(&earlier.facts, &line.facts))) {
                None => kept.push(line),
                Some((_, Ok(facts))) => {
                    for kept in kept.iter_mut().filter(|kept| kept.coupon == line.coupon) {
                        kept.facts = facts.clone();
                    }
                    line.facts = facts;
                    kept.push(line);
                }
                Some((first, Err(column))) => self.faults.push(SheetFault {
                    line: line.line,
                    column: column.to_owned(),
                    message: format!(
                        "line {first} says something else of coupon {}; write the same, or leave \
                         the cell empty",
                        line.coupon
                    ),
                }),
            }
        }
        self.lines = kept;
    }
}

/// What two lines say together; the column in which they contradict each other.
fn merged(one: &CouponFacts, other: &CouponFacts) -> Result<CouponFacts, &'static str> {
    let both = |a: &Option<String>, b: &Option<String>, column| match (a, b) {
        (Some(a), Some(b)) if a != b => Err(column),
        _ => Ok(a.clone().or(b.clone())),
    };
    Ok(CouponFacts {
        welder: both(&one.welder, &other.welder, "welder")?,
        date: both(&one.date, &other.date, "date")?,
        process: both(&one.process, &other.process, "process")?,
        position: both(&one.position, &other.position, "position")?,
        notes: joined(&one.notes, &other.notes),
    })
}

/// Notes of several lines one after the other.
fn joined(one: &Option<String>, other: &Option<String>) -> Option<String> {
    match (one, other) {
        (Some(a), Some(b)) if a != b => Some(format!("{a}; {b}")),
        _ => one.clone().or_else(|| other.clone()),
    }
}

fn line(cells: &mut Cells<'_>) -> Line {
    let coupon = cells.coupon();
    let (thickness_butting_mm, thickness_nonbutting_mm) = cells.thickness().unzip();
    let scale = cells
        .parsed::<ScaleSource>(Column::Scale)
        .unwrap_or(ScaleSource::Auto);
    let declared = Coupon {
        id: Some(coupon.clone()),
        joint: cells.word(Column::Joint),
        dihedral_deg: cells.between(Column::Dihedral, 0.0..180.0),
        thickness_butting_mm,
        thickness_nonbutting_mm,
        leg_mm: cells.positive(Column::Leg),
        throat_mm: cells.positive(Column::Throat),
        passes: cells.passes(),
        material: cells.word(Column::Material),
        discard_mm: cells.not_negative(Column::Discard),
        scale_offset_mm: cells.number(Column::ScaleOffset),
        length_mm: match scale {
            ScaleSource::CouponLength { length_mm } => Some(length_mm),
            _ => None,
        },
        cracks: cells.word(Column::Cracks),
        root_side: cells.word(Column::RootSide),
        bent_flat: cells.yes(Column::BentFlat),
    };
    if declared.leg_mm.is_some() && declared.throat_mm.is_some() {
        cells.fault(
            Column::Throat,
            "the line gives a leg and a throat; leave one of the two empty",
        );
    }
    let section = cells.photos(Column::Section);
    if matches!(scale, ScaleSource::CouponLength { .. })
        && matches!(section, Photos::Named(_) | Photos::Card)
    {
        cells.fault(
            Column::Scale,
            "a coupon's length is a scale for fracture faces only; put the section on a line of its \
             own with for example rule-mm",
        );
    }
    Line {
        line: cells.line(),
        facts: CouponFacts {
            welder: cells.text(Column::Welder),
            date: cells.date(),
            process: cells.text(Column::Process),
            position: cells.text(Column::Position),
            notes: cells.text(Column::Notes),
        },
        scale,
        rule_class: cells.parsed(Column::RuleClass).unwrap_or_default(),
        card_line_mm: cells.within(Column::CardLine, CardDesign::CONTROL_ACCEPTED_MM),
        limits: cells.list(Column::Limits),
        decision: cells.parsed(Column::Decision),
        section,
        fracture: cells.photos(Column::Fracture),
        declared,
        coupon,
    }
}

#[cfg(test)]
mod tests;
