//! The sheet of a study: one line a look of one examiner at one coupon. Every
//! further column is a value or a verdict.

use crate::cohort::sheet::layout::{Layout, Row};
use std::collections::BTreeSet;

/// A read sheet.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct StudySheet {
    /// Coupons and examiners in the order they first appear.
    pub coupons: Vec<String>,
    /// See `coupons`.
    pub examiners: Vec<String>,
    /// Columns of numbers.
    pub values: Vec<Column<f64>>,
    /// Columns of words.
    pub verdicts: Vec<Column<String>>,
}

/// A column: what each examiner said of each coupon, look by look.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Column<T> {
    /// Its title.
    pub title: String,
    /// `looks[coupon][examiner]`, in the order of the sheet.
    pub looks: Vec<Vec<Vec<T>>>,
}

/// Columns that are not values, and other words for them.
const COUPON: [&str; 3] = ["coupon", "part", "specimen"];
const EXAMINER: [&str; 2] = ["examiner", "inspector"];
const LOOK: [&str; 3] = ["look", "repeat", "trial"];

/// Faults that are named before reading stops.
const MOST_FAULTS: usize = 20;

/// Reads a sheet; faults are told with line and column.
pub(super) fn read(bytes: &[u8]) -> Result<StudySheet, Vec<String>> {
    let layout = Layout::of(bytes).map_err(|fault| vec![fault])?;
    let mut rows: Vec<Row> = Vec::new();
    for row in layout.rows() {
        let row = row.map_err(|fault| vec![fault])?;
        if !row.cells.iter().all(String::is_empty) {
            rows.push(row);
        }
    }
    let Some((titles, lines)) = rows.split_first() else {
        return Err(vec![
            "the sheet is empty; 'toeline study --new SHEET.csv' writes one to fill in".to_owned(),
        ]);
    };
    let place = |names: &[&str]| {
        let mut at = titles
            .cells
            .iter()
            .enumerate()
            .filter(|(_, title)| names.contains(&title.to_lowercase().as_str()));
        (at.next().map(|(i, _)| i), at.next())
    };
    let needed = |names: &[&str]| match place(names) {
        (Some(at), None) => Ok(at),
        (Some(_), Some((_, again))) => Err(vec![format!(
            "line {}: '{again}' is there twice under this or another of its names; keep one",
            titles.line
        )]),
        (None, _) => Err(vec![format!(
            "line {}: there is no column '{}'; 'toeline study --new SHEET.csv' writes a sheet to fill in",
            titles.line, names[0]
        )]),
    };
    let (coupon, examiner, look) = (needed(&COUPON)?, needed(&EXAMINER)?, place(&LOOK).0);
    let mut faults = Vec::new();
    let mut seen = BTreeSet::new();
    for row in lines {
        let cell = |at: usize| row.cells.get(at).map_or("", String::as_str);
        for (at, title) in [(coupon, COUPON[0]), (examiner, EXAMINER[0])] {
            if cell(at).is_empty() {
                faults.push(format!(
                    "line {}, column '{title}': the cell is empty",
                    row.line
                ));
            }
        }
        if let Some(look) = look
            && !seen.insert((cell(coupon), cell(examiner), cell(look)))
        {
            faults.push(format!(
                "line {}: look '{}' of examiner {} at coupon {} is there already; number the looks",
                row.line,
                cell(look),
                cell(examiner),
                cell(coupon)
            ));
        }
        if row.cells.len() > titles.cells.len() {
            faults.push(format!(
                "line {}: there are more cells than titles; a decimal comma needs ; between the cells",
                row.line
            ));
        }
    }
    let order = |at: usize| {
        let mut names: Vec<String> = Vec::new();
        for row in lines {
            let name = row.cells.get(at).cloned().unwrap_or_default();
            if !name.is_empty() && !names.contains(&name) {
                names.push(name);
            }
        }
        names
    };
    let mut sheet = StudySheet {
        coupons: order(coupon),
        examiners: order(examiner),
        values: Vec::new(),
        verdicts: Vec::new(),
    };
    let own = [Some(coupon), Some(examiner), look];
    for (at, title) in titles.cells.iter().enumerate() {
        if own.contains(&Some(at)) || title.is_empty() {
            continue;
        }
        let cells: Vec<(u64, usize, usize, &str)> = lines
            .iter()
            .filter_map(|row| {
                let text = row.cells.get(at).filter(|t| !t.is_empty())?;
                let find = |names: &[String], at: usize| {
                    names.iter().position(|n| Some(n) == row.cells.get(at))
                };
                let (c, e) = (
                    find(&sheet.coupons, coupon)?,
                    find(&sheet.examiners, examiner)?,
                );
                Some((row.line, c, e, text.as_str()))
            })
            .collect();
        let number = |text: &str| number(text, layout.decimal_comma());
        let numbers = cells
            .iter()
            .filter(|(.., text)| number(text).is_some())
            .count();
        if numbers == 0 {
            let words = cells.iter().map(|(_, c, e, t)| (*c, *e, t.to_lowercase()));
            sheet
                .verdicts
                .push(column(title, &sheet.coupons, &sheet.examiners, words));
        } else {
            faults.extend(cells.iter().filter(|(.., t)| number(t).is_none()).map(|(line, .., text)| {
                format!("line {line}, column '{title}': '{text}' is no number, as others in this column are; leave the cell empty where nothing was measured")
            }));
            let values = cells
                .iter()
                .filter_map(|(_, c, e, t)| Some((*c, *e, number(t)?)));
            sheet
                .values
                .push(column(title, &sheet.coupons, &sheet.examiners, values));
        }
    }
    if sheet.values.is_empty() && sheet.verdicts.is_empty() {
        faults
            .push("there is no column of values or verdicts beside coupon and examiner".to_owned());
    }
    if faults.is_empty() {
        return Ok(sheet);
    }
    let more = faults.len().saturating_sub(MOST_FAULTS);
    faults.truncate(MOST_FAULTS);
    if more > 0 {
        faults.push(format!("and {more} more"));
    }
    Err(faults)
}

fn column<T: Clone>(
    title: &str,
    coupons: &[String],
    examiners: &[String],
    cells: impl Iterator<Item = (usize, usize, T)>,
) -> Column<T> {
    let mut looks = vec![vec![Vec::new(); examiners.len()]; coupons.len()];
    for (coupon, examiner, value) in cells {
        looks[coupon][examiner].push(value);
    }
    Column {
        title: title.to_owned(),
        looks,
    }
}

fn number(text: &str, comma: bool) -> Option<f64> {
    let text = if comma {
        text.replace(',', ".")
    } else {
        text.to_owned()
    };
    text.replace('−', "-")
        .parse()
        .ok()
        .filter(|v: &f64| v.is_finite())
}

/// An example sheet: two examiners, three coupons, two looks each.
pub fn example() -> Vec<u8> {
    let mut text = "\u{feff}coupon,examiner,look,leg_butting_mm,verdict\n".to_owned();
    let measured = [
        (
            "HR-31",
            [6.1, 6.0, 6.3, 6.2],
            ["within", "within", "within", "within"],
        ),
        (
            "HR-32",
            [5.2, 5.3, 5.4, 5.4],
            ["outside", "outside", "within", "outside"],
        ),
        (
            "HR-33",
            [7.4, 7.4, 7.6, 7.5],
            ["within", "within", "within", "within"],
        ),
    ];
    for (coupon, legs, verdicts) in measured {
        for (i, (leg, verdict)) in legs.iter().zip(verdicts).enumerate() {
            let examiner = if i < 2 { "A" } else { "B" };
            text.push_str(&format!(
                "{coupon},{examiner},{},{leg},{verdict}\n",
                i % 2 + 1
            ));
        }
    }
    text.into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_is_read() {
        let sheet = read(&example()).unwrap();
        assert_eq!(sheet.coupons, ["HR-31", "HR-32", "HR-33"]);
        assert_eq!(sheet.examiners, ["A", "B"]);
        assert_eq!(sheet.values[0].looks[1], [vec![5.2, 5.3], vec![5.4, 5.4]]);
        assert_eq!(sheet.verdicts[0].looks[1][1], ["within", "outside"]);
    }

    #[test]
    fn decimal_commas_are_read_where_they_separate_nothing() {
        let sheet = read("Coupon;Inspector;leg\nA;1;6,5\nA;2;6,75\n".as_bytes()).unwrap();
        assert_eq!(sheet.values[0].looks[0], [vec![6.5], vec![6.75]]);
    }

    #[test]
    fn faults_have_line_and_column() {
        let fault = |text: &str| read(text.as_bytes()).unwrap_err().join("\n");
        assert!(fault("").contains("--new"));
        assert!(fault("coupon,leg\nA,6\n").contains("no column 'examiner'"));
        assert!(fault("coupon,examiner\nA,1\n").contains("no column of values"));
        let text = "coupon,examiner,look,leg\nA,1,1,6.1\n,1,2,6.2\nA,1,1,six\n";
        let said = fault(text);
        assert!(
            said.contains("line 3, column 'coupon': the cell is empty"),
            "{said}"
        );
        assert!(
            said.contains("line 4, column 'leg': 'six' is no number"),
            "{said}"
        );
        assert!(
            said.contains("line 4: look '1' of examiner 1 at coupon A is there already"),
            "{said}"
        );
    }
}
