use assert_cmd::Command;
use image::{Rgb, RgbImage};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use toeline::limits::Profile;
use toeline::record::{Code, Kind, Outcome, Record, Status, catalogue};

/// A fresh folder with a photograph that shows no weld.
struct Bench {
    folder: TempDir,
}

struct Answer {
    code: i32,
    out: String,
    err: String,
}

impl Bench {
    fn new() -> Self {
        let bench = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        bench.picture("HR-01.png");
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn picture(&self, name: &str) {
        RgbImage::from_fn(80, 60, |x, _| {
            if x < 40 {
                Rgb([60, 60, 60])
            } else {
                Rgb([190, 190, 190])
            }
        })
        .save(self.path(name))
        .unwrap();
    }

    #[track_caller]
    fn run(&self, arguments: &[&str]) -> Answer {
        let output = Command::new(env!("CARGO_BIN_EXE_toeline"))
            .current_dir(self.folder.path())
            .args(arguments)
            .output()
            .unwrap();
        Answer {
            code: output.status.code().unwrap(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    fn record(&self, name: &str) -> Record {
        serde_json::from_slice(&fs::read(self.path(name)).unwrap()).unwrap()
    }

    fn files(&self, folder: &str) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.path(folder))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

#[test]
fn a_refused_photograph_leaves_three_files_and_exit_3() {
    let bench = Bench::new();
    let answer = bench.run(&[
        "section",
        "HR-01.png",
        "--scale",
        "declared:20",
        "--out",
        "a/b",
    ]);
    assert_eq!(answer.code, 3, "{}", answer.err);
    assert_eq!(
        bench.files("a/b"),
        [
            "HR-01.annotated.jpg",
            "HR-01.record.json",
            "HR-01.report.html"
        ]
    );
    assert_eq!(
        bench.record("a/b/HR-01.record.json").status,
        Status::Refused
    );
    assert!(
        answer.out.starts_with("HR-01.png: refused"),
        "{}",
        answer.out
    );
    assert!(answer.err.contains("what to do: "), "{}", answer.err);
    assert!(!answer.out.contains("what to do"), "{}", answer.out);
}

#[test]
fn what_was_declared_stands_in_the_record() {
    let bench = Bench::new();
    let answer = bench.run(&[
        "section",
        "HR-01.png",
        "--scale",
        "declared:20",
        "--coupon",
        "HR-07",
        "--joint",
        "tee",
        "--dihedral",
        "88.5",
        "--thickness",
        "10,12",
        "--throat",
        "5",
        "--passes",
        "3",
        "--material",
        "carbon-steel",
        "--discard",
        "25",
        "--scale-offset",
        "-0.5",
        "--limits",
        "iso5817-c",
    ]);
    assert_eq!(answer.code, 3, "{}", answer.err);
    let record = bench.record("HR-01.record.json");
    let coupon = serde_json::to_value(&record.coupon).unwrap();
    assert_eq!(
        coupon,
        serde_json::json!({
            "id": "HR-07", "joint": "tee", "dihedral_deg": 88.5, "thickness_butting_mm": 10.0,
            "thickness_nonbutting_mm": 12.0, "throat_mm": 5.0, "passes": 3,
            "material": "carbon-steel", "discard_mm": 25.0, "scale_offset_mm": -0.5,
        })
    );
    assert_eq!(record.provenance.settings["scale"], "declared:20");
    assert_eq!(record.provenance.settings["limits"], "iso5817-c");
    assert_eq!(record.verdict.unwrap().profile, "iso5817-c");
    assert!(record.provenance.timings_ms.contains_key("whole"));
}

#[test]
fn a_file_that_is_no_picture_gets_a_record_a_missing_one_does_not() {
    let bench = Bench::new();
    fs::write(bench.path("list.jpg"), "bread, milk").unwrap();
    let answer = bench.run(&["section", "list.jpg", "--out", "out"]);
    assert_eq!(answer.code, 3);
    let record = bench.record("out/list.record.json");
    assert_eq!(record.reasons[0].code, Code::UnreadableFile);
    assert_eq!(bench.files("out"), ["list.record.json", "list.report.html"]);

    let answer = bench.run(&["section", "nowhere.jpg", "--out", "none"]);
    assert_eq!(answer.code, 1);
    assert!(answer.err.contains("nowhere.jpg"), "{}", answer.err);
    assert!(answer.err.contains("because: "), "{}", answer.err);
    assert!(bench.files("none").is_empty());
}

#[test]
fn one_bad_photograph_does_not_stop_the_others_and_the_worst_decides() {
    let bench = Bench::new();
    bench.picture("HR-02.png");
    let answer = bench.run(&[
        "section",
        "HR-01.png",
        "gone.png",
        "HR-02.png",
        "--scale",
        "declared:20",
        "--out",
        "out",
    ]);
    assert_eq!(answer.code, 1);
    assert_eq!(bench.files("out").len(), 6);
}

#[test]
fn a_picture_without_a_broken_weld_is_refused_with_what_was_declared() {
    let bench = Bench::new();
    let answer = bench.run(&[
        "fracture",
        "HR-01.png",
        "--scale",
        "length:150",
        "--cracks",
        "none",
        "--limits",
        "harbour-row-contest",
        "--out",
        "out",
    ]);
    assert_eq!(answer.code, 3, "{}", answer.err);
    let record = bench.record("out/HR-01.record.json");
    assert_eq!(
        (record.kind, record.status),
        (Kind::Fracture, Status::Refused)
    );
    assert!(!record.reasons.is_empty());
    assert_eq!(record.provenance.settings["scale"], "length:150");
    let coupon = serde_json::to_value(&record.coupon).unwrap();
    assert_eq!(
        coupon,
        serde_json::json!({"length_mm": 150.0, "cracks": "none"})
    );
    // Nothing was measured, so nothing was judged but the declaration.
    assert_eq!(record.measurements.len(), catalogue::FRACTURE.len());
    let verdict = record.verdict.unwrap();
    assert_eq!(verdict.outcome, Outcome::NotAssessed);
    assert!(verdict.points.is_none());
}

#[test]
fn a_coupon_that_bent_flat_is_kept_as_evidence_and_not_measured() {
    let bench = Bench::new();
    let answer = bench.run(&[
        "fracture",
        "HR-01.png",
        "--bent-flat",
        "--limits",
        "aws-d1.1-break-inch",
        "--out",
        "out",
    ]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("bent flat"), "{}", answer.out);
    assert!(answer.out.contains("within the limits"), "{}", answer.out);
    let record = bench.record("out/HR-01.record.json");
    assert_eq!(record.status, Status::Declared);
    assert!(record.coupon.bent_flat && record.reasons.is_empty() && record.scale.is_none());
    assert!(record.measurements.values().all(|m| {
        m.why
            .as_deref()
            .is_some_and(|why| why.contains("bent flat"))
    }));
    assert_eq!(record.verdict.unwrap().outcome, Outcome::Within);
    assert_eq!(bench.files("out").len(), 3);

    // The photograph is the evidence: without a readable one there is none.
    fs::write(bench.path("list.jpg"), "bread, milk").unwrap();
    let answer = bench.run(&["fracture", "list.jpg", "--bent-flat", "--out", "out"]);
    assert_eq!(answer.code, 3);
    assert_eq!(bench.record("out/list.record.json").status, Status::Refused);
}

#[test]
fn a_mistake_in_the_command_is_exit_2_and_says_what_to_type() {
    let bench = Bench::new();
    let cases: [(&[&str], &str); 17] = [
        (&["section"], "PHOTO"),
        (&["section", "HR-01.png", "--scale", "ruler"], "rule-mm"),
        (&["section", "HR-01.png", "--scale", "chequer"], "chequer:5"),
        (
            &["section", "HR-01.png", "--scale", "declared:-3"],
            "positive",
        ),
        (&["section", "HR-01.png", "--thickness", "10"], "10,12"),
        (&["section", "HR-01.png", "--dihedral", "200"], "90"),
        (&["section", "HR-01.png", "--passes", "0"], "1..=200"),
        (
            &["section", "HR-01.png", "--leg", "6", "--throat", "4"],
            "--throat",
        ),
        (&["section", "HR-01.png", "--joint", "butt"], "tee"),
        (
            &["section", "HR-01.png", "--limits", "iso9999"],
            "iso5817-c",
        ),
        (
            &["section", "HR-01.png", "--limits", "own.toml"],
            "own.toml",
        ),
        (
            &["fracture", "HR-01.png", "--limits", "iso5817-c"],
            "iso5817-c-break",
        ),
        (
            &["section", "HR-01.png", "--limits", "aws-d1.1-break-mm"],
            "aws-d1.1-macroetch-mm",
        ),
        (&["fracture", "HR-01.png", "--cracks", "maybe"], "seen"),
        (
            &["fracture", "HR-01.png", "--scale", "length:0"],
            "length:150",
        ),
        (&["section", "HR-01.png", "--bent-flat"], "--bent-flat"),
        (&["polish", "HR-01.png"], "--help"),
    ];
    for (arguments, hint) in cases {
        let answer = bench.run(arguments);
        assert_eq!(answer.code, 2, "{arguments:?}: {}", answer.err);
        assert!(answer.err.contains(hint), "{arguments:?}: {}", answer.err);
        assert!(answer.out.is_empty(), "{arguments:?}");
    }
    // Nothing was measured on the way.
    assert_eq!(bench.files("."), ["HR-01.png"]);
}

#[test]
fn no_result_takes_the_place_of_a_photograph_or_of_another_result() {
    let bench = Bench::new();
    bench.picture("HR-01.tif");
    let answer = bench.run(&["section", "HR-01.png", "HR-01.tif"]);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("HR-01.record.json"), "{}", answer.err);

    bench.picture("HR-01.annotated.jpg");
    let before = fs::read(bench.path("HR-01.annotated.jpg")).unwrap();
    let answer = bench.run(&["section", "HR-01.png", "HR-01.annotated.jpg"]);
    assert_eq!(answer.code, 2);
    assert_eq!(fs::read(bench.path("HR-01.annotated.jpg")).unwrap(), before);
}

#[test]
fn results_of_an_earlier_run_are_replaced_whole() {
    let bench = Bench::new();
    let arguments = [
        "section",
        "HR-01.png",
        "--scale",
        "declared:20",
        "--out",
        "out",
    ];
    bench.run(&arguments);
    assert!(bench.path("out/HR-01.annotated.jpg").exists());
    // The photograph is damaged since: its old picture must not stay.
    fs::write(bench.path("HR-01.png"), "").unwrap();
    bench.run(&arguments);
    assert_eq!(
        bench.files("out"),
        ["HR-01.record.json", "HR-01.report.html"]
    );
    let record = bench.record("out/HR-01.record.json");
    assert_eq!(record.reasons[0].code, Code::UnreadableFile);
}

#[test]
fn quiet_says_only_what_went_wrong_and_timings_go_beside() {
    let bench = Bench::new();
    let answer = bench.run(&["section", "HR-01.png", "--scale", "declared:20", "--quiet"]);
    assert!(answer.out.is_empty());
    assert!(answer.err.contains("refused"));
    let answer = bench.run(&[
        "section",
        "HR-01.png",
        "--scale",
        "declared:20",
        "--timings",
    ]);
    assert!(answer.err.contains("photo "), "{}", answer.err);
    assert!(!answer.out.contains(" ms"), "{}", answer.out);
}

#[test]
fn an_output_folder_that_cannot_be_made_is_exit_1() {
    let bench = Bench::new();
    let answer = bench.run(&["section", "HR-01.png", "--out", "HR-01.png"]);
    assert_eq!(answer.code, 1);
    assert!(answer.err.contains("cannot be written"), "{}", answer.err);
    assert!(Path::new(&bench.path("HR-01.png")).is_file());
}

#[test]
fn help_is_an_answer_with_an_example() {
    let bench = Bench::new();
    for arguments in [
        &["--help"][..],
        &["section", "--help"],
        &["help", "fracture"],
    ] {
        let answer = bench.run(arguments);
        assert_eq!(answer.code, 0);
        assert!(answer.err.is_empty());
        assert!(answer.out.contains("Usage: toeline"), "{}", answer.out);
    }
    assert!(
        bench
            .run(&["fracture", "--help"])
            .out
            .contains("harbour-row-contest")
    );
    assert!(
        bench
            .run(&["section", "--help"])
            .out
            .contains("toeline section HR-07.jpg")
    );
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_error() {
    use std::process::{Command, Stdio};
    let bench = Bench::new();
    let mut child = Command::new(env!("CARGO_BIN_EXE_toeline"))
        .current_dir(bench.folder.path())
        .args(["section", "--help"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty());
}

#[test]
fn scale_shows_how_a_scale_is_read_and_measures_nothing() {
    let bench = Bench::new();
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/sections/HR-07/photo.jpg");
    fs::copy(photo, bench.path("HR-07.jpg")).unwrap();
    let answer = bench.run(&["scale", "HR-07.jpg", "HR-01.png", "--out", "seen"]);
    // HR-01 has no scale in it: the run goes on, and its exit status says so.
    assert_eq!(answer.code, 3, "{}", answer.err);
    assert!(answer.out.contains("rule-mm") && answer.out.contains("graduations"));
    assert!(answer.err.contains("HR-01.png: no scale"), "{}", answer.err);
    assert!(answer.err.contains("what to do"));
    assert_eq!(bench.files("seen"), ["HR-01.scale.jpg", "HR-07.scale.jpg"]);
    let photo = image::open(bench.path("HR-07.jpg")).unwrap();
    let shown = image::open(bench.path("seen/HR-07.scale.jpg")).unwrap();
    // The figures stand below the photograph.
    let shape = |p: &image::DynamicImage| f64::from(p.height()) / f64::from(p.width());
    assert!(shape(&shown) > shape(&photo) + 0.05);
}

#[test]
fn a_declared_scale_has_nothing_to_show_but_is_told() {
    let bench = Bench::new();
    let answer = bench.run(&[
        "scale",
        "HR-01.png",
        "--scale",
        "declared:20",
        "--out",
        "seen",
    ]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(
        answer.out.contains("declared:20: 20.000 px a millimetre"),
        "{}",
        answer.out
    );
}

#[test]
fn a_section_is_no_broken_weld_and_its_scale_is_kept_all_the_same() {
    let bench = Bench::new();
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/sections/HR-07/photo.jpg");
    fs::copy(photo, bench.path("HR-07.jpg")).unwrap();
    let answer = bench.run(&[
        "fracture",
        "HR-07.jpg",
        "--scale",
        "rule-mm",
        "--out",
        "out",
    ]);
    let record = bench.record("out/HR-07.record.json");
    let root = record.measurements.get("root_unfused_length_mm");
    assert!(root.is_some_and(|m| m.value.is_none()), "{root:?}");
    assert!(!record.reasons.is_empty());
    assert_eq!(record.scale.map(|s| s.source).as_deref(), Some("rule-mm"));
    assert!(answer.err.contains("what to do") || answer.out.contains("note:"));
}

#[test]
fn limits_are_listed_shown_and_checked_with_the_line_of_a_fault() {
    let bench = Bench::new();
    let list = bench.run(&["limits"]);
    assert_eq!(list.code, 0, "{}", list.err);
    for name in Profile::names() {
        assert!(list.out.contains(name), "{name}");
    }

    let shown = bench.run(&["limits", "iso5817-c"]);
    assert_eq!(shown.code, 0);
    assert!(shown.out.contains("from memory") && shown.out.contains("verified against"));

    // A copy of a built-in table is a table.
    let copy = bench.run(&["limits", "iso5817-c", "--toml"]);
    fs::write(bench.path("own.toml"), &copy.out).unwrap();
    let own = bench.run(&["limits", "own.toml"]);
    assert_eq!(own.code, 0, "{}", own.err);
    let body = |text: &str| text.split_once(": ").unwrap().1.to_owned();
    assert_eq!(body(&own.out), body(&shown.out));

    let fault_at = 1 + copy
        .out
        .lines()
        .position(|l| l.contains("at_most"))
        .unwrap();
    fs::write(
        bench.path("own.toml"),
        copy.out.replacen("at_most", "atmost", 1),
    )
    .unwrap();
    let wrong = bench.run(&["limits", "own.toml"]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains(&format!("own.toml, line {fault_at}")) && wrong.err.contains("atmost"),
        "{}",
        wrong.err
    );
}

/// Trials behind the uncertainties run on all cores; their numbers must not depend
/// on how many there are.
#[test]
fn a_record_s_numbers_are_the_same_with_any_number_of_threads() {
    let bench = Bench::new();
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/sections/HR-07/photo.jpg");
    let measured = |threads: &str| {
        let output = Command::new(env!("CARGO_BIN_EXE_toeline"))
            .current_dir(bench.folder.path())
            .env("RAYON_NUM_THREADS", threads)
            .arg("section")
            .arg(&photo)
            .args([
                "--scale",
                "rule-mm",
                "--thickness",
                "8,10",
                "--out",
                threads,
            ])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0));
        bench
            .record(&format!("{threads}/photo.record.json"))
            .measurements
    };
    let one = measured("1");
    assert_eq!(one, measured("3"));
    let leg = &one["leg_butting_mm"];
    let shares: f64 = leg.budget.iter().map(|b| b.share).sum();
    assert!((0.95..=1.0 + 1e-9).contains(&shares), "{shares}");
    let [low, high] = leg.shortest_interval.unwrap();
    assert!(low < leg.value.unwrap() && leg.value.unwrap() < high);
}
