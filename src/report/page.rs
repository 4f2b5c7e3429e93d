//! The page: one HTML file that needs nothing else.
//!
//! First what a student wants to know (picture, one sentence, a few numbers),
//! then what an examiner wants to check. No scripts, no outside resource.

mod advice;
mod broken;
mod broken_words;
mod budget;
mod data_uri;
mod key;
mod limits;
mod other_welds;
pub(super) mod signs;
mod tables;
mod words;

use crate::record::{Kind, Record, Status};
use broken::has_numbers;
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

/// The report on one record as one self-contained HTML file.
///
/// `annotated_jpeg` is the JPEG of [`annotate`](super::annotate); an empty
/// slice stands for "no picture", e.g. of a file that could not be read.
pub fn html(record: &Record, annotated_jpeg: &[u8]) -> String {
    html_with_face(record, annotated_jpeg, &[])
}

/// The same with the JPEG of [`straightened`](super::straightened), which a
/// broken weld's page shows first; empty for "no picture".
pub fn html_with_face(record: &Record, annotated_jpeg: &[u8], face_jpeg: &[u8]) -> String {
    html_kept(record, annotated_jpeg, face_jpeg, None)
}

/// Where a report is kept, so that a printed one vouches for all that was kept
/// before it.
#[derive(Clone, Copy, Debug)]
pub struct Kept<'a> {
    /// Number of its entry in the archive.
    pub entry: u64,
    /// Hash of the entry before it, the archive's head until then.
    pub previous: &'a str,
}

/// The same with the place of the report in an archive.
pub fn html_kept(
    record: &Record,
    annotated_jpeg: &[u8],
    face_jpeg: &[u8],
    kept: Option<Kept<'_>>,
) -> String {
    let name = words::coupon_name(record);
    let kind = match record.kind {
        Kind::Section => "fillet weld in section",
        Kind::Fracture => "broken fillet weld",
    };
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (name) " – " (kind) }
                // The one place where text goes in unescaped: our own style sheet.
                style { (PreEscaped(include_str!("page/style.css"))) }
            }
            body {
                header {
                    h1 { (name) }
                    p.kind { (kind) }
                }
                main {
                    @match record.kind {
                        Kind::Section => (section_page(record, annotated_jpeg)),
                        Kind::Fracture => (broken::page(record, annotated_jpeg, face_jpeg)),
                    }
                }
                footer {
                    p {
                        "Toeline measures; it certifies nobody – an authorised examiner decides."
                    }
                    p.small {
                        (record.tool.name) " " (record.tool.version) ", record version "
                        (record.record) ". The record (JSON) beside this page holds every number \
                        with all its digits."
                    }
                    @if let Some(kept) = kept {
                        p.small {
                            "Kept as entry " (kept.entry) " of an archive. The hash of the entry \
                            before it, which covers everything kept until then: "
                            span style="overflow-wrap:anywhere" { (kept.previous) }
                        }
                    }
                }
            }
        }
    };
    page.into_string()
}

fn section_page(record: &Record, jpeg: &[u8]) -> Markup {
    markup! {
        (first_screen(record, jpeg))
        (tables::reasons(record))
        @if let Some(verdict) = &record.verdict { (limits::section(verdict)) }
        (advice::section(record))
        @if has_numbers(record) {
            (tables::measured(record))
            (tables::not_assessed(record))
            (tables::flaws(record))
            (other_welds::section(record))
            (budget::section(record))
        }
        (tables::declared(record))
        @if let Some(scale) = &record.scale { (tables::scale(scale)) }
        (tables::photograph(record))
        @if has_numbers(record) { (how_it_was_measured()) }
        (care())
    }
}

/// The one sentence, with its sign.
fn headline(record: &Record) -> Markup {
    let (sign, sentence) = words::headline(record);
    markup! {
        p class=(format!("headline {}", sign.class())) {
            (sign.shape())
            span { (sentence) }
        }
    }
}

fn first_screen(record: &Record, jpeg: &[u8]) -> Markup {
    markup! {
        section.first aria-label="In short" {
            (headline(record))
            @if !jpeg.is_empty() {
                figure {
                    img src=(data_uri::jpeg(jpeg)) alt=(words::picture_in_words(record));
                    @if record.status != Status::Refused {
                        figcaption { (key::of_lines(record)) }
                    }
                }
            }
            (tables::key_numbers(record))
            (tables::flaws_in_short(record))
        }
    }
}

fn how_it_was_measured() -> Markup {
    markup! {
        section {
            h2 { "How it was measured" }
            p {
                "The two plate surfaces were followed and prolonged as straight lines; where they \
                cross is the joint root. The toes are where the weld face meets those lines. The \
                fusion boundary is where the etched structure changes. Every length was taken \
                between such places in the original photograph, through the scale described above."
            }
            p {
                "The number behind ± is the expanded uncertainty: the true value lies within it in \
                about 95 of 100 such measurements. One section shows the weld at one place only; \
                what the weld looks like elsewhere it cannot show."
            }
        }
    }
}

fn care() -> Markup {
    markup! {
        section.care {
            h2 { "Take care" }
            ul {
                li {
                    "Cutting, grinding and polishing: guards in place, eye and hand protection; the \
                    metal gets hot and sparks fly."
                }
                li {
                    "Etching: acid slowly into water or alcohol, never the other way round; good \
                    ventilation, gloves and goggles; nital is never kept in a tightly closed bottle."
                }
                li { "The rules of your own workshop come first." }
                li {
                    "The limits here are a help for comparing. What counts is your own copy of the \
                    standard, and the examiner."
                }
            }
        }
    }
}
