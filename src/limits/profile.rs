//! A profile: one table of limits as a TOML file, read strictly.
//!
//! A read profile guarantees: every row compares something this version can
//! name, every formula is finite and not negative, every value says where it
//! comes from. It does not guarantee that the values are those of the
//! standard; `source` says how far they were checked.

use super::formula::Formula;
use crate::record::catalogue;
use serde::Deserialize;
use std::path::{Path, PathBuf};
use thiserror::Error;
use toml::Spanned;

/// The published profiles that are built in, by name.
const PUBLISHED: &[(&str, &str)] = &[
    ("iso5817-b", include_str!("profiles/iso5817-b.toml")),
    ("iso5817-c", include_str!("profiles/iso5817-c.toml")),
    ("iso5817-d", include_str!("profiles/iso5817-d.toml")),
    (
        "aws-d1.1-macroetch-inch",
        include_str!("profiles/aws-d1.1-macroetch-inch.toml"),
    ),
    (
        "aws-d1.1-macroetch-mm",
        include_str!("profiles/aws-d1.1-macroetch-mm.toml"),
    ),
];

/// The flaws a row may name, as `type` of a finding of a section.
pub const FINDING_KINDS: &[&str] = &[
    "crack",
    "inclusion",
    "lack-of-inter-run-fusion",
    "lack-of-root-fusion",
    "lack-of-sidewall-fusion",
    "overlap",
    "pore",
    "undercut",
];

/// Why there is no profile.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LimitsError {
    /// No built-in profile has that name.
    #[error(
        "there is no profile of limits called `{name}`; built in are {}. \
         For limits of your own give the path of a TOML file (docs/limits.md shows one)",
        Profile::names().join(", ")
    )]
    Unknown {
        /// The name asked for.
        name: String,
    },
    /// The file could not be read.
    #[error("the limits file {} could not be read", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is no profile.
    #[error("{file}, line {line}: {message}")]
    Invalid {
        /// File or profile name.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What is wrong there and what to write instead.
        message: String,
    },
}

/// One table of limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Name after `--limits`, or the file's stem.
    pub name: String,
    /// Title in words.
    pub title: String,
    /// The standard.
    pub standard: String,
    /// Its edition.
    pub edition: String,
    /// The unit its lengths are written and compared in.
    pub unit: LengthUnit,
    /// How the leg the drawing asks for is measured.
    pub leg_sense: LegSense,
    /// What else to know, in a sentence or two.
    pub note: String,
    /// The rows.
    pub limits: Vec<Limit>,
}

/// The unit a profile is evaluated in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LengthUnit {
    /// Millimetre.
    Mm,
    /// Inch, 25.4 mm exactly.
    Inch,
}

impl LengthUnit {
    /// A length in this unit.
    pub fn from_mm(self, mm: f64) -> f64 {
        match self {
            Self::Mm => mm,
            Self::Inch => mm / 25.4,
        }
    }

    /// `mm` or `in`.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Inch => "in",
        }
    }
}

/// How a standard measures the leg of a skewed joint; the same thing at 90°.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LegSense {
    /// Joint root to toe along the plate (the record's legs).
    #[default]
    AlongSurface,
    /// Toe square to the other plate's surface (AWS D1.1, skewed T-joints).
    Perpendicular,
}

/// One row: an imperfection and what is allowed of it.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Identity of the row, e.g. the ISO 6520-1 number.
    pub id: String,
    /// The imperfection in words.
    pub imperfection: String,
    /// Clause, table or number in the standard.
    pub clause: String,
    /// Record names compared; each gives a check of its own.
    #[serde(default)]
    pub measurements: Vec<String>,
    /// What of the measurement is compared.
    #[serde(default)]
    pub compare: Compare,
    /// Flaws compared, by `type`; they must have been searched for.
    #[serde(default)]
    pub findings: Vec<String>,
    /// Compare the sum of the flaws' sizes instead of the largest.
    #[serde(default)]
    pub sum: bool,
    /// What the row does not say by itself.
    pub note: Option<String>,
    /// The values, by range of t or b; exactly one applies.
    #[serde(rename = "case")]
    pub cases: Vec<Case>,
}

/// What of a measurement is compared with the limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Compare {
    /// The measured value.
    #[default]
    Value,
    /// Measured leg, in the profile's sense of a leg.
    Leg,
    /// How far the value exceeds the nominal throat a.
    ExcessOverA,
    /// How far the value falls short of the nominal throat a.
    ShortfallBelowA,
    /// How far the value falls short of zero.
    ShortfallBelowZero,
}

/// The value of a limit for one range.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Thickness of the thinner plate it applies to.
    pub when_t: Option<Range>,
    /// Face width it applies to.
    pub when_b: Option<Range>,
    /// Greatest value allowed.
    pub at_most: Option<Formula>,
    /// Least value allowed.
    pub at_least: Option<Formula>,
    /// True when nothing is allowed.
    #[serde(default)]
    pub not_permitted: bool,
    /// With `not_permitted`: up to this the imperfection counts as absent,
    /// because no measurement can show an exact zero. A choice of whoever
    /// wrote the file, not of the standard.
    #[serde(default)]
    pub trace: f64,
    /// Greatest value allowed when the imperfection is short along the weld.
    pub short: Option<Formula>,
    /// Where the value comes from.
    pub source: Source,
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Compared with this publication.
    Seen(String),
    /// Written from memory; how sure the writer is.
    Memory(Confidence),
}

impl Source {
    /// As a report says it.
    pub fn words(&self) -> String {
        match self {
            Self::Seen(what) => format!("verified against {what}"),
            Self::Memory(confidence) => format!(
                "from memory ({} confidence), not verified – check your own copy of the standard",
                match confidence {
                    Confidence::High => "high",
                    Confidence::Medium => "medium",
                    Confidence::Low => "low",
                }
            ),
        }
    }
}

/// How sure a writer from memory is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confidence {
    /// Sure.
    High,
    /// Fairly sure.
    Medium,
    /// A guess to be checked first.
    Low,
}

/// A range of lengths in the profile's unit; what is not given is open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Range {
    /// Lower end, belongs to the range.
    pub from: Option<f64>,
    /// Lower end, does not belong to it.
    pub over: Option<f64>,
    /// Upper end, belongs to the range.
    pub up_to: Option<f64>,
    /// Upper end, does not belong to it.
    pub below: Option<f64>,
}

impl Range {
    /// Whether a length lies in it.
    pub fn holds(&self, x: f64) -> bool {
        self.from.is_none_or(|end| x >= end)
            && self.over.is_none_or(|end| x > end)
            && self.up_to.is_none_or(|end| x <= end)
            && self.below.is_none_or(|end| x < end)
    }

    /// Both ends, infinite where open.
    pub fn ends(&self) -> (f64, f64) {
        (
            self.from.or(self.over).unwrap_or(f64::NEG_INFINITY),
            self.up_to.or(self.below).unwrap_or(f64::INFINITY),
        )
    }
}

/// The file as written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    title: String,
    standard: String,
    edition: String,
    unit: LengthUnit,
    #[serde(default)]
    leg_sense: LegSense,
    #[serde(default)]
    note: String,
    #[serde(rename = "limit")]
    limits: Vec<Spanned<Limit>>,
}

impl Profile {
    /// Names of the built-in profiles.
    pub fn names() -> Vec<&'static str> {
        PUBLISHED.iter().map(|(name, _)| *name).collect()
    }

    /// A built-in profile; the case of letters does not matter.
    ///
    /// # Errors
    /// [`LimitsError::Unknown`] with the names there are.
    pub fn named(name: &str) -> Result<Self, LimitsError> {
        let (name, text) = PUBLISHED
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(name.trim()))
            .ok_or_else(|| LimitsError::Unknown {
                name: name.to_owned(),
            })?;
        Self::parse(name, name, text)
    }

    /// A profile of one's own.
    ///
    /// # Errors
    /// The file cannot be read, or a line of it is no profile; the line is named.
    pub fn from_file(path: &Path) -> Result<Self, LimitsError> {
        let text = std::fs::read_to_string(path).map_err(|source| LimitsError::Read {
            path: path.to_owned(),
            source,
        })?;
        let name = path.file_stem().unwrap_or(path.as_os_str());
        Self::parse(&name.to_string_lossy(), &path.display().to_string(), &text)
    }

    /// What stands after `--limits`: a built-in name, or the path of a file
    /// (anything that ends in `.toml` or names a file there is).
    ///
    /// # Errors
    /// As [`Profile::named`] and [`Profile::from_file`].
    pub fn load(name_or_path: &str) -> Result<Self, LimitsError> {
        let path = Path::new(name_or_path);
        let is_toml = path
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
        if is_toml || path.is_file() {
            Self::from_file(path)
        } else {
            Self::named(name_or_path)
        }
    }

    /// From TOML text; `file` is named in errors.
    fn parse(name: &str, file: &str, text: &str) -> Result<Self, LimitsError> {
        let line_at = |offset: usize| {
            1 + text
                .bytes()
                .take(offset.min(text.len()))
                .filter(|byte| *byte == b'\n')
                .count()
        };
        let invalid = |offset: usize, message: String| LimitsError::Invalid {
            file: file.to_owned(),
            line: line_at(offset),
            message,
        };
        let parsed: File = toml::from_str(text).map_err(|error| {
            invalid(
                error.span().map_or(0, |span| span.start),
                error.message().trim().to_owned(),
            )
        })?;
        if parsed.limits.is_empty() {
            return Err(invalid(0, "there is no [[limit]] in it".to_owned()));
        }
        let mut limits: Vec<Limit> = Vec::with_capacity(parsed.limits.len());
        for row in parsed.limits {
            let start = row.span().start;
            let row = row.into_inner();
            if let Some(fault) = row.fault() {
                return Err(invalid(start, format!("limit `{}`: {fault}", row.id)));
            }
            if limits.iter().any(|earlier| earlier.id == row.id) {
                return Err(invalid(
                    start,
                    format!("limit `{}` stands here twice", row.id),
                ));
            }
            limits.push(row);
        }
        Ok(Self {
            name: name.to_owned(),
            title: parsed.title,
            standard: parsed.standard,
            edition: parsed.edition,
            unit: parsed.unit,
            leg_sense: parsed.leg_sense,
            note: parsed.note,
            limits,
        })
    }

    /// What the verdict says of standard, edition and verification.
    pub fn edition_note(&self) -> String {
        let (seen, all) =
            self.limits
                .iter()
                .flat_map(|limit| &limit.cases)
                .fold((0, 0), |(seen, all), case| {
                    let is_seen = matches!(case.source, Source::Seen(_));
                    (seen + usize::from(is_seen), all + 1)
                });
        let mut words = format!(
            "{}, {}. {seen} of {all} values were verified against a publication, the others are \
             from memory; each row says which. Check your own copy of the standard.",
            self.standard, self.edition
        );
        if self.unit == LengthUnit::Inch {
            words.push_str(" Compared in inches, with the inch values of the standard.");
        }
        if !self.note.is_empty() {
            words.push(' ');
            words.push_str(&self.note);
        }
        words
    }
}

impl Limit {
    /// What is wrong with the row, if anything.
    fn fault(&self) -> Option<String> {
        if self.measurements.is_empty() && self.findings.is_empty() {
            return Some("it compares nothing: give `measurements`, `findings` or both".to_owned());
        }
        if let Some(name) = self
            .measurements
            .iter()
            .find(|name| catalogue::entry(name).is_none())
        {
            return Some(format!("there is no measurement called `{name}`"));
        }
        if let Some(kind) = self
            .findings
            .iter()
            .find(|kind| !FINDING_KINDS.contains(&kind.as_str()))
        {
            return Some(format!(
                "there is no kind of finding called `{kind}`; there are {}",
                FINDING_KINDS.join(", ")
            ));
        }
        if self.cases.is_empty() {
            return Some("it has no [[limit.case]]".to_owned());
        }
        self.cases.iter().find_map(|case| self.case_fault(case))
    }

    fn case_fault(&self, case: &Case) -> Option<String> {
        let sorts = usize::from(case.at_most.is_some())
            + usize::from(case.at_least.is_some())
            + usize::from(case.not_permitted);
        if sorts != 1 {
            return Some(
                "a case needs exactly one of `at_most`, `at_least`, `not_permitted`".to_owned(),
            );
        }
        for (key, formula) in [
            ("at_most", &case.at_most),
            ("at_least", &case.at_least),
            ("short", &case.short),
        ] {
            if let Some(fault) = formula.as_ref().and_then(Formula::fault) {
                return Some(format!("`{key}.{fault}` must be a number of 0 or more"));
            }
        }
        if !(case.trace.is_finite() && case.trace >= 0.0) {
            return Some("`trace` must be a number of 0 or more".to_owned());
        }
        if case.trace > 0.0 && !case.not_permitted {
            return Some("`trace` only goes with `not_permitted`".to_owned());
        }
        if case.at_least.is_some() && (case.short.is_some() || !self.findings.is_empty()) {
            return Some("`at_least` goes neither with `short` nor with `findings`".to_owned());
        }
        if case.when_b.is_some() && (case.short.is_some() || !self.findings.is_empty()) {
            return Some("`when_b` goes neither with `short` nor with `findings`".to_owned());
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "title = \"T\"\nstandard = \"S\"\nedition = \"E\"\nunit = \"mm\"\n";

    fn fault(rest: &str) -> (usize, String) {
        match Profile::parse("own", "own.toml", &format!("{HEAD}{rest}")) {
            Err(LimitsError::Invalid { line, message, .. }) => (line, message),
            other => panic!("expected a fault, got {other:?}"),
        }
    }

    const ROW: &str = "[[limit]]\nid = \"x\"\nimperfection = \"i\"\nclause = \"c\"\n";
    const CASE: &str = "[[limit.case]]\nsource = { memory = \"low\" }\n";

    #[test]
    fn every_published_profile_reads_and_names_its_sources() {
        for name in Profile::names() {
            let profile = Profile::named(name).unwrap();
            assert!(profile.limits.len() >= 7, "{name}");
            assert!(profile.edition_note().contains("from memory"), "{name}");
        }
        assert_eq!(Profile::named("ISO5817-B").unwrap().name, "iso5817-b");
    }

    #[test]
    fn an_unknown_name_is_answered_with_the_known_ones() {
        let message = Profile::named("iso5817-e").unwrap_err().to_string();
        assert!(message.contains("iso5817-e") && message.contains("iso5817-d"));
    }

    #[test]
    fn faults_name_their_line() {
        let (line, message) = fault("colour = 1\n");
        assert_eq!(line, 5);
        assert!(message.contains("colour"), "{message}");

        let (line, message) = fault(&format!(
            "{ROW}measurements = [\"convexity_mm\"]\n{CASE}at_most = {{ constant = 1, per_c = 2 }}\n"
        ));
        assert_eq!(line, 12);
        assert!(message.contains("per_c"), "{message}");

        let (line, message) = fault(&format!(
            "{ROW}measurements = [\"beauty_mm\"]\n{CASE}not_permitted = true\n"
        ));
        assert_eq!(line, 5);
        assert!(message.contains("beauty_mm"), "{message}");

        let second = format!("{ROW}findings = [\"crack\"]\n{CASE}not_permitted = true\n");
        let (line, message) = fault(&format!("{second}\n{second}"));
        assert_eq!(line, 14);
        assert!(message.contains("twice"), "{message}");
    }

    #[test]
    fn a_case_says_one_thing() {
        let with = |case: &str| {
            fault(&format!(
                "{ROW}measurements = [\"convexity_mm\"]\n{CASE}{case}\n"
            ))
            .1
        };
        assert!(with("").contains("exactly one"));
        assert!(with("not_permitted = true\nat_most = { constant = 1 }").contains("exactly one"));
        assert!(with("at_most = { constant = -1 }").contains("at_most.constant"));
        assert!(with("at_most = { constant = nan }").contains("at_most.constant"));
        assert!(with("at_most = { constant = 1 }\ntrace = 0.1").contains("trace"));
    }
}
