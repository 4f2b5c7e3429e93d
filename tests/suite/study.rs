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
    let found = &figures["columns"][0]["found"]["values"];
    for (place, part, deviation, contribution, study, tolerance) in [
        (0, "repeatability", 0.19993, 3.39, 18.42, 0.0),
        (1, "reproducibility", 0.22684, 4.37, 20.90, 0.0),
        (2, "measuring", 0.30237, 7.76, 27.86, 22.68),
        (3, "coupons", 1.04233, 92.24, 96.04, 0.0),
        (4, "total", 1.08530, 100.0, 100.0, 0.0),
    ] {
        let line = &found["parts"][place];
        assert_eq!(line["part"], part);
        let near = |name: &str, expected: f64, within: f64| {
            let found = line[name].as_f64().unwrap();
            assert!((found - expected).abs() < within, "{part} {name}: {found}");
        };
        near("deviation_mm", deviation, 6e-6);
        near("contribution_percent", contribution, 6e-3);
        near("study_variation_percent", study, 6e-3);
        if tolerance > 0.0 {
            near("tolerance_percent", tolerance, 6e-3);
        }
        let bound = |i: usize| line["deviation_interval_mm"][i].as_f64().unwrap();
        assert!(bound(0) < deviation && deviation < bound(1), "{part}");
    }
    assert_eq!(found["interaction_pooled"], true);
    assert!((found["interaction_p"].as_f64().unwrap() - 0.974).abs() < 5e-4);
    assert_eq!(found["distinct_categories"], 4);
    for (place, mean) in [(0, 0.1903), (1, 0.0683), (2, -0.2543)] {
        let found = found["examiner_means_mm"][place].as_f64().unwrap();
        assert!((found - mean).abs() < 5e-5, "{found}");
    }
    let lines = found["anova"].as_array().unwrap();
    let squares = [88.36193, 3.16726, 0.35898, 2.75893];
    for (line, expected) in lines.iter().zip(squares) {
        let found = line["sum_of_squares"].as_f64().unwrap();
        assert!((found - expected).abs() < 6e-6, "{line}");
    }
    for text in [
        "92 % lies in the coupons",
        "4.4 % between",
        "28 %",
        "23 %",
        ">4<",
    ] {
        assert!(page.contains(text), "{text}");
    }
    assert!(said.contains("27.9 % of the study variation"), "{said}");
    // One drawing of the shares and one of all ninety values, each told in words.
    assert_eq!(page.matches("role=\"img\"").count(), 2);
    assert_eq!(page.matches("<g transform").count(), 90);
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
    let verdict = &figures["columns"][0]["found"]["verdicts"];
    let kappa = &verdict["overall"];
    assert_eq!(kappa["kind"], "fleiss");
    assert!((kappa["value"].as_f64().unwrap() - 0.209_930_704_421_955_22).abs() < 1e-9);
    let bound = |i: usize| kappa["interval"][i].as_f64().unwrap();
    assert!(bound(0) < 0.15 && bound(1) > 0.27, "{kappa}");
    assert_eq!(verdict["agreed"]["count"], 1);
    assert!(page.contains("1 of 10 coupons") && page.contains("Landis and Koch"));
    assert!(page.contains("“fair”"));
    // Everybody looked once: nobody can be held against themselves.
    assert_eq!(verdict["own"].as_array().unwrap().len(), 0);
    assert!(page.contains("Everybody looked once"));
    assert!(!page.contains("NaN") && !page.contains("http"));
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
    let verdict = &figures["columns"][0]["found"]["verdicts"];
    let pair = &verdict["pairs"][0];
    assert!((pair["kappa"]["value"].as_f64().unwrap() - 0.4).abs() < 1e-12);
    assert_eq!((&pair["agreed"], &pair["of"]), (&35.into(), &50.into()));
    assert_eq!(verdict["overall"], pair["kappa"]);
    assert_eq!(verdict["disputed"].as_array().unwrap().len(), 15);
    assert!(page.contains("35 of 50") && page.contains("HR-21") && page.contains("Cohen's"));
    assert!(!page.contains("HR-20<"), "all agreed on HR-20");
}

/// Looks are paired by their number, not by the order of the lines: A and B say the same
/// at each look of every coupon, and B's lines stand the other way round.
#[test]
fn looks_are_paired_by_their_number() {
    let mut sheet = "coupon,examiner,look,verdict\n".to_owned();
    for (coupon, first, second) in [("HR-1", "x", "y"), ("HR-2", "y", "x"), ("HR-3", "x", "x")] {
        sheet.push_str(&format!("{coupon},A,1,{first}\n{coupon},A,2,{second}\n"));
        sheet.push_str(&format!("{coupon},B,2,{second}\n{coupon},B,1,{first}\n"));
    }
    let (code, said, figures, page) = study(&sheet, &[]);
    assert_eq!(code, 0, "{said}");
    let pair = &figures["columns"][0]["found"]["verdicts"]["pairs"][0];
    assert_eq!((&pair["agreed"], &pair["of"]), (&6.into(), &6.into()));
    // Full agreement has no interval: it would be no wider than nothing.
    assert_eq!(pair["kappa"]["value"], 1.0);
    assert_eq!(pair["kappa"]["interval"], Value::Null);
    assert!(page.contains("1.00 (no interval)"));
    assert!(page.contains("(1 of 2 looks)"));
}

#[test]
fn what_is_no_study_is_said_with_line_and_column() {
    let refused = |sheet: &str, more: &[&str], hints: &[&str]| {
        let (code, said, figures, page) = study(sheet, more);
        assert_eq!(code, 2, "{said}");
        for hint in hints {
            assert!(said.contains(hint), "{hint}: {said}");
        }
        assert!(figures.is_null() && page.is_empty(), "nothing is written");
    };
    refused(
        "coupon,examiner,leg\nHR-1,A,6.1\nHR-2,A,six\nHR-2,,6.2\n",
        &[],
        &[
            "line 3, column 'leg': 'six' is no number",
            "line 4, column 'examiner': the cell is empty; write",
        ],
    );
    refused(
        "coupon,leg\nHR-1,6.1\n",
        &[],
        &["none is 'examiner'", "--new"],
    );
    refused("", &[], &["empty", "--new"]);
    let many: String = (0..30).map(|_| ",A,x\n").collect();
    refused(
        &format!("coupon,examiner,leg\n{many}"),
        &[],
        &["and 10 more"],
    );
    refused(
        &parts(),
        &["--tolerance", "leg=2"],
        &["'leg' is no column", "size"],
    );
    refused(&parts(), &["--tolerance", "2", "--limit", "1"], &["twice"]);
    refused(&parts(), &["--tolerance", "size=-2"], &["above 0"]);
    refused(&parts(), &["--tolerance", "NaN"], &["above 0"]);
    refused(&parts(), &["--limit", "inf"], &["leg_mm=6"]);
}

/// Four coupons, two examiners, two looks, one of them missing.
fn one_look_short() -> String {
    let mut sheet = "coupon,examiner,look,leg,verdict\n".to_owned();
    for (coupon, leg) in [("HR-1", 6.1), ("HR-2", 5.4), ("HR-3", 7.0), ("HR-4", 6.5)] {
        for (examiner, off) in [("A", 0.0), ("B", 0.1)] {
            for look in 1..=2 {
                let leg = leg + off + 0.02 * f64::from(look);
                sheet.push_str(&format!("{coupon},{examiner},{look},{leg:.2},within\n"));
            }
        }
    }
    sheet.replace("HR-2,B,2,5.54,within\n", "")
}

#[test]
fn a_coupon_without_all_looks_is_left_out_and_named() {
    let (code, said, figures, page) = study(&one_look_short(), &[]);
    assert_eq!(code, 0, "{said}");
    let leg = &figures["columns"][0];
    assert_eq!(leg["coupons"].as_array().unwrap().len(), 3);
    assert!(page.contains("Coupon HR-2: examiner B has 1 look, where 2 looks each"));
    // All verdicts are the same: agreement is full, and kappa does not exist.
    let verdicts = &figures["columns"][1]["found"]["verdicts"];
    assert_eq!(verdicts["agreed"]["count"], 3);
    assert_eq!(verdicts["overall"]["value"], Value::Null);
    assert!(page.contains("kappa is undefined") && page.contains("take coupons of both kinds"));
    assert!(
        said.contains("kappa is undefined") && !page.contains("NaN"),
        "{said}"
    );
}

#[test]
fn what_cannot_be_worked_out_is_said_and_the_rest_is() {
    // Half of the coupons incomplete, one examiner, one look, no scatter, remarks.
    let short = one_look_short().replace("HR-3,A,1,7.02,within\n", "");
    let alone: String = one_look_short()
        .lines()
        .filter(|line| !line.contains(",B,"))
        .map(|line| format!("{line}\n"))
        .collect();
    let once = "coupon,examiner,leg,verdict\nHR-1,A,6.1,x\nHR-1,B,6.2,x\nHR-2,A,7,y\nHR-2,B,7,x\n";
    let mut flat = "coupon,examiner,leg,verdict\n".to_owned();
    let mut remarks = "coupon,examiner,remark\n".to_owned();
    for i in 0..24 {
        flat.push_str(&format!("HR-{},{},0.1,x\n", i % 3, ["A", "B"][i / 3 % 2]));
        remarks.push_str(&format!("HR-{},{},said {i}\n", i % 12, ["A", "B"][i / 12]));
    }
    for (sheet, hints) in [
        (
            short.as_str(),
            [
                "only 2 of 4 coupons have 2 looks",
                "fill in what is missing",
            ],
        ),
        (&alone, ["only examiner A", "have a second examiner"]),
        (once, ["every coupon once", "a second time"]),
        (&flat, ["all values are the same", "one digit more"]),
        (&remarks, ["24 different verdicts", "the title note"]),
    ] {
        let (code, said, figures, page) = study(sheet, &[]);
        assert_eq!(code, 3, "{said}");
        for hint in hints {
            assert!(said.contains(hint) && page.contains(hint), "{hint}: {said}");
        }
        let column = &figures["columns"][0];
        assert!(column["found"]["not-assessed"]["remedy"].is_string());
        assert!(!page.contains("NaN") && !said.contains("NaN"));
    }
    // The other column of such a sheet is worked out.
    let (_, _, figures, page) = study(once, &[]);
    assert!(figures["columns"][1]["found"]["verdicts"].is_object());
    assert!(page.contains("HR-2"));
}

/// A mean on the limit leaves no room, repeats without scatter no F test.
#[test]
fn no_figure_is_divided_by_nothing() {
    let mut sheet = "coupon;examiner;leg\n".to_owned();
    for (coupon, leg) in [("HR-1", "5,5"), ("HR-2", "6,5")] {
        for examiner in ["A", "A", "B", "B"] {
            sheet.push_str(&format!("{coupon};{examiner};{leg}\n"));
        }
    }
    let (code, said, figures, page) = study(&sheet, &["--limit", "6"]);
    assert_eq!(code, 0, "{said}");
    let found = &figures["columns"][0]["found"]["values"];
    assert_eq!(found["distinct_categories"], Value::Null);
    assert_eq!(found["parts"][0]["deviation_mm"], 0.0);
    assert!(page.contains("The mean lies on the limit"));
    for text in [page, figures.to_string(), said] {
        assert!(!text.contains("NaN") && !text.contains("inf "), "{text}");
        assert!(!text.contains("null"), "{text}");
    }
}

#[test]
fn names_from_the_sheet_are_text_and_tables_can_be_read_aloud() {
    let sheet = one_look_short()
        .replace("HR-4", "<b>HR&4</b>")
        .replace("leg", "leg <i>");
    let (code, said, _, page) = study(&sheet, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(!page.contains("<b>HR") && page.contains("&lt;b&gt;HR&amp;4"));
    assert!(!page.contains("leg <i>"));
    let tables = page.matches("<table").count();
    assert!(tables >= 5, "{tables}");
    assert_eq!(page.matches("<caption").count(), tables);
    assert!(!page.contains("<th>"), "every heading says of what");
    assert!(!page.contains("<script") && !page.contains("src="));
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
    assert!(page.contains("Coupons on which the verdicts differ") && page.contains("HR-02"));
    assert_eq!(run(&["study", "s.csv"]).status.code(), Some(2));
    let nowhere = run(&["study", "no.csv", "--out", "s.html"]);
    assert_eq!(nowhere.status.code(), Some(1));
    let told = String::from_utf8(nowhere.stderr).unwrap();
    assert!(told.contains("no.csv cannot be read"), "{told}");
}
