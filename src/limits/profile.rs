//! A profile: one table of limits as a TOML file, read strictly.
//!
//! A read profile guarantees: every row compares something this version can
//! name, every formula is finite and not negative, every value says where it
//! comes from. It does not guarantee that the values are those of the
//! standard; `source` says how far they were checked.

use super::bent::BentFlat;
use super::decision::Decision;
use super::error::LimitsError;
use super::extends;
use super::points::PointRules;
use super::published;
use super::row::{Limit, Source};
use super::short::Short;
use crate::record::Kind;
use serde::Deserialize;
use std::path::Path;
use toml::Spanned;

/// One table of limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Name after `--limits`, or the file's stem.
    pub name: String,
    /// Title in words.
    pub title: String,
    /// What it is for: etched sections or fracture faces.
    pub kind: Kind,
    /// The standard.
    pub standard: String,
    /// Its edition.
    pub edition: String,
    /// The unit its lengths are written and compared in.
    pub unit: LengthUnit,
    /// How the leg the drawing asks for is measured.
    pub leg_sense: LegSense,
    /// How a probability of conformity becomes an outcome.
    pub decision: Decision,
    /// What else to know, in a sentence or two.
    pub note: String,
    /// What counts as a short imperfection; only for fracture faces.
    pub short: Option<Short>,
    /// What the standard says of a coupon that bent flat without breaking.
    pub bent_flat: Option<BentFlat>,
    /// Points of an exercise.
    pub points: Option<PointRules>,
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

/// The file as written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    extends: Option<Spanned<String>>,
    title: Option<String>,
    kind: Option<Kind>,
    standard: Option<String>,
    edition: Option<String>,
    unit: Option<LengthUnit>,
    leg_sense: Option<LegSense>,
    decision: Option<Spanned<Decision>>,
    #[serde(default)]
    note: String,
    short: Option<Spanned<Short>>,
    bent_flat: Option<BentFlat>,
    points: Option<Spanned<PointRules>>,
    #[serde(rename = "limit", default)]
    limits: Vec<Spanned<Limit>>,
}

impl Profile {
    /// Names of the built-in profiles.
    pub fn names() -> Vec<&'static str> {
        published::names()
    }

    /// Names of the built-in profiles for one kind of photograph.
    pub fn names_for(kind: Kind) -> Vec<&'static str> {
        Self::names()
            .into_iter()
            .filter(|name| Self::named(name).is_ok_and(|profile| profile.kind == kind))
            .collect()
    }

    /// The profile, if it is for `wanted`.
    ///
    /// # Errors
    /// [`LimitsError::WrongKind`] with the profiles there are.
    pub fn for_kind(self, wanted: Kind) -> Result<Self, LimitsError> {
        if self.kind == wanted {
            Ok(self)
        } else {
            Err(LimitsError::WrongKind {
                name: self.name,
                kind: self.kind,
                wanted,
            })
        }
    }

    /// A built-in profile; the case of letters does not matter.
    ///
    /// # Errors
    /// [`LimitsError::Unknown`] with the names there are.
    pub fn named(name: &str) -> Result<Self, LimitsError> {
        let (name, text) = published::find(name).ok_or_else(|| LimitsError::Unknown {
            name: name.to_owned(),
        })?;
        Self::from_text(name, name, text)
    }

    /// A profile of one's own.
    ///
    /// # Errors
    /// The file cannot be read, or a line of it is no profile; the line is named.
    pub fn from_file(path: &Path) -> Result<Self, LimitsError> {
        let text = Self::read(path)?;
        let name = path.file_stem().unwrap_or(path.as_os_str());
        Self::from_text(&name.to_string_lossy(), &path.display().to_string(), &text)
    }

    /// What stands after `--limits`: a built-in name first; anything that looks
    /// like a path, or names a file there is, is one.
    ///
    /// # Errors
    /// As [`Profile::named`] and [`Profile::from_file`].
    pub fn load(name_or_path: &str) -> Result<Self, LimitsError> {
        let path = Path::new(name_or_path);
        let is_toml = path
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
        if is_toml || path.components().count() > 1 {
            return Self::from_file(path);
        }
        match Self::named(name_or_path) {
            Err(LimitsError::Unknown { .. }) if path.is_file() => Self::from_file(path),
            answer => answer,
        }
    }

    /// The text of a built-in profile, or of a file that holds one.
    ///
    /// # Errors
    /// As [`Profile::load`].
    pub fn text(name_or_path: &str) -> Result<String, LimitsError> {
        Self::load(name_or_path)?;
        match published::find(name_or_path) {
            Some((_, text)) => Ok(text.to_owned()),
            None => Self::read(Path::new(name_or_path)),
        }
    }

    /// From the text of a file that was called `name`.
    ///
    /// # Errors
    /// A line of it is no profile; the line is named.
    pub fn parse(name: &str, text: &str) -> Result<Self, LimitsError> {
        Self::from_text(name, name, text)
    }

    fn read(path: &Path) -> Result<String, LimitsError> {
        std::fs::read_to_string(path).map_err(|source| LimitsError::Read {
            path: path.to_owned(),
            source,
        })
    }

    /// From TOML text; `file` is named in errors.
    pub(super) fn from_text(name: &str, file: &str, text: &str) -> Result<Self, LimitsError> {
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
        let base = match &parsed.extends {
            Some(name) => Some(Self::named(name.get_ref()).map_err(|_| {
                invalid(
                    name.span().start,
                    format!(
                        "`extends` names a built-in profile, and `{}` is none; there are {}",
                        name.get_ref(),
                        Self::names().join(", ")
                    ),
                )
            })?),
            None => None,
        };
        let base = base.as_ref();
        let missing = |key: &str| invalid(0, format!("`{key}` is missing"));
        // Profiles were of sections before there were others.
        let kind = parsed
            .kind
            .or(base.map(|b| b.kind))
            .unwrap_or(Kind::Section);
        let unit = (parsed.unit.or(base.map(|b| b.unit))).ok_or_else(|| missing("unit"))?;
        if let Some(base) = base
            && (kind, unit) != (base.kind, base.unit)
        {
            let key = if kind == base.kind { "unit" } else { "kind" };
            return Err(invalid(
                0,
                format!(
                    "`{key}` is another than that of `{}`: leave it out",
                    base.name
                ),
            ));
        }
        if base.is_none() && parsed.limits.is_empty() {
            return Err(invalid(0, "there is no [[limit]] in it".to_owned()));
        }
        let knows_short = parsed.short.is_some() || base.is_some_and(|b| b.short.is_some());
        let mut limits: Vec<Limit> = Vec::with_capacity(parsed.limits.len());
        for row in parsed.limits {
            let start = row.span().start;
            let row = row.into_inner();
            let fault = row.fault(kind).or_else(|| {
                (kind == Kind::Fracture
                    && !knows_short
                    && row.cases.iter().any(|case| case.short.is_some()))
                .then(|| "`short` needs a table [short] that says what is short".to_owned())
            });
            if let Some(fault) = fault {
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
        if let Some(short) = &parsed.short
            && let Some(fault) = short.get_ref().fault(kind)
        {
            return Err(invalid(short.span().start, fault));
        }
        if let Some(points) = &parsed.points
            && let Some(fault) = points.get_ref().fault()
        {
            return Err(invalid(points.span().start, fault));
        }
        if let Some(decision) = &parsed.decision
            && let Some(fault) = decision.get_ref().fault()
        {
            return Err(invalid(decision.span().start, fault));
        }
        let mut note = parsed.note;
        if let Some(base) = base {
            let (joined, words) = extends::joined(base, limits);
            limits = joined;
            note = [words, base.note.clone(), note]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect::<Vec<_>>()
                .join(" ");
        }
        let inherited = |of: fn(&Self) -> &String| base.map(|b| of(b).clone());
        Ok(Self {
            name: name.to_owned(),
            title: parsed.title.ok_or_else(|| missing("title"))?,
            kind,
            short: (parsed.short.map(Spanned::into_inner)).or(base.and_then(|b| b.short.clone())),
            bent_flat: parsed.bent_flat.or(base.and_then(|b| b.bent_flat.clone())),
            points: (parsed.points.map(Spanned::into_inner))
                .or(base.and_then(|b| b.points.clone())),
            standard: (parsed.standard.or_else(|| inherited(|b| &b.standard)))
                .ok_or_else(|| missing("standard"))?,
            edition: (parsed.edition.or_else(|| inherited(|b| &b.edition)))
                .ok_or_else(|| missing("edition"))?,
            unit,
            decision: (parsed.decision.map(Spanned::into_inner))
                .or(base.map(|b| b.decision))
                .unwrap_or_default(),
            leg_sense: (parsed.leg_sense.or(base.map(|b| b.leg_sense))).unwrap_or_default(),
            note,
            limits,
        })
    }

    /// What the verdict says of standard, edition and verification.
    pub fn edition_note(&self) -> String {
        let sources: Vec<&Source> = self
            .limits
            .iter()
            .flat_map(|limit| limit.cases.iter().map(|case| &case.source))
            .chain(self.short.iter().map(|short| &short.source))
            .chain(self.bent_flat.iter().map(|bent| &bent.source))
            .collect();
        let all = sources.len();
        let count = |what: fn(&Source) -> bool| sources.iter().filter(|s| what(s)).count();
        let seen = count(|source| matches!(source, Source::Seen(_)));
        let quoted = count(|source| matches!(source, Source::Quoted(_)));
        let own = count(|source| matches!(source, Source::Own(_)));
        let memory = all - seen - quoted - own;
        let mut words = format!("{}, {}. ", self.standard, self.edition);
        if own == all {
            words.push_str("Its values are its author's own; no standard holds them.");
        } else {
            let parts: Vec<(usize, &str)> = [
                (seen, "verified against a publication"),
                (
                    quoted,
                    "seen only as quoted publicly, not in the standard itself",
                ),
                (memory, "written from memory"),
                (own, "the author's own"),
            ]
            .into_iter()
            .filter(|(n, _)| *n > 0)
            .collect();
            words.push_str(&match parts.as_slice() {
                [(_, how)] => format!("All {all} values were {how}. "),
                several => format!(
                    "Of {all} values {} Each row says which. ",
                    several
                        .iter()
                        .map(|(n, how)| format!("{n} were {how}"))
                        .collect::<Vec<_>>()
                        .join("; ")
                        + "."
                ),
            });
            words.push_str("Check your own copy of the standard.");
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "title = \"T\"\nstandard = \"S\"\nedition = \"E\"\nunit = \"mm\"\n";

    fn fault(rest: &str) -> (usize, String) {
        match Profile::from_text("own", "own.toml", &format!("{HEAD}{rest}")) {
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
            assert!(profile.limits.len() >= 5, "{name}");
            let note = profile.edition_note();
            assert!(
                [
                    "from memory",
                    "as quoted publicly",
                    "no standard holds them"
                ]
                .iter()
                .any(|words| note.contains(words)),
                "{name}"
            );
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
