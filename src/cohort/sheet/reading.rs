//! What cells of any sheet have in common: plain texts, numbers as people write them,
//! and no more cells than titles.

use super::SheetFault;
use super::layout::Row;

/// Longest text of a cell, characters.
const LONGEST: usize = 80;

/// What is wrong with a text; `None` when nothing is.
pub fn text_fault(text: &str) -> Option<String> {
    (text.chars().count() > LONGEST || text.chars().any(char::is_control)).then(|| {
        format!("the text is too long or holds a line break; write up to {LONGEST} characters")
    })
}

/// A finite number with a decimal point, or a comma where that may be one.
///
/// # Errors
/// What is wrong and what to write.
pub fn number(text: &str, decimal_comma: bool) -> Result<f64, String> {
    let plain = match decimal_comma && !text.contains('.') {
        true => text.trim().replacen(',', ".", 1),
        false => text.trim().to_owned(),
    };
    // What else Rust reads as a number ("inf", "1e3") nobody means.
    let digits = plain
        .chars()
        .all(|c| c.is_ascii_digit() || "+-.".contains(c));
    match plain.parse::<f64>() {
        Ok(value) if digits && value.is_finite() => Ok(value),
        _ => Err(format!(
            "'{text}' is no number; write a figure without a unit, for example 6.5"
        )),
    }
}

/// A row with filled cells that have no title.
pub fn too_many_cells(row: &Row, titles: usize) -> Option<SheetFault> {
    row.cells
        .iter()
        .skip(titles)
        .any(|cell| !cell.is_empty())
        .then(|| SheetFault {
            line: row.line,
            column: String::new(),
            message: format!(
                "it has {} cells under {titles} titles; put a text that contains the separator in \
                 quotes",
                row.cells.len(),
            ),
        })
}
