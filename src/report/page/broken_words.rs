//! Sentences about a broken weld.

use crate::base::rounding::shortest;
use crate::record::{Check, Outcome, Record};

/// What the face shows, e.g. `the root is not fused over 14 mm of 100 mm; 2
/// pores or inclusions add up to 1.8 mm`.
pub fn summary(record: &Record) -> String {
    let value = |name: &str| record.measurements.get(name).and_then(|m| m.value);
    let length = value("evaluated_length_mm")
        .map_or(String::new(), |mm| format!(" of {} mm", shortest(mm, 0)));
    let mut parts = Vec::new();
    for (name, say) in LENGTHS {
        if let Some(mm) = value(name).filter(|mm| *mm > 0.0) {
            parts.push(format!("{}{length}", say(&millimetres(mm))));
        }
    }
    if let (Some(count), Some(sum)) = (value("flaw_count"), value("flaw_sum_mm"))
        && count > 0.0
    {
        parts.push(format!(
            "{} {} up to {}",
            shortest(count, 0),
            if count == 1.0 {
                "pore or inclusion adds"
            } else {
                "pores and inclusions add"
            },
            millimetres(sum)
        ));
    }
    if parts.is_empty() {
        let on = value("evaluated_length_mm").map_or(String::new(), |mm| {
            format!(" on {} mm of weld", shortest(mm, 0))
        });
        return format!("no lack of fusion, no pore and no inclusion was found{on}");
    }
    parts.join("; ")
}

type Say = fn(&str) -> String;

const LENGTHS: [(&str, Say); 3] = [
    ("root_unfused_length_mm", |mm| {
        format!("the root is not fused over {mm}")
    }),
    ("inter_run_unfused_length_mm", |mm| {
        format!("passes are not fused to each other over {mm}")
    }),
    ("sidewall_unfused_length_mm", |mm| {
        format!("the weld is not fused to a plate at its side over {mm}")
    }),
];

fn millimetres(mm: f64) -> String {
    format!("{} mm", shortest(mm, if mm < 9.95 { 1 } else { 0 }))
}

/// What cannot be told, for a check on a length that was not fused.
pub fn doubtful(check: &Check) -> Option<String> {
    let what = match check.measurement.as_deref()? {
        "root_unfused_length_mm" => "the root is fused everywhere",
        "inter_run_unfused_length_mm" => "the passes are fused to each other everywhere",
        "sidewall_unfused_length_mm" => "the weld is fused to the plates at its sides",
        _ => return None,
    };
    check.allowed.starts_with("not permitted").then(|| {
        format!(
            "whether {what} cannot be told for sure ({} not fused); look at the places marked",
            check.measured
        )
    })
}

/// What is wrong, for a check on a broken weld's measurement.
pub fn faulted(check: &Check) -> Option<String> {
    let name = check.measurement.as_deref()?;
    let value = check.value?;
    let inches = check.unit.as_deref() == Some("in");
    let size = |value: f64| {
        if inches {
            format!("{} in", shortest(value, 3))
        } else {
            millimetres(value)
        }
    };
    if let Some((_, say)) = LENGTHS.iter().find(|(known, _)| *known == name) {
        let allowed = if check.allowed.starts_with("not permitted") {
            " (none is permitted)".to_owned()
        } else {
            check.limit_value.map_or(String::new(), |limit| {
                format!(" ({} is permitted)", size(limit))
            })
        };
        return (check.outcome != Outcome::NotAssessed).then(|| say(&size(value)) + &allowed);
    }
    let over = size(value - check.limit_value?);
    match name {
        "flaw_sum_mm" => Some(format!(
            "pores and inclusions add up to {}, {over} too much",
            size(value)
        )),
        "flaw_largest_mm" => Some(format!(
            "the largest pore or inclusion is {}, {over} too large",
            size(value)
        )),
        _ => None,
    }
}
