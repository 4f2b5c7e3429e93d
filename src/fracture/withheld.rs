//! What must not be stated: what leans on the root side while that is not clear,
//! zones in too coarse a photograph, and what a face not seen whole would add up to.

use super::doubt::hidden_mm;
use super::evaluated::Evaluated;
use super::zones::{Kind, Zones};
use crate::base::rounding::plain;
use crate::record::{Code, Finding, Measurement, Reason};
use std::collections::BTreeMap;

/// Names that begin so depend on which side is the root; areas do because the
/// two edges of a face are looked for in different ways, so that the cap may
/// count as face when they are exchanged.
const OF_A_SIDE: [&str; 5] = [
    "root_unfused",
    "sidewall_unfused",
    "face_area",
    "unfused_area",
    "fractured_area",
];
/// Findings of one side: each could be the other.
const FINDINGS_OF_A_SIDE: [&str; 2] = ["lack-of-root-fusion", "lack-of-sidewall-fusion"];

/// Takes back what would be wrong with root and cap exchanged. Findings stay,
/// drawn where they are, no surer than a toss.
pub fn withhold(measurements: &mut BTreeMap<String, Measurement>, findings: &mut [Finding]) {
    for (name, measurement) in measurements.iter_mut() {
        if OF_A_SIDE.iter().any(|of| name.starts_with(of)) {
            *measurement = Measurement::not_assessed(
                "it is not clear which long edge of the face is the root",
            );
        }
    }
    for finding in findings {
        if FINDINGS_OF_A_SIDE.contains(&finding.kind.as_str()) {
            finding.confidence = finding.confidence.min(0.5);
        }
    }
}

/// Fewest pixels a millimetre at which zones are told apart. Facets of torn metal
/// are 0.1 to 0.3 mm; below 10 px/mm they fall under two samples, the sampling
/// limit, and torn metal looks as smooth as a plate.
pub const LEAST_PX_PER_MM: f64 = 10.0;

/// Share of the evaluated length that may be hidden before a length is no longer
/// stated.
const HIDDEN: f64 = 0.1;

/// What in the photograph keeps zones from being seen as they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spoilt {
    /// Pixels a millimetre, fewer than [`LEAST_PX_PER_MM`].
    Coarse(f64),
    /// The face is too dark, or a part is outside the picture or washed out.
    NotWhole,
}

/// Takes back every number that rests on zones, or all of a face that is not
/// seen whole; the findings stay, drawn where they are, no surer than a toss.
pub fn spoilt(
    spoilt: Spoilt,
    measurements: &mut BTreeMap<String, Measurement>,
    findings: &mut [Finding],
) {
    let (why, concerned): (String, fn(&str) -> bool) = match spoilt {
        Spoilt::Coarse(px_per_mm) => (
            format!(
                "the photograph shows {} px a millimetre; below {} a facet of torn metal is a \
                 pixel or two and looks as smooth as a plate",
                plain(px_per_mm, 1),
                plain(LEAST_PX_PER_MM, 0)
            ),
            |name| {
                !(matches!(name, "evaluated_length_mm" | "face_area_mm2")
                    || name.starts_with("discard"))
            },
        ),
        Spoilt::NotWhole => (
            "the fracture face is too dark or a part of it is not seen".to_owned(),
            |_| true,
        ),
    };
    for (name, measurement) in measurements.iter_mut() {
        if concerned(name) {
            *measurement = Measurement::not_assessed(why.clone());
        }
    }
    for finding in findings {
        finding.confidence = finding.confidence.min(0.5);
    }
}

/// Takes back lengths of a kind whose place is washed out over a good part of
/// the evaluated length, and says so.
pub fn hidden(
    zones: &Zones,
    range: &Evaluated,
    measurements: &mut BTreeMap<String, Measurement>,
) -> Option<Reason> {
    let kinds = [
        (Kind::Root, "root_unfused"),
        (Kind::InterRun, "inter_run_unfused"),
        (Kind::Sidewall, "sidewall_unfused"),
    ];
    // Where the root is not seen, its line and so the face's area are not known.
    let of_area = ["face_area", "unfused_area", "fractured_area"];
    let mut most: f64 = 0.0;
    for (kind, begins) in kinds {
        let share = hidden_mm(zones, kind, range) / range.length_mm();
        most = most.max(share);
        if share > HIDDEN {
            let concerned = |name: &str| {
                name.starts_with(begins)
                    || kind == Kind::Root && of_area.iter().any(|of| name.starts_with(of))
            };
            for (_, measurement) in measurements.iter_mut().filter(|(n, _)| concerned(n)) {
                *measurement = Measurement::not_assessed(
                    "a part of the face where such zones would lie is washed out",
                );
            }
        }
    }
    (most > HIDDEN).then(|| {
        Reason::new(
            Code::Glare,
            format!(
                "the fracture face is washed out over {:.0} % of its length",
                100.0 * most
            ),
            "light the face from two sides through paper, without flash, and take the photograph again",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::MeasurementStatus;

    #[test]
    fn what_depends_on_the_side_is_taken_back_and_the_rest_stays() {
        let measured = |v: f64| Measurement::measured(v, 0.1, Vec::new());
        let mut measurements: BTreeMap<String, Measurement> = [
            ("root_unfused_length_mm", 12.0),
            ("sidewall_unfused_percent", 3.0),
            ("unfused_area_percent", 30.0),
            ("inter_run_unfused_length_mm", 5.0),
            ("flaw_sum_mm", 1.5),
        ]
        .map(|(name, v)| (name.to_owned(), measured(v)))
        .into();
        let finding = |kind: &str| -> Finding {
            let json = serde_json::json!({ "type": kind, "iso_6520": 0, "confidence": 0.9 });
            serde_json::from_value(json).unwrap()
        };
        let mut findings = [finding("lack-of-root-fusion"), finding("pore")];
        withhold(&mut measurements, &mut findings);
        for (name, m) in &measurements {
            let taken_back = m.status == MeasurementStatus::NotAssessed && m.value.is_none();
            let of_a_side = !matches!(&name[..], "inter_run_unfused_length_mm" | "flaw_sum_mm");
            assert_eq!(taken_back, of_a_side, "{name}");
        }
        assert_eq!(findings.map(|f| f.confidence), [0.5, 0.9]);
    }

    #[test]
    fn too_coarse_a_picture_keeps_the_face_and_half_a_face_keeps_nothing() {
        let all: BTreeMap<String, Measurement> = [
            "evaluated_length_mm",
            "face_area_mm2",
            "inter_run_unfused_length_mm",
            "flaw_sum_mm",
        ]
        .map(|name| (name.to_owned(), Measurement::measured(5.0, 0.1, Vec::new())))
        .into();
        let stated = |why: Spoilt| {
            let mut measurements = all.clone();
            spoilt(why, &mut measurements, &mut []);
            let stated = measurements.values().filter(|m| m.value.is_some());
            stated.count()
        };
        assert_eq!(stated(Spoilt::Coarse(8.7)), 2);
        assert_eq!(stated(Spoilt::NotWhole), 0);
    }
}
