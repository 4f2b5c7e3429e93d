//! How far two series follow each other.

/// Pearson's correlation of the values at the same places, −1 … 1; 0 where one of the
/// series does not change. The longer one's rest does not count.
pub fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len());
    let (a, b) = (&a[..n], &b[..n]);
    let mean = |v: &[f64]| v.iter().sum::<f64>() / n as f64;
    let (ma, mb) = (mean(a), mean(b));
    let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
        a.iter().zip(b).map(|(x, y)| f(x - ma, y - mb)).sum()
    };
    let scatter = (sum(&|x, _| x * x) * sum(&|_, y| y * y)).sqrt();
    if scatter > 0.0 {
        sum(&|x, y| x * y) / scatter
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First of the four data sets of Anscombe (The American Statistician 27, 1973), whose
    /// published correlation is 0.816.
    #[test]
    fn published_correlation() {
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [
            8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68,
        ];
        assert!((correlation(&x, &y) - 0.816).abs() < 0.0005);
        assert_eq!(correlation(&x, &[1.0; 11]), 0.0);
        assert_eq!(correlation(&[], &x), 0.0);
    }
}
