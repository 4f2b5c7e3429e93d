//! Quantiles of values that may be reordered: no copy, no full sort. Millions of
//! them are taken in a search for a rule.

/// The same as [`crate::base::numeric::quantile`] of `values`, which are
/// reordered. NaN for an empty slice.
pub fn quantile_of(values: &mut [f64], q: f64) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let at = q.clamp(0.0, 1.0) * (values.len() - 1) as f64;
    let low = at.floor() as usize;
    let (_, low_value, above) = values.select_nth_unstable_by(low, f64::total_cmp);
    let low_value = *low_value;
    // The next in order is the least of those above; beyond the last, itself.
    let high_value = if at.ceil() as usize == low {
        low_value
    } else {
        above.iter().copied().fold(f64::INFINITY, f64::min)
    };
    low_value + (high_value - low_value) * (at - low as f64)
}

/// The median of `values`, which are reordered. NaN for an empty slice.
pub fn median_of(values: &mut [f64]) -> f64 {
    quantile_of(values, 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::numeric::quantile;

    #[test]
    fn it_is_the_quantile_of_the_sorted_values() {
        for n in 1..40u32 {
            let values: Vec<f64> = (0..n).map(|i| f64::from((i * 37 + 11) % 23)).collect();
            for q in [0.0, 0.15, 0.5, 0.6, 0.99, 1.0] {
                let same = quantile_of(&mut values.clone(), q);
                assert_eq!(same, quantile(&values, q), "{n} values, {q}");
            }
        }
        assert!(median_of(&mut []).is_nan());
    }
}
