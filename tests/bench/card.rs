//! How long the scale card takes in a photograph of 12 megapixels, and that as
//! a multiple of the bare decode of the same picture, a figure that travels
//! between machines.

#[allow(dead_code, reason = "shared with the tests, which use all of it")]
#[path = "../support/card.rs"]
mod card;
#[allow(dead_code, reason = "shared with the tests, which use all of it")]
#[path = "../support/references.rs"]
mod references;

use card::{Bench, Camera};
use criterion::{Criterion, criterion_group};
use references::View;
use std::hint::black_box;
use std::io::Cursor;
use std::time::{Duration, Instant};
use toeline::cardprint::{Paper, pdf};
use toeline::photo::Photo;
use toeline::scale::{Request, Source, find};

/// The whole card, tilted by 8°, with a specimen across its window.
fn photograph() -> Photo {
    let mut bench = Bench::with(&pdf(Some("HR-07"), Paper::A4).expect("a card"));
    bench.covered.push([20.0, -20.0, 70.0, 60.0]);
    let camera = Camera {
        view: View {
            width: 4000,
            height: 3000,
            px_per_mm: 22.0,
            turn_deg: 11.0,
            tilt_deg: 8.0,
            tilt_towards_deg: 40.0,
            focal: 2.4,
            noise: 6.0,
        },
        aim: [66.0, 45.0],
        kappa: -0.008,
        blur_px: 1.2,
        mirrored: false,
    };
    camera.photograph(|u, v| bench.tone(u, v))
}

fn jpeg(photo: &Photo) -> Vec<u8> {
    let mut file = Cursor::new(Vec::new());
    image::RgbImage::from_raw(photo.width as u32, photo.height as u32, photo.rgb.clone())
        .expect("a picture")
        .write_to(&mut file, image::ImageFormat::Jpeg)
        .expect("a file");
    file.into_inner()
}

fn read(photo: &Photo) {
    let scale = find(black_box(photo), &Request::of(Source::Card)).expect("the card");
    assert_eq!(scale.coupon_id.as_deref(), Some("HR-07"));
}

fn reading(c: &mut Criterion) {
    let photo = photograph();
    c.bench_function("scale::find, card", |b| b.iter(|| read(&photo)));
}

/// The shortest of a few runs: what the machine can do when left alone.
fn shortest(runs: usize, mut job: impl FnMut()) -> Duration {
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            job();
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

#[allow(clippy::print_stdout, reason = "a benchmark's figures are its output")]
fn multiple_of_decode() {
    let photo = photograph();
    let bytes = jpeg(&photo);
    let decode = shortest(7, || {
        black_box(image::load_from_memory(black_box(&bytes)).expect("a JPEG file"));
    });
    let card = shortest(7, || read(&photo));
    println!(
        "the card takes {:.2} × the bare decode ({} ms against {} ms)",
        card.as_secs_f64() / decode.as_secs_f64(),
        card.as_millis(),
        decode.as_millis()
    );
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = reading
}

fn main() {
    benches();
    Criterion::default().configure_from_args().final_summary();
    // `cargo test --benches` only checks that the benchmarks run.
    if std::env::args().any(|a| a == "--bench") {
        multiple_of_decode();
    }
}
