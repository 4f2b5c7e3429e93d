//! The fusion boundary's own line. Etchants often bite the boundary itself, which then
//! shows as a thin line darker than either metal. An edge detector settles on the line's
//! stronger flank; the boundary is its middle.

use super::rays::COLUMN_MM;
use super::sight::Sight;
use crate::base::numeric::median;

/// The line's darkest place lies within this of the edge found, its flanks and the metals
/// beside it within this of its darkest place, mm.
const REACH_MM: f64 = 0.15;
/// A line is so much darker than the darker metal, as a share of the lighter one's lead.
const DARKER: f32 = 0.3;
/// It shows in half of the columns within this of a place, mm, or else it is grain.
const TOGETHER_MM: f64 = 1.5;
/// The boundary is moved by no more than this, mm.
const MOST_MM: f64 = 0.15;

/// Moves a boundary, one row with fractions a column, from the flank of its etched line
/// to the line's middle, where there is such a line.
pub fn centred(sight: &Sight, rows: Vec<f64>) -> Vec<f64> {
    let reach = (REACH_MM / sight.step_mm()).round().max(2.0) as usize;
    let offsets: Vec<Option<f64>> = rows
        .iter()
        .enumerate()
        .map(|(c, row)| {
            let luma: Vec<f32> = sight.smooth.column(c).iter().map(|v| v[0]).collect();
            middle(&luma, *row, reach).map(|m| m - row)
        })
        .collect();
    let half = (TOGETHER_MM / COLUMN_MM) as usize;
    let most = MOST_MM / sight.step_mm();
    rows.iter()
        .enumerate()
        .map(|(c, row)| {
            let near = &offsets[c.saturating_sub(half)..(c + half + 1).min(offsets.len())];
            let seen: Vec<f64> = near.iter().flatten().copied().collect();
            if 2 * seen.len() < near.len() {
                return *row;
            }
            row + median(&seen).clamp(-most, most)
        })
        .collect()
}

/// Middle of the etched line near a row, in rows, from the lightness along a ray.
///
/// A step of height b and a line of depth d, both at 0 and blurred alike by σ, change by
/// exp(−x²/2σ²)·(b + d·x/σ) up to factors: the darkest place is at −bσ/d, and the two
/// steepest places add up to as much. So the middle is their sum less the darkest place.
fn middle(luma: &[f32], row: f64, reach: usize) -> Option<f64> {
    let near = row.round() as usize;
    let darkest = (near.saturating_sub(reach)..(near + reach + 1).min(luma.len()))
        .min_by(|a, b| luma[*a].total_cmp(&luma[*b]))?;
    if darkest < reach + 1 || darkest + reach + 1 >= luma.len() {
        return None;
    }
    let brightest = |side: &[f32]| side.iter().copied().fold(f32::MIN, f32::max);
    let inside = brightest(&luma[darkest - reach..darkest]) - luma[darkest];
    let outside = brightest(&luma[darkest + 1..=darkest + reach]) - luma[darkest];
    if inside.min(outside) < DARKER * inside.max(outside) {
        return None;
    }
    let slope = |r: usize| luma[r + 1] - luma[r - 1];
    let falls = (darkest - reach..darkest).min_by(|a, b| slope(*a).total_cmp(&slope(*b)))?;
    let rises = (darkest + 1..=darkest + reach).max_by(|a, b| slope(*a).total_cmp(&slope(*b)))?;
    Some(falls as f64 + rises as f64 - darkest as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Metals of two tones that meet at row 30, with a line of so much depth there.
    fn profile(step: f64, depth: f64) -> Vec<f32> {
        let sigma = 2.0;
        let mut level = 100.0;
        (0..60)
            .map(|r| {
                let x = (f64::from(r) - 30.0) / sigma;
                let bell = (-0.5 * x * x).exp();
                level += step * bell / (sigma * std::f64::consts::TAU.sqrt());
                (level - depth * bell) as f32
            })
            .collect()
    }

    #[test]
    fn the_middle_of_a_line_is_found_from_its_flank() {
        for step in [20.0, -20.0] {
            let luma = profile(step, 30.0);
            let steepest = (20..40)
                .max_by(|a, b| {
                    let change = |r: &usize| (luma[r + 1] - luma[r - 1]).abs();
                    change(a).total_cmp(&change(b))
                })
                .expect("rows");
            assert!(steepest.abs_diff(30) >= 2, "the flank lies off: {steepest}");
            let found = middle(&luma, steepest as f64, 8).expect("a line");
            assert!((found - 30.0).abs() <= 1.0, "{step}: {found}");
        }
    }

    #[test]
    fn a_step_without_a_line_has_no_middle() {
        assert_eq!(middle(&profile(30.0, 0.0), 30.0, 8), None);
        assert_eq!(middle(&profile(30.0, 3.0), 30.0, 8), None);
    }
}
