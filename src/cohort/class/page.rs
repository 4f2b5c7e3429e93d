//! The page of a class: one HTML file that needs nothing else.

use super::agree::{self, Says};
use super::row::{Look, Row};
use super::{Class, drawings, rank};
use crate::base::rounding::{plain, shortest};
use crate::record::{Outcome, Status};
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};
use std::collections::BTreeMap;

pub(super) fn html(class: &Class) -> String {
    let title = match &class.welder {
        Some(welder) => format!("Coupons of {welder}"),
        None => "The class".to_owned(),
    };
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                // Our own files are the only text that goes in unescaped.
                style { (PreEscaped(include_str!("page.css"))) }
            }
            body {
                header { h1 { (title) } (counts(&class.rows)) }
                main {
                    (coupons(&class.rows))
                    @if class.welder.is_some() { h2 { "Over time" } (drawings::over_time(&class.rows)) }
                    (ranking(&class.rows))
                    (sizes(&class.rows))
                    (along(&class.rows))
                    (findings(&class.rows))
                    (together(&class.rows))
                    (not_measured(&class.rows))
                }
                footer {
                    p { "Toeline measures; it certifies nobody – an authorised examiner decides." }
                    p.soft {
                        "From an archive of " (class.head.seq) " entries; the last one's hash, which covers \
                        all before it: " span.hash { (class.head.hash) }
                    }
                }
                script { (PreEscaped(include_str!("page.js"))) }
            }
        }
    };
    page.into_string()
}

/// Word and class of a coupon's result.
fn result(row: &Row) -> (&'static str, &'static str) {
    if row.looks.is_empty() {
        return ("no photograph yet", "open");
    }
    if row.looks.iter().all(|look| look.status == Status::Refused) {
        return ("refused", "open");
    }
    match row.outcome() {
        Some(Outcome::Outside) => ("outside", "outside"),
        Some(Outcome::TooCloseToCall) => ("too close to call", "close"),
        Some(Outcome::NotAssessed) => ("not assessed", "open"),
        Some(Outcome::Within) => ("within", "within"),
        None => ("no limits chosen", "open"),
    }
}

/// A result's sign, so that its colour is never needed.
fn sign(class: &str) -> &'static str {
    match class {
        "within" => "✓ ",
        "outside" => "✗ ",
        "close" => "≈ ",
        _ => "? ",
    }
}

fn counts(rows: &[Row]) -> Markup {
    let mut counts: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for row in rows {
        *counts.entry(result(row)).or_default() += 1;
    }
    markup! {
        ul.counts {
            li { (rows.len()) (if rows.len() == 1 { " coupon" } else { " coupons" }) }
            @for ((word, class), n) in &counts { li class=(class) { (sign(class)) (n) " " (word) } }
        }
    }
}

/// Figures in the table of coupons: record name, title.
const FIGURES: [(&str, &str); 7] = [
    ("leg_butting_mm", "leg, butting, mm"),
    ("leg_nonbutting_mm", "leg, nonbutting, mm"),
    ("inscribed_throat_mm", "throat, mm"),
    ("root_unfused_length_mm", "root not fused, mm"),
    ("inter_run_unfused_length_mm", "passes not fused, mm"),
    ("sidewall_unfused_length_mm", "side not fused, mm"),
    ("flaw_sum_mm", "pores and inclusions, sum, mm"),
];

type Fact = fn(&Row) -> Option<String>;

/// What the sheet says of a coupon; columns that are empty are left out.
const FACTS: [(&str, Fact); 5] = [
    ("welder", |row| row.facts.welder.clone()),
    ("welded", |row| row.facts.date.clone()),
    ("process", |row| row.facts.process.clone()),
    ("position", |row| row.facts.position.clone()),
    ("joint", |row| {
        row.looks.iter().find_map(|look| look.joint.clone())
    }),
];

fn coupons(rows: &[Row]) -> Markup {
    let facts: Vec<&(&str, Fact)> = FACTS
        .iter()
        .filter(|(_, of)| rows.iter().any(|row| of(row).is_some()))
        .collect();
    let points = rows.iter().any(|row| row.points().is_some());
    let figures: Vec<_> = FIGURES
        .iter()
        .filter(|(name, _)| rows.iter().any(|row| row.size(name).is_some()))
        .collect();
    markup! {
        div.wide {
            table #coupons {
                caption { "Coupon by coupon; ± holds the true value in 95 of 100 cases" }
                thead { tr {
                    th scope="col" { "coupon" }
                    th scope="col" { "result" }
                    @if points { th scope="col" { "points" } }
                    // The ways to the reports stay in sight where the table is wider than the page.
                    th scope="col" { "reports" }
                    @for (_, title) in &figures { th scope="col" { (title) } }
                    @for (title, _) in &facts { th scope="col" { (title) } }
                } }
                tbody {
                    @for row in rows {
                        @let (word, class) = result(row);
                        tr data-outcome=(word) {
                            th.n scope="row" { (row.coupon) }
                            td.n.(class) data-v=(word) { (sign(class)) (word) }
                            @if points { (points_cell(row)) }
                            td.n { (links(row)) }
                            @for (name, _) in &figures { (figure(row, name)) }
                            @for (_, of) in &facts { td.n { (of(row).unwrap_or_default()) } }
                        }
                    }
                }
            }
        }
    }
}

fn points_cell(row: &Row) -> Markup {
    match row.points() {
        None => markup! { td data-v="" {} },
        Some(p) => markup! {
            td.n data-v=(p.left) {
                (shortest(p.left, 1))
                @if p.expanded_uncertainty > 0.0 { " ± " (plain(p.expanded_uncertainty, 1)) }
            }
        },
    }
}

fn figure(row: &Row, name: &str) -> Markup {
    match row.size(name) {
        None => markup! { td data-v="" {} },
        Some(size) => markup! {
            td.n data-v=(size.value) { (plain(size.value, 1)) " ± " (plain(size.expanded, 1)) }
        },
    }
}

/// A photograph's name, or its number where names are hidden.
fn name(look: &Look, n: usize) -> String {
    match look.photo.is_empty() {
        true => format!("photograph {}", n + 1),
        false => look.photo.clone(),
    }
}

fn links(row: &Row) -> Markup {
    markup! {
        @for (n, look) in row.looks.iter().enumerate() {
            @if n > 0 { br; }
            @match &look.report {
                Some(place) => a href=(place) { (name(look, n)) },
                None => (name(look, n)),
            }
        }
    }
}

fn ranking(rows: &[Row]) -> Markup {
    let tables = rank::places(rows);
    let welders = rows.iter().any(|row| row.facts.welder.is_some());
    markup! {
        @if !tables.is_empty() {
            h2 { "By points" }
            p.soft {
                "Points are an instructor's count, no part of any standard. Of several photographs of a \
                coupon the one with the fewest points counts."
            }
        }
        @for (profile, places) in &tables {
            div.wide { table {
                caption { "Points by " (profile) }
                thead { tr { th scope="col" { "rank" } th scope="col" { "coupon" } @if welders { th scope="col" { "welder" } } th scope="col" { "points" } th scope="col" { "taken off for" } th scope="col" { "to know" } } }
                tbody { @for place in places {
                    @let row = &rows[place.row];
                    tr {
                        td.n { (place.rank) @if place.tied { " (tied)" } }
                        th.n scope="row" { (row.coupon) }
                        @if welders { td.n { (row.facts.welder.as_deref().unwrap_or_default()) } }
                        (points_cell(row))
                        td { @for (n, line) in row.points().iter().flat_map(|p| &p.taken).enumerate() {
                            @if n > 0 { "; " } (line.what) " −" (shortest(line.points, 1))
                        } }
                        td {
                            @if place.close { "not told apart from the one above: the uncertainties overlap. " }
                            @for (n, line) in row.points().iter().flat_map(|p| &p.left_to_examiner).enumerate() {
                                @if n > 0 { "; " } (line)
                            }
                        }
                    }
                } }
            } }
        }
    }
}

fn sizes(rows: &[Row]) -> Markup {
    let drawn: Vec<Markup> = drawings::DRAWN
        .iter()
        .filter_map(|(name, title)| drawings::sizes(rows, name, title))
        .collect();
    markup! {
        @if !drawn.is_empty() {
            h2 { "Sizes against their limits" }
            p.soft {
                "The dot is the value; the line through it holds the true one in 95 of 100 cases. The \
                barred stroke is the limit and points to where the size has to lie."
            }
        }
        @for drawing in drawn { (drawing) }
    }
}

fn along(rows: &[Row]) -> Markup {
    markup! {
        @if let Some(drawing) = drawings::along(rows) {
            h2 { "Where along the weld fusion failed" }
            (drawing)
        }
    }
}

/// Findings surer than this are counted without a word of doubt.
const SURE: f64 = 0.75;

fn findings(rows: &[Row]) -> Markup {
    // Kind of finding → process and position → (coupons, findings, doubtful ones).
    let mut found: BTreeMap<(String, String), (usize, usize, usize)> = BTreeMap::new();
    for row in rows {
        let by = [&row.facts.process, &row.facts.position];
        let by: Vec<&str> = by.into_iter().flatten().map(String::as_str).collect();
        let mut own: BTreeMap<String, (usize, usize)> = BTreeMap::new();
        for stretch in row
            .looks
            .iter()
            .flat_map(|look| &look.stretches)
            .filter(|s| s.counts)
        {
            let count = own.entry(stretch.kind.clone()).or_default();
            count.0 += 1;
            count.1 += usize::from(stretch.confidence < SURE);
        }
        for (kind, (n, doubtful)) in own {
            let entry = found.entry((kind, by.join(", "))).or_default();
            *entry = (entry.0 + 1, entry.1 + n, entry.2 + doubtful);
        }
    }
    markup! {
        @if !found.is_empty() {
            h2 { "What was found, by process and position" }
            div.wide { table {
                caption { "Counted findings; doubtful: less than three in four" }
                thead { tr { th scope="col" { "finding" } th scope="col" { "process, position" } th scope="col" { "coupons" } th scope="col" { "findings" } th scope="col" { "of them doubtful" } } }
                tbody { @for ((kind, by), (coupons, n, doubtful)) in &found {
                    tr { th scope="row" { (kind.replace('-', " ")) } td { (by) } td { (coupons) } td { (n) } td { (doubtful) } }
                } }
            } }
        }
    }
}

/// Coupons with more than one photograph, and notes.
fn together(rows: &[Row]) -> Markup {
    let said: Vec<(&Row, Vec<(Says, String)>)> = rows
        .iter()
        .map(|row| (row, agree::sentences(row)))
        .filter(|(row, said)| !said.is_empty() || row.facts.notes.is_some())
        .collect();
    markup! {
        @if !said.is_empty() { h2 { "Notes, and what several photographs of a coupon say together" } }
        @for (row, said) in &said {
            h3 { (row.coupon) }
            @if let Some(notes) = &row.facts.notes { p { "The examiner noted: " (notes) } }
            ul { @for (says, text) in said {
                @let class = match says { Says::Agree => "within", Says::Differ => "close" };
                li class=(class) { (sign(class)) (text) }
            } }
        }
    }
}

/// Photographs that gave no number, or not all, and why.
fn not_measured(rows: &[Row]) -> Markup {
    let looks: Vec<(&Row, usize, &Look)> = rows
        .iter()
        .flat_map(|row| {
            row.looks
                .iter()
                .enumerate()
                .map(move |(n, look)| (row, n, look))
        })
        .filter(|(_, _, look)| !look.reasons.is_empty())
        .collect();
    markup! {
        @if !looks.is_empty() {
            h2 { "Not measured, or not all of it" }
            ul { @for (row, n, look) in &looks {
                li {
                    b { (row.coupon) } ", " (name(look, *n))
                    @if look.status == Status::Refused { ", refused" }
                    ": " (look.reasons.join("; "))
                }
            } }
        }
    }
}
