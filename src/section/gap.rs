//! The gap between the two members, seen behind the weld as a dark band on the
//! nonbutting surface.
//!
//! Where the band is several pixels wide its width is taken between half heights;
//! a narrower one only darkens its pixels, and how much it darkens them says how
//! wide it is, were it quite black. What it may be less black goes into the
//! uncertainty.

use super::members::JointFrame;
use super::strip::Strip;
use crate::base::geometry::{Joint, Mm, Point, Vector};
use crate::base::numeric::{mad, median};
use crate::photo::Photo;
use crate::scale::PlaneMap;

/// The gap is looked at this far behind the end of fusion, and over this length at
/// most and at least, mm.
const BEHIND_MM: f64 = 0.4;
const LENGTH_MM: (f64, f64) = (0.8, 2.5);
/// Height above the nonbutting surface looked at, mm: larger gaps are no fit-up
/// of a fillet weld.
const HIGHEST_MM: f64 = 4.0;
/// Depth below it that shows the metal's own tone, and where the band may begin, mm.
const BELOW_MM: f64 = 0.8;
const BEGINS_MM: f64 = 0.35;
/// A band is one when it is this many times as deep as the profile is noisy.
const STANDS_OUT: f64 = 6.0;
/// How far polishing rounds the edges beside a gap and darkens or brightens what
/// borders on it, standard deviation of the width, mm (differences to the truth of
/// painted pictures have 0.05; no better source known).
const ROUNDED_MM: f64 = 0.05;
/// Width from which on a band has its full darkness, px, and the share of the metal's light
/// it then takes: a soft lens draws a narrow band wide, but not black.
const RESOLVED_PX: f64 = 3.5;
const FULLY_DARK: f64 = 0.6;

/// The gap, mm, with its standard uncertainty, and the line across it.
pub struct Gap {
    /// Between the members, mm; 0 where no band stands out.
    pub width_mm: f64,
    /// Standard uncertainty, mm.
    pub own_mm: f64,
    /// From the nonbutting to the butting member.
    pub across: [Point<Joint>; 2],
}

/// Measures the gap. `fused_mm` = how far behind the joint root fusion ends along
/// the nonbutting surface (negative: in front of it), `end_mm` = how far behind it
/// the butting member ends.
///
/// # Errors
/// Why it is not measured.
pub fn measure(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    fused_mm: f64,
    end_mm: f64,
) -> Result<Gap, String> {
    let from = fused_mm.max(0.0) + BEHIND_MM;
    let to = (from + LENGTH_MM.1).min(end_mm - BEHIND_MM);
    if to - from < LENGTH_MM.0 {
        return Err(
            "the weld reaches so far behind the joint root that too little of the gap is seen"
                .to_owned(),
        );
    }
    let px_mm = 1.0 / map.px_per_mm_at(frame.root);
    let step = (0.4 * px_mm).clamp(0.004, 0.05);
    let pitch = 0.05f64.max(px_mm);
    let columns = ((to - from) / pitch) as usize + 1;
    let foot = |c: usize| Point::<Joint>::new(-(from + c as f64 * pitch), 0.0);
    let spine: Vec<Point<Mm>> = (0..columns).map(|c| frame.to_plane(foot(c))).collect();
    let up = Vector::<Joint>::new(0.0, 1.0);
    let out = frame.to_plane(foot(0) + up) - spine[0];
    let strip = Strip::new(
        photo,
        map,
        spine,
        vec![out; columns],
        -BELOW_MM,
        HIGHEST_MM,
        step,
    );
    // Along the gap everything else averages out.
    let profile: Vec<f64> = (0..strip.rows)
        .map(|r| {
            let row: Vec<f64> = (0..columns)
                .map(|c| f64::from(strip.column(c)[r][0]))
                .collect();
            median(&row)
        })
        .collect();
    let band = band(&profile, strip.low_mm, strip.step_mm, px_mm)?;
    let middle = foot(columns / 2);
    let at = |height: f64| middle + up * height;
    Ok(match band {
        Some(band) => Gap {
            width_mm: band.width_mm,
            own_mm: band.own_mm,
            across: [at(band.low_mm), at(band.low_mm + band.width_mm)],
        },
        None => Gap {
            width_mm: 0.0,
            own_mm: ROUNDED_MM.hypot(0.4 * px_mm),
            across: [middle, middle],
        },
    })
}

/// A dark band of a profile.
struct Band {
    low_mm: f64,
    width_mm: f64,
    own_mm: f64,
}

/// The band of a profile that begins `from_mm` above the surface and goes up by
/// `step` mm a row.
///
/// # Errors
/// The band has no other side.
fn band(profile: &[f64], from_mm: f64, step: f64, px_mm: f64) -> Result<Option<Band>, String> {
    let height = |r: f64| from_mm + r * step;
    let row = |mm: f64| ((mm - from_mm) / step).round() as usize;
    let plate = &profile[..row(-BEGINS_MM)];
    let (metal, noise) = (median(plate), mad(plate).max(0.5));
    // The band begins at the nonbutting surface; its darkest row lies above that
    // or, where the band is narrow, on it.
    let darkest_in =
        |from: usize, to: usize| (from..=to).min_by(|a, b| profile[*a].total_cmp(&profile[*b]));
    let Some(first) = darkest_in(row(-BEGINS_MM), row(BEGINS_MM)) else {
        return Ok(None);
    };
    let depth = metal - profile[first];
    if depth < STANDS_OUT * noise {
        return Ok(None);
    }
    let half = metal - 0.5 * depth;
    let Some(low) = (0..=first).rev().find(|r| profile[*r] > half) else {
        return Ok(None);
    };
    let high = (first..profile.len())
        .find(|r| profile[*r] > half)
        .ok_or("behind the weld it is dark over the nonbutting surface, with no member over it")?;
    let between = |inner: usize, outer: usize| {
        let (a, b) = (profile[inner], profile[outer]);
        inner as f64 + (half - a) / (b - a) * (outer as f64 - inner as f64)
    };
    let (bottom, top) = (between(low + 1, low), between(high - 1, high));
    let wide = (top - bottom) * step;
    if wide >= RESOLVED_PX * px_mm && depth >= FULLY_DARK * metal {
        return Ok(Some(Band {
            low_mm: height(bottom),
            width_mm: wide,
            own_mm: ROUNDED_MM.hypot(0.4 * px_mm),
        }));
    }
    // As much darkness as a black band of this width would take away. The blur
    // spreads it over some rows to either side.
    let reach = ((2.0 * px_mm + wide) / step) as usize;
    let (from, to) = (
        first.saturating_sub(reach),
        (first + reach).min(profile.len() - 1),
    );
    let taken: f64 = profile[from..=to]
        .iter()
        .map(|v| (metal - v).max(0.0) * step)
        .sum();
    let (least, most) = (taken / metal.max(1.0), (taken / depth).min(wide));
    let width_mm = 0.5 * (least + most.max(least));
    Ok(Some(Band {
        low_mm: height(0.5 * (bottom + top)) - 0.5 * width_mm,
        width_mm,
        own_mm: ((most - least).abs() / 12f64.sqrt())
            .hypot(0.2 * px_mm)
            .hypot(ROUNDED_MM),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP_MM: f64 = 0.01;
    const PX_MM: f64 = 0.025;

    /// A profile across a gap of `width` mm at the surface, blurred as a lens does.
    fn found(width: f64) -> Result<Option<(f64, f64)>, String> {
        let tone = |h: f64| {
            if (0.0..width).contains(&h) {
                20.0
            } else {
                150.0
            }
        };
        let rows = ((HIGHEST_MM + BELOW_MM) / STEP_MM) as usize + 1;
        let profile: Vec<f64> = (0..rows)
            .map(|r| {
                let h = -BELOW_MM + r as f64 * STEP_MM;
                let (mut sum, mut weights) = (0.0, 0.0);
                for k in -60..=60 {
                    let off = f64::from(k) * 0.002;
                    let weight = (-0.5 * (off / 0.03f64).powi(2)).exp();
                    sum += weight * tone(h + off);
                    weights += weight;
                }
                // A little texture, the same every time.
                sum / weights + 0.4 * (r as f64 * 2.3).sin()
            })
            .collect();
        let band = band(&profile, -BELOW_MM, STEP_MM, PX_MM)?;
        Ok(band.map(|b| (b.width_mm, b.own_mm)))
    }

    #[test]
    fn wide_and_narrow_gaps_come_out_within_their_uncertainty() {
        for width in [0.06, 0.12, 0.3, 1.0] {
            let (mm, own) = found(width).unwrap().unwrap();
            assert!((mm - width).abs() < 2.0 * own, "{width}: {mm} ± {own}");
            assert!((mm - width).abs() < 0.04, "{width}: {mm}");
        }
    }

    #[test]
    fn a_tight_joint_shows_no_band() {
        assert_eq!(found(0.0), Ok(None));
    }

    #[test]
    fn a_dark_place_with_no_member_over_it_is_no_tight_joint() {
        assert!(found(HIGHEST_MM + 1.0).is_err());
    }
}
