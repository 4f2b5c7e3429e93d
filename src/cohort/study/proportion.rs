//! So many of so many, with the exact interval (Clopper and Pearson, Biometrika 26, 1934).

use crate::record::study::Proportion;
use statrs::distribution::{Beta, ContinuousCDF};

/// `count` of `of`, which is above zero.
pub fn proportion(count: usize, of: usize) -> Proportion {
    let (c, n) = (count as f64, of as f64);
    let quantile = |a: f64, b: f64, share: f64| Beta::new(a, b).map(|d| d.inverse_cdf(share));
    let low = quantile(c, n - c + 1.0, 0.025).unwrap_or(0.0);
    let high = quantile(c + 1.0, n - c, 0.975).unwrap_or(1.0);
    Proportion {
        count,
        of,
        interval_percent: [100.0 * low, 100.0 * high],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The attribute study with 15 parts of an open statistics test suite.
    #[test]
    fn published_intervals_are_met() {
        for (count, low, high) in [(9, 32.287, 83.664), (7, 21.267, 73.414)] {
            let [found_low, found_high] = proportion(count, 15).interval_percent;
            assert!((found_low - low).abs() < 6e-4, "{found_low}");
            assert!((found_high - high).abs() < 6e-4, "{found_high}");
        }
    }

    /// Closed form: 0.025 to the power of 1/n.
    #[test]
    fn all_or_none_keep_one_end() {
        let low = 100.0 * 0.025f64.powf(0.1);
        let all = proportion(10, 10).interval_percent;
        assert!((all[0] - low).abs() < 1e-4 && all[1] == 100.0, "{all:?}");
        let none = proportion(0, 10).interval_percent;
        assert!((none[1] - (100.0 - low)).abs() < 1e-4 && none[0] == 0.0);
    }
}
