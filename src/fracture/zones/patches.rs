//! Patches inside the face: the region whose covered evidence less the length
//! of its border is greatest.
//!
//! The convex form of that problem (Chan, Esedoglu and Nikolova, 2006) is
//! solved by a primal-dual iteration (Chambolle and Pock, 2011); cutting its
//! solution at one half gives an optimal region.

use crate::fracture::beside::beside;
use rayon::prelude::*;

/// Iterations: the relative change is then below a hundredth, and a cut at one
/// half moves by less than a cell.
const ITERATIONS: usize = 120;

/// Step of both updates; their product times 8 (the norm of the discrete
/// gradient squared) must not exceed 1.
const STEP: f32 = 0.35;

/// Whether each cell of a `columns`-wide grid belongs to the region. `gain` is
/// what a cell adds when covered, `border` the cost of one cell side of border.
pub fn region(gain: &[f32], columns: usize, border: f32) -> Vec<bool> {
    let rows = gain.len() / columns.max(1);
    if rows == 0 {
        return Vec::new();
    }
    let mut u: Vec<f32> = gain.iter().map(|g| f32::from(*g > 0.0)).collect();
    let mut ahead = u.clone();
    let mut slope = vec![[0.0f32; 2]; u.len()];
    for _ in 0..ITERATIONS {
        slope
            .par_chunks_mut(columns)
            .enumerate()
            .for_each(|(r, line)| {
                for (c, p) in line.iter_mut().enumerate() {
                    let i = r * columns + c;
                    if c + 1 < columns {
                        p[0] += STEP * (ahead[i + 1] - ahead[i]);
                    }
                    if r + 1 < rows {
                        p[1] += STEP * (ahead[i + columns] - ahead[i]);
                    }
                    let size = (p[0] * p[0] + p[1] * p[1]).sqrt();
                    if size > border {
                        let shrink = border / size;
                        (p[0], p[1]) = (p[0] * shrink, p[1] * shrink);
                    }
                }
            });
        let lines = u.par_chunks_mut(columns).zip(ahead.par_chunks_mut(columns));
        lines.enumerate().for_each(|(r, (u, ahead))| {
            for c in 0..columns {
                let i = r * columns + c;
                let mut flow = slope[i][0] + slope[i][1];
                if c > 0 {
                    flow -= slope[i - 1][0];
                }
                if r > 0 {
                    flow -= slope[i - columns][1];
                }
                let new = (u[c] + STEP * (flow + gain[i])).clamp(0.0, 1.0);
                ahead[c] = 2.0 * new - u[c];
                u[c] = new;
            }
        });
    }
    u.iter().map(|u| *u > 0.5).collect()
}

/// The connected parts (by cell sides) of a region, each as its cells.
pub fn parts(region: &[bool], columns: usize) -> Vec<Vec<usize>> {
    let mut open = region.to_vec();
    let mut parts = Vec::new();
    for seed in 0..open.len() {
        if !open[seed] {
            continue;
        }
        open[seed] = false;
        let mut part = vec![seed];
        let mut next = 0;
        while let Some(&i) = part.get(next) {
            next += 1;
            for j in beside(i, columns, open.len()) {
                if open[j] {
                    open[j] = false;
                    part.push(j);
                }
            }
        }
        parts.push(part);
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_patch_is_kept_and_specks_are_not() {
        let columns = 30;
        let inside =
            |i: usize| (8..22).contains(&(i % columns)) && (5..15).contains(&(i / columns));
        let gain: Vec<f32> = (0..columns * 20)
            .map(|i| match (inside(i), i % 17 == 0) {
                (true, false) | (false, true) => 1.0,
                _ => -1.0,
            })
            .collect();
        let found = region(&gain, columns, 1.0);
        let wrong = (0..gain.len()).filter(|i| found[*i] != inside(*i)).count();
        // Rounded corners cost a cell or two each.
        assert!(wrong <= 8, "{wrong} cells");
        let parts = parts(&found, columns);
        assert_eq!(parts.len(), 1);
    }

    #[test]
    fn parts_that_touch_by_a_corner_are_two() {
        let region = [true, false, false, true];
        assert_eq!(parts(&region, 2), [vec![0], vec![3]]);
    }
}
