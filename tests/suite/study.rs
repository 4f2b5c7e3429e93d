//! `toeline study` against published studies, and what is no study.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

/// Exit code, what was said, the figures and the page.
fn study(sheet: &str, more: &[&str]) -> (i32, String, Value, String) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("study.csv"), sheet).unwrap();
    let output = Command::cargo_bin("toeline")
        .unwrap()
        .current_dir(folder.path())
        .args(["study", "study.csv", "--out", "study.html"])
        .args(more)
        .output()
        .unwrap();
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap_or_default();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap());
    let figures = serde_json::from_str(&read("study.json")).unwrap_or(Value::Null);
    (
        output.status.code().unwrap(),
        said.concat(),
        figures,
        read("study.html"),
    )
}

/// Ten parts, three examiners, three looks: the example of a manual on measurement
/// systems, as republished in open test suites (AIAG MSA).
const PARTS: [[f64; 9]; 10] = [
    [0.29, 0.41, 0.64, 0.08, 0.25, 0.07, 0.04, -0.11, -0.15],
    [
        -0.56, -0.68, -0.58, -0.47, -1.22, -0.68, -1.38, -1.13, -0.96,
    ],
    [1.34, 1.17, 1.27, 1.19, 0.94, 1.34, 0.88, 1.09, 0.67],
    [0.47, 0.50, 0.64, 0.01, 1.03, 0.20, 0.14, 0.20, 0.11],
    [
        -0.80, -0.92, -0.84, -0.56, -1.20, -1.28, -1.46, -1.07, -1.45,
    ],
    [0.02, -0.11, -0.21, -0.20, 0.22, 0.06, -0.29, -0.67, -0.49],
    [0.59, 0.75, 0.66, 0.47, 0.55, 0.83, 0.02, 0.01, 0.21],
    [-0.31, -0.20, -0.17, -0.63, 0.08, -0.34, -0.46, -0.56, -0.49],
    [2.26, 1.99, 2.01, 1.80, 2.12, 2.19, 1.77, 1.45, 1.87],
    [
        -1.36, -1.25, -1.31, -1.68, -1.62, -1.50, -1.49, -1.77, -2.16,
    ],
];

fn parts() -> String {
    let mut sheet = "coupon,examiner,look,size\n".to_owned();
    for (part, looks) in PARTS.iter().enumerate() {
        for (i, v) in looks.iter().enumerate() {
            let examiner = ["A", "B", "C"][i / 3];
            sheet.push_str(&format!("HR-{part:02},{examiner},{},{v}\n", i % 3 + 1));
        }
    }
    sheet
}

#[test]
fn a_published_study_of_values_is_met() {
    let (code, said, figures, page) = study(&parts(), &["--tolerance", "size=8"]);
    assert_eq!(code, 0, "{said}");
    let scatter = &figures["values"][0]["scatter"];
    for (name, expected) in [
        ("repeats", 0.19993),
        ("examiners", 0.22684),
        ("interaction", 0.0),
        ("measuring", 0.30237),
        ("coupons", 1.04233),
        ("total", 1.08530),
        ("share_of_tolerance", 0.2268),
        ("interaction_probability", 0.974),
    ] {
        let found = scatter[name].as_f64().unwrap();
        assert!((found - expected).abs() < 5e-4, "{name}: {found}");
    }
    assert_eq!(scatter["distinct"], 4);
    // Shares of the variance, as published: 92.24, 4.37 and 3.39 per cent.
    for text in ["92.2 %", "4.4 %", "3.4 %", "About 4 sizes"] {
        assert!(page.contains(text), "{text}");
    }
    assert!(!page.contains("NaN") && !page.contains("http"));
}

/// Ten subjects, fourteen raters, five categories: the widely reprinted example of
/// Fleiss' kappa, 0.2099.
#[test]
fn a_published_study_of_verdicts_is_met() {
    let table = [
        [0, 0, 0, 0, 14],
        [0, 2, 6, 4, 2],
        [0, 0, 3, 5, 6],
        [0, 3, 9, 2, 0],
        [2, 2, 8, 1, 1],
        [7, 7, 0, 0, 0],
        [3, 2, 6, 3, 0],
        [2, 5, 3, 2, 2],
        [6, 5, 2, 1, 0],
        [0, 2, 2, 3, 7],
    ];
    let mut sheet = "coupon;examiner;verdict\n".to_owned();
    for (subject, counts) in table.iter().enumerate() {
        let words = counts
            .iter()
            .enumerate()
            .flat_map(|(word, n)| vec![word; *n]);
        for (rater, word) in words.enumerate() {
            sheet.push_str(&format!("HR-{subject};R{rater};class {word}\n"));
        }
    }
    let (code, said, figures, page) = study(&sheet, &[]);
    assert_eq!(code, 0, "{said}");
    let verdict = &figures["verdicts"][0];
    let kappa = &verdict["between_all"];
    assert!((kappa["value"].as_f64().unwrap() - 0.209_930_7).abs() < 1e-6);
    assert!(kappa["low"].as_f64().unwrap() < 0.15 && kappa["high"].as_f64().unwrap() > 0.27);
    assert_eq!(verdict["all_agree"]["agree"], 1);
    assert!(page.contains("1 of 10 coupons") && page.contains("fair"));
    // Everybody looked once: nobody can be held against themselves.
    assert_eq!(verdict["within"].as_array().unwrap().len(), 0);
}

/// Yes and yes 20, yes and no 5, no and yes 10, no and no 15: kappa 0.40 (textbook
/// value, from memory, and by hand: 0.70 observed, 0.50 by chance).
#[test]
fn a_pair_of_examiners_has_the_textbook_kappa_and_their_differences_are_listed() {
    let mut sheet = "coupon,examiner,verdict\n".to_owned();
    let pairs = [
        ("yes", "yes", 20),
        ("yes", "no", 5),
        ("no", "yes", 10),
        ("no", "no", 15),
    ];
    let mut coupon = 0;
    for (a, b, n) in pairs {
        for _ in 0..n {
            coupon += 1;
            sheet.push_str(&format!("HR-{coupon},Ash,{a}\nHR-{coupon},Elm,{b}\n"));
        }
    }
    let (code, said, figures, page) = study(&sheet, &[]);
    assert_eq!(code, 0, "{said}");
    let verdict = &figures["verdicts"][0];
    assert!((verdict["pairs"][0]["kappa"]["value"].as_f64().unwrap() - 0.4).abs() < 1e-9);
    assert_eq!(verdict["pairs"][0]["same"]["agree"], 35);
    assert_eq!(verdict["differing"].as_array().unwrap().len(), 15);
    assert!(page.contains("35 of 50") && page.contains("HR-21"));
}

#[test]
fn what_is_no_study_is_said_with_line_and_column() {
    let (code, said, ..) = study("coupon,examiner,leg\nHR-1,A,6.1\nHR-2,A,six\n", &[]);
    assert_eq!(code, 2);
    assert!(
        said.contains("line 3, column 'leg': 'six' is no number"),
        "{said}"
    );
    let (code, said, ..) = study("coupon,leg\nHR-1,6.1\n", &[]);
    assert_eq!(code, 2);
    assert!(
        said.contains("no column 'examiner'") && said.contains("--new"),
        "{said}"
    );
    let (code, said, ..) = study(&parts(), &["--tolerance", "leg=2"]);
    assert_eq!(code, 2);
    assert!(said.contains("no column of numbers called 'leg'"), "{said}");
    let (code, said, ..) = study(&parts(), &["--tolerance", "size=-2"]);
    assert_eq!(code, 2, "{said}");
}

#[test]
fn what_cannot_be_worked_out_is_said_and_the_rest_is() {
    // One look short, and verdicts all the same.
    let mut sheet = "coupon,examiner,leg,verdict\n".to_owned();
    for coupon in ["HR-1", "HR-2"] {
        for examiner in ["A", "B"] {
            sheet.push_str(&format!(
                "{coupon},{examiner},6.1,within\n{coupon},{examiner},6.2,within\n"
            ));
        }
    }
    sheet.push_str("HR-2,B,6.3,within\n");
    let (code, said, figures, page) = study(&sheet, &[]);
    assert_eq!(code, 0, "{said}");
    assert_eq!(figures["values"][0]["scatter"], Value::Null);
    assert!(
        page.contains("examiner B looked 3 times at coupon HR-2"),
        "{said}"
    );
    assert_eq!(figures["verdicts"][0]["between_all"], Value::Null);
    assert_eq!(figures["verdicts"][0]["all_agree"]["agree"], 2);
    assert!(!page.contains("NaN"));
    // All values alike: no scatter at all.
    let flat = sheet
        .replace("6.2", "6.1")
        .replace("HR-2,B,6.3,within\n", "");
    let (code, said, _, page) = study(&flat, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(
        page.contains("All values are the same.") && !page.contains("NaN"),
        "{said}"
    );
    assert!(page.contains("Kappa is undefined"));
}

#[test]
fn the_example_sheet_is_worked_out_and_replaces_nothing() {
    let folder = TempDir::new().unwrap();
    let run = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("toeline").unwrap();
        command
            .current_dir(folder.path())
            .args(arguments)
            .output()
            .unwrap()
    };
    assert!(run(&["study", "--new", "s.csv"]).status.success());
    assert!(!run(&["study", "--new", "s.csv"]).status.success());
    let worked = run(&["study", "s.csv", "--out", "s.html", "--quiet"]);
    assert!(worked.status.success() && worked.stdout.is_empty());
    let page = fs::read_to_string(folder.path().join("s.html")).unwrap();
    assert!(page.contains("Coupons on which they differ") && page.contains("HR-32"));
    assert!(!run(&["study", "s.csv"]).status.success());
}
