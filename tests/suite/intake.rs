use image::{DynamicImage, ImageFormat, Luma, Rgb, RgbImage};
use std::io::Cursor;
use toeline::photo::{Limits, read};
use toeline::pipeline::{Request, measure_section};
use toeline::record::{Code, Record, Status};

/// A grey picture with a bright block: a picture, but no weld.
fn picture() -> RgbImage {
    RgbImage::from_fn(64, 48, |x, y| {
        if (20..44).contains(&x) && (14..36).contains(&y) {
            Rgb([210, 205, 200])
        } else {
            Rgb([70, 72, 75])
        }
    })
}

fn encode(picture: impl Into<DynamicImage>, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.into().write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

fn declared() -> Request {
    let mut request = Request::default();
    request.scale.source = "declared:20".parse().unwrap();
    request
}

#[test]
fn every_cut_of_a_file_leaves_a_refused_record_or_the_whole_picture() {
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff] {
        let bytes = encode(picture(), format);
        // A spread of cuts, and all of them near both ends.
        let cuts = (0..bytes.len()).filter(|c| *c < 64 || c % 37 == 0 || *c + 16 > bytes.len());
        for cut in cuts {
            let outcome = measure_section(&bytes[..cut], "HR-01.jpg", &declared());
            let record = outcome.record;
            assert_eq!(record.status, Status::Refused, "{format:?} cut at {cut}");
            assert!(!record.reasons.is_empty());
            assert_eq!(record.photo.file, "HR-01.jpg");
            if outcome.annotated.is_some() {
                assert_eq!((record.photo.width_px, record.photo.height_px), (64, 48));
                assert_ne!(record.reasons[0].code, Code::UnreadableFile);
            }
        }
    }
}

#[test]
fn a_picture_without_a_weld_is_refused_with_every_measurement_named() {
    let outcome = measure_section(&encode(picture(), ImageFormat::Png), "x.png", &declared());
    let record = outcome.record;
    assert_eq!(record.status, Status::Refused);
    assert_eq!(record.scale.as_ref().unwrap().px_per_mm, 20.0);
    assert!(record.measurements.contains_key("leg_butting_mm"));
    assert!(
        record
            .measurements
            .values()
            .all(|m| m.value.is_none() && m.why.is_some())
    );
    assert!(record.verdict.is_none());
    // The annotated picture is a JPEG that decodes.
    let jpeg = outcome.annotated.unwrap();
    assert!(image::load_from_memory_with_format(&jpeg, ImageFormat::Jpeg).is_ok());
}

#[test]
fn without_a_scale_there_are_no_millimetres() {
    let mut request = declared();
    request.scale.source = "rule-mm".parse().unwrap();
    let record = measure_section(&encode(picture(), ImageFormat::Png), "x.png", &request).record;
    assert_eq!(record.status, Status::Refused);
    assert_eq!(record.reasons[0].code, Code::NoScale);
    assert!(record.scale.is_none());
}

#[test]
fn the_same_bytes_give_the_same_record() {
    let bytes = encode(picture(), ImageFormat::Jpeg);
    let record = || -> Record {
        let mut record = measure_section(&bytes, "x.jpg", &declared()).record;
        record.provenance.timings_ms.clear();
        record
    };
    assert_eq!(record(), record());
}

#[test]
fn what_is_read_does_not_depend_on_the_container() {
    let grey = |x: u32, y: u32| Luma([(x * 3 + y) as u8]);
    let grey = image::GrayImage::from_fn(40, 40, grey);
    let luma = |format| {
        let bytes = encode(grey.clone(), format);
        read(&bytes, "x", &Limits::default()).unwrap().0.luma
    };
    assert_eq!(
        luma(ImageFormat::Png).samples(),
        luma(ImageFormat::Tiff).samples()
    );
}
