//! A profile as a person reads it: every row with its values and where each
//! comes from.

use super::formula::Formula;
use super::profile::Profile;
use super::row::{Case, Compare, Limit, Range, Size};
use super::wording::{Scale, nothing_allowed};
use crate::base::rounding::shortest;
use crate::record::catalogue;

impl Profile {
    /// The whole profile in plain text, a paragraph for each row.
    pub fn sheet(&self) -> String {
        let mut lines = vec![
            format!("{}: {}", self.name, self.title),
            self.edition_note(),
        ];
        for limit in &self.limits {
            lines.push(String::new());
            lines.push(format!(
                "[{}] {} ({})",
                limit.id, limit.imperfection, limit.clause
            ));
            lines.push(format!("  compared: {}", compared(limit)));
            for case in &limit.cases {
                lines.push(format!(
                    "  allowed: {}",
                    allowed(case, scale(self, limit), self)
                ));
                lines.push(format!("    {}", case.source.words()));
            }
            lines.extend(limit.note.iter().map(|note| format!("  note: {note}")));
        }
        lines.join("\n") + "\n"
    }
}

fn scale(profile: &Profile, limit: &Limit) -> Scale {
    match (limit.size, limit.measurements.first()) {
        (Size::AreaPercent, _) => Scale::percent(),
        (_, Some(name)) => Scale::of(profile.unit, name),
        _ => Scale::length(profile.unit),
    }
}

fn compared(limit: &Limit) -> String {
    let mut parts: Vec<String> = limit
        .measurements
        .iter()
        .map(|name| {
            let title = catalogue::entry(name).map_or(name.as_str(), |entry| entry.title);
            match limit.compare {
                Compare::Value | Compare::Leg => title.to_owned(),
                Compare::ExcessOverA => format!("{title} above the nominal throat a"),
                Compare::ShortfallBelowA => format!("{title} below the nominal throat a"),
                Compare::ShortfallBelowZero => format!("{title} below zero"),
            }
        })
        .collect();
    let of = match (limit.sum, limit.size) {
        (true, Size::Dimension) => "sizes added up",
        (false, Size::Dimension) => "largest size",
        (_, Size::Across) => "extent across the weld",
        (_, Size::AreaPercent) => "share of the face",
    };
    if !limit.findings.is_empty() {
        parts.push(format!(
            "{}: {of}",
            limit.findings.join(", ").replace('-', " ")
        ));
    }
    parts.join("; ")
}

fn allowed(case: &Case, scale: Scale, profile: &Profile) -> String {
    let formula = |sign: &str, formula: &Formula| match formula.words(scale.sign()) {
        Some(words) => format!("{sign} {words}"),
        None => format!("{sign} {}", scale.limit(formula.constant)),
    };
    let mut words = match (&case.at_most, &case.at_least) {
        _ if case.examiner => "the rule does not say; none counts as within".to_owned(),
        _ if nothing_allowed(case) => "none".to_owned(),
        (Some(value), _) => formula("≤", value),
        (_, Some(value)) => formula("≥", value),
        _ => "none".to_owned(),
    };
    if case.trace > 0.0 {
        words.push_str(&format!(
            " (up to {} counts as none)",
            scale.limit(case.trace)
        ));
    }
    if let Some(length) = &case.length {
        words.push_str(&format!(
            " across; {} long where it is no wider",
            formula("≤", length)
        ));
    }
    if let Some(short) = &case.short {
        words.push_str(&format!(
            "; {} as a short imperfection",
            formula("≤", short)
        ));
    }
    for (range, of) in [
        (case.when_t, "plate thickness t"),
        (case.when_b, "face width b"),
    ] {
        if let Some(range) = range {
            words.push_str(&format!(
                ", for {of} {} {}",
                ends(range),
                profile.unit.sign()
            ));
        }
    }
    words
}

fn ends(range: Range) -> String {
    let parts = [
        (range.from, "from"),
        (range.over, "over"),
        (range.up_to, "up to"),
        (range.below, "below"),
    ];
    let parts: Vec<String> = parts
        .into_iter()
        .filter_map(|(end, word)| Some(format!("{word} {}", shortest(end?, 3))))
        .collect();
    parts.join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::Profile;

    #[test]
    fn every_row_and_every_source_of_every_built_in_profile_is_told() {
        for name in Profile::names() {
            let profile = Profile::named(name).unwrap();
            let sheet = profile.sheet();
            for limit in &profile.limits {
                assert!(sheet.contains(&format!("[{}] ", limit.id)), "{name}");
                for case in &limit.cases {
                    assert!(sheet.contains(&case.source.words()), "{name} {}", limit.id);
                }
            }
        }
    }

    /// ISO 5817:2014, 503 (excessive convexity), level B: h ≤ 1 mm + 0,1 b, at most
    /// 3 mm for t ≥ 3 mm (public extracts of the standard).
    #[test]
    fn a_formula_is_written_as_the_standard_writes_it() {
        let sheet = Profile::named("iso5817-b").unwrap().sheet();
        let row = sheet
            .split("\n\n")
            .find(|p| p.starts_with("[503]"))
            .unwrap();
        assert!(
            row.contains("1 mm") && row.contains("b") && row.contains("3 mm"),
            "{row}"
        );
    }
}
