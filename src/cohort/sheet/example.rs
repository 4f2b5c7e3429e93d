//! The empty sheet: titles and one filled line to show how.

use super::columns::COLUMNS;

/// The text of a sheet to fill in.
pub fn example() -> String {
    let shown = COLUMNS
        .iter()
        .filter_map(|entry| Some((entry.title, entry.example?)));
    let (titles, cells): (Vec<&str>, Vec<&str>) = shown.unzip();
    // None of them holds a comma or a quote.
    format!("{}\n{}\n", titles.join(","), cells.join(","))
}
