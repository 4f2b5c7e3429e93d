//! The time of an entry: UTC, to the second, as in RFC 3339.

use crate::base::calendar::{days_of_month, days_of_year};
use std::time::{SystemTime, UNIX_EPOCH};

/// Now, e.g. `2026-03-14T09:26:53Z`.
pub fn now() -> String {
    let seconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_secs());
    written(seconds)
}

/// Seconds since 1970-01-01 as date and time of the Gregorian calendar.
fn written(seconds: u64) -> String {
    let (mut day, rest) = (seconds / 86_400, seconds % 86_400);
    let (mut year, mut month) = (1970, 1);
    while day >= u64::from(days_of_year(year)) {
        day -= u64::from(days_of_year(year));
        year += 1;
    }
    while day >= u64::from(days_of_month(year, month)) {
        day -= u64::from(days_of_month(year, month));
        month += 1;
    }
    format!(
        "{year:04}-{month:02}-{:02}T{:02}:{:02}:{:02}Z",
        day + 1,
        rest / 3600,
        rest / 60 % 60,
        rest % 60
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_moments_are_written_as_everybody_writes_them() {
        // `date -u -d @N +%FT%TZ` of GNU coreutils.
        for (seconds, want) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_709_251_199, "2024-02-29T23:59:59Z"),
            (1_735_689_599, "2024-12-31T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(written(seconds), want);
        }
    }
}
