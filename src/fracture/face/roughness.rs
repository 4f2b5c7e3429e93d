//! How torn a place looks: relief in every direction at once.
//!
//! Torn metal throws light and shade in all directions. Rolled, sawn and milled
//! surfaces, weld ripples, straight edges and graduations have strong gradients
//! too, but along one direction only. The smaller eigenvalue of the gradients'
//! scatter (structure tensor; Förstner and Gülch, 1987) is large for the first
//! and small against the larger one for the second; the map holds the smaller
//! one over the root of the larger, which is small in both other cases.

use crate::base::geometry::{Point, Px, contains};
use crate::base::raster::{Gray, gaussian_blur, halve, reduced};
use rayon::prelude::*;

/// Most samples of the picture on which gradients are taken. A face a fiftieth
/// as wide as the picture then still has a width of some twenty samples.
const MOST_SAMPLES: usize = 1_000_000;

/// Grey levels added before the logarithm, so that noise in the dark does not
/// count as relief.
pub(super) const DARK: f32 = 16.0;

/// Largest gradient of ln(luma) that counts, per sample: without it a few
/// glints outweigh a whole surface.
pub(super) const STEEPEST: f32 = 0.15;

/// Steps of halving from the gradients to the map.
const HALVINGS: usize = 2;

/// The map of roughness over the photograph.
#[derive(Clone, Debug)]
pub(super) struct Roughness {
    /// λ₂ / √λ₁ (λ₁ ≥ λ₂ eigenvalues of the scatter), d ln(luma) per sample
    /// of the reduced picture; 0 where something else is known to lie.
    pub map: Gray,
    /// Pixels of the photograph a sample of the map.
    pub px_per_sample: f64,
}

impl Roughness {
    /// Of a photograph's luma, left out inside the outlines `occupied`.
    pub fn of(luma: &Gray, occupied: &[Vec<Point<Px>>]) -> Self {
        let (level, factor) = reduced(luma, MOST_SAMPLES);
        let mut map = relief(&level, HALVINGS, 1.0);
        let px_per_sample = factor * f64::from(1u32 << HALVINGS);
        let boxes: Vec<_> = occupied.iter().map(|o| bounds(o, px_per_sample)).collect();
        let width = map.width();
        map.samples_mut()
            .par_iter_mut()
            .enumerate()
            .for_each(|(i, sample)| {
                let at = Point::new(
                    ((i % width) as f64 + 0.5) * px_per_sample,
                    ((i / width) as f64 + 0.5) * px_per_sample,
                );
                let inside = occupied.iter().zip(&boxes).any(|(outline, b)| {
                    at.x > b[0]
                        && at.x < b[1]
                        && at.y > b[2]
                        && at.y < b[3]
                        && contains(outline, at)
                });
                if inside {
                    *sample = 0.0;
                }
            });
        Self { map, px_per_sample }
    }
}

/// [left, right, top, bottom] of an outline, widened by `margin`.
fn bounds(outline: &[Point<Px>], margin: f64) -> [f64; 4] {
    let mut b = [
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
    ];
    for p in outline {
        b = [b[0].min(p.x), b[1].max(p.x), b[2].min(p.y), b[3].max(p.y)];
    }
    [b[0] - margin, b[1] + margin, b[2] - margin, b[3] + margin]
}

/// Blur before gradients are taken, samples: relief has wider grains than
/// sensor noise.
const BLUR: f64 = 1.3;

/// Mean square of one gradient component that white noise of variance 1 leaves
/// after a Gaussian blur σ and central differences, about 1 / (8π (σ² + 0.25)²).
fn noise_share() -> f32 {
    (1.0 / (8.0 * std::f64::consts::PI * (BLUR * BLUR + 0.25).powi(2))) as f32
}

/// λ₂ / √λ₁ of the gradients' scatter of ln(luma), gathered over 2^`halvings`
/// samples and then smoothed by `sigma` samples of the result. What noise
/// explains is taken off: its size is read from second differences in both
/// directions at once (Immerkær, 1996), of which relief has little.
pub(super) fn relief(luma: &Gray, halvings: usize, sigma: f64) -> Gray {
    let (w, h) = (luma.width(), luma.height());
    let log = Gray::new(
        w,
        h,
        luma.samples().par_iter().map(|v| (v + DARK).ln()).collect(),
    );
    let smooth = gaussian_blur(&log, BLUR);
    let gradient = |x: usize, y: usize| {
        let gx = 0.5 * (smooth.at((x + 1).min(w - 1), y) - smooth.at(x.saturating_sub(1), y));
        let gy = 0.5 * (smooth.at(x, (y + 1).min(h - 1)) - smooth.at(x, y.saturating_sub(1)));
        let size = gx.hypot(gy).max(1e-9);
        let k = (STEEPEST / size).min(1.0);
        (gx * k, gy * k)
    };
    let noise = |x: usize, y: usize| {
        if x == 0 || y == 0 || x + 1 >= w || y + 1 >= h {
            return 0.0;
        }
        let across = |y: usize| log.at(x - 1, y) - 2.0 * log.at(x, y) + log.at(x + 1, y);
        let mask = across(y - 1) - 2.0 * across(y) + across(y + 1);
        // An edge or a glint is no noise.
        (mask * mask / 36.0).min(STEEPEST * STEEPEST)
    };
    let gathered = |f: &(dyn Fn(usize, usize) -> f32 + Sync)| {
        let mut raster = Gray::from_fn(w, h, |_, _| 0.0);
        raster
            .samples_mut()
            .par_chunks_mut(w)
            .enumerate()
            .for_each(|(y, row)| {
                for (x, o) in row.iter_mut().enumerate() {
                    *o = f(x, y);
                }
            });
        for _ in 0..halvings {
            raster = halve(&raster);
        }
        gaussian_blur(&raster, sigma)
    };
    let xx = gathered(&|x, y| gradient(x, y).0.powi(2));
    let yy = gathered(&|x, y| gradient(x, y).1.powi(2));
    let xy = gathered(&|x, y| {
        let (gx, gy) = gradient(x, y);
        gx * gy
    });
    let noise = gathered(&noise);
    let share = noise_share();
    let samples = (0..xx.samples().len())
        .map(|i| {
            let (xx, yy, xy) = (xx.samples()[i], yy.samples()[i], xy.samples()[i]);
            let (half, skew) = (0.5 * (xx + yy), 0.5 * (xx - yy));
            let (tilt, floor) = (skew.hypot(xy), share * noise.samples()[i]);
            let (less, more) = ((half - tilt - floor).max(0.0), half + tilt - floor);
            less / more.max(1e-10).sqrt()
        })
        .collect();
    Gray::new(xx.width(), xx.height(), samples)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn marks_in_one_direction_are_smooth_and_grains_are_rough() {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let lines: Vec<f32> = (0..120)
            .map(|_| 60.0 + 120.0 * random.random::<f32>())
            .collect();
        let luma = Gray::from_fn(240, 120, |x, y| {
            if x < 120 {
                lines[y]
            } else {
                60.0 + 120.0 * random.random::<f32>()
            }
        });
        let map = relief(&luma, 2, 1.2);
        let (marks, grains) = (map.at(14, 15), map.at(46, 15));
        assert!(grains > 5.0 * marks, "marks {marks}, grains {grains}");
    }

    #[test]
    fn noise_of_the_sensor_is_not_relief() {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let mut white = |_, _| random.random::<f32>() - 0.5;
        let noise = Gray::from_fn(160, 160, &mut white);
        // The same contrast as noise and as grains six samples wide.
        let grains = gaussian_blur(&noise, 3.0);
        let scatter = |g: &Gray| {
            let n = g.samples().len() as f32;
            (g.samples().iter().map(|v| v * v).sum::<f32>() / n).sqrt()
        };
        let (noise_k, grains_k) = (10.0 / scatter(&noise), 10.0 / scatter(&grains));
        let of = |g: &Gray, k: f32| {
            let luma = Gray::from_fn(160, 160, |x, y| 100.0 + k * g.at(x, y));
            let map = relief(&luma, 2, 1.0);
            map.samples().iter().sum::<f32>() / map.samples().len() as f32
        };
        let (noise, grains) = (of(&noise, noise_k), of(&grains, grains_k));
        assert!(grains > 4.0 * noise, "noise {noise}, grains {grains}");
    }

    #[test]
    fn nothing_is_rough_where_the_rule_lies() {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let luma = Gray::from_fn(200, 120, |_, _| 60.0 + 120.0 * random.random::<f32>());
        let rule = [(20.0, 20.0), (180.0, 20.0), (180.0, 60.0), (20.0, 60.0)];
        let rule = vec![rule.map(|(x, y)| Point::new(x, y)).to_vec()];
        let rough = Roughness::of(&luma, &rule);
        assert_eq!(rough.px_per_sample, 4.0);
        assert_eq!(rough.map.at(25, 10), 0.0);
        assert!(rough.map.at(25, 22) > 0.0);
    }
}
