use crate::support::broken::{self, PHOTO, coupon, findings, photograph, record, with};
use image::{ImageFormat, RgbImage, load_from_memory_with_format};
use toeline::limits::{Profile, judge};
use toeline::record::{Coupon, Cracks, Finding, Measurement, Outlines, Record, Status, catalogue};
use toeline::report::{ReportError, Straightened, annotate, html, html_with_face, straightened};

fn decode(jpeg: &[u8]) -> RgbImage {
    load_from_memory_with_format(jpeg, ImageFormat::Jpeg)
        .unwrap()
        .into_rgb8()
}

fn chart(record: &Record) -> RgbImage {
    decode(&straightened(&broken::straightened(), record).unwrap())
}

fn annotated(record: &Record) -> Vec<u8> {
    annotate(&photograph(), PHOTO.0, PHOTO.1, record).unwrap()
}

/// Brightness of a pixel.
fn luma(picture: &RgbImage, x: u32, y: u32) -> f64 {
    let [r, g, b] = picture.get_pixel(x, y).0.map(f64::from);
    0.299 * r + 0.587 * g + 0.114 * b
}

/// Where a place of the face lies in the chart: two rows of 55 mm, 1394 px each,
/// below each face four lanes of 38 px, a ruler of 62 px and a gap of 26 px.
fn on_chart([s, h]: [f64; 2]) -> (u32, u32) {
    let scale = (1600.0 - 206.0) / 55.0;
    let row = if s < 55.0 { 0.0 } else { 1.0 };
    let step = 9.0 * scale + 4.0 * 38.0 + 62.0 + 26.0;
    let x = 176.0 + (s - row * 55.0) * scale;
    let y = 8.0 + row * step + (8.0 - h) * scale;
    (x as u32, y as u32)
}

/// Brightnesses of a block of the face, a little inside of it.
fn block(picture: &RgbImage, from: [f64; 2], to: [f64; 2]) -> Vec<Vec<f64>> {
    let ((left, lower), (right, upper)) = (on_chart(from), on_chart(to));
    (upper + 8..lower - 8)
        .map(|y| (left + 8..right - 8).map(|x| luma(picture, x, y)).collect())
        .collect()
}

/// Mean product of brightnesses `d` apart along each diagonal: `/` and `\`.
fn diagonals(block: &[Vec<f64>]) -> (f64, f64) {
    let mean = block.iter().flatten().sum::<f64>() / block.iter().flatten().count() as f64;
    let d = 4;
    let (mut rising, mut falling) = (0.0, 0.0);
    for y in d..block.len() - d {
        for x in 0..block[y].len() - d {
            let here = block[y][x] - mean;
            rising += here * (block[y - d][x + d] - mean);
            falling += here * (block[y + d][x + d] - mean);
        }
    }
    (rising, falling)
}

#[test]
fn zones_are_hatched_each_kind_its_own_way_and_the_metal_stays_visible() {
    let picture = chart(&record(None));
    let root = block(&picture, [20.0, 0.0], [29.0, 1.5]);
    let passes = block(&picture, [42.0, 3.0], [54.0, 4.8]);
    for (name, zone) in [("root", &root), ("passes", &passes)] {
        let all: Vec<f64> = zone.iter().flatten().copied().collect();
        let share = |test: fn(f64) -> bool| {
            all.iter().filter(|v| test(**v)).count() as f64 / all.len() as f64
        };
        assert!(share(|v| v > 160.0) > 0.05, "{name}: light lines");
        assert!(share(|v| v < 100.0) > 0.05, "{name}: dark halos");
        assert!(
            share(|v| (v - 128.0).abs() < 12.0) > 0.2,
            "{name}: the metal"
        );
    }
    // Told apart without colour.
    let (rising, falling) = diagonals(&root);
    assert!(rising > 2.0 * falling.abs(), "{rising} {falling}");
    let (rising, falling) = diagonals(&passes);
    assert!(falling > 2.0 * rising.abs(), "{rising} {falling}");
    // Between the zones nothing is drawn on the metal.
    let bare = block(&picture, [8.0, 1.0], [18.0, 6.5]);
    assert!(bare.iter().flatten().all(|v| (v - 128.0).abs() < 12.0));
}

#[test]
fn bars_run_along_the_weld_where_the_findings_are() {
    let picture = chart(&record(None));
    let (_, root_line) = on_chart([0.0, -1.0]);
    let lane = |n: u32| root_line + 8 + n * 38 + 15;
    let dark = |s: f64, y: u32| {
        let (x, _) = on_chart([s, 0.0]);
        (x - 9..x + 9).any(|x| luma(&picture, x, y) < 110.0)
    };
    // Root from 20 to 29 mm, passes from 42 to 56 mm, and nowhere else.
    for (n, inside, outside) in [(0, 24.0, [15.0, 35.0]), (1, 48.0, [24.0, 38.0])] {
        assert!(dark(inside, lane(n)), "lane {n}");
        assert!(outside.iter().all(|s| !dark(*s, lane(n))), "lane {n}");
    }
    // The ruler: a mark at 30 mm that reaches further than the one at 31 mm.
    let (_, y) = on_chart([0.0, -1.0]);
    let ruler = y + 8 + 4 * 38;
    let mark = |s: f64, below: u32| {
        let (x, _) = on_chart([s, 0.0]);
        (x - 2..=x + 2).any(|x| luma(&picture, x, ruler + below) < 120.0)
    };
    assert!(mark(30.0, 5) && mark(31.0, 5) && mark(30.0, 16) && !mark(31.0, 16));
}

#[test]
fn a_discarded_end_is_veiled() {
    let picture = chart(&record(None));
    let brightness = |from, to| {
        let all: Vec<f64> = block(&picture, from, to).into_iter().flatten().collect();
        all.iter().sum::<f64>() / all.len() as f64
    };
    // Torn metal of 128 under white of 62 %: 207.
    assert!((brightness([0.2, 5.5], [4.8, 7.0]) - 207.0).abs() < 8.0);
    assert!((brightness([6.0, 5.5], [12.0, 7.0]) - 128.0).abs() < 8.0);
}

#[test]
fn zones_are_drawn_into_the_photograph() {
    let record = record(None);
    let drawn = decode(&annotated(&record));
    let mut bare = record.clone();
    bare.outlines_px = Outlines::default();
    bare.findings.clear();
    let plain = decode(&annotated(&bare));
    let changed = |from: [f64; 2], to: [f64; 2]| {
        let mut count = 0;
        for i in 0..40 {
            for j in 0..12 {
                let s = from[0] + (to[0] - from[0]) * f64::from(i) / 39.0;
                let h = from[1] + (to[1] - from[1]) * f64::from(j) / 11.0;
                let [x, y] = broken::px([s, h]);
                let (x, y) = (x as u32, y as u32);
                count += u32::from((luma(&drawn, x, y) - luma(&plain, x, y)).abs() > 30.0);
            }
        }
        f64::from(count) / 480.0
    };
    assert!(changed([20.3, 0.3], [28.7, 1.2]) > 0.2, "root");
    assert!(changed([42.5, 3.3], [55.5, 4.5]) > 0.2, "passes");
    assert!(changed([32.0, 1.0], [40.0, 6.0]) < 0.05, "bare metal");
}

#[test]
fn odd_faces_are_errors_or_drawn_without_a_panic() {
    let record = record(None);
    let face = |width: usize, height: usize, px_per_mm: f64, bytes: usize| Straightened {
        rgb: vec![90; bytes],
        width,
        height,
        px_per_mm,
        top_mm: 8.0,
        place: Box::new(|_| [f64::NAN, 1e300]),
    };
    for wrong in [
        face(0, 0, 20.0, 0),
        face(3, 3, 20.0, 26),
        face(usize::MAX, 3, 20.0, 9),
        face(3, 3, 0.0, 27),
        face(3, 3, f64::NAN, 27),
    ] {
        assert!(matches!(
            straightened(&wrong, &record),
            Err(ReportError::SizeMismatch { .. })
        ));
    }
    for (width, height, px_per_mm) in [(1, 1, 20.0), (1, 40, 0.01), (4000, 2, 20.0), (40, 4, 1e-3)]
    {
        let odd = face(width, height, px_per_mm, 3 * width * height);
        let jpeg = straightened(&odd, &record).unwrap();
        assert_eq!(decode(&jpeg).width(), 1600);
    }
}

fn page(record: &Record) -> String {
    let face = straightened(&broken::straightened(), record).unwrap();
    html_with_face(record, &annotated(record), &face)
}

/// `TOELINE_LOOK=folder cargo test pages_of_a_broken_weld` leaves them there.
#[test]
fn pages_of_a_broken_weld_need_nothing_from_outside() {
    for (name, profile) in [
        ("HR-21-aws", Some("aws-d1.1-break-mm")),
        ("HR-21-contest", Some("harbour-row-contest")),
        ("HR-21-d", Some("iso5817-d-break")),
        ("HR-21", None),
    ] {
        let page = page(&record(profile));
        if let Some(folder) = std::env::var_os("TOELINE_LOOK") {
            let path = std::path::PathBuf::from(folder).join(name);
            std::fs::write(path.with_extension("html"), &page).unwrap();
        }
        for forbidden in [
            "http:", "https:", "<script", "<link", "url(", "@import", "src=\"/",
        ] {
            assert!(!page.contains(forbidden), "{forbidden}");
        }
        assert_eq!(page.matches("data:image/jpeg;base64,/9j/").count(), 2);
        assert!(page.contains("<h1>HR-21</h1>") && page.contains("broken fillet weld"));
    }
}

#[test]
fn findings_stand_in_words_with_their_place() {
    let page = page(&record(Some("aws-d1.1-break-mm")));
    for words in [
        "9 mm of root not fused, from 20 to 29 mm from the left end, up to 1.5 mm deep.",
        "14 mm not fused between passes, from 42 to 56 mm from the left end, up to 1.8 mm wide, \
         3.9 mm from the root.",
        "Pore of 1.2 mm, 63 mm from the left end, 2.4 mm from the root.",
        "2 pores and inclusions under 1 mm, from 66 to 68 mm from the left end (nos. 5, 6), \
         together 1.1 mm.",
        "Inclusion of 2 mm, 80 mm from the left end",
        "it lies in a discarded end and does not count",
        "Cracks are not searched for: look at the face yourself",
    ] {
        assert!(page.contains(words), "{words}");
    }
    // Sizes with their uncertainty.
    assert!(page.contains("14.00 ± 0.80 mm") && page.contains("42 – 56"));
}

/// A face without a finding of which 4 mm at the root could be anything.
fn face_with_doubt() -> Record {
    let mut record = with(coupon(), vec![], None);
    let doubt = Measurement::measured(0.0, 2.0, vec![]);
    record
        .measurements
        .insert("root_unfused_length_mm".to_owned(), doubt);
    record.verdict = Some(judge(
        &Profile::named("aws-d1.1-break-mm").unwrap(),
        &record.coupon,
        &record.measurements,
        &[],
        broken::SEARCHED,
    ));
    record
}

#[test]
fn the_first_sentence_about_a_broken_weld() {
    let said = |profile: Option<&str>| html(&record(profile), &[]);
    assert!(
        said(Some("aws-d1.1-break-mm"))
            .contains("Outside: the root is not fused over 9 mm (none is permitted).")
    );
    assert!(said(None).contains(
        "Measured: the root is not fused over 9 mm of 100 mm; passes are not fused to each other \
         over 14 mm of 100 mm; 4 pores and inclusions add up to 4.3 mm. No limits were chosen"
    ));
    let sound = with(coupon(), vec![], None);
    assert!(html(&sound, &[]).contains("no inclusion was found on 100 mm of weld"));
    // 100 mm is no specimen of 150 mm: the sum stays open.
    let sound = with(coupon(), vec![], Some("aws-d1.1-break-mm"));
    let page = html(&sound, &[]);
    assert!(page.contains("1 of 5 checks could not be made: sum of the greatest dimensions"));
    // Nothing found, but much that cannot be told.
    let mut doubtful = face_with_doubt();
    let page = html(&doubtful, &[]);
    assert!(
        page.contains("Too close to call: whether the root is fused everywhere cannot be told"),
        "{page}"
    );
    doubtful.verdict = None;
    assert!(html(&doubtful, &[]).contains("no inclusion was found on 100 mm of weld"));
    let sound = Coupon {
        cracks: Some(Cracks::None),
        ..coupon()
    };
    let page = html(&with(sound, vec![], Some("harbour-row-contest")), &[]);
    assert!(page.contains("Within the limits chosen"));
}

#[test]
fn the_page_says_what_to_practise_for_what_was_found_only() {
    let page = html(&record(None), &[]);
    for words in [
        "The root was not reached",
        "A pass did not fuse to the one below",
        "Gas was enclosed",
        "Slag or other foreign matter is enclosed",
        "Going slower is no cure by itself",
        "After teaching pages",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("did not fuse to a plate at its side"));
    let pore: Vec<Finding> = findings()
        .into_iter()
        .filter(|f| f.kind == "pore")
        .collect();
    let page = html(&with(coupon(), pore, None), &[]);
    assert!(page.contains("Gas was enclosed") && !page.contains("Going slower"));
    assert!(!html(&with(coupon(), vec![], None), &[]).contains("Likely causes"));
}

#[test]
fn cautions_and_where_the_limits_come_from_are_on_every_page() {
    for profile in ["aws-d1.1-break-inch", "aws-d1.1-break-mm"] {
        let page = html(&record(Some(profile)), &[]);
        assert!(page.contains("seen only as quoted publicly, not in the standard itself"));
        assert!(page.contains("6.23.4.1 (numbering from memory)"));
    }
    let page = html(&record(None), &[]);
    for words in [
        "in a guarded press",
        "fragments fly",
        "Eye and hand protection",
        "hot enough to burn",
        "the local codes",
        "Toeline certifies nobody",
        "an authorised examiner decides",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn points_stand_on_the_page_as_an_instructor_s_count() {
    let page = html(&record(Some("harbour-row-contest")), &[]);
    for words in [
        "44.4 of 100 points",
        "± 3.2",
        "Root not fused",
        "Left to the examiner",
        "Crack: not searched for.",
        "no standard knows them",
        "an invented example",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!html(&record(Some("aws-d1.1-break-mm")), &[]).contains("Points taken off"));
}

fn bent_flat(profile: Option<&str>) -> Record {
    let declared = Coupon {
        bent_flat: true,
        ..coupon()
    };
    let mut record = with(declared, vec![], profile);
    record.status = Status::Declared;
    record.outlines_px = Outlines::default();
    for measurement in record.measurements.values_mut() {
        *measurement = Measurement::not_assessed("the coupon was declared to have bent flat");
    }
    record
}

#[test]
fn a_coupon_that_bent_flat_is_said_to_be_declared_not_measured() {
    let record = bent_flat(Some("aws-d1.1-break-mm"));
    let page = html(&record, &annotated(&record));
    for words in [
        "Within by declaration, not by measurement",
        "declared, not measured: the coupon bent flat",
        "kept as evidence",
        "although its root was never seen",
        "<img",
        "bent flat without breaking",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("Everything that was measured") && !page.contains("What was found"));
    let page = html(&bent_flat(Some("iso5817-b-break")), &[]);
    assert!(page.contains("Not decided: the coupon was declared to have bent flat"));
    assert!(html(&bent_flat(None), &[]).contains("Declared: the coupon was declared"));
}

#[test]
fn a_broken_weld_s_record_survives_json_and_every_measurement_is_on_the_page() {
    let mut record = record(Some("harbour-row-contest"));
    record.coupon.cracks = Some(Cracks::Seen);
    record.coupon.length_mm = Some(110.0);
    record.coupon.bent_flat = true;
    let text = serde_json::to_string(&record).unwrap();
    assert_eq!(serde_json::from_str::<Record>(&text).unwrap(), record);
    assert!(text.contains("\"cracks\":\"seen\"") && text.contains("\"bent_flat\":true"));
    let page = html(&record, &[]);
    assert_eq!(record.measurements.len(), catalogue::FRACTURE.len());
    for entry in catalogue::FRACTURE {
        assert!(
            record.measurements.contains_key(entry.name),
            "{}",
            entry.name
        );
        let definition = entry.definition.replace('\'', "&#39;");
        assert!(
            page.contains(entry.definition) || page.contains(&definition),
            "{}",
            entry.name
        );
    }
}
