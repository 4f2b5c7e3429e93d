//! Monte Carlo trials (JCGM 101:2008): each trial has a random stream of its own,
//! named by its number, so results do not depend on how threads share the work.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// How many trials are made.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    /// Trials in a block.
    pub block: usize,
    /// Blocks at most.
    pub most: usize,
    /// Relative accuracy of every standard deviation at which to stop, two standard
    /// deviations of its mean over the blocks (JCGM 101:2008, 7.9.4).
    pub tolerance: f64,
}

/// Standard normal numbers of one trial: always the same for a seed and a number.
pub fn normals(seed: u64, trial: usize, count: usize) -> Vec<f64> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(trial as u64 + 1);
    (0..count)
        .map(|_| StandardNormal.sample(&mut random))
        .collect()
}

/// From a standard normal number one that is anywhere between −1 and 1 alike.
pub fn rectangular(z: f64) -> f64 {
    statrs::function::erf::erf(z / std::f64::consts::SQRT_2)
}

/// Runs trials in blocks until all quantities are known well enough, and returns
/// their results, one row a trial. `trial` maps a trial's number to its results,
/// all of one length; `None` where it has none.
pub fn run<F>(plan: Plan, trial: F) -> Vec<Vec<f64>>
where
    F: Fn(usize) -> Option<Vec<f64>> + Sync,
{
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let mut deviations: Vec<Vec<f64>> = Vec::new();
    for block in 0..plan.most {
        let from = block * plan.block;
        let new: Vec<Vec<f64>> = (from..from + plan.block)
            .into_par_iter()
            .filter_map(&trial)
            .collect();
        deviations.push(each_deviation(&new));
        rows.extend(new);
        if block > 0 && settled(&deviations, plan.tolerance) {
            break;
        }
    }
    rows
}

fn each_deviation(rows: &[Vec<f64>]) -> Vec<f64> {
    let columns = rows.first().map_or(0, Vec::len);
    let n = rows.len() as f64;
    (0..columns)
        .map(|c| {
            let mean = rows.iter().map(|r| r[c]).sum::<f64>() / n;
            (rows.iter().map(|r| (r[c] - mean).powi(2)).sum::<f64>() / n).sqrt()
        })
        .collect()
}

/// Whether every quantity's standard deviation is known to `tolerance`.
fn settled(blocks: &[Vec<f64>], tolerance: f64) -> bool {
    let h = blocks.len() as f64;
    let columns = blocks.iter().map(Vec::len).min().unwrap_or(0);
    (0..columns).all(|c| {
        let mean = blocks.iter().map(|b| b[c]).sum::<f64>() / h;
        let scatter = blocks.iter().map(|b| (b[c] - mean).powi(2)).sum::<f64>() / (h - 1.0);
        2.0 * (scatter / h).sqrt() <= tolerance * mean
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum_of(n: usize) -> impl Fn(usize) -> Option<Vec<f64>> + Sync {
        move |trial| Some(vec![normals(5, trial, n).iter().sum()])
    }

    #[test]
    fn results_do_not_depend_on_the_threads() {
        let plan = Plan {
            block: 64,
            most: 3,
            tolerance: 0.0,
        };
        let on = |threads| {
            rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .unwrap()
                .install(|| run(plan, sum_of(3)))
        };
        assert_eq!(on(1), on(2));
        assert_ne!(normals(5, 0, 3), normals(5, 1, 3));
        assert_ne!(normals(5, 0, 3), normals(6, 0, 3));
    }

    /// The sum of four standard normal numbers has a standard deviation of 2
    /// (JCGM 101:2008, 9.2.2, four equal inputs).
    #[test]
    fn trials_stop_once_the_deviation_is_known() {
        let plan = Plan {
            block: 500,
            most: 200,
            tolerance: 0.02,
        };
        let rows = run(plan, sum_of(4));
        assert!(rows.len() > 500 && rows.len() < 100_000, "{}", rows.len());
        let found = each_deviation(&rows)[0];
        assert!((found - 2.0).abs() < 0.08, "{found}");
    }

    /// JCGM 100:2008, H.1: an end gauge of 50 mm against a standard. To first order
    /// its standard uncertainty is 32 nm, with the second-order terms 34 nm (H.1.7;
    /// 33.8 by their sum). Trials take all orders, and the inputs' own distributions:
    /// normal, rectangular, and the cyclic temperature's arcsine.
    #[test]
    fn the_end_gauge_has_the_uncertainty_of_its_second_order_terms() {
        let share = |z: f64| 0.5 * statrs::function::erf::erfc(-z / 2f64.sqrt());
        let even = |z: f64| 2.0 * share(z) - 1.0;
        let plan = Plan {
            block: 20_000,
            most: 10,
            tolerance: 0.003,
        };
        let standard_nm = 50_000_623.0;
        let rows = run(plan, |trial| {
            let z = normals(1, trial, 7);
            let temperature = -0.1 + 0.2 * z[4] + 0.5 * (std::f64::consts::PI * even(z[5])).sin();
            let expansion = 11.5e-6 + 2e-6 * even(z[6]);
            let (apart, warmer) = (1e-6 * even(z[2]), 0.05 * even(z[3]));
            let standard = standard_nm + 25.0 * z[0];
            let strain = apart * temperature + expansion * warmer;
            Some(vec![standard + 215.0 + 9.7 * z[1] - standard * strain])
        });
        let lengths: Vec<f64> = rows.iter().map(|r| r[0]).collect();
        let mean = lengths.iter().sum::<f64>() / lengths.len() as f64;
        assert!((mean - 50_000_838.0).abs() < 1.0, "{mean}");
        let found = each_deviation(&rows)[0];
        assert!((found - 33.8).abs() < 0.5, "{found}");
    }
}
