//! The short answer on the terminal; the report says it at length.

use super::output::Names;
use crate::base::rounding::{plain, shortest, stated};
use crate::record::catalogue::{self, Unit};
use crate::record::{Measurement, Outcome, Record, Status};

/// What was measured, the verdict, and where the files are.
pub(super) fn results(photo: &str, record: &Record, names: &Names) -> String {
    let mut lines = vec![format!("{photo}: {}", status(record.status))];
    if record.status != Status::Refused {
        if let Some(scale) = &record.scale {
            lines.push(format!(
                "  scale {}, {} px a millimetre at the weld (± {} %)",
                scale.source,
                plain(scale.px_per_mm, 2),
                plain(200.0 * scale.standard_uncertainty_rel, 2)
            ));
        }
        let rows: Vec<(&str, String)> = catalogue::of(record.kind)
            .iter()
            .filter_map(|entry| {
                let number = number(record.measurements.get(entry.name)?, entry.unit)?;
                Some((entry.title, number))
            })
            .collect();
        let width = rows.iter().map(|(title, _)| title.chars().count()).max();
        for (title, number) in rows {
            lines.push(format!("  {title:<0$}  {number}", width.unwrap_or(0)));
        }
        for reason in &record.reasons {
            lines.push(format!("  note: {}; {}", reason.message, reason.remedy));
        }
        lines.push(verdict(record));
    }
    lines.push(format!("  written: {}", names.record.display()));
    let beside: Vec<String> = [&names.annotated, &names.report, &names.pdf]
        .into_iter()
        .filter(|path| path.exists())
        .map(|path| path.display().to_string())
        .collect();
    lines.push(format!("           {}", beside.join("\n           ")));
    lines.join("\n") + "\n"
}

/// How far measuring came, in words.
pub(super) fn status(status: Status) -> &'static str {
    match status {
        Status::Measured => "measured",
        Status::PartlyMeasured => "partly measured",
        Status::Refused => "refused",
        Status::Declared => "declared to have bent flat, nothing measured",
    }
}

fn number(measurement: &Measurement, unit: Unit) -> Option<String> {
    let value = measurement.value?;
    let sign = match unit.sign() {
        "" => String::new(),
        "°" => "°".to_owned(),
        sign => format!(" {sign}"),
    };
    Some(match measurement.expanded_uncertainty {
        Some(u) if unit != Unit::Count => {
            let (value, u) = stated(value, u, 2);
            format!("{value} ± {u}{sign}")
        }
        _ => format!("{}{sign}", plain(value, 0)),
    })
}

/// How something compares with limits, in words.
pub(super) fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Within => "within the limits",
        Outcome::Outside => "outside the limits",
        Outcome::TooCloseToCall => "too close to call",
        Outcome::NotAssessed => "not all of it could be assessed",
    }
}

fn verdict(record: &Record) -> String {
    let Some(verdict) = &record.verdict else {
        return "  no limits chosen, so nothing was judged (--limits NAME)".to_owned();
    };
    let outcome = outcome(verdict.outcome);
    let points = verdict.points.as_ref().map_or(String::new(), |points| {
        format!(
            "\n  points: {} of {}",
            shortest(points.left, 1),
            shortest(points.start, 1)
        )
    });
    format!(
        "  against {}: {outcome} (an authorised examiner decides){points}",
        verdict.profile
    )
}

/// Why a photograph was refused and what to do, for standard error.
pub(super) fn refusal(photo: &str, record: &Record) -> String {
    record
        .reasons
        .iter()
        .map(|reason| {
            format!(
                "{photo}: refused: {}\n  what to do: {}\n",
                reason.message, reason.remedy
            )
        })
        .collect()
}

/// Stage timings, for standard error.
pub(super) fn timings(photo: &str, record: &Record) -> String {
    let stages: Vec<String> = record
        .provenance
        .timings_ms
        .iter()
        .map(|(stage, ms)| format!("{stage} {ms:.0} ms"))
        .collect();
    format!("{photo}: {}\n", stages.join(", "))
}
