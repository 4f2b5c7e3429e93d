//! The scale card from the PDF file to the scale: what is printed is put before
//! a simulated camera and must come back in millimetres.

use crate::support::card::{Bench, Camera, Page};
use crate::support::references::View;
use proptest::prelude::*;
use toeline::base::geometry::Point;
use toeline::cardprint::{CardError, NameError, Paper, pdf};
use toeline::photo::Photo;
use toeline::record::{Code, Reason};
use toeline::scale::{Request, Scale, Source, find};

fn card(name: &str) -> Bench {
    Bench::with(&pdf(Some(name), Paper::A4).expect("a card"))
}

fn read(photo: &Photo) -> Result<Scale, Reason> {
    find(photo, &Request::of(Source::Card))
}

/// Straight above the window's middle, the whole card in the picture.
fn above() -> Camera {
    Camera {
        view: View {
            width: 1400,
            height: 1050,
            px_per_mm: 8.0,
            turn_deg: 0.0,
            tilt_deg: 0.0,
            tilt_towards_deg: 0.0,
            focal: 2.4,
            noise: 4.0,
        },
        aim: [62.0, 45.0],
        kappa: 0.0,
        blur_px: 0.7,
        mirrored: false,
    }
}

/// Largest relative error of the local scale over the picture's middle.
fn worst_error(scale: &Scale, camera: &Camera) -> f64 {
    let (w, h) = (camera.view.width as f64, camera.view.height as f64);
    [(0.5, 0.5), (0.3, 0.3), (0.7, 0.3), (0.3, 0.7), (0.7, 0.7)]
        .iter()
        .map(|&(x, y)| {
            let (x, y) = (x * w, y * h);
            let got = scale.map.px_per_mm_at(scale.map.to_mm(Point::new(x, y)));
            (got / camera.px_per_mm_at(x, y) - 1.0).abs()
        })
        .fold(0.0, f64::max)
}

#[test]
fn explore() {
    use rand::{RngExt, SeedableRng};
    let plain = card("HR-07");
    let n: u64 = std::env::var("TOELINE_N")
        .ok()
        .and_then(|t| t.parse().ok())
        .unwrap_or(24);
    let mut got = 0;
    let only: Option<u64> = std::env::var("TOELINE_ONLY").ok().and_then(|t| t.parse().ok());
    for i in 0..n {
        if only.is_some_and(|o| o != i) { continue; }
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(i);
        let mut bench = plain.clone();
        bench.level = [70.0, 30.0, 225.0][(i % 3) as usize];
        let mut camera = above();
        camera.view.turn_deg = rng.random_range(0.0..360.0);
        camera.view.tilt_deg = rng.random_range(0.0..25.0);
        camera.view.tilt_towards_deg = rng.random_range(0.0..360.0);
        camera.view.focal = rng.random_range(1.2..6.0);
        camera.view.px_per_mm = rng.random_range(6.0..12.0);
        camera.aim[0] += rng.random_range(-20.0..20.0);
        camera.aim[1] += rng.random_range(-20.0..20.0);
        camera.kappa = rng.random_range(-0.02..0.02);
        camera.blur_px = rng.random_range(0.0..1.6);
        camera.view.noise = rng.random_range(0.0..12.0);
        if i % 2 == 1 {
            let (x, y) = (rng.random_range(-20.0..60.0), rng.random_range(-10.0..50.0));
            bench.covered.push([
                x,
                y,
                x + rng.random_range(20.0..150.0),
                y + rng.random_range(15.0..50.0),
            ]);
        }
        let photo = camera.photograph(|u, v| bench.tone(u, v));
        let t = std::time::Instant::now();
        let r = read(&photo);
        let ms = t.elapsed().as_millis();
        match r {
            Ok(s) => {
                got += 1;
                let e = worst_error(&s, &camera);
                println!(
                    "{i:3} ok err {:.3} % u {:.3} % corners {:?} res {:.2} tilt {:.1}/{:.1} id {:?} occ {} {} {ms} ms  k {:.3} f {:.1} s {:.1} b {:.1}",
                    100.0 * e,
                    100.0 * s.standard_uncertainty_rel,
                    s.facts.evidence.corners,
                    s.facts.evidence.residual_px.unwrap(),
                    s.facts.tilt_deg.unwrap(),
                    camera.view.tilt_deg,
                    s.coupon_id,
                    s.occupied.len(),
                    if e > 0.002 { "***" } else { "" },
                    camera.kappa,
                    camera.view.focal,
                    camera.view.px_per_mm,
                    camera.blur_px
                );
            }
            Err(r) => println!(
                "{i:3} {:?} {} covered {:?} s {:.1} b {:.1} tilt {:.1} f {:.1} {ms} ms",
                r.code,
                r.message,
                bench.covered,
                camera.view.px_per_mm,
                camera.blur_px,
                camera.view.tilt_deg,
                camera.view.focal
            ),
        }
        if std::env::var("TOELINE_SAVE").ok() == Some(i.to_string()) {
            image::RgbImage::from_raw(photo.width as u32, photo.height as u32, photo.rgb.clone())
                .unwrap()
                .save("/work/lab/card/case.png")
                .unwrap();
        }
    }
    println!("{got} of {n}");
}
