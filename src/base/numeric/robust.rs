//! Order statistics that outliers cannot carry away.

/// The `q`-quantile (0 … 1) by linear interpolation between order statistics
/// (type 7 of Hyndman and Fan, 1996). NaN for an empty slice.
pub fn quantile(values: &[f64], q: f64) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = q.clamp(0.0, 1.0) * (sorted.len() - 1) as f64;
    let low = at.floor() as usize;
    let high = at.ceil() as usize;
    sorted[low] + (sorted[high] - sorted[low]) * (at - low as f64)
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
