//! Whether a found zone as a whole is a surface that never fused.
//!
//! A single cell says little; a zone is judged by its mean evidence, by how
//! much smoother it is than the metal just around it, whatever the rest of the
//! face looks like, by its length, and at the far edge by whether that edge is
//! seen. The weights are the same for every picture, fitted by logistic
//! regression to what was found on rendered faces, outlined exactly and as
//! found, so that the odds are those of being right: with each picture judged
//! by weights fitted to the others, zones given 0.15 to 0.35 were unfused in
//! 0.17 of cases, 0.35 to 0.65 in 0.55, 0.65 to 0.85 in 0.75, 0.85 to 0.95 in
//! 0.94 (402 zones).

use super::features::{Cells, Look};
use crate::base::numeric::median;
use crate::fracture::beside::beside;

/// Log-odds per unit of each, and their constant.
const MEAN: f64 = 0.84;
const STREAK: f64 = -2.19;
const FINE: f64 = -2.30;
const LENGTH: f64 = 0.58;
const CONSTANT: f64 = -4.28;
/// At the far edge: without its corner, and what a clear corner adds.
const FAR_EDGE: f64 = -3.95;
const CORNER: f64 = 2.08;
/// Most that a zone at the far edge can be sure of, log-odds: nine in ten. Of
/// those stated on rendered faces nineteen of twenty lay on a side wall; whether
/// the far edge itself was drawn too far out, no look at the zone tells.
const SUREST_AT_FAR_EDGE: f64 = 2.2;

/// The ring a zone is compared with, mm from its border.
const RING_MM: (f64, f64) = (0.2, 0.6);
/// Fewest cells of ring for a comparison.
const FEWEST: usize = 10;
/// Most that the difference in a gradient counts, in units of its logarithm.
const SMOOTHEST: f64 = -1.6;

/// Log-odds of a connected zone; `taken` are the cells of all zones, `corner`
/// how clearly the far edge is seen if the zone touches it.
pub fn odds(
    cells: &Cells,
    evidence: &[f32],
    zone: &[usize],
    taken: &[bool],
    corner: Option<f64>,
) -> f64 {
    let n = zone.len().max(1) as f64;
    let mean = zone.iter().map(|i| f64::from(evidence[*i])).sum::<f64>() / n;
    let ring: Vec<usize> = ring(cells, zone)
        .into_iter()
        .filter(|i| cells.inside[*i] && !taken[*i])
        .collect();
    let against = |of: fn(&Look) -> f32| {
        if ring.len() <= FEWEST {
            return 0.0;
        }
        let middle = |cells_of: &[usize]| {
            let values: Vec<f64> = cells_of
                .iter()
                .map(|i| f64::from(of(&cells.looks[*i])))
                .collect();
            median(&values)
        };
        (middle(zone) - middle(&ring)).clamp(SMOOTHEST, 0.0)
    };
    let length_mm = columns(cells, zone).len() as f64 * cells.side_mm;
    let odds = MEAN * mean
        + STREAK * against(|l| l.streak)
        + FINE * against(|l| l.fine)
        + LENGTH * length_mm.max(cells.side_mm).ln()
        + corner.map_or(0.0, |clear| FAR_EDGE + CORNER * clear)
        + CONSTANT;
    match corner {
        Some(_) => odds.min(SUREST_AT_FAR_EDGE),
        None => odds,
    }
}

/// Columns that a zone covers, in order.
pub fn columns(cells: &Cells, zone: &[usize]) -> Vec<usize> {
    let mut columns: Vec<usize> = zone.iter().map(|i| i % cells.columns).collect();
    columns.sort_unstable();
    columns.dedup();
    columns
}

/// Cells whose distance along the grid's axes from the zone lies in the ring.
fn ring(cells: &Cells, zone: &[usize]) -> Vec<usize> {
    let (w, n) = (cells.columns, cells.inside.len());
    let steps = |mm: f64| (mm / cells.side_mm).round() as usize;
    let (near, far) = (steps(RING_MM.0), steps(RING_MM.1));
    let mut seen = vec![false; n];
    zone.iter().for_each(|i| seen[*i] = true);
    let mut front = zone.to_vec();
    let mut ring = Vec::new();
    for step in 1..=far {
        let mut next = Vec::new();
        for i in front {
            for j in beside(i, w, n) {
                if !seen[j] {
                    seen[j] = true;
                    next.push(j);
                }
            }
        }
        if step > near {
            ring.extend(&next);
        }
        front = next;
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A face of rough cells with a smoother block; `contrast` in units of the
    /// gradients' logarithm.
    fn judged(contrast: f32, evidence: f32, side: usize, corner: Option<f64>) -> f64 {
        let (w, h) = (80, 60);
        let zone: Vec<usize> = (0..w * h)
            .filter(|i| (20..20 + side).contains(&(i % w)) && (20..20 + side).contains(&(i / w)))
            .collect();
        let mut looks = vec![Look::default(); w * h];
        let mut taken = vec![false; w * h];
        let mut odds_of = vec![-4.0; w * h];
        for i in &zone {
            (looks[*i].streak, looks[*i].fine) = (-contrast, -contrast);
            taken[*i] = true;
            odds_of[*i] = evidence;
        }
        let cells = Cells {
            columns: w,
            rows: h,
            side_mm: 0.1,
            low_mm: 0.0,
            inside: vec![true; w * h],
            looks,
        };
        odds(&cells, &odds_of, &zone, &taken, corner)
    }

    #[test]
    fn a_smooth_patch_is_kept_and_one_like_its_surroundings_is_not() {
        assert!(judged(1.2, 1.5, 25, None) > 1.5);
        assert!(judged(0.2, 0.2, 15, None) < -2.0);
        // The larger of two alike is surer.
        assert!(judged(0.7, 0.6, 30, None) > judged(0.7, 0.6, 12, None) + 0.4);
    }

    /// The edge may be drawn round a piece of the cap, as smooth as any zone.
    #[test]
    fn no_zone_at_the_far_edge_is_ever_sure() {
        let inside = judged(1.6, 6.0, 40, None);
        let at_edge = judged(1.6, 6.0, 40, Some(1.5));
        assert!(inside > 3.0, "{inside}");
        assert_eq!(at_edge, SUREST_AT_FAR_EDGE);
    }
}
