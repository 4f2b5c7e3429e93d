//! Order statistics that outliers cannot carry away.

/// The `q`-quantile (0 … 1) by linear interpolation between order statistics
/// (type 7 of Hyndman and Fan, 1996). NaN for an empty slice.
pub fn quantile(values: &[f64], q: f64) -> f64 {
    quantile_of(&mut values.to_vec(), q)
}

/// The same of `values` that may be reordered: no copy, no full sort.
pub fn quantile_of(values: &mut [f64], q: f64) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let at = q.clamp(0.0, 1.0) * (values.len() - 1) as f64;
    let low = at.floor() as usize;
    let (_, low_value, above) = values.select_nth_unstable_by(low, f64::total_cmp);
    let low_value = *low_value;
    // The next in order is the least of those above; at a whole step, itself.
    let high_value = if at.ceil() as usize == low {
        low_value
    } else {
        above
            .iter()
            .copied()
            .min_by(f64::total_cmp)
            .unwrap_or(low_value)
    };
    low_value + (high_value - low_value) * (at - low as f64)
}

/// The median of `values`, which are reordered. NaN for an empty slice.
pub fn median_of(values: &mut [f64]) -> f64 {
    quantile_of(values, 0.5)
}

/// The median. NaN for an empty slice.
pub fn median(values: &[f64]) -> f64 {
    quantile(values, 0.5)
}

/// Median absolute deviation from the median, times 1.4826 so that it
/// estimates the standard deviation of normal noise. NaN for an empty slice.
pub fn mad(values: &[f64]) -> f64 {
    let centre = median(values);
    let sizes: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    1.4826 * median(&sizes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantile_is_that_of_the_sorted_values() {
        for n in 1..40u32 {
            let values: Vec<f64> = (0..n).map(|i| f64::from((i * 37 + 11) % 23)).collect();
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            for q in [0.0, 0.15, 0.5, 0.6, 0.99, 1.0] {
                let at = q * f64::from(n - 1);
                let (low, high) = (sorted[at.floor() as usize], sorted[at.ceil() as usize]);
                let expected = low + (high - low) * at.fract();
                assert!(
                    (quantile(&values, q) - expected).abs() < 1e-12,
                    "{n} values, {q}"
                );
            }
        }
        assert!(median(&[]).is_nan());
    }
}
