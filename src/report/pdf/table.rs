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
        let layout = Layout::new(&head, &body, columns, self.landscape);
        let _ = write!(
            self.out,
            "{{ set text({:.3}em)\nfigure(kind: table, ",
            layout.letters
        );
        if let Some(caption) = parts("caption").next() {
            self.out
                .push_str("caption: figure.caption(position: top, strong(");
            self.flow(caption);
            self.out.push_str(")), ");
        }
        let _ = writeln!(self.out, "table(columns: ({}),", layout.widths);
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
        self.out.push_str("))}\n");
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
                    "bold"
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

/// Width of the paper's text in units of the letters' size, upright and across.
const ROOM: (f64, f64) = (56.0, 88.0);
/// Width of a letter, of what stands between columns, and least width of a column of
/// long texts, same unit; bold letters are the widest.
const LETTER: f64 = 0.72;
const BETWEEN: f64 = 1.2;
const LEAST: f64 = 13.0;
/// Columns of longer texts share what the others leave …
const SHORT: usize = 22;
/// … by the length of their longest text, up to this.
const LONG: usize = 60;
/// Smallest letters, as a share of the usual ones.
const SMALLEST: f64 = 0.65;

/// How a table is laid out.
struct Layout {
    /// Widths of the columns, as the typesetting library takes them.
    widths: String,
    /// Size of its letters against those around it.
    letters: f64,
}

impl Layout {
    /// A column of short texts is as wide as they are, its title broken into lines; the
    /// others share the rest of the paper. A table too wide for it has smaller letters.
    fn new(
        head: &[ElementRef<'_>],
        body: &[ElementRef<'_>],
        columns: usize,
        landscape: bool,
    ) -> Self {
        let longest = longest(head, body, columns);
        let wide = |n: usize| LETTER * n as f64;
        let least: f64 = longest
            .iter()
            .map(|n| BETWEEN + if *n <= SHORT { wide(*n) } else { LEAST })
            .sum();
        let room = if landscape { ROOM.1 } else { ROOM.0 };
        let letters = (room / least).clamp(SMALLEST, 1.0);
        let fits = letters * least <= room * 1.001;
        let widths = longest.iter().map(|n| match *n <= SHORT && fits {
            true => format!("{:.2}em, ", wide(*n) + 0.4),
            false => format!("{}fr, ", (*n).min(LONG)),
        });
        Self {
            widths: widths.collect(),
            letters,
        }
    }
}

/// Letters in the longest text of each column; of a title in its longest word.
fn longest(head: &[ElementRef<'_>], body: &[ElementRef<'_>], columns: usize) -> Vec<usize> {
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
    longest
}

fn span(cell: ElementRef<'_>) -> usize {
    let stated = cell.attr("colspan").and_then(|n| n.parse().ok());
    stated.unwrap_or(1).max(1)
}

fn width(row: ElementRef<'_>) -> usize {
    elements(row).map(span).sum()
}
