//! How a check is put into words, and in which unit.

use super::formula::{Evaluated, Formula};
use super::nominal::Nominal;
use super::profile::LengthUnit;
use super::row::{Case, Compare, Limit};
use crate::base::rounding::{shortest, stated};
use crate::record::catalogue::{self, Unit};
use crate::record::{Check, Outcome, Sense};

/// A check with nothing compared yet.
pub fn blank(limit: &Limit, name: Option<&str>) -> Check {
    // With two members the check says which; "undercut: undercut in …" would
    // say the imperfection twice.
    let words = match name
        .filter(|_| limit.measurements.len() > 1)
        .and_then(catalogue::entry)
    {
        Some(entry) if entry.title.starts_with(&limit.imperfection) => entry.title.to_owned(),
        Some(entry) => format!("{}: {}", limit.imperfection, entry.title),
        None => limit.imperfection.clone(),
    };
    Check {
        limit: words,
        clause: limit.clause.clone(),
        measured: "—".to_owned(),
        allowed: "—".to_owned(),
        outcome: Outcome::NotAssessed,
        probability_of_conformity: None,
        measurement: name.map(str::to_owned),
        verified: sources(limit.cases.iter()),
        note: limit.note.clone(),
        row: Some(limit.id.clone()),
        value: None,
        limit_value: None,
        unit: None,
        sense: None,
    }
}

/// Adds a sentence to the note, in front of what stands there.
pub fn add_note(check: &mut Check, sentence: String) {
    check.note = Some(match check.note.take() {
        Some(note) => format!("{sentence}. {note}"),
        None => sentence,
    });
}

/// Says in the check what is allowed, as far as it can be reckoned.
pub fn describe(
    check: &mut Check,
    limit: &Limit,
    cases: &[&Case],
    nominal: &Nominal,
    scale: Scale,
) {
    // With several ranges of face width the one that holds the measured
    // width is shown.
    let b = nominal.b.as_ref().ok().map(|b| b.value);
    let case = match (b, cases) {
        (Some(b), [_, _, ..]) => cases
            .iter()
            .find(|case| case.when_b.is_none_or(|range| range.holds(b))),
        (_, [only]) => Some(only),
        _ => None,
    };
    let Some(case) = case else { return };
    check.verified = sources(std::iter::once(*case));
    let formulas = || {
        [&case.at_most, &case.at_least, &case.short, &case.length]
            .into_iter()
            .flatten()
    };
    let uses_a = formulas().any(|formula| formula.per_a != 0.0)
        || matches!(
            limit.compare,
            Compare::ExcessOverA | Compare::ShortfallBelowA
        );
    let uses_z = formulas().any(|formula| formula.per_z != 0.0);
    let uses_angle = (uses_a && nominal.a_is_reckoned)
        || (uses_z && nominal.z_is_reckoned)
        || limit.compare == Compare::Leg;
    if let (true, Some(assumed)) = (uses_angle, &nominal.assumed) {
        add_note(check, assumed.clone());
    }
    if let (Compare::Leg, Ok(factor)) = (limit.compare, &nominal.leg_factor)
        && *factor != 1.0
    {
        add_note(
            check,
            format!(
                "the leg along the plate times {} is compared, the leg square to the other plate",
                shortest(*factor, 3)
            ),
        );
    }
    let (sense, formula) = match (&case.at_most, &case.at_least) {
        (Some(formula), _) => (Sense::AtMost, *formula),
        (_, Some(formula)) => (Sense::AtLeast, *formula),
        _ => (Sense::AtMost, Formula::fixed(case.trace)),
    };
    check.sense = Some(sense);
    let value = formula.evaluate(nominal).ok();
    check.limit_value = value.map(|evaluated| evaluated.value);
    check.allowed = if case.examiner {
        "the rule does not say; none counts as within".to_owned()
    } else if nothing_allowed(case) {
        "not permitted".to_owned()
    } else {
        let sign = match sense {
            Sense::AtMost => "≤",
            Sense::AtLeast => "≥",
        };
        formula_words(sign, &formula, value, scale)
    };
    if case.trace > 0.0 {
        check.allowed.push_str(&format!(
            " (up to {} counts as none; this tool's choice, not the standard's)",
            scale.limit(case.trace)
        ));
    }
    if let Some(length) = &case.length {
        let words = formula_words("≤", length, length.evaluate(nominal).ok(), scale);
        check
            .allowed
            .push_str(&format!(" across; {words} long where it is no wider"));
    }
    if let Some(short) = &case.short {
        let words = formula_words("≤", short, short.evaluate(nominal).ok(), scale);
        check
            .allowed
            .push_str(&format!("; {words} as a short imperfection"));
    }
}

/// Whether the case permits nothing at all in a weld's whole length.
pub fn nothing_allowed(case: &Case) -> bool {
    case.not_permitted || case.at_most == Some(Formula::fixed(0.0))
}

fn formula_words(sign: &str, formula: &Formula, value: Option<Evaluated>, scale: Scale) -> String {
    match (value, formula.words(scale.sign)) {
        (Some(value), Some(words)) => {
            format!("{sign} {} ({words})", scale.limit(value.value))
        }
        (Some(value), None) => format!("{sign} {}", scale.limit(value.value)),
        (None, Some(words)) => format!("{sign} {words}"),
        (None, None) => "—".to_owned(),
    }
}

fn sources<'a>(cases: impl Iterator<Item = &'a Case>) -> String {
    let mut words: Vec<String> = Vec::new();
    for case in cases {
        let source = case.source.words();
        if !words.contains(&source) {
            words.push(source);
        }
    }
    words.join("; or, by range: ")
}

/// How a measurement's numbers are converted and written.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// Profile unit per record unit.
    pub per_record_unit: f64,
    /// `mm`, `in` or `deg`, for the record.
    pub key: &'static str,
    /// Written behind numbers.
    sign: &'static str,
    decimals: usize,
}

impl Scale {
    /// For lengths.
    pub fn length(unit: LengthUnit) -> Self {
        Self {
            per_record_unit: unit.from_mm(1.0),
            key: unit.sign(),
            sign: unit.sign(),
            decimals: match unit {
                LengthUnit::Mm => 2,
                LengthUnit::Inch => 4,
            },
        }
    }

    /// For shares.
    pub fn percent() -> Self {
        Self {
            per_record_unit: 1.0,
            key: "percent",
            sign: "%",
            decimals: 1,
        }
    }

    /// For a measurement, by its record name.
    pub fn of(unit: LengthUnit, name: &str) -> Self {
        match catalogue::entry(name).map(|entry| entry.unit) {
            Some(Unit::Deg) => Self {
                per_record_unit: 1.0,
                key: "deg",
                sign: "°",
                decimals: 0,
            },
            Some(Unit::Mm2) => Self {
                per_record_unit: unit.from_mm(1.0) * unit.from_mm(1.0),
                key: match unit {
                    LengthUnit::Mm => "mm2",
                    LengthUnit::Inch => "in2",
                },
                sign: match unit {
                    LengthUnit::Mm => "mm²",
                    LengthUnit::Inch => "in²",
                },
                decimals: 4,
            },
            Some(Unit::Percent) => Self::percent(),
            Some(Unit::Count) => Self {
                per_record_unit: 1.0,
                key: "",
                sign: "",
                decimals: 0,
            },
            Some(Unit::Mm) | None => Self::length(unit),
        }
    }

    /// `0.42 ± 0.10 mm`.
    pub fn with_uncertainty(&self, value: f64, u: f64) -> String {
        let (value, expanded) = stated(value, 2.0 * u, self.decimals);
        format!("{value} ± {expanded}{}", self.unit_words())
    }

    /// A limit, without trailing zeros.
    pub fn limit(&self, value: f64) -> String {
        format!(
            "{}{}",
            shortest(value, self.decimals + 1),
            self.unit_words()
        )
    }

    /// A length to say what something is about, to a tenth of a millimetre.
    pub fn rough(&self, value: f64) -> String {
        let decimals = self.decimals.saturating_sub(1).min(2);
        format!("{}{}", shortest(value, decimals), self.unit_words())
    }

    /// What is written behind numbers.
    pub fn sign(&self) -> &'static str {
        self.sign
    }

    fn unit_words(&self) -> String {
        match self.sign {
            "" | "°" => self.sign.to_owned(),
            sign => format!(" {sign}"),
        }
    }
}
