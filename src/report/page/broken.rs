//! The page of a broken weld: the straightened face first, then what was found
//! in words, then the comparison, then everything else.

use super::{advice, data_uri, headline, key, limits, tables, words};
use crate::base::rounding::{shortest, stated};
use crate::record::{Finding, Points, Quantity, Record, Status};
use maud::{Markup, html};

/// A finding less sure than this is called doubtful in words.
const DOUBTFUL_BELOW: f64 = 0.75;

/// Whether the record states numbers.
pub fn has_numbers(record: &Record) -> bool {
    matches!(record.status, Status::Measured | Status::PartlyMeasured)
}

/// All of the page between its head and its foot.
pub fn page(record: &Record, annotated: &[u8], face: &[u8]) -> Markup {
    html! {
        section.first aria-label="In short" {
            (headline(record))
            @if !face.is_empty() {
                figure.face {
                    img src=(data_uri::jpeg(face)) alt=(words::face_in_words(record));
                    figcaption {
                        "The fracture face laid straight, the root side below, the cap side above. \
                        The bars show how far each fault runs along the weld; the ruler counts \
                        millimetres from the left end. Numbers are those of the list below."
                        (key::of_zones(record))
                    }
                }
            }
            (tables::key_numbers(record))
        }
        @if has_numbers(record) { (found(record)) }
        (tables::reasons(record))
        @if let Some(verdict) = &record.verdict {
            (limits::section(verdict))
            @if let Some(points) = &verdict.points { (points_table(points)) }
        }
        @if has_numbers(record) { (advice::section(record)) }
        @if !annotated.is_empty() {
            section {
                h2 { "Where it lies in the photograph" }
                figure {
                    img src=(data_uri::jpeg(annotated)) alt=(words::picture_in_words(record));
                    @if has_numbers(record) { figcaption { (key::of_lines(record)) } }
                }
            }
        }
        @if has_numbers(record) {
            (tables::measured(record))
            (tables::not_assessed(record))
        }
        (tables::declared(record))
        @if let Some(scale) = &record.scale { (tables::scale(scale)) }
        (tables::photograph(record))
        @if has_numbers(record) { (how_it_was_measured()) }
        (care())
    }
}

/// What was found, in words and with its sizes.
fn found(record: &Record) -> Markup {
    html! {
        section {
            h2 { "What was found" }
            @if record.findings.is_empty() {
                p {
                    "No lack of fusion, no pore and no inclusion was found. Cracks are not searched \
                    for: look at the face yourself, with a lens."
                }
            } @else {
                table.stack.found {
                    thead {
                        tr {
                            th scope="col" { "No." }
                            th scope="col" { "What and where" }
                            th scope="col" { "Along the weld" }
                            th scope="col" { "Across" }
                            th scope="col" { "Area" }
                            th scope="col" { "How sure" }
                        }
                    }
                    tbody {
                        @for (i, finding) in record.findings.iter().enumerate() {
                            tr {
                                td data-head="No." { strong { (i + 1) } }
                                th scope="row" {
                                    (words::sentence(&in_words(finding)))
                                    div.small { "ISO 6520-1 number " (finding.iso_6520) }
                                }
                                td data-head="Along the weld" {
                                    (size(finding.length_mm.or(finding.greatest_dimension_mm), "mm"))
                                }
                                td data-head="Across" { (size(finding.depth_max_mm, "mm")) }
                                td data-head="Area" { (size(finding.area_mm2, "mm²")) }
                                td data-head="How sure" { (words::percent(finding.confidence)) }
                            }
                        }
                    }
                }
                p.small {
                    "Of a pore or an inclusion the greatest dimension stands under “along the \
                    weld”, whichever way it lies. Cracks are not searched for: look at the face \
                    yourself, with a lens."
                }
            }
        }
    }
}

fn size(quantity: Option<Quantity>, unit: &str) -> String {
    quantity.map_or("—".to_owned(), |quantity| {
        let (value, expanded) = stated(quantity.value, quantity.expanded_uncertainty, 2);
        format!("{value} ± {expanded} {unit}")
    })
}

/// `14 mm not fused between passes, from 42 to 56 mm from the left end`.
pub fn in_words(finding: &Finding) -> String {
    let mut words = what(finding);
    match (finding.start_mm, finding.end_mm, finding.at_mm) {
        (Some(start), Some(end), _) => words.push_str(&format!(
            ", from {} to {} mm from the left end",
            shortest(start, 0),
            shortest(end, 0)
        )),
        (_, _, Some(at)) => {
            words.push_str(&format!(", {} mm from the left end", shortest(at, 0)));
        }
        _ => {}
    }
    let is_root = finding.kind == "lack-of-root-fusion";
    if let Some(depth) = finding.depth_max_mm {
        let word = if is_root { "deep" } else { "wide" };
        words.push_str(&format!(", up to {} mm {word}", shortest(depth.value, 1)));
    }
    if let (false, Some(offset)) = (is_root, finding.offset_from_root_mm) {
        words.push_str(&format!(", {} mm from the root", shortest(offset, 1)));
    }
    if !finding.is_counted() {
        words.push_str("; it lies in a discarded end and does not count");
    }
    if finding.confidence < DOUBTFUL_BELOW {
        words.push_str("; doubtful, look at the place yourself");
    }
    words
}

fn what(finding: &Finding) -> String {
    let size = finding
        .length_mm
        .or(finding.greatest_dimension_mm)
        .map(|size| size.value)
        .or_else(|| Some(finding.end_mm? - finding.start_mm?));
    let mm = size.map(|mm| format!("{} mm", shortest(mm, if mm < 9.95 { 1 } else { 0 })));
    let of = |name: &str| match &mm {
        Some(mm) => format!("{name} of {mm}"),
        None => name.to_owned(),
    };
    let length = |rest: &str| match &mm {
        Some(mm) => format!("{mm} {rest}"),
        None => rest.to_owned(),
    };
    match finding.kind.as_str() {
        "lack-of-root-fusion" => length("of root not fused"),
        "lack-of-inter-run-fusion" => length("not fused between passes"),
        "lack-of-sidewall-fusion" => length("not fused at the side wall"),
        other => of(&other.replace('-', " ")),
    }
}

fn points_table(points: &Points) -> Markup {
    html! {
        section {
            h2 { "Points" }
            p.points {
                span.number {
                    (shortest(points.left, 1)) " of " (shortest(points.start, 1)) " points"
                }
                @if points.expanded_uncertainty >= 0.05 {
                    " ± " (shortest(points.expanded_uncertainty, 1))
                    ", from the uncertainty of the sizes"
                }
            }
            @if points.taken.is_empty() {
                p { "Nothing was taken off." }
            } @else {
                table {
                    thead {
                        tr {
                            th scope="col" { "What for" }
                            th scope="col" { "Found" }
                            th scope="col" { "Points taken off" }
                        }
                    }
                    tbody {
                        @for line in &points.taken {
                            tr {
                                th scope="row" { (words::trimmed(&words::sentence(&line.what))) }
                                td { (line.found) }
                                td { (shortest(line.points, 1)) }
                            }
                        }
                    }
                }
            }
            @if !points.left_to_examiner.is_empty() {
                p { "Left to the examiner:" }
                ul {
                    @for what in &points.left_to_examiner { li { (words::sentence(what)) } }
                }
            }
            p.small {
                "Points are an instructor's count for an exercise. They change no outcome above, and \
                no standard knows them."
            }
        }
    }
}

fn how_it_was_measured() -> Markup {
    html! {
        section {
            h2 { "How it was measured" }
            p {
                "The face was outlined in the photograph and laid straight through the scale \
                described above: along the weld from the left end, across it from the root line. \
                Torn metal is rough; a surface that never fused is smooth, shows machining lines, \
                scale or bead ripples. Where the picture does not tell the two apart, it says so. \
                Stretches of root shorter than 1 mm are not counted."
            }
            p {
                "The number behind ± is the expanded uncertainty: the true value lies within it in \
                about 95 of 100 such measurements. The break runs where the weld is weakest; a \
                fault beside its path stays hidden."
            }
        }
    }
}

fn care() -> Markup {
    html! {
        section.care {
            h2 { "Take care" }
            ul {
                li {
                    "Breaking: in a guarded press, hands out of the way, nobody in line with the \
                    coupon; fragments fly and the two halves spring apart. Eye and hand protection."
                }
                li {
                    "Metal that was just welded or ground is hot enough to burn, and broken edges \
                    are sharp. Let the coupon cool by itself."
                }
                li { "The rules of your own workshop come first, and the local codes." }
                li {
                    "The limits here are a help for comparing. What counts is your own copy of the \
                    standard, and the authorised examiner. Toeline certifies nobody."
                }
            }
        }
    }
}
