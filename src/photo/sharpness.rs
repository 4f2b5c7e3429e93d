//! How blurred a part of a photograph is, from the widths of its sharpest edges.
//!
//! The idea: blur the picture a little more, twice; at an edge the ratio of the
//! two gradients tells how wide the edge already was, whatever its contrast
//! (re-blurring, Zhuo and Sim, Pattern Recognition 44 (2011) 1852–1858). A step
//! of blur σ has at its middle the gradient A / √(2π (σ² + s²)) after a further
//! Gaussian blur s, hence with R = |∇₁| / |∇₂|
//!     σ² = (s₂² − R² s₁²) / (R² − 1).
//!
//! Objects have soft edges of their own (a fusion boundary is several pixels
//! wide), so a low quantile counts: the sharpest edges show what the lens and
//! the hand let through. Edges must stand out of noise and texture; a blur that
//! is wide against the pixels is measured on a coarser pyramid level.
//!
//! A camera that moved smears one way: edges across the movement are wide, those
//! along it stay sharp. Edges are therefore also looked at by direction.

use crate::base::numeric::quantile;
use crate::base::raster::{Gray, gaussian_blur, halve};

/// The blur of one part of a photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Blur {
    /// Standard deviation of the blur, px of the photograph.
    pub sigma_px: f64,
    /// Edge points the estimate rests on.
    pub edges: usize,
    /// What one direction says against another; `None` where not both show enough edges.
    pub directions: Option<Directions>,
}

/// The blur in the direction where it is widest, and at right angles to that: standard
/// deviations, px of the photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Directions {
    pub widest_px: f64,
    pub across_px: f64,
}

impl Directions {
    /// A lens blurs alike in all directions; edges that are soft by themselves and edges
    /// of few grey levels make up to twice as much.
    pub fn is_smear(&self) -> bool {
        self.widest_px > 2.5 * self.across_px
    }
}

/// Added blurs, samples of the pyramid level.
const S1: f64 = 1.0;
const S2: f64 = 2.0;
/// Above this, in samples of a level, go coarser: on a wide edge, noise makes
/// ridges of its own whose ratio pretends a blur of about two samples.
const WIDEST: f64 = 1.5;
/// Fewer edge points than this say nothing; half as many on each coarser level,
/// where the same edge has half the points, but never fewer than [`FLOOR`].
const FEWEST: usize = 60;
const FLOOR: usize = 20;
/// An edge stands this many robust deviations above the gradients around it.
const SIGNIFICANT: f32 = 6.0;
/// Weakest gradient that counts, grey levels a sample: below, the rounding of
/// 8-bit samples makes edges.
const WEAKEST: f32 = 0.5;
/// The sharpest third of the edges counts; fewer would let the places decide
/// where two edges lie close together and sharpen each other.
const QUANTILE: f64 = 0.33;
const COARSEST: u32 = 6;

/// Directions are told apart to this many sectors of half a turn.
const SECTORS: usize = 6;

/// The blur of `luma` over the places where `counts(x, y)` (in samples of
/// `luma`) holds, in px of the photograph, of which `luma` holds the means over
/// `px_per_sample` squared. `None` when no level shows enough edges.
pub(super) fn blur(
    luma: &Gray,
    px_per_sample: usize,
    counts: impl Fn(f64, f64) -> bool,
) -> Option<Blur> {
    let mut level = luma.clone();
    let mut all: Option<Found> = None;
    let mut sectors: [Option<Found>; SECTORS] = [None; SECTORS];
    for step in 0..=COARSEST {
        if level.width().min(level.height()) < 16 {
            break;
        }
        let size = f64::from(1u32 << step);
        let edges = edges(&level, |x, y| counts(x * size, y * size));
        let size = size * px_per_sample as f64;
        let enough = (FEWEST >> step).max(FLOOR);
        settle(&mut all, edges.iter().map(|e| e.sigma), size, enough);
        for (sector, found) in sectors.iter_mut().enumerate() {
            let own = edges.iter().filter(|e| e.sector == sector);
            settle(found, own.map(|e| e.sigma), size, enough);
        }
        let mut known = sectors.iter().chain([&all]);
        if known.all(|found| found.is_some_and(|f| f.narrow)) {
            break;
        }
        level = halve(&level);
    }
    all.map(|all| Blur {
        sigma_px: all.sigma_px,
        edges: all.edges,
        directions: directions(&sectors),
    })
}

/// What a level says of some edges.
#[derive(Clone, Copy)]
struct Found {
    sigma_px: f64,
    edges: usize,
    /// Whether that is narrow enough for the level; if not, a coarser one knows better.
    narrow: bool,
}

/// Takes what a level of `size` px a sample says, unless a finer one knew well already.
fn settle(found: &mut Option<Found>, sigmas: impl Iterator<Item = f64>, size: f64, enough: usize) {
    let sigmas: Vec<f64> = sigmas.collect();
    if found.is_some_and(|f| f.narrow) || sigmas.len() < enough {
        return;
    }
    // Area means over `size` pixels blur by themselves.
    let own = (size * size - 1.0) / 12.0;
    let sigma = quantile(&sigmas, QUANTILE) * size;
    let sigma_px = (sigma * sigma - own).max(0.0).sqrt();
    *found = Some(Found {
        sigma_px,
        edges: sigmas.len(),
        narrow: sigma_px <= WIDEST * size,
    });
}

fn directions(sectors: &[Option<Found>; SECTORS]) -> Option<Directions> {
    let blur = |sector: usize| Some(sectors[sector % SECTORS]?.sigma_px);
    (0..SECTORS)
        .filter_map(|sector| {
            Some(Directions {
                widest_px: blur(sector)?,
                across_px: blur(sector + SECTORS / 2)?,
            })
        })
        .max_by(|a, b| a.widest_px.total_cmp(&b.widest_px))
}

/// One significant edge point.
struct Edge {
    /// Its blur, samples.
    sigma: f64,
    /// Sector of the direction across it.
    sector: usize,
}

/// The blur at every significant edge point (ridge of the gradient).
fn edges(level: &Gray, counts: impl Fn(f64, f64) -> bool) -> Vec<Edge> {
    let (fine, coarse) = (gaussian_blur(level, S1), gaussian_blur(level, S2));
    let (w, h) = (level.width(), level.height());
    let gradient = |g: &Gray, x: usize, y: usize| {
        (
            0.5 * (g.at(x + 1, y) - g.at(x - 1, y)),
            0.5 * (g.at(x, y + 1) - g.at(x, y - 1)),
        )
    };
    let size = |(gx, gy): (f32, f32)| gx.hypot(gy);
    let places: Vec<(usize, usize)> = (3..h - 3)
        .flat_map(|y| (3..w - 3).map(move |x| (x, y)))
        .filter(|(x, y)| counts(*x as f64 + 0.5, *y as f64 + 0.5))
        .collect();
    // A robust deviation of one gradient component; a sample of places is enough.
    let every = (places.len() / 50_000).max(1);
    let components: Vec<f64> = places
        .iter()
        .step_by(every)
        .map(|(x, y)| f64::from(gradient(&fine, *x, *y).0.abs()))
        .collect();
    if components.is_empty() {
        return Vec::new();
    }
    // The lowest fifth of a normal variate's sizes ends at 0.2533 deviations.
    // Not the median: a wide blur has its gradient nearly everywhere.
    let deviation = quantile(&components, 0.2) / 0.2533;
    let floor = WEAKEST.max(SIGNIFICANT * deviation as f32);

    places
        .into_iter()
        .filter_map(|(x, y)| {
            let (gx, gy) = gradient(&fine, x, y);
            let here = size((gx, gy));
            if here < floor {
                return None;
            }
            // Greatest along the gradient, one sample either way.
            let (dx, dy) = (f64::from(gx / here), f64::from(gy / here));
            let beside = |t: f64| {
                let (px, py) = (x as f64 + dx * t, y as f64 + dy * t);
                size(gradient(&fine, px.round() as usize, py.round() as usize))
            };
            if beside(1.0) > here || beside(-1.0) >= here {
                return None;
            }
            let ratio = f64::from(here / size(gradient(&coarse, x, y)).max(1e-6)).powi(2);
            // R² lies between 1 (a ramp) and s₂²/s₁² (a perfect step); thin
            // lines exceed it and count as perfectly sharp.
            let sigma = if ratio <= 1.0 + 1e-6 {
                f64::INFINITY
            } else {
                ((S2 * S2 - ratio * S1 * S1) / (ratio - 1.0))
                    .max(0.0)
                    .sqrt()
            };
            let turn = dy.atan2(dx).rem_euclid(std::f64::consts::PI) / std::f64::consts::PI;
            let sector = ((turn * SECTORS as f64) as usize).min(SECTORS - 1);
            sigma.is_finite().then_some(Edge { sigma, sector })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Discs of several sizes, blurred, with noise and 8-bit rounding.
    fn scene(sigma: f64, contrast: f32, noise: f32) -> Gray {
        let sharp = Gray::from_fn(480, 400, |x, y| {
            let (x, y) = (x as f64, y as f64);
            let inside = [
                (130.0, 130.0, 90.0),
                (350.0, 120.0, 60.0),
                (300.0, 290.0, 80.0),
            ]
            .iter()
            .any(|(cx, cy, r)| (x - cx).hypot(y - cy) < *r);
            if inside { 120.0 + contrast } else { 120.0 }
        });
        let mut picture = gaussian_blur(&sharp, sigma);
        let mut random = ChaCha8Rng::seed_from_u64(7);
        for sample in picture.samples_mut() {
            // Sum of four uniform variates: near enough to normal, variance 1/3.
            let sum: f32 = (0..4).map(|_| random.random::<f32>() - 0.5).sum();
            *sample = (*sample + noise * 3f32.sqrt() * sum).round();
        }
        picture
    }

    #[test]
    fn a_known_blur_is_found_again_at_any_width_and_contrast() {
        for sigma in [1.0, 2.0, 4.0, 8.0, 16.0] {
            for (contrast, noise) in [(100.0, 1.0), (25.0, 0.5)] {
                let found = blur(&scene(sigma, contrast, noise), 1, |_, _| true).unwrap();
                let error = (found.sigma_px - sigma).abs();
                assert!(
                    error < 0.25 * sigma + 0.1,
                    "{sigma} px at contrast {contrast}: {found:?}"
                );
            }
        }
    }

    #[test]
    fn a_smear_is_told_from_a_blur() {
        let still = blur(&scene(2.0, 100.0, 1.0), 1, |_, _| true).unwrap();
        assert!(!still.directions.unwrap().is_smear(), "{still:?}");
        // A camera that moved 24 px along x while the shutter was open: a box of
        // that width has a standard deviation of 24 / √12 = 6.9 px.
        let sharp = scene(0.7, 100.0, 0.0);
        let moved = Gray::from_fn(sharp.width(), sharp.height(), |x, y| {
            let places = (0..24).map(|i| (x + i).min(sharp.width() - 1));
            (places.map(|x| sharp.at(x, y)).sum::<f32>() / 24.0).round()
        });
        let found = blur(&moved, 1, |_, _| true).unwrap();
        let by = found.directions.unwrap();
        assert!(by.is_smear() && by.across_px < 2.5, "{found:?}");
        assert!((by.widest_px - 6.9).abs() < 2.0, "{found:?}");
    }

    #[test]
    fn without_edges_nothing_is_said() {
        assert_eq!(blur(&scene(0.0, 0.0, 3.0), 1, |_, _| true), None);
        assert_eq!(blur(&scene(1.0, 100.0, 1.0), 1, |_, _| false), None);
        let tiny = Gray::new(5, 5, vec![1.0; 25]);
        assert_eq!(blur(&tiny, 1, |_, _| true), None);
    }
}
