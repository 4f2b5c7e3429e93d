//! How long a rule, a chequer strip, and the search for a second reference where
//! there is none take in a photograph of 12 megapixels, on one core; and that, on
//! one core and on two, as a multiple of the bare decode of the same picture in
//! the same run, a figure that travels between machines.

#[allow(dead_code, reason = "shared with the tests, which use all of it")]
#[path = "../support/references.rs"]
mod references;
#[allow(dead_code, reason = "shared with the tests, which use all of it")]
#[path = "../support/rules.rs"]
mod rules;

use criterion::{Criterion, criterion_group};
use references::{View, chequer_tone};
use rules::{Divisions, SteelRule};
use std::hint::black_box;
use std::io::Cursor;
use std::time::{Duration, Instant};
use toeline::photo::Photo;
use toeline::scale::{Request, Source, find};

const VIEW: View = View {
    width: 4000,
    height: 3000,
    px_per_mm: 34.0,
    turn_deg: 11.0,
    tilt_deg: 4.0,
    tilt_towards_deg: 40.0,
    focal: 2.8,
    noise: 6.0,
};

/// A workpiece's brushed face around the reference, so that the search has
/// something to look through.
fn bench(u: f64, v: f64) -> f64 {
    110.0 + 12.0 * (9.0 * v).sin() * (0.4 * u + 2.0 * v).cos()
}

/// What is to be read, in one picture each.
fn subjects() -> [(&'static str, Source, Photo); 4] {
    let rule = |near, far| {
        let rule = SteelRule {
            zero_mm: 7.0,
            ..SteelRule::new(near, far)
        };
        VIEW.photograph(|u, v| {
            let into = v - rule.edge_mm;
            if (0.0..=rule.width_mm).contains(&into) {
                rule.tone(u, v)
            } else {
                bench(u, v)
            }
        })
    };
    [
        (
            "rule in millimetres",
            Source::RuleMm,
            rule(Divisions::HalfMillimetre, Some(Divisions::Millimetre)),
        ),
        (
            "rule in inches",
            Source::RuleInch,
            rule(Divisions::Inch(32), Some(Divisions::Inch(16))),
        ),
        (
            "chequer strip",
            Source::Chequer { pitch_mm: 4.0 },
            VIEW.photograph(|u, v| match chequer_tone(4.0, 20, u, v) {
                90.0 => bench(u, v),
                tone => tone,
            }),
        ),
        (
            "picture without a reference",
            Source::Declared { px_per_mm: 34.0 },
            VIEW.photograph(bench),
        ),
    ]
}

fn read(photo: &Photo, source: Source) {
    find(black_box(photo), &Request::of(source)).expect("a scale");
}

fn reading(c: &mut Criterion) {
    for (name, source, photo) in subjects() {
        c.bench_function(&format!("scale::find, {name}"), |b| {
            b.iter(|| read(&photo, source));
        });
    }
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
fn multiples_of_decode() {
    for (name, source, photo) in subjects() {
        let mut file = Cursor::new(Vec::new());
        image::RgbImage::from_raw(photo.width as u32, photo.height as u32, photo.rgb.clone())
            .expect("a picture")
            .write_to(&mut file, image::ImageFormat::Jpeg)
            .expect("a file");
        let bytes = file.into_inner();
        let decode = shortest(5, || {
            black_box(image::load_from_memory(black_box(&bytes)).expect("a JPEG file"));
        });
        for cores in [1, 2] {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(cores)
                .build()
                .expect("threads");
            let scale = pool.install(|| shortest(5, || read(&photo, source)));
            println!(
                "the {name}, cores: {cores}: {:.2} × the bare decode ({} ms against {} ms)",
                scale.as_secs_f64() / decode.as_secs_f64(),
                scale.as_millis(),
                decode.as_millis()
            );
        }
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = reading
}

fn main() {
    // Stated for one core.
    let _ = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build_global();
    benches();
    Criterion::default().configure_from_args().final_summary();
    // `cargo test --benches` only checks that the benchmarks run.
    if std::env::args().any(|a| a == "--bench") {
        multiples_of_decode();
    }
}
