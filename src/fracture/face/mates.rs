//! Whether two faces are the halves of one break, and how they lie.
//!
//! The halves of a break are mirror images: seen with the root at the bottom,
//! what lies at s on one lies at the length less s on the other. So when the
//! features of both follow each other the same way across the picture, their
//! root sides point opposite ways (the coupon was opened like a book); when
//! they run against each other, one half was turned and both point the same way.
//! That does not ask which side is the root, so the halves' own evidence adds up.

use super::Laid;
use crate::base::numeric::{correlation, median};

/// The torn metal's width is compared at so many places along the weld.
const PLACES: usize = 60;

/// Least correlation at which faces mate …
const LEAST: f64 = 0.5;
/// … and by how much it must exceed that the other way round: two unrelated
/// profiles of some ten independent places differ by less nineteen times in
/// twenty.
const LEAD: f64 = 0.4;

/// Whether the root sides of two halves lie at opposite edges of their bands;
/// `None` when they do not clearly mate. Turning a band half round changes both
/// its order and its edges, so it does not matter which way it was laid.
pub(super) fn roots_lie_opposite(a: &Laid, b: &Laid) -> Option<bool> {
    opposite(&profile(a), &profile(b))
}

/// Change of the torn metal's width along the face.
fn profile(laid: &Laid) -> Vec<f64> {
    let torn = &laid.torn;
    let (first, last) = (torn.ends.0, torn.ends.1);
    (0..PLACES)
        .map(|i| {
            let at = |i: usize| first + (last - first) * i as f64 / PLACES as f64;
            let from = (at(i).max(0.0) as usize).min(torn.top.len() - 1);
            let to = (at(i + 1) as usize).clamp(from + 1, torn.top.len());
            let widths: Vec<f64> = (from..to).map(|c| torn.bottom[c] - torn.top[c]).collect();
            median(&widths)
        })
        .collect()
}

/// Whether profiles follow each other (`true`) or run against each other.
fn opposite(a: &[f64], b: &[f64]) -> Option<bool> {
    let reversed: Vec<f64> = b.iter().rev().copied().collect();
    let (along, against) = (correlation(a, b), correlation(a, &reversed));
    let best = along.max(against);
    (best >= LEAST && (along - against).abs() >= LEAD).then_some(along > against)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wavy(shift: f64) -> Vec<f64> {
        (0..PLACES)
            .map(|i| {
                let x = i as f64 / PLACES as f64;
                40.0 + 3.0 * (7.0 * x + shift).sin() + 5.0 * (x - 0.2).powi(2)
            })
            .collect()
    }

    #[test]
    fn mates_are_told_from_strangers_and_by_how_they_lie() {
        let a = wavy(0.0);
        let turned: Vec<f64> = a.iter().rev().copied().collect();
        assert_eq!(opposite(&a, &a), Some(true));
        assert_eq!(opposite(&a, &turned), Some(false));
        // A profile alike from both ends says nothing, nor does an even one.
        let even: Vec<f64> = a.iter().zip(&turned).map(|(x, y)| x + y).collect();
        assert_eq!(opposite(&even, &even), None);
        assert_eq!(opposite(&a, &[40.0; PLACES]), None);
    }
}
