//! A photograph turned, mirrored, rescaled or brightened shows the same face,
//! so it must give the same figures, each within what is stated for both, and
//! the same kinds of finding.

use crate::support::fracture::{render, vary};
use image::imageops::{self, FilterType};
use image::{DynamicImage, ImageFormat, RgbImage};
use std::collections::BTreeSet;
use std::io::Cursor;
use toeline::pipeline::{Request, ScaleRequest, ScaleSource, measure_fracture};
use toeline::record::{Coupon, Measurement, Record, RootSide};

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

/// Side walls begin at the far edge, which is known to jump between the torn
/// edge and the cap's toe where light from the cap's side makes torn metal and
/// cap alike (docs/method.md, "Known to fail"); these figures follow it.
fn rests_on_the_far_edge(name: &str) -> bool {
    name.starts_with("sidewall_")
        || ["unfused_area_percent", "fractured_area_percent"].contains(&name)
}

/// The first five cases, none left out. No figure may change by more than is
/// stated for both together (k = 2), and no kind of finding may come or go; of
/// the figures that rest on the far edge one in five may (found: one in ten,
/// all of case 5, where the cap is taken for an unfused side wall). Of cases 6
/// to 12 one more falls short: case 9 is refused when made smaller.
#[test]
fn a_changed_photograph_gives_the_same_figures() {
    let (mut compared, mut far) = (0, 0);
    let (mut wrong, mut far_wrong) = (Vec::new(), Vec::new());
    for seed in 1..=5 {
        let (photo, _) = render(vary::case(seed));
        let picture = image::load_from_memory(&photo)
            .expect("a JPEG file")
            .to_rgb8();
        let first = measure(&picture, RootSide::Bottom, "first.png");
        for (how, change, side) in CHANGES {
            let second = measure(&change(&picture), side, "second.png");
            for (name, a) in &first.measurements {
                let b = &second.measurements[name];
                let told = format!("{seed} {how}: {name} {} became {}", stated(a), stated(b));
                let off = match (numbers(a), numbers(b)) {
                    (Some((va, ua)), Some((vb, ub))) => (va - vb).abs() > ua.hypot(ub) + 1e-9,
                    (a, b) => a.is_some() != b.is_some(),
                };
                let (count, list) = match rests_on_the_far_edge(name) {
                    true => (&mut far, &mut far_wrong),
                    false => (&mut compared, &mut wrong),
                };
                *count += 1;
                list.extend(off.then_some(told));
            }
            let (a, b) = (kinds(&first), kinds(&second));
            if a != b {
                let why: Vec<_> = second.reasons.iter().map(|r| &r.message).collect();
                wrong.push(format!("{seed} {how}: findings {a:?} became {b:?} {why:?}"));
            }
        }
        assert!(
            numbers(&first.measurements["root_unfused_length_mm"]).is_some(),
            "{seed}: {:?}",
            first.reasons
        );
    }
    assert!(
        wrong.is_empty() && far_wrong.len() * 5 <= far,
        "of {compared} figures and {far} that rest on the far edge:\n{}\n{}",
        wrong.join("\n"),
        far_wrong.join("\n")
    );
}

/// Value and expanded uncertainty, where there is one.
fn numbers(m: &Measurement) -> Option<(f64, f64)> {
    Some((m.value?, m.expanded_uncertainty?))
}

fn stated(m: &Measurement) -> String {
    match numbers(m) {
        Some((value, u)) => format!("{value:.3} ± {u:.3}"),
        None => "not assessed".to_owned(),
    }
}
