//! Gaussian smoothing.

use super::Gray;
use rayon::prelude::*;

/// Gaussian blur with standard deviation `sigma` in samples, the kernel cut at
/// 3 σ, borders continued by their last sample. `sigma <= 0` copies.
pub fn gaussian_blur(gray: &Gray, sigma: f64) -> Gray {
    if sigma <= 0.0 {
        return gray.clone();
    }
    let radius = (3.0 * sigma).ceil() as usize;
    let mut kernel: Vec<f32> = (0..=2 * radius)
        .map(|i| (-0.5 * ((i as f64 - radius as f64) / sigma).powi(2)).exp() as f32)
        .collect();
    let sum: f32 = kernel.iter().sum();
    kernel.iter_mut().for_each(|k| *k /= sum);

    let (w, h) = (gray.width(), gray.height());
    let mut across = vec![0.0f32; w * h];
    across.par_chunks_mut(w).enumerate().for_each(|(y, out)| {
        let row = gray.row(y);
        let mut padded = Vec::with_capacity(w + 2 * radius);
        padded.extend(std::iter::repeat_n(row[0], radius));
        padded.extend_from_slice(row);
        padded.extend(std::iter::repeat_n(row[w - 1], radius));
        for (x, o) in out.iter_mut().enumerate() {
            *o = padded[x..x + kernel.len()]
                .iter()
                .zip(&kernel)
                .map(|(s, k)| s * k)
                .sum();
        }
    });
    let mut down = vec![0.0f32; w * h];
    down.par_chunks_mut(w).enumerate().for_each(|(y, out)| {
        for (i, k) in kernel.iter().enumerate() {
            let from = (y + i).saturating_sub(radius).min(h - 1);
            for (o, s) in out.iter_mut().zip(&across[from * w..(from + 1) * w]) {
                *o += s * k;
            }
        }
    });
    Gray::new(w, h, down)
}
