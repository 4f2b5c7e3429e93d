//! The Gregorian calendar.

/// Days of a month, 1 to 12.
pub fn days_of_month(year: u32, month: u32) -> u32 {
    match month {
        2 if is_leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days of a year.
pub fn days_of_year(year: u32) -> u32 {
    if is_leap(year) { 366 } else { 365 }
}

fn is_leap(year: u32) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_make_up_the_year() {
        for (year, days) in [
            (1900, 365),
            (2000, 366),
            (2023, 365),
            (2024, 366),
            (2100, 365),
        ] {
            assert_eq!(days_of_year(year), days);
            let sum: u32 = (1..=12).map(|month| days_of_month(year, month)).sum();
            assert_eq!(sum, days);
        }
        assert_eq!(days_of_month(2023, 4), 30);
    }
}
