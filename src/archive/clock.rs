//! The time of an entry: UTC, to the second, as in RFC 3339.

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
    let (days, rest) = (seconds / 86_400, seconds % 86_400);
    let (mut year, mut day) = (1970, days);
    while day >= length(year) {
        day -= length(year);
        year += 1;
    }
    let months = [
        31,
        length(year) - 337,
        31,
        30,
        31,
        30,
        31,
        31,
        30,
        31,
        30,
        31,
    ];
    let mut month = 1;
    for days in months {
        if day < days {
            break;
        }
        day -= days;
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

fn length(year: u64) -> u64 {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    if leap { 366 } else { 365 }
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
