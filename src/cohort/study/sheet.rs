//! The sheet of a study: one line a look of one examiner at one coupon, as any
//! spreadsheet writes it.
//!
//! Columns `coupon`, `examiner` and, where somebody looked more than once, `look`; every
//! other column is something judged: measured values in mm, or verdicts in words. `note`
//! is for people. Read strictly: a study in which a slip of the pen was passed over says
//! something else than the examiners did, so any fault stops it, and all are told at once.

use super::super::sheet::SheetFault;
use super::super::sheet::layout::{Layout, Row};
use super::super::sheet::reading::{number, text_fault, too_many_cells};
use std::collections::{BTreeMap, HashMap};

/// Most of each that a study may have; what is larger is no study of a workshop.
const MOST_COUPONS: usize = 2000;
const MOST_EXAMINERS: usize = 40;
const MOST_LOOKS: u32 = 99;
/// Largest measured value, mm.
const LARGEST_MM: f64 = 100_000.0;
const NEW: &str = "'toeline study --new SHEET.csv' writes an example";

/// What stands under each coupon and examiner, by look.
pub type Grid<T> = BTreeMap<(usize, usize), BTreeMap<u32, T>>;

/// A read sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Looks {
    /// Coupons in the order of the sheet.
    pub coupons: Vec<String>,
    /// Examiners in the order of the sheet.
    pub examiners: Vec<String>,
    /// Judged columns.
    pub columns: Vec<Judged>,
}

/// A judged column.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Its title.
    pub title: String,
    /// What stands in it.
    pub cells: Cells,
}

/// What stands in a column.
#[derive(Clone, Debug, PartialEq)]
pub enum Cells {
    /// Measured values, mm.
    Values(Grid<f64>),
    /// Verdicts in lower case, one blank between words.
    Verdicts(Grid<String>),
}

/// Why a sheet is not used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unusable {
    /// It is no such sheet at all.
    NoSheet(String),
    /// These places have to be put right.
    Faults(Vec<SheetFault>),
}

/// What a title stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Title {
    Coupon,
    Examiner,
    Look,
    Judged,
    /// Not read.
    Note,
    /// A column without a title.
    None,
}

/// A line whose coupon, examiner and look are known.
struct Line<'a> {
    row: &'a Row,
    coupon: usize,
    examiner: usize,
    look: u32,
}

impl Looks {
    /// Reads the bytes of a sheet.
    ///
    /// # Errors
    /// It is no such sheet, or has faults; what to do stands in the messages.
    pub fn read(bytes: &[u8]) -> Result<Self, Unusable> {
        let layout = Layout::of(bytes).map_err(Unusable::NoSheet)?;
        let filled = |row: &Result<Row, String>| {
            row.as_ref()
                .map_or(true, |row| row.cells.iter().any(|cell| !cell.is_empty()))
        };
        let rows: Vec<Row> = layout
            .rows()
            .filter(filled)
            .collect::<Result<_, _>>()
            .map_err(Unusable::NoSheet)?;
        let [head, rows @ ..] = &rows[..] else {
            return Err(Unusable::NoSheet(format!("the sheet is empty; {NEW}")));
        };
        let titles = titles(head).map_err(Unusable::NoSheet)?;
        if rows.is_empty() {
            return Err(Unusable::NoSheet(format!(
                "the sheet has titles and no line under them; {NEW}"
            )));
        }
        let mut faults = Vec::new();
        let mut looks = Self::default();
        let lines = looks.lines(rows, &titles, &mut faults);
        for (at, title) in titles.iter().enumerate() {
            if *title == Title::Judged {
                let title = head.cells[at].clone();
                let cells = judged(&title, at, &lines, layout.decimal_comma(), &mut faults);
                looks.columns.push(Judged { title, cells });
            }
        }
        for (what, count, most) in [
            ("coupons", looks.coupons.len(), MOST_COUPONS),
            ("examiners", looks.examiners.len(), MOST_EXAMINERS),
        ] {
            if count > most {
                return Err(Unusable::NoSheet(format!(
                    "it names {count} {what}, more than the {most} a study may have; check that \
                     the columns are under the right titles"
                )));
            }
        }
        if faults.is_empty() {
            return Ok(looks);
        }
        faults.sort_by_key(|fault| fault.line);
        Err(Unusable::Faults(faults))
    }

    /// Finds out of every line whose look at what it is.
    fn lines<'a>(
        &mut self,
        rows: &'a [Row],
        titles: &[Title],
        faults: &mut Vec<SheetFault>,
    ) -> Vec<Line<'a>> {
        let mut lines = Vec::new();
        let mut seen: HashMap<(usize, usize, u32), u64> = HashMap::new();
        let numbered = titles.contains(&Title::Look);
        for row in rows {
            faults.extend(too_many_cells(row, titles.len()));
            for (cell, title) in row.cells.iter().zip(titles) {
                if *title == Title::None && !cell.is_empty() {
                    faults.push(fault(
                        row,
                        "",
                        format!(
                            "'{cell}' stands under no title; give its column one, or empty the cell"
                        ),
                    ));
                }
            }
            let coupon = named(row, titles, Title::Coupon, &mut self.coupons, faults);
            let examiner = named(row, titles, Title::Examiner, &mut self.examiners, faults);
            let look = match numbered {
                true => look(row, titles, faults),
                false => Some(0),
            };
            let (Some(coupon), Some(examiner), Some(mut look)) = (coupon, examiner, look) else {
                continue;
            };
            if !numbered {
                // Without numbers the looks count in the order of the lines.
                let before = |look: &u32| seen.contains_key(&(coupon, examiner, *look));
                look = (1..).find(|look| !before(look)).unwrap_or(1);
            }
            if let Some(first) = seen.insert((coupon, examiner, look), row.line) {
                faults.push(fault(
                    row,
                    "look",
                    format!(
                        "line {first} is look {look} of examiner {} at coupon {} already; give \
                         this one another number",
                        self.examiners[examiner], self.coupons[coupon]
                    ),
                ));
            }
            lines.push(Line {
                row,
                coupon,
                examiner,
                look,
            });
        }
        lines
    }
}

fn fault(row: &Row, column: &str, message: impl Into<String>) -> SheetFault {
    SheetFault {
        line: row.line,
        column: column.to_owned(),
        message: message.into(),
    }
}

fn titles(head: &Row) -> Result<Vec<Title>, String> {
    let mut plain: Vec<String> = Vec::new();
    let mut found = Vec::new();
    for title in &head.cells {
        let lower = match title.to_lowercase().as_str() {
            "part" | "specimen" => "coupon".to_owned(),
            "inspector" | "appraiser" => "examiner".to_owned(),
            "repeat" | "trial" => "look".to_owned(),
            other => other.to_owned(),
        };
        if !lower.is_empty() && plain.contains(&lower) {
            return Err(format!(
                "line {}: the column '{title}' is there twice, under this or another of its names; \
                 give each column a title of its own",
                head.line
            ));
        }
        found.push(match lower.as_str() {
            "coupon" => Title::Coupon,
            "examiner" => Title::Examiner,
            "look" => Title::Look,
            "note" => Title::Note,
            "" => Title::None,
            _ => Title::Judged,
        });
        plain.push(lower);
    }
    for (title, name) in [(Title::Coupon, "coupon"), (Title::Examiner, "examiner")] {
        if !found.contains(&title) {
            return Err(format!(
                "line {} is taken for the titles of the columns, and none is '{name}'; {NEW}",
                head.line
            ));
        }
    }
    if !found.contains(&Title::Judged) {
        return Err(format!(
            "line {} has no column for a measured value or a verdict, for example leg_mm or \
             verdict; {NEW}",
            head.line
        ));
    }
    Ok(found)
}

fn cell<'a>(row: &'a Row, titles: &[Title], title: Title) -> &'a str {
    let at = titles.iter().position(|t| *t == title);
    at.and_then(|at| row.cells.get(at))
        .map_or("", String::as_str)
}

/// Number of the coupon or the examiner that a line names, new ones added.
fn named(
    row: &Row,
    titles: &[Title],
    title: Title,
    names: &mut Vec<String>,
    faults: &mut Vec<SheetFault>,
) -> Option<usize> {
    let (column, example) = match title {
        Title::Coupon => ("coupon", "HR-07"),
        _ => ("examiner", "A"),
    };
    let name = cell(row, titles, title);
    let wrong = match name.is_empty() {
        true => Some(format!("the cell is empty; write for example {example}")),
        false => text_fault(name),
    };
    if let Some(message) = wrong {
        faults.push(fault(row, column, message));
        return None;
    }
    if let Some(at) = names.iter().position(|known| known == name) {
        return Some(at);
    }
    let lower = name.to_lowercase();
    if let Some(known) = names.iter().find(|known| known.to_lowercase() == lower) {
        let message = format!(
            "'{name}' and '{known}' of an earlier line differ in capital letters only; write the \
             same name the same way"
        );
        faults.push(fault(row, column, message));
        return None;
    }
    names.push(name.to_owned());
    Some(names.len() - 1)
}

fn look(row: &Row, titles: &[Title], faults: &mut Vec<SheetFault>) -> Option<u32> {
    let text = cell(row, titles, Title::Look);
    match text.parse::<u32>() {
        Ok(look) if (1..=MOST_LOOKS).contains(&look) => Some(look),
        _ => {
            let message = format!(
                "'{text}' is no number of a look; write 1 for the first, 2 for the second, up to \
                 {MOST_LOOKS}"
            );
            faults.push(fault(row, "look", message));
            None
        }
    }
}

/// The cells of one column; whether it holds values or verdicts its title says, or, where
/// that does not, what most cells are.
fn judged(
    title: &str,
    at: usize,
    lines: &[Line<'_>],
    decimal_comma: bool,
    faults: &mut Vec<SheetFault>,
) -> Cells {
    let filled: Vec<(&Line<'_>, &str)> = lines
        .iter()
        .filter_map(|line| Some((line, line.row.cells.get(at)?.as_str())))
        .filter(|(_, text)| !text.is_empty())
        .collect();
    let is_number = |text: &str| number(text, decimal_comma).is_ok();
    let lower = title.to_lowercase();
    let numbers = filled.iter().filter(|(_, text)| is_number(text)).count();
    let named = lower.contains("verdict") || lower.ends_with("mm");
    let verdicts = match named {
        true => lower.contains("verdict"),
        false => 2 * numbers < filled.len(),
    };
    if verdicts {
        let mut grid = Grid::new();
        for (line, text) in filled {
            let mixed = (!named && is_number(text)).then(|| {
                format!(
                    "'{text}' is a number among words; write a word, or put 'verdict' into the \
                     column's title if numbers are verdicts here"
                )
            });
            match mixed.or_else(|| text_fault(text)) {
                Some(message) => faults.push(fault(line.row, title, message)),
                None => put(&mut grid, line, plain(text)),
            }
        }
        return Cells::Verdicts(grid);
    }
    let mut grid = Grid::new();
    for (line, text) in filled {
        let large = |value: f64| format!("{value} mm is out of range; write a length in mm");
        let value = number(text, decimal_comma).and_then(|value| match value.abs() <= LARGEST_MM {
            true => Ok(value),
            false => Err(large(value)),
        });
        match value {
            Ok(value) => put(&mut grid, line, value),
            Err(message) => faults.push(fault(line.row, title, message)),
        }
    }
    Cells::Values(grid)
}

fn put<T>(grid: &mut Grid<T>, line: &Line<'_>, what: T) {
    grid.entry((line.coupon, line.examiner))
        .or_default()
        .insert(line.look, what);
}

/// A verdict as it is compared: `Too-close to call` is `too close to call`.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase().replace(['-', '_'], " ");
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(text: &str) -> Vec<String> {
        match Looks::read(text.as_bytes()) {
            Err(Unusable::Faults(faults)) => faults.iter().map(ToString::to_string).collect(),
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn values_and_verdicts_are_told_apart_by_title_or_content() {
        let looks = Looks::read(
            "Coupon;Examiner;Look;leg_mm;root;grade verdict;note\n\
             HR-01;A;1;6,5;Too-close to_call;2;dull light\n\
             HR-01;B;1;;within;3;\n"
                .as_bytes(),
        )
        .unwrap();
        assert_eq!(looks.coupons, ["HR-01"]);
        assert_eq!(looks.examiners, ["A", "B"]);
        let [leg, root, grade] = &looks.columns[..] else {
            panic!("{looks:?}")
        };
        let Cells::Values(leg) = &leg.cells else {
            panic!("{leg:?}")
        };
        assert_eq!((leg.len(), leg[&(0, 0)][&1]), (1, 6.5));
        let Cells::Verdicts(root) = &root.cells else {
            panic!("{root:?}")
        };
        assert_eq!(root[&(0, 0)][&1], "too close to call");
        assert!(matches!(&grade.cells, Cells::Verdicts(g) if g[&(0, 1)][&1] == "3"));
    }

    #[test]
    fn looks_without_numbers_count_in_their_order() {
        let text = "coupon,examiner,leg\nHR-01,A,6.5\nHR-01,A,6.6\nHR-01,B,6.4\n";
        let looks = Looks::read(text.as_bytes()).unwrap();
        let Cells::Values(leg) = &looks.columns[0].cells else {
            panic!()
        };
        assert_eq!(leg[&(0, 0)], BTreeMap::from([(1, 6.5), (2, 6.6)]));
    }

    #[test]
    fn every_fault_is_told_with_line_column_and_what_to_write() {
        let told = faults(
            "coupon,examiner,look,leg_mm,root\n\
             ,A,1,6.5,within\n\
             HR-01,,1,6.5,within\n\
             HR-01,A,first,6.5,within\n\
             HR-01,A,1,six,within\n\
             HR-01,A,1,6.5,within\n\
             HR-01,a,1,6.5,within\n\
             HR-01,B,1,6.5,3\n\
             HR-01,C,1,1000000,within,over\n\
             HR-01,C,0,6.5,within\n",
        );
        let want = [
            ("line 2, column 'coupon'", "HR-07"),
            ("line 3, column 'examiner'", "for example A"),
            ("line 4, column 'look'", "write 1 for the first"),
            ("line 5, column 'leg_mm'", "for example 6.5"),
            ("line 6, column 'look'", "another number"),
            ("line 7, column 'examiner'", "capital letters"),
            ("line 8, column 'root'", "among words"),
            ("line 9: ", "6 cells under 5 titles"),
            ("line 9, column 'leg_mm'", "out of range"),
            ("line 10, column 'look'", "write 1 for the first"),
        ];
        assert_eq!(told.len(), want.len(), "{told:#?}");
        for (told, (place, hint)) in told.iter().zip(want) {
            assert!(told.starts_with(place) && told.contains(hint), "{told}");
        }
        let told = faults("coupon,examiner,,leg\nHR-01,A,x,6\n");
        assert!(told[0].contains("under no title"), "{told:?}");
    }

    #[test]
    fn what_is_no_such_sheet_says_so() {
        for (text, hint) in [
            ("", "--new"),
            ("coupon,examiner,leg\n", "no line"),
            ("coupon,leg\nHR-01,6\n", "'examiner'"),
            ("examiner,leg\nA,6\n", "'coupon'"),
            ("coupon,examiner,look\nHR-01,A,1\n", "leg_mm"),
            ("coupon,examiner,leg,Leg\nHR-01,A,6,6\n", "twice"),
            ("PK\u{3}\u{4}", "CSV UTF-8"),
        ] {
            match Looks::read(text.as_bytes()) {
                Err(Unusable::NoSheet(message)) => {
                    assert!(message.contains(hint), "{text}: {message}");
                }
                other => panic!("{text}: {other:?}"),
            }
        }
        let many: String = (0..50).map(|i| format!("HR-01,E{i},6\n")).collect();
        let found = Looks::read(format!("coupon,examiner,leg\n{many}").as_bytes());
        assert!(matches!(found, Err(Unusable::NoSheet(m)) if m.contains("50 examiners")));
    }
}
