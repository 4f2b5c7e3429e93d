//! How a value and its uncertainty are written: at most two digits of the
//! uncertainty, the value to the same place.

/// A value and its expanded uncertainty as text, e.g. `("6.2", "0.4")`.
///
/// The uncertainty keeps two significant digits but no more than
/// `most_decimals` decimals, and the value is written to the same place. The
/// uncertainty is rounded to the nearest step, or up where rounding down would
/// understate it by more than 5 % (the habit GUM 7.2.6 describes). A zero or
/// unusable uncertainty is written as `0`, the value with all decimals.
pub fn stated(value: f64, expanded_uncertainty: f64, most_decimals: usize) -> (String, String) {
    if !(expanded_uncertainty.is_finite() && expanded_uncertainty > 0.0) {
        return (plain(value, most_decimals), "0".to_owned());
    }
    let places = 1 - expanded_uncertainty.log10().floor() as i32;
    let decimals = usize::try_from(places).unwrap_or(0).min(most_decimals);
    let step = 10f64.powi(-(decimals as i32));
    let mut rounded = (expanded_uncertainty / step).round();
    if rounded * step < 0.95 * expanded_uncertainty {
        rounded += 1.0;
    }
    (plain(value, decimals), plain(rounded * step, decimals))
}

/// A value with a number of decimals, without a negative zero.
pub fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// A limit as text: up to `most_decimals` decimals, no trailing zeros.
pub fn shortest(value: f64, most_decimals: usize) -> String {
    let text = plain(value, most_decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair(value: f64, u: f64) -> (String, String) {
        stated(value, u, 2)
    }

    fn text(value: &str, u: &str) -> (String, String) {
        (value.to_owned(), u.to_owned())
    }

    #[test]
    fn the_value_follows_the_uncertainty() {
        assert_eq!(pair(6.2342, 0.1234), text("6.23", "0.12"));
        assert_eq!(pair(6.2342, 0.0621), text("6.23", "0.06"));
        assert_eq!(pair(35.218, 1.26), text("35.2", "1.3"));
        assert_eq!(pair(118.7, 12.4), text("119", "12"));
        assert_eq!(pair(-0.004, 0.02), text("0.00", "0.02"));
        assert_eq!(pair(-0.31, 0.11), text("−0.31", "0.11"));
    }

    #[test]
    fn an_uncertainty_is_not_rounded_away() {
        assert_eq!(pair(1.0, 0.004), text("1.00", "0.01"));
        assert_eq!(pair(1.0, 0.0144), text("1.00", "0.02"));
        assert_eq!(pair(1.0, 0.0), text("1.00", "0"));
        assert_eq!(pair(1.0, f64::NAN), text("1.00", "0"));
    }

    #[test]
    fn limits_lose_their_trailing_zeros() {
        assert_eq!(shortest(2.0, 3), "2");
        assert_eq!(shortest(1.225, 3), "1.225");
        assert_eq!(shortest(0.03125, 5), "0.03125");
        assert_eq!(shortest(10.0, 0), "10");
    }
}
