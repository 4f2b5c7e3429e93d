use crate::support::coupon::{FAR, NEAR, Scene, refused};
use image::{ImageFormat, RgbImage, load_from_memory_with_format};
use std::collections::BTreeMap;
use toeline::limits::{FINDING_KINDS, Profile, judge};
use toeline::record::{Measurement, Record, Verdict, catalogue};
use toeline::report::{ReportError, annotate, html};

fn decode(jpeg: &[u8]) -> RgbImage {
    load_from_memory_with_format(jpeg, ImageFormat::Jpeg)
        .unwrap()
        .into_rgb8()
}

fn picture(scene: Scene, record: &Record) -> Vec<u8> {
    annotate(&scene.picture(), scene.width, scene.height, record).unwrap()
}

/// The same record with all measurements set so that nothing is wrong, every
/// flaw searched for, then changed by `change`.
fn verdict_after(change: impl FnOnce(&mut BTreeMap<String, Measurement>)) -> (Record, Verdict) {
    let mut record = NEAR.record("aws-d1.1-macroetch-mm");
    record.findings.clear();
    for (name, value) in [("leg_butting_mm", 6.6), ("inscribed_throat_mm", 4.6)] {
        record
            .measurements
            .insert(name.to_owned(), Measurement::measured(value, 0.05, vec![]));
    }
    change(&mut record.measurements);
    let verdict = judge(
        &Profile::named("aws-d1.1-macroetch-mm").unwrap(),
        &record.coupon,
        &record.measurements,
        &record.findings,
        FINDING_KINDS,
    );
    record.verdict = Some(verdict.clone());
    (record, verdict)
}

fn set(name: &'static str, value: f64) -> impl FnOnce(&mut BTreeMap<String, Measurement>) {
    move |all| {
        all.insert(name.to_owned(), Measurement::measured(value, 0.05, vec![]));
    }
}

/// Writes what a person should look at when the environment names a folder:
/// `TOELINE_LOOK=folder cargo test pages_to_look_at`.
#[test]
fn pages_to_look_at() {
    for (name, scene, profile) in [
        ("near", NEAR, "aws-d1.1-macroetch-mm"),
        ("far", FAR, "iso5817-c"),
    ] {
        let record = scene.record(profile);
        let jpeg = picture(scene, &record);
        let page = html(&record, &jpeg);
        if let Some(folder) = std::env::var_os("TOELINE_LOOK") {
            let path = std::path::PathBuf::from(folder).join(name);
            std::fs::write(path.with_extension("jpg"), &jpeg).unwrap();
            std::fs::write(path.with_extension("html"), &page).unwrap();
        }
        assert!(page.contains("<h1>HR-07</h1>"));
    }
    let page = html(&refused(), &[]);
    if let Some(folder) = std::env::var_os("TOELINE_LOOK") {
        let path = std::path::PathBuf::from(folder).join("refused.html");
        std::fs::write(path, &page).unwrap();
    }
    assert!(page.contains("Not measured: no scale was found"));
}

#[test]
fn lines_are_drawn_where_the_record_says_and_nowhere_else() {
    let record = NEAR.record("iso5817-c");
    let drawn = decode(&picture(NEAR, &record));
    let mut plain_record = refused();
    plain_record.photo = record.photo.clone();
    let plain = decode(&picture(NEAR, &plain_record));
    assert_eq!(drawn.dimensions(), (1200, 900));
    let change = |mm: [f64; 2]| {
        let [x, y] = NEAR.px(mm);
        let (x, y) = (x as u32, y as u32);
        let mut largest = 0;
        for dy in 0..=2 {
            for dx in 0..=2 {
                let (one, other) = (
                    drawn.get_pixel(x + dx - 1, y + dy - 1),
                    plain.get_pixel(x + dx - 1, y + dy - 1),
                );
                for channel in 0..3 {
                    largest = largest.max(one[channel].abs_diff(other[channel]));
                }
            }
        }
        largest
    };
    // On the leg, on the face, on a plate surface beyond the toe.
    for mm in [[0.0, 2.5], [3.0, 0.0], [2.85, 3.6], [0.0, 8.0]] {
        assert!(change(mm) > 40, "no line at {mm:?}");
    }
    // In weld metal, plate and heat-affected zone away from lines.
    for mm in [
        [1.0, 3.5],
        [4.2, 0.9],
        [-5.0, 5.0],
        [3.0, -6.0],
        [-0.6, 2.0],
    ] {
        assert!(change(mm) < 12, "the metal is hidden at {mm:?}");
    }
}

#[test]
fn a_small_weld_gets_a_closer_view() {
    let record = FAR.record("iso5817-c");
    let drawn = decode(&picture(FAR, &record));
    let (width, height) = drawn.dimensions();
    assert!(width <= 1600 && height <= 1600);
    // Shown at least as large as in the photograph (it is 12 MP).
    assert!(width >= 1200);
    // The strip under it is white on its right.
    assert!(
        drawn
            .get_pixel(width - 3, height - 3)
            .0
            .iter()
            .all(|v| *v > 250)
    );
}

#[test]
fn bad_input_to_the_picture_is_an_error_or_ignored() {
    let record = NEAR.record("iso5817-c");
    for (bytes, width, height) in [(0, 0, 0), (30, 3, 3), (27, usize::MAX, 3)] {
        assert!(matches!(
            annotate(&vec![0; bytes], width, height, &record),
            Err(ReportError::SizeMismatch { .. })
        ));
    }
    // Outlines of nonsense: no panic, still a picture.
    let mut wild = record;
    wild.outlines_px.weld_metal = vec![[f64::NAN, 1.0], [1e300, -1e300], [0.0, 0.0]];
    wild.outlines_px.face = vec![[f64::INFINITY, 0.0]; 3];
    wild.outlines_px.plates = vec![vec![[5.0, 5.0]; 4], vec![]];
    wild.outlines_px.joint_root = Some([f64::NAN; 2]);
    for (width, height) in [(1, 1), (2, 700), (64, 48)] {
        let jpeg = annotate(&vec![90; width * height * 3], width, height, &wild).unwrap();
        assert!(decode(&jpeg).width() >= 1);
    }
}

#[test]
fn the_page_needs_nothing_from_outside() {
    let record = NEAR.record("iso5817-c");
    let page = html(&record, &picture(NEAR, &record));
    for forbidden in [
        "http:", "https:", "<script", "<link", "url(", "@import", "src=\"/",
    ] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
    assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">"));
    assert!(page.contains("alt=\"Photograph of the etched section"));
    assert!(page.contains("data:image/jpeg;base64,/9j/"));
    assert!(page.contains("an authorised examiner decides"));
}

#[test]
fn what_a_person_typed_cannot_become_markup() {
    let mut record = NEAR.record("iso5817-c");
    record.coupon.id = Some("<script>alert(1)</script>\"".to_owned());
    record.photo.file = "<b>.jpg".to_owned();
    let page = html(&record, &[]);
    assert!(!page.contains("<script") && !page.contains("<b>.jpg"));
    assert!(page.contains("&lt;script&gt;"));
}

#[test]
fn the_first_sentence_says_what_is_wrong_in_words() {
    let (record, _) = verdict_after(|_| ());
    assert!(html(&record, &[]).contains("Within the limits chosen"));

    let (record, _) = verdict_after(set("leg_butting_mm", 5.4));
    assert!(
        html(&record, &[])
            .contains("Outside: the leg on the standing (butting) plate is 0.6 mm too short.")
    );

    let (record, _) = verdict_after(set("leg_butting_mm", 6.02));
    assert!(html(&record, &[]).contains("Too close to call: the leg on the standing"));

    let (record, _) = verdict_after(|all| {
        all.remove("convexity_mm");
    });
    assert!(html(&record, &[]).contains("Not decided:"));

    let (mut record, _) = verdict_after(|_| ());
    record.verdict = None;
    assert!(html(&record, &[]).contains("No limits were chosen"));
}

#[test]
fn what_is_only_allowed_in_short_lengths_is_not_called_within() {
    // Level C: a throat 0.42 mm short is allowed over a short length only.
    let record = NEAR.record("iso5817-c");
    let page = html(&record, &[]);
    assert!(
        page.contains("Not decided: insufficient throat (0.42 ± 0.10 mm) is allowed only over")
    );
}

#[test]
fn every_measurement_and_every_check_is_on_the_page() {
    let record = NEAR.record("iso5817-c");
    let page = html(&record, &[]);
    for name in record.measurements.keys() {
        let entry = catalogue::entry(name).unwrap();
        assert!(
            page.contains(entry.definition) || page.contains("Number of passes"),
            "{name}"
        );
    }
    let checks = &record.verdict.as_ref().unwrap().checks;
    assert!(checks.len() > 15);
    let lower = page.to_lowercase();
    for check in checks {
        assert!(lower.contains(&check.limit), "{}", check.limit);
        assert!(page.contains(&check.verified), "{}", check.verified);
    }
    assert!(page.contains("6.60 ± 0.12 mm"));
}

#[test]
fn a_refused_photograph_has_a_page_with_what_to_do() {
    let page = html(&refused(), &[]);
    assert!(page.contains("What is wrong, and what to do"));
    assert!(page.contains("Lay a steel rule beside the section"));
    assert!(!page.contains("<img") && !page.contains("Everything that was measured"));
}
