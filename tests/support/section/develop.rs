//! From linear light to a JPEG file: blur, noise, tone curve, encoding.

use super::camera::CameraSpec;
use super::noise;
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder};
use rayon::prelude::*;

/// Linear RGB, row by row.
pub type Light = Vec<[f32; 3]>;

pub fn develop(mut light: Light, spec: &CameraSpec, seed: u64) -> Vec<u8> {
    let (w, h) = (spec.width, spec.height);
    if spec.blur_px > 0.05 {
        light = blur(&light, w, h, spec.blur_px);
    }
    let mut bytes = vec![0u8; 3 * w * h];
    bytes
        .par_chunks_mut(3 * w)
        .enumerate()
        .for_each(|(y, row)| {
            for x in 0..w {
                let pixel = light[y * w + x];
                for k in 0..3 {
                    let value = f64::from(pixel[k]) * spec.exposure * spec.balance[k];
                    let h = noise::hash(seed ^ ((3 * (y * w + x) + k) as u64));
                    // Shot noise grows with the root of the light.
                    let sigma = spec.noise * (0.25 + value.max(0.0)).sqrt();
                    let noisy = encode(value) + sigma * noise::grain(h);
                    row[3 * x + k] = (noisy * 255.0).round().clamp(0.0, 255.0) as u8;
                }
            }
        });
    let mut file = Vec::new();
    JpegEncoder::new_with_quality(&mut file, spec.quality)
        .write_image(&bytes, w as u32, h as u32, ExtendedColorType::Rgb8)
        .expect("the picture fits a JPEG");
    file
}

/// The sRGB transfer curve (IEC 61966-2-1).
fn encode(v: f64) -> f64 {
    let v = v.clamp(0.0, 1.0);
    if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    }
}

fn blur(light: &Light, w: usize, h: usize, sigma: f64) -> Light {
    let radius = (3.0 * sigma).ceil() as i64;
    let raw: Vec<f64> = (-radius..=radius)
        .map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp())
        .collect();
    let sum: f64 = raw.iter().sum();
    let kernel: Vec<f32> = raw.iter().map(|k| (k / sum) as f32).collect();
    let pass = |from: &Light, dx: i64, dy: i64| -> Light {
        let mut to = vec![[0.0f32; 3]; w * h];
        to.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
            for (x, out) in row.iter_mut().enumerate() {
                for (i, k) in (-radius..=radius).zip(&kernel) {
                    let sx = (x as i64 + i * dx).clamp(0, w as i64 - 1) as usize;
                    let sy = (y as i64 + i * dy).clamp(0, h as i64 - 1) as usize;
                    let s = from[sy * w + sx];
                    for c in 0..3 {
                        out[c] += k * s[c];
                    }
                }
            }
        });
        to
    };
    pass(&pass(light, 1, 0), 0, 1)
}
