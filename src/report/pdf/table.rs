//! Tables: titles repeated on every sheet of paper, row names marked as such.

use super::sheet::{Writer, classes, elements, is, text};
use scraper::ElementRef;
use std::fmt::Write as _;

impl Writer {
    pub fn table(&mut self, table: ElementRef<'_>) {
        let parts = |name: &str| {
            let name = name.to_owned();
            elements(table).filter(move |part| part.value().name() == name)
        };
        let rows = |part: &str| -> Vec<ElementRef<'_>> { parts(part).flat_map(elements).collect() };
        let (head, mut body) = (rows("thead"), rows("tbody"));
        body.extend(rows("tfoot"));
        let columns = head.iter().chain(&body).map(|row| width(*row)).max();
        let Some(columns) = columns.filter(|&n| n > 0) else {
            return;
        };
        self.out.push_str("figure(kind: table, ");
        if let Some(caption) = parts("caption").next() {
            self.out
                .push_str("caption: figure.caption(position: top, strong(");
            self.flow(caption);
            self.out.push_str(")), ");
        }
        let widths = widths(&head, &body, columns);
        let _ = writeln!(self.out, "table(columns: ({widths}),");
        if !head.is_empty() {
            self.out.push_str("table.header(");
            for row in head {
                self.row(row, columns, true);
            }
            self.out.push_str("),\n");
        }
        for row in body {
            self.row(row, columns, false);
        }
        self.out.push_str("))\n");
    }

    fn row(&mut self, row: ElementRef<'_>, columns: usize, title: bool) {
        for cell in elements(row) {
            let value = cell.value();
            let names_row = value.name() == "th" && !title;
            if names_row {
                self.out.push_str("pdf.header-cell(scope: \"row\", ");
            }
            let _ = write!(
                self.out,
                "table.cell(colspan: {}, {}classed({}, {}(",
                span(cell),
                if title {
                    "stroke: (bottom: 1pt), align: left + bottom, "
                } else {
                    ""
                },
                classes(value),
                if value.name() == "th" {
                    "strong"
                } else if is(value, "small") {
                    "small"
                } else {
                    ""
                },
            );
            self.flow(cell);
            self.out
                .push_str(if names_row { ")))),\n" } else { "))),\n" });
        }
        // A row that is short of cells must not draw the next one up.
        for _ in width(row)..columns {
            self.out.push_str("[],\n");
        }
    }
}

/// Characters that fit beside each other on upright paper.
const LINE: usize = 95;
/// Columns of longer texts share what the others leave …
const SHORT: usize = 22;
/// … by the length of their longest text, up to this.
const LONG: usize = 60;

/// The columns' widths. A column of short texts is as wide as they are, its title broken
/// into lines; the others share the rest of the paper.
fn widths(head: &[ElementRef<'_>], body: &[ElementRef<'_>], columns: usize) -> String {
    let mut longest = vec![1; columns];
    for (rows, title) in [(head, true), (body, false)] {
        for row in rows {
            let mut at = 0;
            for cell in elements(*row) {
                if span(cell) == 1
                    && let Some(longest) = longest.get_mut(at)
                {
                    let text = text(cell);
                    let length = |word: &str| word.chars().count();
                    *longest = match title {
                        true => text.split_whitespace().map(length).max().unwrap_or(0),
                        false => length(text.trim()),
                    }
                    .max(*longest);
                }
                at += span(cell);
            }
        }
    }
    let short: usize = longest.iter().filter(|n| **n <= SHORT).sum();
    longest
        .iter()
        .map(|n| match *n <= SHORT && short <= LINE {
            true => format!("{:.2}em, ", 0.72 * *n as f64 + 0.5),
            false => format!("{}fr, ", (*n).min(LONG)),
        })
        .collect()
}

fn span(cell: ElementRef<'_>) -> usize {
    let stated = cell.attr("colspan").and_then(|n| n.parse().ok());
    stated.unwrap_or(1).max(1)
}

fn width(row: ElementRef<'_>) -> usize {
    elements(row).map(span).sum()
}
