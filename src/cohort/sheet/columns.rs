//! The sheet's columns: one entry each, from which titles are read, the empty
//! sheet is written and the help is made.

use super::SheetFault;
use super::layout::Row;

/// A column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    Coupon,
    Welder,
    Date,
    Process,
    Position,
    Notes,
    Joint,
    Thickness,
    Leg,
    Throat,
    Passes,
    Limits,
    Scale,
    ScaleOffset,
    Section,
    Fracture,
    Dihedral,
    Material,
    Discard,
    Decision,
    RuleClass,
    CardLine,
    Cracks,
    RootSide,
    BentFlat,
}

/// What is known of a column.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// Which.
    pub(super) column: Column,
    /// Its title.
    pub title: &'static str,
    /// What to write into it.
    pub what: &'static str,
    /// What stands in the example line; `None`: not in the empty sheet, but known.
    pub example: Option<&'static str>,
}

const fn entry(
    column: Column,
    title: &'static str,
    what: &'static str,
    example: Option<&'static str>,
) -> Entry {
    Entry {
        column,
        title,
        what,
        example,
    }
}

/// All columns; `coupon` is the only one a sheet must have.
pub const COLUMNS: &[Entry] = &[
    entry(Column::Coupon, "coupon", "the coupon's name", Some("HR-07")),
    entry(
        Column::Welder,
        "welder",
        "name or number; it stands in the archive's catalogue and in exports only",
        Some("W-12"),
    ),
    entry(
        Column::Date,
        "date",
        "welded on, 2026-03-14 or 14.03.2026",
        Some("2026-03-14"),
    ),
    entry(
        Column::Process,
        "process",
        "for example 135 or SMAW",
        Some("135"),
    ),
    entry(
        Column::Position,
        "position",
        "for example PB or 2F",
        Some("PB"),
    ),
    entry(
        Column::Notes,
        "notes",
        "what you saw with your own eyes; shown on the page of the class",
        Some(""),
    ),
    entry(Column::Joint, "joint", "tee, lap or corner", Some("tee")),
    entry(
        Column::Thickness,
        "thickness",
        "mm, the plate that ends at the joint / the one that runs through; one figure: both",
        Some("8/10"),
    ),
    entry(
        Column::Leg,
        "leg",
        "mm, what the drawing asks for",
        Some("6"),
    ),
    entry(Column::Throat, "throat", "mm, instead of the leg", Some("")),
    entry(Column::Passes, "passes", "number of passes laid", Some("1")),
    entry(
        Column::Limits,
        "limits",
        "a built-in table or a file; one for sections and one for breaks with | between",
        Some("iso5817-c|iso5817-c-break"),
    ),
    entry(
        Column::Scale,
        "scale",
        "as after --scale, for example rule-mm, card or chequer:5; empty: auto",
        Some("rule-mm"),
    ),
    entry(
        Column::ScaleOffset,
        "scale_offset",
        "mm, height of the scale above the measured face",
        Some("0"),
    ),
    entry(
        Column::Section,
        "section",
        "photographs of the section, | between several; or the word card",
        Some("HR-07.jpg"),
    ),
    entry(
        Column::Fracture,
        "fracture",
        "photographs of the broken weld, | between several; or the word card",
        Some("HR-07-a.jpg|HR-07-b.jpg"),
    ),
    entry(
        Column::Dihedral,
        "dihedral",
        "degrees between the plates",
        None,
    ),
    entry(
        Column::Material,
        "material",
        "carbon-steel, stainless or aluminium",
        None,
    ),
    entry(
        Column::Discard,
        "discard",
        "mm discarded at each end (breaks)",
        None,
    ),
    entry(Column::Decision, "decision", "as after --decision", None),
    entry(
        Column::RuleClass,
        "rule_class",
        "I, II or III, as marked on the rule",
        None,
    ),
    entry(
        Column::CardLine,
        "card_line",
        "mm, the scale card's control line as measured",
        None,
    ),
    entry(Column::Cracks, "cracks", "none or seen (breaks)", None),
    entry(
        Column::RootSide,
        "root_side",
        "top, bottom, left or right (breaks)",
        None,
    ),
    entry(
        Column::BentFlat,
        "bent_flat",
        "yes when the coupon bent flat without breaking",
        None,
    ),
];

impl Column {
    /// Its title.
    pub fn title(self) -> &'static str {
        COLUMNS
            .iter()
            .find(|entry| entry.column == self)
            .map_or("", |entry| entry.title)
    }
}

/// What each title of the first line stands for; one that is not known is told, and
/// its column left out.
///
/// # Errors
/// There is no column for the coupons' names, or a column is there twice.
pub fn titles(row: &Row, unknown: &mut Vec<SheetFault>) -> Result<Vec<Option<Column>>, String> {
    let mut columns: Vec<Option<Column>> = Vec::new();
    for title in &row.cells {
        let plain = title.to_lowercase().replace([' ', '-'], "_");
        let column = COLUMNS
            .iter()
            .find(|entry| entry.title == plain)
            .map(|entry| entry.column);
        // Several photographs may also stand in several columns.
        let may_repeat = matches!(column, None | Some(Column::Section | Column::Fracture));
        if columns.contains(&column) && !may_repeat {
            return Err(format!(
                "line {}: the column '{title}' is there twice",
                row.line
            ));
        }
        if column.is_none() && !title.is_empty() {
            unknown.push(SheetFault {
                line: row.line,
                column: title.clone(),
                message: format!("it is not known and left out; known are {}", all_titles()),
            });
        }
        columns.push(column);
    }
    match columns.contains(&Some(Column::Coupon)) {
        true => Ok(columns),
        false => Err(format!(
            "line {} is taken for the titles of the columns, and none is 'coupon'; titles are {}",
            row.line,
            all_titles()
        )),
    }
}

fn all_titles() -> String {
    let titles: Vec<&str> = COLUMNS.iter().map(|entry| entry.title).collect();
    titles.join(", ")
}
