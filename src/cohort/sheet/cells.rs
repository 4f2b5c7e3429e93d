//! The cells of one line as values. Whatever cannot be understood is noted with
//! its column, and the line goes on so that all its faults are told at once.

use super::columns::Column;
use super::layout::Row;
use super::reading::{number, text_fault, too_many_cells};
use super::{Photos, SheetFault};
use crate::base::calendar::days_of_month;
use serde::de::DeserializeOwned;
use std::ops::{Range, RangeInclusive};
use std::str::FromStr;

/// What a coupon's name becomes part of is a file name, so not these.
const NOT_IN_NAMES: &str = "/\\:*?\"<>|";

/// The cells of a line.
pub struct Cells<'a> {
    row: &'a Row,
    columns: &'a [Option<Column>],
    decimal_comma: bool,
    faults: Vec<SheetFault>,
}

impl<'a> Cells<'a> {
    /// Of a row under those titles.
    pub fn of(row: &'a Row, columns: &'a [Option<Column>], decimal_comma: bool) -> Self {
        Self {
            row,
            columns,
            decimal_comma,
            faults: too_many_cells(row, columns.len()).into_iter().collect(),
        }
    }

    /// Line of the file.
    pub fn line(&self) -> u64 {
        self.row.line
    }

    /// What was not understood.
    pub fn into_faults(self) -> Vec<SheetFault> {
        self.faults
    }

    /// Notes a fault.
    pub fn fault(&mut self, column: Column, message: impl Into<String>) {
        self.faults.push(SheetFault {
            line: self.row.line,
            column: column.title().to_owned(),
            message: message.into(),
        });
    }

    fn all(&self, column: Column) -> impl Iterator<Item = &'a str> {
        let (row, columns) = (self.row, self.columns);
        row.cells
            .iter()
            .zip(columns)
            .filter(move |(cell, of)| **of == Some(column) && !cell.is_empty())
            .map(|(cell, _)| cell.as_str())
    }

    fn raw(&self, column: Column) -> Option<&'a str> {
        self.all(column).next()
    }

    /// A text.
    pub fn text(&mut self, column: Column) -> Option<String> {
        let text = self.raw(column)?;
        if let Some(message) = text_fault(text) {
            self.fault(column, message);
        }
        Some(text.to_owned())
    }

    /// The coupon's name.
    pub fn coupon(&mut self) -> String {
        let Some(name) = self.text(Column::Coupon) else {
            self.fault(
                Column::Coupon,
                "the coupon has no name; write for example HR-07",
            );
            return String::new();
        };
        if name.starts_with('.')
            || name.ends_with('.')
            || name.contains(|c| NOT_IN_NAMES.contains(c))
        {
            self.fault(
                Column::Coupon,
                format!("'{name}' cannot be a folder's name; leave out {NOT_IN_NAMES} and dots at the ends"),
            );
        }
        name
    }

    /// A date, as ISO 8601 writes it.
    pub fn date(&mut self) -> Option<String> {
        let text = self.raw(Column::Date)?;
        let parts = |separator| -> Option<Vec<u32>> {
            text.split(separator)
                .map(|part| part.trim().parse().ok())
                .collect()
        };
        let iso = parts('-')
            .filter(|p| p.len() == 3)
            .map(|p| [p[0], p[1], p[2]]);
        let dotted = parts('.')
            .filter(|p| p.len() == 3)
            .map(|p| [p[2], p[1], p[0]]);
        match iso.or(dotted) {
            Some([year, month, day])
                if (1900..2200).contains(&year)
                    && (1..=12).contains(&month)
                    && (1..=days_of_month(year, month)).contains(&day) =>
            {
                Some(format!("{year:04}-{month:02}-{day:02}"))
            }
            _ => {
                self.fault(
                    Column::Date,
                    format!("'{text}' is no date; write 2026-03-14 or 14.03.2026"),
                );
                None
            }
        }
    }

    /// One of the words the record knows.
    pub fn word<T: DeserializeOwned>(&mut self, column: Column) -> Option<T> {
        let text = self.raw(column)?;
        let value = serde_json::Value::String(text.to_lowercase());
        let word = serde_json::from_value(value).ok();
        if word.is_none() {
            self.fault(
                column,
                format!("'{text}' is not known; write {}", hint(column)),
            );
        }
        word
    }

    /// What is written as after an option.
    pub fn parsed<T: FromStr<Err = String>>(&mut self, column: Column) -> Option<T> {
        match self.raw(column)?.parse() {
            Ok(value) => Some(value),
            Err(message) => {
                self.fault(column, message);
                None
            }
        }
    }

    /// Whether `yes` stands there.
    pub fn yes(&mut self, column: Column) -> bool {
        match self.raw(column).map(str::to_lowercase).as_deref() {
            None | Some("no") => false,
            Some("yes") => true,
            Some(text) => {
                self.fault(
                    column,
                    format!("'{text}' is neither yes nor no; write one of them"),
                );
                false
            }
        }
    }

    /// A number.
    pub fn number(&mut self, column: Column) -> Option<f64> {
        let text = self.raw(column)?;
        match number(text, self.decimal_comma) {
            Ok(value) => Some(value),
            Err(message) => {
                self.fault(column, message);
                None
            }
        }
    }

    fn checked(&mut self, column: Column, holds: impl Fn(f64) -> bool, what: &str) -> Option<f64> {
        let value = self.number(column)?;
        if !holds(value) {
            self.fault(column, format!("{value} is out of range; write {what}"));
        }
        Some(value)
    }

    /// A number above 0.
    pub fn positive(&mut self, column: Column) -> Option<f64> {
        self.checked(column, |value| value > 0.0, "a length in mm above 0")
    }

    /// 0 or a number above.
    pub fn not_negative(&mut self, column: Column) -> Option<f64> {
        self.checked(column, |value| value >= 0.0, "0 or a length in mm above")
    }

    /// A number between two others.
    pub fn between(&mut self, column: Column, range: Range<f64>) -> Option<f64> {
        let what = format!("a number between {} and {}", range.start, range.end);
        self.checked(
            column,
            |value| value > range.start && value < range.end,
            &what,
        )
    }

    /// A number from one to another.
    pub fn within(&mut self, column: Column, range: RangeInclusive<f64>) -> Option<f64> {
        let what = format!("a number from {} to {}", range.start(), range.end());
        self.checked(column, |value| range.contains(&value), &what)
    }

    /// Number of passes.
    pub fn passes(&mut self) -> Option<u32> {
        let text = self.raw(Column::Passes)?;
        match text.parse() {
            Ok(passes @ 1..=200) => Some(passes),
            _ => {
                self.fault(
                    Column::Passes,
                    format!("'{text}' is no number of passes; write a whole number from 1 to 200"),
                );
                None
            }
        }
    }

    /// Thickness of the butting and of the nonbutting member, mm.
    pub fn thickness(&mut self) -> Option<(f64, f64)> {
        let text = self.raw(Column::Thickness)?;
        let pair = match text.split_once('/') {
            Some(pair) => Some(pair),
            // As after --thickness; where the comma may be a decimal one this would
            // be a guess.
            None if !self.decimal_comma => text.split_once(','),
            None => None,
        };
        let guess = self.decimal_comma && pair.is_none() && text.contains(',');
        let read = |text: &str| {
            number(text, self.decimal_comma)
                .ok()
                .filter(|value| *value > 0.0)
        };
        let found = match pair {
            Some((a, b)) => read(a).zip(read(b)),
            None => read(text).map(|both| (both, both)),
        };
        if guess || found.is_none() {
            self.fault(
                Column::Thickness,
                format!(
                    "'{text}' is not clear; write two thicknesses in mm as 8/10, first the plate \
                     that ends at the joint, or one for both with a decimal point"
                ),
            );
        }
        found
    }

    /// Several texts in one cell, `|`, `;` or `,` between them.
    pub fn list(&mut self, column: Column) -> Vec<String> {
        self.all(column)
            .flat_map(|cell| cell.split(['|', ';', ',', '\n']))
            .map(|part| part.trim().to_owned())
            .filter(|part| !part.is_empty())
            .collect()
    }

    /// Photographs.
    pub fn photos(&mut self, column: Column) -> Photos {
        if !self.columns.contains(&Some(column)) {
            return Photos::NoColumn;
        }
        let names = self.list(column);
        match names.as_slice() {
            [] => Photos::Empty,
            [word] if word.eq_ignore_ascii_case("card") => Photos::Card,
            _ => Photos::Named(names),
        }
    }
}

/// The words a column knows.
fn hint(column: Column) -> &'static str {
    super::COLUMNS
        .iter()
        .find(|entry| entry.column == column)
        .map_or("", |entry| entry.what)
}
