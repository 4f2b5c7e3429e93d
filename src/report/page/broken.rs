//! The page of a broken weld: the straightened face first, then what was found
//! in words, then the comparison, then everything else.

use super::{advice, budget, data_uri, headline, key, limits, tables, words};
use crate::base::rounding::{plain, shortest, stated};
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
            (sizes(record))
            (tables::measured(record))
            (tables::not_assessed(record))
            (budget::section(record))
        }
        (tables::declared(record))
        @if let Some(scale) = &record.scale { (tables::scale(scale)) }
        (tables::photograph(record))
        @if has_numbers(record) { (how_it_was_measured()) }
        (care())
    }
}

/// Pores and inclusions smaller than this are told together.
const SMALL_MM: f64 = 1.0;

/// What was found, in words.
fn found(record: &Record) -> Markup {
    let numbered = || (1..).zip(&record.findings);
    let (small, told): (Vec<_>, Vec<_>) = numbered().partition(|(_, finding)| is_small(finding));
    html! {
        section {
            h2 { "What was found" }
            @if record.findings.is_empty() {
                p { "No lack of fusion, no pore and no inclusion." }
            } @else {
                ul.found {
                    @for (number, finding) in told {
                        li {
                            b.no { (number) }
                            span { (words::sentence(&in_words(finding))) }
                        }
                    }
                    @if let Some(sentence) = together(&small) {
                        li { b.no { "…" } span { (words::sentence(&sentence)) } }
                    }
                }
            }
            p.small {
                "Cracks are not searched for: look at the face yourself, with a lens."
                @if let Some(one_in) = overlooked(record) {
                    " A place between passes or at a side wall is overlooked on about one face in \
                    " (one_in) "; that is counted in what stands behind ±. Turn the half under a \
                    lamp: what shines evenly never fused."
                }
            }
        }
    }
}

/// On one face in how many a zone is overlooked, by the kind that is most often.
fn overlooked(record: &Record) -> Option<String> {
    let chances = record
        .measurements
        .values()
        .filter_map(|m| m.chance_overlooked);
    let most = chances.fold(0.0, f64::max);
    (most > 0.05).then(|| plain(1.0 / most, 0))
}

fn is_small(finding: &Finding) -> bool {
    finding
        .greatest_dimension_mm
        .is_some_and(|size| size.value < SMALL_MM)
}

/// `8 pores and inclusions under 1 mm, from 15 to 25 mm from the left end (nos.
/// 3, 5, 6), together 4.2 mm`.
fn together(small: &[(i32, &Finding)]) -> Option<String> {
    let places: Vec<f64> = small.iter().filter_map(|(_, f)| f.at_mm).collect();
    let first = places.iter().copied().fold(f64::INFINITY, f64::min);
    let last = places.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let numbers: Vec<String> = small.iter().map(|(number, _)| number.to_string()).collect();
    let sum: f64 = small
        .iter()
        .filter_map(|(_, f)| f.greatest_dimension_mm)
        .map(|size| size.value)
        .sum();
    match small {
        [] => None,
        [(number, finding)] => Some(format!("{} (no. {number})", in_words(finding))),
        _ => Some(format!(
            "{} pores and inclusions under {SMALL_MM} mm, from {} to {} mm from the left end \
             (nos. {}), together {} mm",
            small.len(),
            shortest(first, 0),
            shortest(last, 0),
            numbers.join(", "),
            shortest(sum, 1)
        )),
    }
}

/// Every finding with its sizes.
fn sizes(record: &Record) -> Markup {
    html! {
        @if !record.findings.is_empty() {
            section {
                h2 { "Every finding with its sizes" }
                table.stack.sizes {
                    thead {
                        tr {
                            th scope="col" { "No." }
                            th scope="col" { "What" }
                            th scope="col" { "Where, mm" }
                            th scope="col" { "Length or greatest dimension" }
                            th scope="col" { "Across the weld" }
                            th scope="col" { "Area" }
                            th scope="col" { "How sure" }
                        }
                    }
                    tbody {
                        @for (number, finding) in (1..).zip(&record.findings) {
                            tr {
                                td data-head="No." { b { (number) } }
                                th scope="row" {
                                    (finding.kind.replace('-', " "))
                                    span.small { " " (finding.iso_6520) }
                                }
                                td data-head="Where, mm" { (place(finding)) }
                                td data-head="Length or greatest dimension" {
                                    (size(finding.length_mm.or(finding.greatest_dimension_mm), "mm"))
                                }
                                td data-head="Across the weld" { (size(finding.depth_max_mm, "mm")) }
                                td data-head="Area" { (size(finding.area_mm2, "mm²")) }
                                td data-head="How sure" { (words::percent(finding.confidence)) }
                            }
                        }
                    }
                }
                p.small {
                    "Places count from the left end, root side below. What has no size lies in a \
                    discarded end and does not count. Numbers behind names are those of ISO 6520-1."
                }
            }
        }
    }
}

fn place(finding: &Finding) -> String {
    match (finding.start_mm, finding.end_mm, finding.at_mm) {
        (Some(start), Some(end), _) => format!("{} – {}", shortest(start, 1), shortest(end, 1)),
        (_, _, Some(at)) => shortest(at, 1),
        _ => "—".to_owned(),
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
