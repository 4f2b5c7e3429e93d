//! The working view: the photograph at one pyramid level, as three opponent
//! colour channels with their gradients.
//!
//! Detection works here, at 6–12 px/mm, where a plate edge is a few samples
//! wide and sensor noise is averaged away. Positions found here are refined in
//! the original afterwards.

use crate::base::geometry::{Point, Px};
use crate::base::raster::{Gray, gaussian_blur};
use crate::photo::Photo;
use rayon::prelude::*;

/// Samples per millimetre aimed at: the level is the coarsest one with at
/// least this many (0.17 mm is well below the smallest leg worth measuring).
const LEAST_PX_PER_MM: f64 = 6.0;

/// One pyramid level of the photograph.
pub struct View {
    /// Photograph pixels per sample (a power of two).
    pub factor: f64,
    /// Samples per millimetre (nominal, from the scale at the picture's centre).
    pub samples_per_mm: f64,
    /// Lightness, red–green and yellow–blue, in 8-bit grey levels.
    pub channels: [Gray; 3],
    /// Derivative along x of each channel, grey levels per sample.
    pub dx: [Gray; 3],
    /// Derivative along y of each channel, grey levels per sample.
    pub dy: [Gray; 3],
}

impl View {
    /// The view of `photo` with a nominal scale of `px_per_mm`.
    pub fn new(photo: &Photo, px_per_mm: f64) -> Self {
        let mut factor = 1;
        while px_per_mm / (2 * factor) as f64 >= LEAST_PX_PER_MM
            && photo.width / (2 * factor) >= 120
            && photo.height / (2 * factor) >= 120
        {
            factor *= 2;
        }
        Self::at_factor(photo, px_per_mm, factor)
    }

    fn at_factor(photo: &Photo, px_per_mm: f64, factor: usize) -> Self {
        let channels = opponent_means(photo, factor);
        let smooth: Vec<Gray> = channels.par_iter().map(|c| gaussian_blur(c, 1.0)).collect();
        let derived: Vec<(Gray, Gray)> = smooth.par_iter().map(central_differences).collect();
        let [l, a, b] = <[(Gray, Gray); 3]>::try_from(derived).expect("three channels");
        Self {
            factor: factor as f64,
            samples_per_mm: px_per_mm / factor as f64,
            channels,
            dx: [l.0, a.0, b.0],
            dy: [l.1, a.1, b.1],
        }
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.channels[0].width()
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.channels[0].height()
    }

    /// Whether the photograph place lies on the view.
    pub fn covers(&self, p: Point<Px>) -> bool {
        self.channels[0].covers(p.x / self.factor, p.y / self.factor)
    }

    /// The colour at a photograph place.
    pub fn colour(&self, p: Point<Px>) -> [f32; 3] {
        std::array::from_fn(|c| self.channels[c].sample(p.x / self.factor, p.y / self.factor))
    }

    /// The derivative of the colour at a photograph place along the unit
    /// direction (`nx`, `ny`), grey levels per sample.
    pub fn slope(&self, p: Point<Px>, nx: f64, ny: f64) -> [f32; 3] {
        let (x, y) = (p.x / self.factor, p.y / self.factor);
        std::array::from_fn(|c| {
            self.dx[c].sample(x, y) * nx as f32 + self.dy[c].sample(x, y) * ny as f32
        })
    }
}

/// Block means of the opponent channels.
fn opponent_means(photo: &Photo, factor: usize) -> [Gray; 3] {
    let (w, h) = (photo.width / factor, photo.height / factor);
    let mut samples = vec![[0.0f32; 3]; w * h];
    let scale = 1.0 / (factor * factor) as f32;
    samples
        .par_chunks_mut(w)
        .enumerate()
        .for_each(|(row, out)| {
            let mut sums = vec![[0u32; 3]; w];
            for y in row * factor..(row + 1) * factor {
                let line = &photo.rgb[3 * y * photo.width..3 * (y * photo.width + w * factor)];
                for (sum, block) in sums.iter_mut().zip(line.chunks_exact(3 * factor)) {
                    for pixel in block.chunks_exact(3) {
                        for c in 0..3 {
                            sum[c] += u32::from(pixel[c]);
                        }
                    }
                }
            }
            for (o, s) in out.iter_mut().zip(&sums) {
                let [r, g, b] = s.map(|v| v as f32 * scale);
                *o = [0.299 * r + 0.587 * g + 0.114 * b, r - g, 0.5 * (r + g) - b];
            }
        });
    std::array::from_fn(|c| Gray::new(w, h, samples.iter().map(|s| s[c]).collect()))
}

fn central_differences(gray: &Gray) -> (Gray, Gray) {
    let (w, h) = (gray.width(), gray.height());
    let dx = Gray::from_fn(w, h, |x, y| {
        0.5 * (gray.at((x + 1).min(w - 1), y) - gray.at(x.saturating_sub(1), y))
    });
    let dy = Gray::from_fn(w, h, |x, y| {
        0.5 * (gray.at(x, (y + 1).min(h - 1)) - gray.at(x, y.saturating_sub(1)))
    });
    (dx, dy)
}
/// Distance of two mean colours, grey levels.
pub fn colour_distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(x, y)| (x - y).powi(2))
        .sum::<f64>()
        .sqrt()
}
