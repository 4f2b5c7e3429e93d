//! How long one section photograph takes, stage by stage, on the shipped
//! HR-07 picture (7 megapixels).
//!
//! `cargo bench` measures; the last line states the whole run as a multiple of
//! the bare decode of the same file, a figure that travels between machines.

use criterion::{Criterion, criterion_group};
use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};
use toeline::photo::{self, Photo};
use toeline::record::Coupon;
use toeline::scale::{self, Scale, Source};
use toeline::{pipeline, section};

fn photograph() -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/sections/HR-07/photo.jpg");
    std::fs::read(path).expect("the shipped photograph")
}

fn rule() -> scale::Request {
    scale::Request::of(Source::RuleMm)
}

fn coupon() -> Coupon {
    Coupon {
        thickness_butting_mm: Some(8.0),
        thickness_nonbutting_mm: Some(10.0),
        ..Coupon::default()
    }
}

fn request() -> pipeline::Request {
    pipeline::Request {
        coupon: coupon(),
        scale: rule(),
        ..pipeline::Request::default()
    }
}

fn read(bytes: &[u8]) -> Photo {
    let (photo, _) =
        photo::read(bytes, "photo.jpg", &photo::Limits::default()).expect("a readable photograph");
    photo
}

fn found(photo: &Photo) -> Scale {
    scale::find(photo, &rule()).expect("the rule in the photograph")
}

fn decode(c: &mut Criterion) {
    let bytes = photograph();
    c.bench_function("bare decode", |b| {
        b.iter(|| image::load_from_memory(black_box(&bytes)).expect("a JPEG file"));
    });
    c.bench_function("photo::read", |b| b.iter(|| read(black_box(&bytes))));
}

fn stages(c: &mut Criterion) {
    let photo = read(&photograph());
    c.bench_function("scale::find", |b| b.iter(|| found(black_box(&photo))));
    let scale = found(&photo);
    c.bench_function("section::measure", |b| {
        b.iter(|| section::measure(black_box(&photo), &scale, &coupon(), 1).expect("a weld"));
    });
}

fn whole(c: &mut Criterion) {
    let (bytes, request) = (photograph(), request());
    c.bench_function("pipeline::measure_section", |b| {
        b.iter(|| pipeline::measure_section(black_box(&bytes), "photo.jpg", &request));
    });
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
    let (bytes, request) = (photograph(), request());
    let decode = shortest(10, || drop(black_box(image::load_from_memory(&bytes))));
    let whole = shortest(10, || {
        drop(black_box(pipeline::measure_section(
            &bytes,
            "photo.jpg",
            &request,
        )))
    });
    println!(
        "whole run {:.0} ms = {:.1} x the bare decode ({:.0} ms)",
        whole.as_secs_f64() * 1e3,
        whole.as_secs_f64() / decode.as_secs_f64(),
        decode.as_secs_f64() * 1e3
    );
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = decode, stages, whole
}

fn main() {
    benches();
    Criterion::default().configure_from_args().final_summary();
    // `cargo test --benches` only checks that the benchmarks run.
    if std::env::args().any(|a| a == "--bench") {
        multiple_of_decode();
    }
}
