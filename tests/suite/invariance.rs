//! A photograph turned, mirrored, rescaled or brightened shows the same face,
//! so it must give the same figures, each within what is stated for both, and
//! the same kinds of finding.

use crate::support::fracture::{render, vary};
use image::imageops::{self, FilterType};
use image::{DynamicImage, ImageFormat, RgbImage};
use std::collections::BTreeSet;
use std::io::Cursor;
use toeline::pipeline::{Request, ScaleRequest, ScaleSource, measure_fracture};
use toeline::record::{Coupon, MeasurementStatus, Record, RootSide};

/// One way to change a photograph, and where the root side lies after it.
type Change = (&'static str, fn(&RgbImage) -> RgbImage, RootSide);

const CHANGES: [Change; 6] = [
    ("turned by 90°", |p| imageops::rotate90(p), RootSide::Left),
    ("turned by 180°", |p| imageops::rotate180(p), RootSide::Top),
    (
        "mirrored",
        |p| imageops::flip_horizontal(p),
        RootSide::Bottom,
    ),
    ("made smaller", |p| rescaled(p, 0.85), RootSide::Bottom),
    ("made larger", |p| rescaled(p, 1.2), RootSide::Bottom),
    ("brightened", brightened, RootSide::Bottom),
];

fn rescaled(picture: &RgbImage, factor: f64) -> RgbImage {
    let side = |n: u32| (f64::from(n) * factor).round() as u32;
    imageops::resize(
        picture,
        side(picture.width()),
        side(picture.height()),
        FilterType::CatmullRom,
    )
}

/// A quarter more light; a gamma of 2.2 is near enough to how files store it.
fn brightened(picture: &RgbImage) -> RgbImage {
    let gain = f64::powf(1.25, 1.0 / 2.2);
    let mut picture = picture.clone();
    for sample in picture.iter_mut() {
        *sample = (f64::from(*sample) * gain).round().min(255.0) as u8;
    }
    picture
}

fn measure(picture: &RgbImage, root_side: RootSide, name: &str) -> Record {
    let mut file = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(picture.clone())
        .write_to(&mut file, ImageFormat::Png)
        .expect("a PNG file");
    let request = Request {
        coupon: Coupon {
            root_side: Some(root_side),
            ..Coupon::default()
        },
        scale: ScaleRequest::of(ScaleSource::Chequer { pitch_mm: 3.0 }),
        ..Request::default()
    };
    measure_fracture(file.get_ref(), name, &request).record
}

/// Kinds of finding of which there are 3 mm or more.
fn kinds(record: &Record) -> BTreeSet<&str> {
    let long = |kind: &str| {
        let of_kind = record.findings.iter().filter(|f| f.kind == kind);
        of_kind
            .filter_map(|f| f.length_mm)
            .map(|q| q.value)
            .sum::<f64>()
            >= 3.0
    };
    let all = record.findings.iter().map(|f| f.kind.as_str());
    all.filter(|kind| long(kind)).collect()
}

#[test]
fn a_changed_photograph_gives_the_same_figures() {
    let mut compared = 0;
    let mut wrong = Vec::new();
    for seed in SEEDS {
        let (photo, _) = render(vary::case(seed));
        let picture = image::load_from_memory(&photo)
            .expect("a JPEG file")
            .to_rgb8();
        let first = measure(&picture, RootSide::Bottom, "first.png");
        for (how, change, side) in CHANGES {
            let second = measure(&change(&picture), side, "second.png");
            for (name, a) in &first.measurements {
                let b = &second.measurements[name];
                if a.status != MeasurementStatus::Measured || b.status != a.status {
                    if a.status != b.status {
                        wrong.push(format!(
                            "{seed} {how}: {name} {:?} became {:?}",
                            a.status, b.status
                        ));
                    }
                    continue;
                }
                let value = |m: &toeline::record::Measurement| {
                    (m.value.unwrap(), m.expanded_uncertainty.unwrap())
                };
                let ((va, ua), (vb, ub)) = (value(a), value(b));
                compared += 1;
                if (va - vb).abs() > ua.hypot(ub) + 1e-9 {
                    wrong.push(format!(
                        "{seed} {how}: {name} {va} ± {ua} became {vb} ± {ub}"
                    ));
                }
            }
            if kinds(&first) != kinds(&second) {
                wrong.push(format!(
                    "{seed} {how}: {:?} became {:?}",
                    kinds(&first),
                    kinds(&second)
                ));
            }
        }
    }
    assert!(compared > 50, "only {compared} figures compared");
    assert!(
        wrong.is_empty(),
        "of {compared} figures:\n{}",
        wrong.join("\n")
    );
}

const SEEDS: [u64; 12] = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12];
