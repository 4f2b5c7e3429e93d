//! One entry for every measurement: names, units, definitions.
//!
//! [`SECTION`] holds those of an etched section, [`FRACTURE`] those of a broken
//! weld's face; a record has the names of its own kind only.
//!
//! The report and the documents say what a number means from this table, and
//! a limits file may only name what stands in it. Definitions are in our own
//! words; the terms are those of the standards named.

mod fracture;
mod section;

pub use fracture::FRACTURE;
pub use section::SECTION;

use super::Kind;

/// The unit of a measurement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Millimetre.
    Mm,
    /// Degree of angle.
    Deg,
    /// Square millimetre.
    Mm2,
    /// Per cent.
    Percent,
    /// A count.
    Count,
}

impl Unit {
    /// The sign written behind a number, empty for a count.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Deg => "°",
            Self::Mm2 => "mm²",
            Self::Percent => "%",
            Self::Count => "",
        }
    }
}

/// What one record name means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Name in the record, e.g. `leg_butting_mm`.
    pub name: &'static str,
    /// Short title in plain words, to stand in a sentence.
    pub title: &'static str,
    /// Symbol used in drawings and formulas.
    pub symbol: &'static str,
    /// Unit.
    pub unit: Unit,
    /// One sentence.
    pub definition: &'static str,
    /// Where the term or the definition comes from.
    pub source: &'static str,
}

/// Every measurement of one kind of photograph, in the order a report lists them.
pub fn of(kind: Kind) -> &'static [Entry] {
    match kind {
        Kind::Section => SECTION,
        Kind::Fracture => FRACTURE,
    }
}

/// The entry of a record name.
pub fn entry(name: &str) -> Option<&'static Entry> {
    SECTION
        .iter()
        .chain(FRACTURE)
        .find(|entry| entry.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_unique_and_end_in_their_unit() {
        let all = || SECTION.iter().chain(FRACTURE);
        let names: BTreeSet<_> = all().map(|entry| entry.name).collect();
        assert_eq!(names.len(), all().count());
        for entry in all() {
            let ending = match entry.unit {
                Unit::Mm => "_mm",
                Unit::Deg => "_deg",
                Unit::Mm2 => "_mm2",
                Unit::Percent => "_percent",
                Unit::Count => "_count",
            };
            assert!(entry.name.ends_with(ending), "{}", entry.name);
            assert!(entry.definition.ends_with('.'), "{}", entry.name);
        }
    }
}
