//! The page over an export: every coupon with links to its files.

use super::super::chain::Head;
use super::super::{CouponView, Role};
use super::{SUMS, Shown};
use crate::record::word;
use maud::{DOCTYPE, Markup, html as markup};

const STYLE: &str = "body{font:16px/1.5 sans-serif;max-width:70rem;margin:2rem auto;padding:0 1rem}\
                     table{border-collapse:collapse;width:100%}\
                     th,td{border-bottom:1px solid #bbb;padding:.3rem .6rem;text-align:left;\
                     vertical-align:top}code{overflow-wrap:anywhere}";

/// The text of `index.html`.
pub fn html(coupons: &[CouponView], shown: &[Shown<'_>], head: &Head) -> String {
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Coupons: " (coupons.len()) }
                style { (STYLE) }
            }
            body {
                h1 { "Coupons" }
                table {
                    thead { tr {
                        th { "coupon" } th { "welder" } th { "welded" } th { "process" }
                        th { "position" } th { "photograph" } th { "result" } th { "files" }
                    } }
                    tbody { @for coupon in coupons { (rows(coupon, shown)) } }
                }
                h2 { "How to check that nothing was changed" }
                p {
                    "Every file here stands in " code { (SUMS) } " with its SHA-256. In this folder: "
                    code { "sha256sum -c " (SUMS) } "."
                }
                p {
                    "The archive had " (head.seq) " entries when this was taken out of it; the last \
                    one's hash, which covers all before it, is " code { (head.hash) } "."
                }
                p {
                    "Earlier measurements of a photograph lie in the folder " code { "earlier" }
                    " of its coupon. Toeline measures; it certifies nobody – an authorised examiner \
                    decides."
                }
            }
        }
    };
    page.into_string()
}

fn rows(coupon: &CouponView, shown: &[Shown<'_>]) -> Markup {
    let own: Vec<&Shown<'_>> = shown
        .iter()
        .filter(|shown| shown.coupon.id == coupon.id)
        .collect();
    let lines = own.len().max(1);
    let fact = |text: &Option<String>| text.clone().unwrap_or_default();
    let facts = [
        coupon.id.clone(),
        fact(&coupon.facts.welder),
        fact(&coupon.facts.date),
        fact(&coupon.facts.process),
        fact(&coupon.facts.position),
    ];
    markup! {
        @for line in 0..lines {
            tr {
                @if line == 0 {
                    @for text in &facts { td rowspan=(lines) { (text) } }
                }
                @match own.get(line) {
                    Some(shown) => (photograph(shown)),
                    None => td colspan="3" { "no photograph yet" },
                }
            }
        }
    }
}

fn photograph(shown: &Shown<'_>) -> Markup {
    let revision = &shown.latest.revision;
    let files = [
        (Role::Report, "report"),
        (Role::Picture, "annotated picture"),
        (Role::Original, "photograph"),
        (Role::Record, "record"),
    ];
    markup! {
        td { (revision.photo) " (" (word(&revision.asked.kind)) ")" }
        td {
            (word(&revision.status).replace('-', " "))
            @if let Some(outcome) = &revision.outcome { ", " (word(outcome).replace('-', " ")) }
        }
        td {
            @for (role, title) in files {
                @if let Some(place) = shown.place(role) {
                    a href=(address(place)) { (title) } " "
                }
            }
        }
    }
}

/// A place as a link's address.
fn address(place: &str) -> String {
    place
        .bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' => {
                (byte as char).to_string()
            }
            _ => format!("%{byte:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_survives_odd_names() {
        assert_eq!(address("HR 01/ä#1.jpg"), "HR%2001/%C3%A4%231.jpg");
    }
}
