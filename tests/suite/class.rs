//! `toeline class`: the page and the table of a class, read back.

use crate::support::class::{Answer, Class};
use std::fs;
use std::path::Path;

const SHEET: &str = "coupon,welder,date,process,position,notes,scale,limits,section,fracture\n\
    HR-07,Quill,2026-03-02,135,PB,,rule-mm,iso5817-c,HR-07.jpg,\n\
    HR-21,Quill,2026-03-09,135,PB,Quill stopped twice,rule-mm,harbour-row-contest,,HR-21.jpg\n\
    Quill-3,Quill,2026-03-16,111,PF,,rule-mm,harbour-row-contest,,HR-27.jpg\n\
    HR&28,<b>Dee</b>,,,,</script><script>alert(1),declared:20,,1.png,\n";

/// Four coupons of two welders, filed: a section, two breaks and a picture without a
/// weld with texts that would be parts of a page.
fn class() -> Class {
    let class = Class::new();
    class.section("HR-07.jpg");
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fractures");
    for name in ["HR-21.jpg", "HR-27.jpg"] {
        fs::copy(shipped.join(name), class.path("photos").join(name)).unwrap();
    }
    class.photo("1.png", 1);
    class.sheet(SHEET);
    let answer = class.batch();
    assert_eq!(answer.code, 3, "{}", answer.err);
    class
}

fn page(class: &Class, more: &[&str]) -> (Answer, String, String) {
    let mut arguments = vec!["class", "--archive", "archive", "--out", "class.html"];
    arguments.extend(more);
    let answer = class.run(&arguments);
    let read = |name: &str| fs::read_to_string(class.path(name)).unwrap_or_default();
    let texts = (read("class.html"), read("class.csv"));
    (answer, texts.0, texts.1)
}

#[test]
fn a_class_on_one_page_and_in_one_table() {
    let class = class();
    let (answer, page, table) = page(&class, &[]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(
        answer.out.starts_with("class.html: 4 coupons; class.csv"),
        "{}",
        answer.out
    );
    // Every coupon, its welder, the drawings, ranks, notes, why one was refused.
    for text in [
        "4 coupons",
        "Quill stopped twice",
        "aria-label=\"Leg at the butting member, mm, by coupon\"",
        "aria-label=\"where along the weld fusion failed, by coupon\"",
        "Points by harbour-row-contest",
        "lack of root fusion, 2",
        "Not measured, or not all of it",
        "it certifies nobody",
    ] {
        assert!(page.contains(text), "{text}");
    }
    // What a person typed is text, never a part of the page.
    assert!(!page.contains("<b>Dee") && !page.contains("<script>alert"));
    assert!(page.contains("HR&amp;28") && page.contains("&lt;b&gt;Dee"));
    assert_eq!(page.matches("<script").count(), 1);
    assert!(!page.contains("http://") && !page.contains("https://"));
    // Its links lead to the reports.
    let links: Vec<&str> = page
        .split("href=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect();
    assert_eq!(links.len(), 4);
    for link in links {
        let report = fs::read_to_string(class.path(link)).unwrap();
        assert!(report.starts_with("<!DOCTYPE html>"), "{link}");
    }
    // The table holds what the records hold.
    let mut rows = csv::Reader::from_reader(table.trim_start_matches('\u{feff}').as_bytes());
    let titles = rows.headers().unwrap().clone();
    let column = |name: &str| titles.iter().position(|t| t == name).unwrap();
    let lines: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(lines.len(), 4);
    let of = |coupon: &str| lines.iter().find(|line| &line[0] == coupon).unwrap();
    let root: f64 = of("HR-21")[column("root_unfused_length_mm")]
        .parse()
        .unwrap();
    assert!((root - 26.0).abs() < 3.0, "{root}");
    assert_eq!(&of("HR-07")[column("notes")], "");
    assert_eq!(&of("HR-07")[column("root_unfused_length_mm")], "");
}

#[test]
fn one_welder_s_coupons_follow_their_dates() {
    let class = class();
    let (answer, page, _) = page(&class, &["--welder", "Quill", "--quiet"]);
    assert_eq!(
        (answer.code, answer.out.as_str()),
        (0, ""),
        "{}",
        answer.err
    );
    assert!(page.contains("Coupons of Quill") && !page.contains("Dee"));
    assert!(page.contains("aria-label=\"points over time\""));
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(at(">HR-07<") < at(">HR-21<") && at(">HR-21<") < at(">Quill-3<"));
    let (none, ..) = self::page(&class, &["--welder", "Nobody"]);
    assert_eq!(none.code, 1);
    assert!(none.err.contains("archive list"), "{}", none.err);
}

#[test]
fn an_anonymous_page_tells_no_name() {
    let class = class();
    let (answer, page, table) = page(&class, &["--anonymous"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for text in [&page, &table] {
        // The welders, a coupon called after one, a note about one, and files whose
        // names or pages could tell.
        for name in ["Quill", "Dee", "stopped twice", "HR-21.jpg", "href="] {
            assert!(!text.contains(name), "{name}");
        }
        assert!(text.contains("welder 1") && text.contains("welder 2") && text.contains("HR-21"));
    }
}

#[test]
fn a_page_is_no_table() {
    let class = Class::new();
    let answer = class.run(&["class", "--archive", "archive", "--out", "class.csv"]);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("class.html"), "{}", answer.err);
}
