//! `toeline archive`: what is kept is found again, every damage is named, what is
//! taken out can be checked by others, and measuring again adds.

use crate::support::class::Class;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::LazyLock;
use toeline::archive::{Archive, Filing, Role, verify};

/// A class with one measured section and two small photographs, filed.
fn class() -> Class {
    let class = Class::new();
    class.section("HR-07.jpg");
    class.photo("1.png", 1);
    class.photo("2.png", 2);
    class.sheet(
        "coupon,welder,scale,section\nHR-07,=W-12,rule-mm,HR-07.jpg\n\
         HR-08,,declared:20,1.png|2.png\nHR-09,,,\n",
    );
    assert_eq!(class.batch().code, 3);
    class
}

#[test]
fn list_and_show_tell_what_is_kept() {
    let class = class();
    let list = class.archive(&["list"]);
    assert_eq!(list.code, 0, "{}", list.err);
    for text in [
        "HR-07, =W-12\n  HR-07.jpg: measured",
        "HR-08\n  1.png: refused",
        "no photograph",
    ] {
        assert!(list.out.contains(text), "{text}: {}", list.out);
    }
    let show = class.archive(&["show", "HR-08"]);
    assert_eq!(show.code, 0, "{}", show.err);
    assert!(show.out.contains("first measured"), "{}", show.out);
    let paths: Vec<&str> = show
        .out
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with("archive"))
        .collect();
    assert_eq!(paths.len(), 8, "{}", show.out);
    assert!(paths.iter().all(|path| class.path(path).is_file()));

    let unknown = class.archive(&["show", "HR-99"]);
    assert_eq!(unknown.code, 1);
    assert!(unknown.err.contains("archive list"), "{}", unknown.err);
    let none = class.run(&["archive", "list", "--archive", "photos"]);
    assert_eq!(none.code, 1);
    assert!(none.err.contains("no archive in photos"), "{}", none.err);
}

#[test]
fn verify_is_silent_when_all_is_well_and_names_what_is_not() {
    let class = class();
    let head = class.head();
    let well = class.archive(&["verify", "--head", &head]);
    assert_eq!((well.code, well.err.as_str()), (0, ""));
    assert!(well.out.contains(&head), "{}", well.out);
    let other = class.archive(&["verify", "--head", &"f".repeat(64)]);
    assert_eq!(other.code, 1);
    assert_eq!(class.archive(&["verify", "--head", "3f0c"]).code, 2);

    let record = class
        .files()
        .into_iter()
        .find(|path| path.extension().is_some_and(|e| e == "json"))
        .unwrap();
    fs::remove_file(&record).unwrap();
    fs::write(class.path("archive/reports/more.html"), "x").unwrap();
    let bad = class.archive(&["verify"]);
    assert_eq!(bad.code, 1);
    let name = record.file_name().unwrap().to_str().unwrap();
    assert!(
        bad.err.contains(name) && bad.err.contains("is missing"),
        "{}",
        bad.err
    );
    assert!(bad.err.contains("reports/more.html"), "{}", bad.err);
    assert!(bad.out.contains("2 faults"), "{}", bad.out);
}

/// One bit anywhere in any kind of file. `TOELINE_TRIALS` says how many.
#[test]
#[expect(
    clippy::print_stderr,
    reason = "the figures of a long trial, read with --nocapture"
)]
fn one_flipped_bit_in_any_kind_of_file_is_found_and_named() {
    let trials: usize = std::env::var("TOELINE_TRIALS").map_or(72, |text| text.parse().unwrap());
    let class = class();
    let folder = class.path("archive");
    let mut kinds: BTreeMap<String, Vec<_>> = BTreeMap::new();
    for path in class.files() {
        let below = path.strip_prefix(&folder).unwrap();
        let kind = below.components().next().unwrap().as_os_str();
        kinds
            .entry(kind.to_str().unwrap().to_owned())
            .or_default()
            .push(path);
    }
    let names: Vec<&str> = kinds.keys().map(String::as_str).collect();
    let want = [
        "catalogue.sqlite",
        "catalogue.sqlite.sha256",
        "originals",
        "pictures",
        "records",
        "reports",
    ];
    assert_eq!(names, want);
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 16) as usize % below
    };
    let mut found: BTreeMap<&str, usize> = BTreeMap::new();
    for trial in 0..trials {
        let kind = want[trial % want.len()];
        let files = &kinds[kind];
        let path = &files[random(files.len())];
        let whole = fs::read(path).unwrap();
        let bit = random(whole.len() * 8);
        let mut flipped = whole.clone();
        flipped[bit / 8] ^= 1 << (bit % 8);
        fs::write(path, &flipped).unwrap();
        let verified = verify(&folder, None).unwrap();
        let name = path.strip_prefix(&folder).unwrap().to_str().unwrap();
        assert!(
            verified
                .faults
                .iter()
                .any(|fault| fault.what.contains(name)),
            "{name}, bit {bit}: {:?}",
            verified.faults
        );
        *found.entry(kind).or_default() += 1;
        fs::write(path, &whole).unwrap();
    }
    eprintln!("{trials} bits flipped, all found: {found:?}");
    assert!(verify(&folder, None).unwrap().faults.is_empty());
}

#[test]
fn an_archive_that_was_changed_is_not_written_to() {
    let class = class();
    let path = class.path("archive/catalogue.sqlite");
    let mut bytes = fs::read(&path).unwrap();
    let last = bytes.len() - 1;
    bytes[last] ^= 1;
    fs::write(&path, &bytes).unwrap();
    for answer in [class.batch(), class.archive(&["remeasure"])] {
        assert_eq!(answer.code, 1);
        assert!(answer.err.contains("archive verify"), "{}", answer.err);
    }
    assert_eq!(fs::read(&path).unwrap(), bytes);
    // What can be read is still shown, with a warning.
    let list = class.archive(&["list"]);
    assert!(
        list.code == 1 && list.err.contains("warning"),
        "{}",
        list.err
    );
}

#[cfg(target_os = "linux")]
fn sums_are_right(folder: &Path) {
    let output = Command::new("sha256sum")
        .args(["-c", "--strict", "SHA256SUMS"])
        .current_dir(folder)
        .output()
        .expect("sha256sum of GNU coreutils");
    assert!(output.status.success(), "{output:?}");
}

#[cfg(target_os = "linux")]
#[test]
fn sha256sum_checks_an_export_and_the_seal() {
    let class = class();
    let answer = class.archive(&["export", "--out", "out"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    sums_are_right(&class.path("out"));
    let seal = Command::new("sha256sum")
        .args(["-c", "catalogue.sqlite.sha256"])
        .current_dir(class.path("archive"))
        .output()
        .unwrap();
    assert!(seal.status.success(), "{seal:?}");

    let original = fs::read(class.path("out/HR-07/HR-07.jpg")).unwrap();
    assert_eq!(original, fs::read(class.path("photos/HR-07.jpg")).unwrap());
    let table = fs::read_to_string(class.path("out/index.csv")).unwrap();
    assert!(
        table.contains("leg_butting_mm expanded uncertainty"),
        "{table}"
    );
    // A name that a spreadsheet would take for a formula.
    assert!(table.contains(",'=W-12,"), "{table}");
    let page = fs::read_to_string(class.path("out/index.html")).unwrap();
    assert!(page.contains(&class.head()) && page.contains("HR-08/2.report.html"));

    let one = class.archive(&["export", "--coupon", "HR-08", "--out", "HR-08.zip"]);
    assert_eq!(one.code, 0, "{}", one.err);
    let unzipped = class.path("unzipped");
    zip::ZipArchive::new(fs::File::open(class.path("HR-08.zip")).unwrap())
        .unwrap()
        .extract(&unzipped)
        .unwrap();
    sums_are_right(&unzipped);
    assert!(!unzipped.join("HR-07").exists());
    let again = class.archive(&["export", "--out", "HR-08.zip"]);
    assert_eq!(again.code, 1);
    assert!(again.err.contains("not replaced"), "{}", again.err);
}

/// What an earlier version might have filed: its legs 1 mm longer.
fn file_as_an_earlier_version(folder: &Path) {
    let mut archive = Archive::open_to_write(folder).unwrap();
    let coupon = archive.coupon_view("HR-07").unwrap();
    let revision = &coupon.photographs[0].latest.revision;
    let mut record = archive.record(revision).unwrap();
    record.tool.version = "0.0.9".to_owned();
    for name in ["leg_butting_mm", "convexity_mm"] {
        let measurement = record.measurements.get_mut(name).unwrap();
        let step = match name {
            "leg_butting_mm" => 1.0,
            // Well within its uncertainty.
            _ => 0.1 * measurement.expanded_uncertainty.unwrap(),
        };
        measurement.value = measurement.value.map(|value| value + step);
    }
    let original = archive
        .read(revision.file(Role::Original).unwrap())
        .unwrap();
    archive
        .file(&Filing {
            coupon: "HR-07",
            photo: &revision.photo,
            original: &original,
            asked: &revision.asked,
            key: "of an earlier version",
            reason: "first measured",
            record: &record,
            picture: None,
            report: "<p>earlier",
        })
        .unwrap();
    archive.close().unwrap();
}

#[test]
fn measuring_again_adds_a_revision_only_where_the_record_is_another() {
    static ARCHIVE: LazyLock<Class> = LazyLock::new(class);
    let class = &*ARCHIVE;
    let head = class.head();
    let same = class.archive(&["remeasure"]);
    assert_eq!(same.code, 0, "{}", same.err);
    assert!(
        same.out.contains("3 photographs measured again: 0 have"),
        "{}",
        same.out
    );
    assert_eq!(class.head(), head);

    file_as_an_earlier_version(&class.path("archive"));
    let again = class.archive(&["remeasure"]);
    assert_eq!(again.code, 0, "{}", again.err);
    for text in [
        "HR-07 HR-07.jpg: changed since version 0.0.9, entry",
        "leg_butting_mm: ",
        "1 have",
    ] {
        assert!(again.out.contains(text), "{text}: {}", again.out);
    }
    // A difference its uncertainty explains is not named.
    assert!(!again.out.contains("convexity_mm"), "{}", again.out);
    let show = class.archive(&["show", "HR-07"]);
    assert!(show.out.contains("version 0.0.9 before"), "{}", show.out);
    assert_eq!(class.archive(&["verify", "--head", &head]).code, 0);
    // And a batch has nothing left to do.
    assert!(class.batch().out.contains("0 measured, 3 unchanged"));

    // Earlier measurements go along into an export.
    let answer = class.archive(&["export", "--coupon", "HR-07", "--out", "out"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let earlier = fs::read_dir(class.path("out/HR-07/earlier"))
        .unwrap()
        .count();
    assert_eq!(earlier, 5);
}
