//! What a sample of trial results says of a quantity.

/// Scatter of trial results about the stated value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Root mean square distance from the stated value.
    pub about: f64,
    /// Shortest interval that holds 95 % of the results.
    pub interval: [f64; 2],
}

impl Spread {
    /// Of `results`, which are reordered, about `stated`. `None` of fewer than 20.
    pub fn of(results: &mut [f64], stated: f64) -> Option<Self> {
        let squares: f64 = results.iter().map(|r| (r - stated).powi(2)).sum();
        Some(Self {
            about: (squares / results.len() as f64).sqrt(),
            interval: shortest_interval(results, 0.95)?,
        })
    }
}

/// The shortest interval that holds the share `coverage` of `results`, which are
/// sorted on the way (JCGM 101:2008, 7.7.4). `None` of fewer than 20.
pub fn shortest_interval(results: &mut [f64], coverage: f64) -> Option<[f64; 2]> {
    let n = results.len();
    if n < 20 {
        return None;
    }
    results.sort_by(f64::total_cmp);
    let held = ((coverage * n as f64).round() as usize).clamp(1, n - 1);
    (0..n - held)
        .map(|r| [results[r], results[r + held]])
        .min_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An exponential distribution falls from its left end on, so its shortest
    /// interval begins at 0 and ends at −ln(1 − 0.95) = 2.996 (closed form); the
    /// one between the 2.5 % and 97.5 % quantiles would be [0.025, 3.689].
    #[test]
    fn the_shortest_interval_of_a_skewed_distribution_is_its_steep_side() {
        let n = 20_000;
        let mut results: Vec<f64> = (0..n)
            .map(|i| -(1.0 - (f64::from(i) + 0.5) / f64::from(n)).ln())
            .collect();
        let [low, high] = shortest_interval(&mut results, 0.95).unwrap();
        assert!(low < 0.001, "{low}");
        assert!((high - 2.9957).abs() < 0.01, "{high}");
    }

    #[test]
    fn a_result_far_from_what_is_stated_counts_as_uncertainty() {
        let mut results = vec![1.0; 50];
        let spread = Spread::of(&mut results, 0.7).unwrap();
        assert!((spread.about - 0.3).abs() < 1e-12);
        assert!(Spread::of(&mut [1.0; 10], 1.0).is_none());
    }
}
