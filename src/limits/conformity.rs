//! Probability of conformity.
//!
//! The true value is taken as normally distributed about the measured one
//! with the standard uncertainty, as in JCGM 106:2012.

use statrs::function::erf::erfc;

/// Standard normal distribution function.
pub fn phi(x: f64) -> f64 {
    0.5 * erfc(-x / std::f64::consts::SQRT_2)
}

/// Probability that the true value is at most `limit`.
///
/// `u` is the standard uncertainty, same unit, ≥ 0; at `u = 0` a value on the
/// limit keeps it.
pub fn at_most(value: f64, u: f64, limit: f64) -> f64 {
    if u > 0.0 {
        phi((limit - value) / u)
    } else if value <= limit {
        1.0
    } else {
        0.0
    }
}

/// Probability that the true value is at least `limit`; see [`at_most`].
pub fn at_least(value: f64, u: f64, limit: f64) -> f64 {
    at_most(-value, u, -limit)
}

/// Probability that the true value lies between two limits; see [`at_most`].
pub fn between(value: f64, u: f64, lower: f64, upper: f64) -> f64 {
    (at_most(value, u, upper) + at_least(value, u, lower) - 1.0).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// JCGM 106:2012: inputs of example 7.4 as published; the other two and
    /// the printed results from memory; values recomputed from tables of Φ.
    #[test]
    fn published_examples_of_conformity() {
        assert_abs_diff_eq!(between(13.6, 1.8, 12.5, 16.3), 0.6626, epsilon = 5e-5);
        assert_abs_diff_eq!(at_most(-5.47, 0.05, -5.40), 0.9192, epsilon = 5e-5);
        assert_abs_diff_eq!(at_least(509.7, 8.6, 490.0), 0.9890, epsilon = 5e-5);
    }

    #[test]
    fn the_normal_distribution_as_tabulated() {
        for (x, p) in [
            (0.0, 0.5),
            (1.0, 0.84134),
            (1.28, 0.89973),
            (1.645, 0.95002),
            (1.65, 0.95053),
            (1.96, 0.97500),
            (2.0, 0.97725),
            (3.0, 0.99865),
        ] {
            assert_abs_diff_eq!(phi(x), p, epsilon = 5e-6);
        }
    }

    #[test]
    fn on_the_limit_it_is_even_and_without_uncertainty_a_step() {
        assert_abs_diff_eq!(at_most(1.0, 0.1, 1.0), 0.5, epsilon = 1e-12);
        assert_eq!(at_most(1.0, 0.0, 1.0), 1.0);
        assert_eq!(at_most(1.0 + 1e-9, 0.0, 1.0), 0.0);
        assert_eq!(at_least(1.0, 0.0, 1.0), 1.0);
    }
}
