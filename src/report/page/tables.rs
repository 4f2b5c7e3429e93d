//! Everything else on the page: numbers, flaws, declarations, scale, photograph.

use super::words;
use crate::base::rounding::{shortest, stated};
use crate::record::catalogue::{self, Entry};
use crate::record::{
    Coupon, Cracks, JointType, Kind, Material, Measurement, Quantity, Record, RootSide, ScaleFacts,
    Status,
};
use crate::report::flaw_words::in_words;
use maud::{Markup, html};

/// The numbers a student asks for first.
pub fn key_numbers(record: &Record) -> Markup {
    let coupon = &record.coupon;
    let asked = |mm: Option<f64>| mm.map(|mm| format!("Asked for: {} mm.", shortest(mm, 2)));
    let names = match record.kind {
        Kind::Section => [
            ("leg_butting_mm", asked(coupon.leg_mm)),
            ("leg_nonbutting_mm", asked(coupon.leg_mm)),
            ("inscribed_throat_mm", asked(coupon.throat_mm)),
            ("root_penetration_mm", None),
        ],
        Kind::Fracture => [
            (
                "root_unfused_length_mm",
                share(record, "root_unfused_percent"),
            ),
            (
                "inter_run_unfused_length_mm",
                share(record, "inter_run_unfused_percent"),
            ),
            (
                "sidewall_unfused_length_mm",
                share(record, "sidewall_unfused_percent"),
            ),
            ("flaw_sum_mm", largest(record)),
        ],
    };
    let numbers: Vec<_> = names
        .into_iter()
        .filter_map(|(name, asked)| {
            let measurement = record.measurements.get(name)?;
            measurement.value?;
            Some((catalogue::entry(name)?, measurement, asked))
        })
        .collect();
    html! {
        @if !numbers.is_empty() {
            dl.numbers {
                @for (entry, measurement, asked) in numbers {
                    div {
                        dt { (words::sentence(entry.title).trim_end_matches('.')) }
                        dd {
                            span.number { (words::value(entry, measurement)) }
                            @if let Some(asked) = asked { span.asked { (asked) } }
                            span.meaning { (entry.definition) }
                        }
                    }
                }
            }
        }
    }
}

/// `14 % of 100 mm.`
fn share(record: &Record, name: &str) -> Option<String> {
    let percent = record.measurements.get(name)?.value?;
    let length = record.measurements.get("evaluated_length_mm")?.value?;
    (percent > 0.0).then(|| {
        format!(
            "{} % of {} mm.",
            shortest(percent, if percent < 9.95 { 1 } else { 0 }),
            shortest(length, 0)
        )
    })
}

fn largest(record: &Record) -> Option<String> {
    let count = record.measurements.get("flaw_count")?.value?;
    let largest = record.measurements.get("flaw_largest_mm")?.value?;
    (count > 0.0).then(|| {
        format!(
            "{} found, the largest {} mm.",
            shortest(count, 0),
            shortest(largest, 1)
        )
    })
}

/// What is wrong with the photograph or some numbers, and what to do.
pub fn reasons(record: &Record) -> Markup {
    html! {
        @if !record.reasons.is_empty() {
            section {
                h2 {
                    @if record.status == Status::Refused { "What is wrong, and what to do" }
                    @else { "What is missing, and what to do" }
                }
                @for reason in &record.reasons {
                    div.reason {
                        p { strong { (words::sentence(&reason.message)) } }
                        p { "What to do: " (words::sentence(&reason.remedy)) }
                    }
                }
            }
        }
    }
}

fn known(record: &Record) -> impl Iterator<Item = (&'static Entry, &Measurement)> {
    catalogue::of(record.kind)
        .iter()
        .filter_map(|entry| Some((entry, record.measurements.get(entry.name)?)))
}

/// Every measurement with a number.
pub fn measured(record: &Record) -> Markup {
    let rows: Vec<_> = known(record)
        .filter(|(_, measurement)| measurement.value.is_some())
        .collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { "Everything that was measured" }
                table.values {
                    thead {
                        tr {
                            th scope="col" { "What" }
                            th scope="col" { "Value ± uncertainty" }
                            th scope="col" { "Meaning" }
                        }
                    }
                    tbody {
                        @for (entry, measurement) in rows {
                            tr {
                                (name_and_value(entry, measurement))
                                td.small { (entry.definition) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The first two cells of a measurement's row.
pub fn name_and_value(entry: &Entry, measurement: &Measurement) -> Markup {
    html! {
        th scope="row" {
            (words::sentence(entry.title).trim_end_matches('.'))
            span.small { " " (entry.symbol) }
        }
        td { (words::value(entry, measurement)) }
    }
}

/// Measurements without a number.
pub fn not_assessed(record: &Record) -> Markup {
    let rows: Vec<_> = known(record)
        .filter(|(_, measurement)| measurement.value.is_none())
        .collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { "What could not be measured" }
                ul {
                    @for (entry, measurement) in rows {
                        li {
                            strong { (words::sentence(entry.title)) } " "
                            (words::sentence(
                                measurement.why.as_deref().unwrap_or("no reason was recorded"),
                            ))
                        }
                    }
                }
            }
        }
    }
}

/// The flaws in words, for the first screen; nothing without any.
pub fn flaws_in_short(record: &Record) -> Markup {
    html! {
        @if record.status != Status::Refused && !record.findings.is_empty() {
            ol.flaws {
                @for finding in &record.findings { li { (words::sentence(&in_words(finding))) } }
            }
        }
    }
}

/// Flaws found, under the numbers they have in the picture, and what was
/// searched for.
pub fn flaws(record: &Record) -> Markup {
    html! {
        section {
            h2 { "Flaws" }
            @if record.findings.is_empty() {
                p { "None were found." }
            } @else {
                table {
                    thead {
                        tr {
                            th scope="col" { "No." }
                            th scope="col" { "What" }
                            th scope="col" { "ISO 6520-1" }
                            th scope="col" { "Greatest dimension" }
                            th scope="col" { "Width" }
                            th scope="col" { "How sure" }
                        }
                    }
                    tbody {
                        @for (number, finding) in (1..).zip(&record.findings) {
                            tr {
                                td { (number) }
                                th scope="row" { (words::sentence(&in_words(finding))) }
                                td { (finding.iso_6520) }
                                td { (size(finding.length_mm.or(finding.greatest_dimension_mm))) }
                                td { (size(finding.width_mm)) }
                                td { (words::percent(finding.confidence)) }
                            }
                        }
                    }
                }
            }
            p { (searched(record)) }
        }
    }
}

fn size(quantity: Option<Quantity>) -> String {
    quantity.map_or_else(
        || "—".to_owned(),
        |q| {
            let (value, expanded) = stated(q.value, q.expanded_uncertainty, 2);
            format!("{value} ± {expanded} mm")
        },
    )
}

/// What an empty list means and what it does not.
fn searched(record: &Record) -> String {
    if record.searched.is_empty() {
        return "The picture was not searched for flaws inside the weld: look at the section \
                yourself."
            .to_owned();
    }
    let kinds: Vec<String> = record
        .searched
        .iter()
        .map(|searched| {
            let kind = searched.kind.replace('-', " ");
            match searched.from_mm {
                Some(from) => format!("{kind} (from {} mm on)", shortest(from, 2)),
                None => kind,
            }
        })
        .collect();
    format!(
        "Searched for: {}; and for clear cracks that run from a toe into the plate or from the weld root towards the face. Smaller ones, \
         hair-thin lines and every other kind, cracks elsewhere among them, only your own eyes can \
         find: look at the section with a lens.",
        kinds.join(", ")
    )
}

/// What somebody stated and nobody measured.
pub fn declared(record: &Record) -> Markup {
    let rows = declarations(&record.coupon);
    html! {
        section {
            h2 { "What was declared, not measured" }
            @if rows.is_empty() {
                p { "Nothing was declared of this coupon." }
            } @else {
                dl.facts {
                    @for (what, value) in rows { div { dt { (what) } dd { (value) } } }
                }
            }
        }
    }
}

fn declarations(coupon: &Coupon) -> Vec<(&'static str, String)> {
    let mm = |value: Option<f64>| value.map(|mm| format!("{} mm", shortest(mm, 2)));
    let joint = coupon.joint.map(|joint| {
        match joint {
            JointType::Tee => "tee",
            JointType::Lap => "lap",
            JointType::Corner => "corner",
        }
        .to_owned()
    });
    let material = coupon.material.map(|material| {
        match material {
            Material::CarbonSteel => "carbon steel",
            Material::Stainless => "stainless steel",
            Material::Aluminium => "aluminium",
        }
        .to_owned()
    });
    [
        ("Joint", joint),
        (
            "Angle between the plates",
            coupon
                .dihedral_deg
                .map(|deg| format!("{}°", shortest(deg, 1))),
        ),
        (
            "Thickness, standing (butting) plate",
            mm(coupon.thickness_butting_mm),
        ),
        (
            "Thickness, through (nonbutting) plate",
            mm(coupon.thickness_nonbutting_mm),
        ),
        ("Leg asked for", mm(coupon.leg_mm)),
        ("Throat asked for", mm(coupon.throat_mm)),
        (
            "Passes laid",
            coupon.passes.map(|passes| passes.to_string()),
        ),
        ("Material", material),
        (
            "Cracks",
            coupon.cracks.map(|cracks| {
                match cracks {
                    Cracks::None => "the examiner looked and saw none",
                    Cracks::Seen => "the examiner saw cracks",
                }
                .to_owned()
            }),
        ),
        (
            "Root side in the picture",
            coupon.root_side.map(|side| {
                match side {
                    RootSide::Top => "above",
                    RootSide::Bottom => "below",
                    RootSide::Left => "left",
                    RootSide::Right => "right",
                }
                .to_owned()
            }),
        ),
        (
            "State",
            coupon
                .bent_flat
                .then(|| "bent flat without breaking".to_owned()),
        ),
        ("Length of the whole coupon", mm(coupon.length_mm)),
        ("Discarded at each end", mm(coupon.discard_mm)),
        (
            "Height of the scale above the measured face",
            mm(coupon.scale_offset_mm),
        ),
    ]
    .into_iter()
    .filter_map(|(what, value)| Some((what, value?)))
    .collect()
}

/// Where the millimetres come from.
pub fn scale(scale: &ScaleFacts) -> Markup {
    let evidence = &scale.evidence;
    let source = match scale.source.as_str() {
        "declared" => "declared by the user; nothing in the photograph confirms it".to_owned(),
        "rule-mm" => "a millimetre rule in the photograph".to_owned(),
        "rule-inch" => "an inch rule in the photograph".to_owned(),
        other => match (
            other.strip_prefix("chequer:"),
            other.strip_prefix("length:"),
        ) {
            (Some(pitch), _) => format!("a chequer pattern with squares of {pitch} mm"),
            (_, Some(length)) => format!("the coupon itself, declared to be {length} mm long"),
            _ => other.to_owned(),
        },
    };
    html! {
        section {
            h2 { "Where the scale comes from" }
            dl.facts {
                div { dt { "Source" } dd { (source) } }
                div {
                    dt { "At the weld" }
                    dd {
                        (shortest(scale.px_per_mm, 2)) " px per mm, standard uncertainty "
                        (shortest(100.0 * scale.standard_uncertainty_rel, 2)) " %"
                    }
                }
                @if let Some(tilt) = scale.tilt_deg {
                    div { dt { "Tilt of the plane" } dd { (shortest(tilt, 1)) "°" } }
                }
                @if let Some(ticks) = evidence.ticks {
                    div { dt { "Marks used" } dd { (ticks) } }
                }
                @if let Some(corners) = evidence.corners {
                    div { dt { "Corners used" } dd { (corners) } }
                }
                @if let Some(residual) = evidence.residual_px {
                    div { dt { "Scatter about the fit" } dd { (shortest(residual, 2)) " px" } }
                }
            }
            @if !evidence.cross_checks.is_empty() {
                ul { @for check in &evidence.cross_checks { li { (words::sentence(check)) } } }
            }
        }
    }
}

/// The photograph and what it can be trusted for.
pub fn photograph(record: &Record) -> Markup {
    let photo = &record.photo;
    html! {
        section {
            h2 { "The photograph" }
            dl.facts {
                div { dt { "File" } dd { (photo.file) } }
                @if photo.width_px > 0 {
                    div { dt { "Size" } dd { (photo.width_px) " × " (photo.height_px) " px" } }
                }
                @if let Some(format) = &photo.format {
                    div { dt { "Format" } dd { (format) } }
                }
                @for (name, value) in &photo.capture {
                    @let (what, unit) = capture_words(name);
                    div { dt { (what) } dd { (shortest(*value, 2)) " " (unit) } }
                }
                @if !photo.sha256.is_empty() {
                    div { dt { "SHA-256" } dd.hash { (photo.sha256) } }
                }
            }
            @if !photo.notes.is_empty() {
                ul { @for note in &photo.notes { li { (words::sentence(note)) } } }
            }
        }
    }
}

/// A capture check's name and unit, from the record's `name_unit`.
fn capture_words(name: &str) -> (String, &'static str) {
    let (stem, unit) = [
        ("_px_per_mm", "px per mm"),
        ("_px", "px"),
        ("_mm", "mm"),
        ("_percent", "%"),
        ("_deg", "°"),
    ]
    .into_iter()
    .find_map(|(ending, unit)| Some((name.strip_suffix(ending)?, unit)))
    .unwrap_or((name, ""));
    let words = words::sentence(&stem.replace('_', " "));
    (words::trimmed(&words).to_owned(), unit)
}
