//! How often verdicts agree, with the intervals.

use super::kappa;
use serde::Serialize;
use statrs::distribution::{Beta, ContinuousCDF};
use std::collections::BTreeMap;

/// A kappa and the interval that holds the true one in 95 of 100 studies like this.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(super) struct Kappa {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Agreements out of so many, with the exact interval of the share.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(super) struct Share {
    pub agree: usize,
    pub of: usize,
    pub low: f64,
    pub high: f64,
}

/// Normal quantile of a two-sided interval of 0.95.
const TWO_SIDED: f64 = 1.959_963_984_540_054;

impl Kappa {
    fn of(value: f64, error: f64) -> Self {
        Self {
            value,
            low: (value - TWO_SIDED * error).max(-1.0),
            high: (value + TWO_SIDED * error).min(1.0),
        }
    }

    /// A word for its size after Landis and Koch (1977; from memory), whose bounds
    /// are a convention.
    pub fn word(&self) -> &'static str {
        match self.value {
            v if v < 0.0 => "poor",
            v if v <= 0.2 => "slight",
            v if v <= 0.4 => "fair",
            v if v <= 0.6 => "moderate",
            v if v <= 0.8 => "substantial",
            _ => "almost perfect",
        }
    }
}

impl Share {
    /// `None` of nothing. The interval is that of Clopper and Pearson (1934).
    pub fn new(agree: usize, of: usize) -> Option<Self> {
        if of == 0 {
            return None;
        }
        let (x, n) = (agree as f64, of as f64);
        let beta = |a: f64, b: f64, p: f64| Beta::new(a, b).map_or(f64::NAN, |d| d.inverse_cdf(p));
        let low = if agree == 0 {
            0.0
        } else {
            beta(x, n - x + 1.0, 0.025)
        };
        let high = if agree == of {
            1.0
        } else {
            beta(x + 1.0, n - x, 0.975)
        };
        Some(Self {
            agree,
            of,
            low,
            high,
        })
    }
}

/// Number of each word over `ratings`, by the order of `words`.
fn counted(ratings: &[&String], words: &[String]) -> Vec<u32> {
    words
        .iter()
        .map(|word| ratings.iter().filter(|r| **r == word).count() as u32)
        .collect()
}

/// Fleiss' kappa of ratings a coupon, with an interval by leaving out one coupon at
/// a time (jackknife; Tukey, 1958). `None` where it is undefined: fewer than two
/// ratings a coupon, or all of them the same word.
pub(super) fn several(coupons: &[Vec<&String>], words: &[String]) -> Option<Kappa> {
    let table: Vec<Vec<u32>> = coupons.iter().map(|r| counted(r, words)).collect();
    let value = kappa::fleiss(&table)?;
    let n = table.len() as f64;
    let without: Option<Vec<f64>> = (0..table.len())
        .map(|left_out| {
            let rest: Vec<Vec<u32>> = table
                .iter()
                .enumerate()
                .filter(|(i, _)| *i != left_out)
                .map(|(_, row)| row.clone())
                .collect();
            kappa::fleiss(&rest)
        })
        .collect();
    // Where one coupon alone carries a word, no interval can be had from the rest.
    let Some(without) = without.filter(|w| w.len() > 1) else {
        return Some(Kappa {
            value,
            low: -1.0,
            high: 1.0,
        });
    };
    let mean = without.iter().sum::<f64>() / n;
    let variance = (n - 1.0) / n * without.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
    Some(Kappa::of(value, variance.sqrt()))
}

/// Cohen's kappa of pairs of verdicts.
pub(super) fn two(pairs: &[(&String, &String)], words: &[String]) -> Option<Kappa> {
    let place: BTreeMap<&String, usize> = words.iter().enumerate().map(|(i, w)| (w, i)).collect();
    let mut table = vec![vec![0u32; words.len()]; words.len()];
    for (a, b) in pairs {
        table[place[a]][place[b]] += 1;
    }
    let (value, error) = kappa::cohen(&table)?;
    Some(Kappa::of(value, error))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clopper-Pearson intervals of 7 and 9 of 15 as published with an open statistics
    /// test suite's attribute study.
    #[test]
    fn shares_have_the_published_intervals() {
        let share = Share::new(9, 15).unwrap();
        assert!((share.low - 0.32287).abs() < 1e-5 && (share.high - 0.83664).abs() < 1e-5);
        let share = Share::new(7, 15).unwrap();
        assert!((share.low - 0.21267).abs() < 1e-5 && (share.high - 0.73414).abs() < 1e-5);
        let none = Share::new(0, 5).unwrap();
        assert!(none.low == 0.0 && (none.high - (1.0 - 0.025f64.powf(0.2))).abs() < 1e-9);
        assert_eq!(Share::new(0, 0), None);
    }

    #[test]
    fn one_word_only_has_no_kappa_and_never_gives_nan() {
        let words = vec!["within".to_owned(), "outside".to_owned()];
        let (w, o) = (&words[0], &words[1]);
        assert_eq!(several(&[vec![w, w], vec![w, w]], &words), None);
        assert_eq!(two(&[(w, w)], &words), None);
        // One coupon alone is outside: nothing is known of the interval.
        let kappa = several(&[vec![w, w], vec![o, o]], &words).unwrap();
        assert_eq!((kappa.value, kappa.low, kappa.high), (1.0, -1.0, 1.0));
    }
}
