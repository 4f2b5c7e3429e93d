//! `toeline class`: the page and the table of a class, read back.

use crate::support::class::{Answer, Class};
use std::fs;
use std::path::Path;
use toeline::archive::{Archive, CouponFacts, Filing};
use toeline::record::{Asked, Record};

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

/// A made-up broken coupon: what a record needs to stand in a class.
fn made(n: u32) -> (Asked, Record) {
    let id = format!("HR-{n:03}");
    // Spread over the weld and the sizes without any chance.
    let part = f64::from(n * 37 % 100) / 100.0;
    let (start, length) = (10.0 + 60.0 * part, 2.0 + 25.0 * (1.0 - part));
    let measured = |value: f64, u: f64| serde_json::json!({"status": "measured", "value": value, "expanded_uncertainty": u});
    let left = (100.0 - 2.0 * length).round();
    let record = serde_json::json!({
        "record": 1, "tool": {"name": "toeline", "version": "1"}, "kind": "fracture",
        "coupon": {"id": id, "joint": "tee"},
        "photo": {"file": "a", "sha256": "", "width_px": 0, "height_px": 0},
        "status": "measured", "reasons": [], "outlines_px": {},
        "measurements": {
            "evaluated_length_mm": measured(100.0, 0.4),
            "root_unfused_length_mm": measured(length, 0.8),
            "inter_run_unfused_length_mm": measured(5.0 * part, 0.5),
            "flaw_sum_mm": measured(2.0 * part, 0.2),
            "leg_butting_mm": measured(5.5 + part, 0.2),
            "leg_nonbutting_mm": measured(5.8 + part, 0.2),
            "inscribed_throat_mm": measured(3.9 + part, 0.15),
        },
        "findings": [
            {"type": "lack-of-root-fusion", "iso_6520": 4013, "confidence": 0.9,
             "start_mm": start, "end_mm": start + length,
             "length_mm": {"value": length, "expanded_uncertainty": 0.8}},
            {"type": "pore", "iso_6520": 2011, "confidence": 0.6, "at_mm": 50.0,
             "greatest_dimension_mm": {"value": 1.0, "expanded_uncertainty": 0.2}},
        ],
        "verdict": {"profile": "contest", "edition_note": "", "decision_rule": "",
            "outcome": "outside", "checks": [], "points": {
                "start": 100.0, "left": left, "expanded_uncertainty": 1.6,
                "taken": [{"what": "root not fused", "found": "1", "points": 100.0 - left}]}},
        "provenance": {"settings": {}, "random_seed": 0, "corrections": [], "timings_ms": {}},
    });
    let record: Record = serde_json::from_value(record).unwrap();
    let asked = Asked {
        kind: record.kind,
        coupon: record.coupon.clone(),
        scale: "rule-mm".into(),
        rule_class: "II".into(),
        card_line_mm: None,
        limits: None,
    };
    (asked, record)
}

/// `TOELINE_COUPONS=500 TOELINE_SHOW=folder cargo test --release --test tests
/// a_large_class` leaves the page of so many coupons, to be opened in a browser.
/// A class of so many made-up coupons, and its page.
pub fn large(coupons: u32) -> (Class, String) {
    let class = Class::new();
    let mut archive = Archive::open_to_write(&class.path("archive")).unwrap();
    for n in 1..=coupons {
        let (asked, record) = made(n);
        let id = record.coupon.id.clone().unwrap();
        let facts = CouponFacts {
            welder: Some(format!("W-{:02}", n % 30)),
            date: Some(format!("2026-03-{:02}", n % 28 + 1)),
            process: Some(["135", "111"][n as usize % 2].into()),
            position: Some(["PB", "PF", "PD"][n as usize % 3].into()),
            ..CouponFacts::default()
        };
        archive.declare(&[(id.clone(), facts)]).unwrap();
        archive
            .file(&Filing {
                coupon: &id,
                photo: &format!("{id}.jpg"),
                original: id.as_bytes(),
                asked: &asked,
                key: &id,
                reason: "made up",
                record: &record,
                picture: None,
                report: &format!("<!DOCTYPE html>{id}"),
            })
            .unwrap();
    }
    archive.close().unwrap();
    let (answer, page, table) = page(&class, &[]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert_eq!(table.lines().count(), coupons as usize + 1);
    (class, page)
}

#[test]
fn a_large_class_names_every_coupon_once() {
    let number = |name: &str| std::env::var(name).ok()?.parse::<u32>().ok();
    let coupons = number("TOELINE_COUPONS").unwrap_or(12);
    let (_class, page) = large(coupons);
    let rows = page.matches("data-outcome=").count();
    assert_eq!(rows, coupons as usize);
    for n in 1..=coupons {
        let row = format!("<th class=\"n\" scope=\"row\">HR-{n:03}</th><td class=\"n outside\"");
        assert_eq!(page.matches(&row).count(), 1, "{n}");
    }
    if let Some(folder) = std::env::var_os("TOELINE_SHOW") {
        fs::create_dir_all(&folder).unwrap();
        fs::write(Path::new(&folder).join("class.html"), page).unwrap();
    }
}
