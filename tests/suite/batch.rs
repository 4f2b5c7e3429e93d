//! `toeline batch`: sheets good and bad, what a second run does, photographs that
//! file themselves, and runs that are killed.

use crate::support::card::{Bench, Camera};
use crate::support::class::{BATCH, Class};
use crate::support::references::View;
use std::collections::BTreeSet;
use std::fs;
use std::io::Read;
use std::process::Stdio;
use std::thread::sleep;
use std::time::Instant;
use toeline::archive::{Archive, Role};
use toeline::cardprint::{Paper, pdf};
use toeline::cohort::Sheet;
use toeline::record::{Kind, Status};

#[test]
fn the_empty_sheet_can_be_filled_in_and_replaces_nothing() {
    let class = Class::new();
    let answer = class.run(&["batch", "--new", "class.csv"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("scale_offset"), "{}", answer.out);
    let text = fs::read(class.path("class.csv")).unwrap();
    let sheet = Sheet::read(&text).unwrap();
    assert_eq!((sheet.lines.len(), sheet.faults.len()), (1, 0));

    let again = class.run(&["batch", "--new", "class.csv"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("not replaced"), "{}", again.err);
    assert_eq!(fs::read(class.path("class.csv")).unwrap(), text);
}

#[test]
fn a_section_is_measured_and_filed_and_a_second_run_measures_nothing() {
    let class = Class::new();
    class.section("HR-07.jpg");
    class.sheet(
        "coupon;welder;date;process;position;thickness;limits;scale;section\n\
         HR-07;Jürgen;14.03.2026;135;PB;8/10;iso5817-c;rule-mm;HR-07.jpg\n",
    );
    let first = class.batch();
    assert_eq!(first.code, 0, "{}", first.err);
    assert!(
        first.out.contains("HR-07 HR-07.jpg: measured"),
        "{}",
        first.out
    );
    let archive = Archive::open(&class.path("archive")).unwrap();
    let coupon = archive.coupon_view("HR-07").unwrap();
    assert_eq!(coupon.facts.welder.as_deref(), Some("Jürgen"));
    assert_eq!(coupon.facts.date.as_deref(), Some("2026-03-14"));
    let revision = &coupon.photographs[0].latest.revision;
    let record = archive.record(revision).unwrap();
    assert_eq!(record.coupon.thickness_nonbutting_mm, Some(10.0));
    assert_eq!(record.verdict.unwrap().profile, "iso5817-c");
    // The report names the head it was kept behind.
    let report = archive.read(revision.file(Role::Report).unwrap()).unwrap();
    let report = String::from_utf8(report).unwrap();
    assert!(report.contains("Kept as entry 2 of an archive"));
    // The welder's name is nobody's business but the catalogue's.
    for role in [Role::Record, Role::Report] {
        let bytes = archive.read(revision.file(role).unwrap()).unwrap();
        assert!(!String::from_utf8(bytes).unwrap().contains("Jürgen"));
    }
    archive.close().unwrap();

    let state = |class: &Class| -> Vec<_> {
        let files = class.files();
        files
            .iter()
            .map(|f| (f.clone(), fs::read(f).unwrap()))
            .collect()
    };
    let before = state(&class);
    let second = class.batch();
    assert_eq!(second.code, 0, "{}", second.err);
    assert!(
        second.out.contains("0 measured, 1 unchanged"),
        "{}",
        second.out
    );
    assert_eq!(state(&class), before);
    let quiet = class.run(&[BATCH, &["--quiet", "--jobs", "1"]].concat());
    assert_eq!((quiet.out.as_str(), quiet.err.as_str()), ("", ""));
}

#[test]
fn only_what_changed_is_measured_again_and_the_earlier_record_stays() {
    let class = Class::of_small(3);
    assert_eq!(class.batch().code, 3);
    class.sheet(
        "coupon,leg,scale,section\n\
         HR-01,6,declared:20,1.png\nHR-02,,declared:20,2.png\nHR-03,,declared:20,3.png\n",
    );
    class.photo("2.png", 200);
    let answer = class.batch();
    assert!(
        answer
            .out
            .contains("2 measured (2 of them refused), 1 unchanged"),
        "{}",
        answer.out
    );
    let archive = Archive::open(&class.path("archive")).unwrap();
    let coupons = archive.coupons().unwrap();
    let changed = &coupons[0].photographs[0];
    assert_eq!(changed.earlier.len(), 1);
    assert_eq!(
        changed.latest.revision.reason,
        "changed in the sheet: leg_mm"
    );
    assert_eq!(changed.earlier[0].revision.reason, "first measured");
    assert_eq!(
        archive
            .record(&changed.earlier[0].revision)
            .unwrap()
            .coupon
            .leg_mm,
        None
    );
    // Another picture under the same name is another photograph.
    assert_eq!(coupons[1].photographs.len(), 2);
    archive.close().unwrap();

    class.sheet("coupon,scale,section\nHR-04,declared:20,3.png\n");
    let moved = class.batch();
    assert!(
        moved.err.contains("filed for coupon HR-03 before"),
        "{}",
        moved.err
    );
    let list = class.archive(&["list"]);
    assert!(
        list.out.contains("HR-03\n  no photograph yet"),
        "{}",
        list.out
    );
    assert!(list.out.contains("HR-04\n  3.png"), "{}", list.out);
}

/// Every column stands in the documents.
#[test]
fn the_columns_are_explained() {
    let text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/docs/archive.md")).unwrap();
    for entry in toeline::cohort::COLUMNS {
        assert!(
            text.contains(&format!("`{}`", entry.title)),
            "{}",
            entry.title
        );
    }
}

#[test]
fn bad_lines_and_bad_photographs_are_told_and_the_rest_goes_on() {
    let class = Class::new();
    for (name, tone) in [("a.png", 1), ("b.png", 2), ("spare.png", 3)] {
        class.photo(name, tone);
    }
    fs::copy(class.path("photos/a.png"), class.path("photos/twin.png")).unwrap();
    fs::write(class.path("photos/list.jpg"), "bread, milk").unwrap();
    class.sheet(
        "coupon,leg,scale,section,remarks\n\
         HR-01,six,declared:20,a.png,\n\
         HR-02,,declared:20,a.png,\n\
         HR-03,,declared:20,gone.png,shiny\n\
         HR-04,,declared:20,list.jpg,\n\
         HR-05,,declared:20,twin.png,\n\
         HR-06,,declared:20,b.png,\n",
    );
    let answer = class.batch();
    assert_eq!(answer.code, 1);
    for told in [
        "line 2, column 'leg': 'six'",
        "line 4, column 'section': there is no photograph 'gone.png'",
        "HR-04 list.jpg: refused",
        "twin.png is the same picture as a.png",
        "column 'remarks'",
        "spare.png",
    ] {
        assert!(answer.err.contains(told), "{told}: {}", answer.err);
    }
    assert!(
        answer
            .out
            .contains("3 measured (3 of them refused), 0 unchanged, 3 not used")
    );
    let list = class.archive(&["list"]);
    assert!(!list.out.contains("HR-01"), "{}", list.out);
    assert!(
        list.out.contains("HR-03\n  no photograph yet"),
        "{}",
        list.out
    );
    // A file that is no picture is kept as the evidence it is.
    let archive = Archive::open(&class.path("archive")).unwrap();
    let coupon = archive.coupon_view("HR-04").unwrap();
    let original = coupon.photographs[0]
        .latest
        .revision
        .file(Role::Original)
        .unwrap();
    assert_eq!(archive.read(original).unwrap(), b"bread, milk");
}

#[test]
fn a_sheet_that_is_none_stops_before_anything_is_made() {
    let class = Class::new();
    for (bytes, code, told) in [
        (&b"name,leg\nHR-01,6\n"[..], 2, "'coupon'"),
        (b"PK\x03\x04", 2, "CSV UTF-8"),
        (b"", 2, "--new"),
    ] {
        fs::write(class.path("class.csv"), bytes).unwrap();
        let answer = class.batch();
        assert_eq!(answer.code, code);
        assert!(answer.err.contains(told), "{told}: {}", answer.err);
    }
    fs::remove_file(class.path("class.csv")).unwrap();
    assert_eq!(class.batch().code, 1);
    class.sheet("coupon\nHR-01\n");
    let limits = [BATCH, &["--limits", "iso9999"]].concat();
    let answer = class.run(&limits);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("iso5817-c"), "{}", answer.err);
    assert!(!class.path("archive").exists());
    let answer = class.run(&["batch", "class.csv", "--archive", "archive"]);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("--photos"), "{}", answer.err);
}

#[test]
fn a_photograph_with_a_scale_card_files_itself() {
    let class = Class::new();
    let camera = Camera {
        view: View {
            width: 1400,
            height: 1050,
            px_per_mm: 8.0,
            turn_deg: 20.0,
            tilt_deg: 4.0,
            tilt_towards_deg: 30.0,
            focal: 2.4,
            noise: 4.0,
        },
        aim: [62.0, 45.0],
        kappa: 0.0,
        blur_px: 0.7,
        mirrored: false,
    };
    for (coupon, name) in [
        ("HR-07", "x1.png"),
        ("HR-08", "x2.png"),
        ("HR-09", "x3.png"),
    ] {
        let bench = Bench::with(&pdf(Some(coupon), Paper::A4).unwrap());
        let photo = camera.photograph(|u, v| bench.tone(u, v));
        image::RgbImage::from_raw(1400, 1050, photo.rgb)
            .unwrap()
            .save(class.path("photos").join(name))
            .unwrap();
    }
    class.photo("empty.png", 9);
    class.sheet("coupon,scale,section,fracture\nHR-07,card,card,\nHR-08,card,,\n");
    let answer = class.batch();
    assert_eq!(answer.code, 1, "{}", answer.err);
    for told in [
        "x2.png: it shows the card of coupon HR-08, but the sheet does not say",
        "x3.png: it shows the card of coupon HR-09, and no line",
        "note: empty.png: no line names it",
    ] {
        assert!(answer.err.contains(told), "{told}: {}", answer.err);
    }
    let archive = Archive::open(&class.path("archive")).unwrap();
    let coupon = archive.coupon_view("HR-07").unwrap();
    let revision = &coupon.photographs[0].latest.revision;
    assert_eq!(
        (revision.photo.as_str(), revision.asked.kind),
        ("x1.png", Kind::Section)
    );
    assert_eq!(revision.status, Status::Refused);
    archive.close().unwrap();
    let again = class.batch();
    assert!(
        again.out.contains("0 measured, 1 unchanged"),
        "{}",
        again.out
    );
}

#[test]
fn a_second_process_is_told_to_wait() {
    let class = Class::of_small(1);
    let archive = Archive::open_to_write(&class.path("archive")).unwrap();
    for answer in [
        class.batch(),
        class.archive(&["verify"]),
        class.archive(&["remeasure"]),
    ] {
        assert_eq!(answer.code, 1);
        assert!(
            answer.err.contains("in use by another run"),
            "{}",
            answer.err
        );
    }
    archive.close().unwrap();
    assert_eq!(class.batch().code, 3);
}

/// What a run said it filed.
fn accepted(out: &str) -> impl Iterator<Item = String> + '_ {
    out.lines()
        .filter(|line| line.contains(", entry "))
        .filter_map(|line| line.split(' ').next().map(str::to_owned))
}

/// Runs are killed at moments spread over their whole length, again and again on
/// the same archive until it is complete, then on a new one. What a run said it
/// filed is there, every entry has all its files, and the next run goes on.
/// `TOELINE_TRIALS` says how many runs are killed.
#[test]
#[expect(
    clippy::print_stderr,
    reason = "the figures of a long trial, read with --nocapture"
)]
fn a_killed_run_loses_nothing_and_halves_nothing() {
    const COUPONS: u8 = 10;
    let trials: u32 = std::env::var("TOELINE_TRIALS").map_or(24, |text| text.parse().unwrap());
    let class = Class::of_small(COUPONS);
    let started = Instant::now();
    assert_eq!(class.batch().code, 3);
    let whole = started.elapsed();
    fs::remove_dir_all(class.path("archive")).unwrap();

    let mut filed: BTreeSet<String> = BTreeSet::new();
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let (mut killed, mut midway, mut cleared, mut complete) = (0, 0, 0, 0);
    while killed < trials {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        let moment = whole.mul_f64((state >> 40) as f64 / f64::from(1 << 24));
        let mut run = class
            .command(BATCH)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        sleep(moment);
        run.kill().unwrap();
        let status = run.wait().unwrap();
        let mut out = String::new();
        run.stdout.take().unwrap().read_to_string(&mut out).unwrap();
        killed += u32::from(status.code().is_none());
        filed.extend(accepted(&out));
        if !class.path("archive/catalogue.sqlite").exists() {
            assert!(filed.is_empty(), "killed after {moment:?}");
            continue;
        }

        let verified = toeline::archive::verify(&class.path("archive"), None).unwrap();
        assert!(
            verified.faults.is_empty(),
            "killed after {moment:?}: {:?}",
            verified.faults
        );
        cleared += u32::from(verified.leftovers.len() > 1);
        let archive = Archive::open(&class.path("archive")).unwrap();
        let there: BTreeSet<String> = archive
            .coupons()
            .unwrap()
            .into_iter()
            .filter(|coupon| !coupon.photographs.is_empty())
            .map(|coupon| coupon.id)
            .collect();
        archive.close().unwrap();
        let lost: Vec<&String> = filed.difference(&there).collect();
        assert!(lost.is_empty(), "killed after {moment:?}: {lost:?}");
        midway += u32::from((1..usize::from(COUPONS)).contains(&there.len()));
        // What the program had no more time to say counts from now on.
        filed = there;
        if filed.len() == usize::from(COUPONS) {
            finish(&class, COUPONS);
            complete += 1;
            filed.clear();
            fs::remove_dir_all(class.path("archive")).unwrap();
        }
    }
    finish(&class, COUPONS);
    eprintln!(
        "{killed} killed, {midway} of them with some but not all filed; {complete} archives \
         completed, {cleared} times files were left that the next run cleared"
    );
    assert!(midway > 0, "no run was killed between two photographs");
}

/// The run that is not killed completes the archive and leaves nothing over.
fn finish(class: &Class, coupons: u8) {
    class.batch();
    let verified = toeline::archive::verify(&class.path("archive"), None).unwrap();
    assert!(
        verified.faults.is_empty() && verified.leftovers.is_empty(),
        "{verified:?}"
    );
    let archive = Archive::open(&class.path("archive")).unwrap();
    let coupons_there = archive.coupons().unwrap();
    assert_eq!(coupons_there.len(), usize::from(coupons));
    for coupon in coupons_there {
        assert_eq!(coupon.photographs.len(), 1, "{}", coupon.id);
        let photograph = &coupon.photographs[0];
        assert!(
            photograph.earlier.is_empty(),
            "{} was measured twice",
            coupon.id
        );
        archive.record(&photograph.latest.revision).unwrap();
    }
}
