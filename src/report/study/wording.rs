//! Words and figures.

use crate::base::rounding::plain;
use crate::record::study::{Kappa, KappaKind, Part, Proportion};

/// A cause of scatter in plain words.
pub fn part(part: Part) -> &'static str {
    match part {
        Part::Repeatability => "the same examiner looking again",
        Part::Reproducibility => "one examiner against another",
        Part::Interaction => "examiners who differ from coupon to coupon",
        Part::Measuring => "measuring, all of that together",
        Part::Coupons => "the coupons themselves",
        Part::Total => "everything",
    }
}

/// Its name in the trade; empty where plain words are all there is.
pub fn term(part: Part) -> &'static str {
    match part {
        Part::Repeatability => "repeatability",
        Part::Reproducibility => "reproducibility",
        Part::Interaction => "interaction",
        Part::Measuring => "repeatability and reproducibility",
        Part::Coupons => "coupon to coupon",
        Part::Total => "total",
    }
}

/// Decimals that show two digits of `value`, six at most.
pub fn decimals(value: f64) -> usize {
    if value.abs() < 1e-6 {
        return 2;
    }
    let places = 1 - value.abs().log10().floor() as i32;
    usize::try_from(places).unwrap_or(0).min(6)
}

/// `0.202 (0.175 to 0.236)`.
pub fn with_interval(value: f64, interval: [f64; 2], decimals: usize) -> String {
    format!(
        "{} ({} to {})",
        plain(value, decimals),
        plain(interval[0], decimals),
        plain(interval[1], decimals)
    )
}

/// A share in percent: whole, with a decimal below ten, never rounded to nothing.
pub fn percent(percent: f64) -> String {
    match percent {
        p if p > 0.0 && p < 0.05 => "under 0.1 %".to_owned(),
        p if p > 0.0 && p < 9.95 => format!("{} %", plain(p, 1)),
        p => format!("{} %", plain(p, 0)),
    }
}

/// `9 of 15`.
pub fn count(share: &Proportion) -> String {
    format!("{} of {}", share.count, share.of)
}

/// `60 % (32 to 84 %)`.
pub fn share(share: &Proportion) -> String {
    let [low, high] = share.interval_percent;
    format!(
        "{} ({} to {} %)",
        percent(100.0 * share.count as f64 / share.of as f64),
        plain(low, 0),
        plain(high, 0)
    )
}

/// `0.40 (0.14 to 0.66)`, or what is missing.
pub fn kappa(kappa: &Kappa) -> String {
    match (kappa.value, kappa.interval) {
        (Some(value), Some(interval)) => with_interval(value, interval, 2),
        (Some(value), None) => format!("{} (no interval)", plain(value, 2)),
        (None, _) => "undefined".to_owned(),
    }
}

/// Whose kappa it is.
pub fn kind(kind: KappaKind) -> &'static str {
    match kind {
        KappaKind::Cohen => "Cohen's kappa",
        KappaKind::Fleiss => "Fleiss' kappa",
    }
}

/// The word of Landis and Koch for a kappa, Biometrics 33, 1977 (from memory).
pub fn size(kappa: f64) -> &'static str {
    match kappa {
        k if k < 0.0 => "poor",
        k if k <= 0.2 => "slight",
        k if k <= 0.4 => "fair",
        k if k <= 0.6 => "moderate",
        k if k <= 0.8 => "substantial",
        _ => "almost perfect",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_digits_are_shown_and_nothing_is_rounded_away() {
        assert_eq!([0.19993, 12.4, 4321.0, 0.0].map(decimals), [2, 0, 0, 2]);
        assert_eq!(percent(3.39), "3.4 %");
        assert_eq!(percent(92.24), "92 %");
        assert_eq!(percent(0.004), "under 0.1 %");
        assert_eq!(percent(0.0), "0 %");
    }

    #[test]
    fn the_words_change_at_their_bounds() {
        let words = [-0.1, 0.2, 0.21, 0.6, 0.8, 0.81].map(size);
        let want = [
            "poor",
            "slight",
            "fair",
            "moderate",
            "substantial",
            "almost perfect",
        ];
        assert_eq!(words, want);
    }
}
