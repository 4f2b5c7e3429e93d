//! Two lines found together: the fusion boundary and the outer edge of the
//! heat-affected band outside it.
//!
//! The band's outer edge often has the stronger contrast of the two. A single
//! path takes it for the fusion boundary; of two nested paths the outer one
//! explains that edge, and the inner one is left for the fusion boundary. The
//! optimum over both is exact (dynamic programming over pairs of rows), and so
//! is the chance of every row (forward–backward over the same lattice; Rabiner,
//! Proc. IEEE 77, 1989).

/// What speaks for the two lines in a coarse lattice; all lists are
/// `columns · rows`, column by column, lower is better.
pub struct Lattice {
    /// Columns along the boundary.
    pub columns: usize,
    /// Rows across it, from the inside out.
    pub rows: usize,
    /// Cost of the fusion boundary at a row (infinite = forbidden).
    pub inner: Vec<f32>,
    /// Cost of the band's outer edge at a row.
    pub outer: Vec<f32>,
    /// Cost of calling a row weld metal rather than unaffected metal.
    pub weld: Vec<f32>,
    /// Cost of calling a row heat-affected rather than unaffected metal.
    pub band: Vec<f32>,
    /// Cost of a band so many rows wide, from one on; empty = none.
    pub width: Vec<f32>,
}

/// How either line may move.
#[derive(Clone, Copy)]
pub struct Motion {
    /// Rows between neighbouring columns at most.
    pub steepest: usize,
    /// Cost of a step squared, fusion boundary and outer edge.
    pub bend: (f32, f32),
    /// Widest band, rows.
    pub widest: usize,
}

impl Lattice {
    /// Node costs of one column, `rows · widest`: inner row × width of the band − 1.
    fn nodes(&self, c: usize, widest: usize) -> Vec<f32> {
        let at = c * self.rows;
        let sums = |list: &[f32]| {
            let mut sum = vec![0.0f32; self.rows + 1];
            for r in 0..self.rows {
                sum[r + 1] = sum[r] + list[at + r];
            }
            sum
        };
        let (weld, band) = (sums(&self.weld), sums(&self.band));
        let mut nodes = vec![f32::INFINITY; self.rows * widest];
        for r in 0..self.rows {
            for w in 0..widest.min(self.rows - 1 - r) {
                let o = r + w + 1;
                nodes[r * widest + w] = self.inner[at + r] + self.outer[at + o] + weld[r] + band[o]
                    - band[r]
                    + self.width.get(w).unwrap_or(&0.0);
            }
        }
        nodes
    }
}

/// The cheapest pair: rows of the fusion boundary and of the outer edge.
/// `None` when no pair is allowed.
pub fn cheapest(lattice: &Lattice, motion: Motion) -> Option<(Vec<usize>, Vec<usize>)> {
    let (rows, widest) = (lattice.rows, motion.widest);
    let states = rows * widest;
    let reach = motion.steepest as i64;
    let mut best = lattice.nodes(0, widest);
    let mut from = vec![0u32; lattice.columns * states];
    for c in 1..lattice.columns {
        // First the outer edge moves, then the fusion boundary: the cost of a
        // step is a sum, so the two may be minimised one after the other.
        let mut half = vec![(f32::INFINITY, 0u32); states];
        for r in 0..rows {
            for w in 0..widest {
                let (mut least, mut at) = (f32::INFINITY, 0);
                for step in -reach..=reach {
                    let v = w as i64 + step;
                    if v < 0 || v >= widest as i64 {
                        continue;
                    }
                    let i = r * widest + v as usize;
                    let cost = best[i] + motion.bend.1 * (step * step) as f32;
                    if cost < least {
                        (least, at) = (cost, i as u32);
                    }
                }
                half[r * widest + w] = (least, at);
            }
        }
        let nodes = lattice.nodes(c, widest);
        let mut next = vec![f32::INFINITY; states];
        for r in 0..rows as i64 {
            for w in 0..widest as i64 {
                let i = (r * widest as i64 + w) as usize;
                if !nodes[i].is_finite() {
                    continue;
                }
                let (mut least, mut at) = (f32::INFINITY, 0);
                for step in -reach..=reach {
                    // The outer edge stays: the band narrows by what the
                    // fusion boundary moves outwards.
                    let (p, v) = (r + step, w - step);
                    if p < 0 || p >= rows as i64 || v < 0 || v >= widest as i64 {
                        continue;
                    }
                    let (cost, origin) = half[(p * widest as i64 + v) as usize];
                    let cost = cost + motion.bend.0 * (step * step) as f32;
                    if cost < least {
                        (least, at) = (cost, origin);
                    }
                }
                next[i] = least + nodes[i];
                from[c * states + i] = at;
            }
        }
        best = next;
    }
    let (mut state, total) = best
        .iter()
        .copied()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    if !total.is_finite() {
        return None;
    }
    let (mut inner, mut outer) = (vec![0; lattice.columns], vec![0; lattice.columns]);
    for c in (0..lattice.columns).rev() {
        inner[c] = state / widest;
        outer[c] = inner[c] + state % widest + 1;
        state = from[c * states + state] as usize;
    }
    Some((inner, outer))
}

/// The chance of every row to be the fusion boundary, `columns · rows`, each
/// column adding up to 1. `temperature` is the cost that makes a place e times
/// less likely.
pub fn chances(lattice: &Lattice, motion: Motion, temperature: f32) -> Vec<f32> {
    let (rows, widest, columns) = (lattice.rows, motion.widest, lattice.columns);
    let states = rows * widest;
    let weights = |c: usize| -> Vec<f32> {
        let nodes = lattice.nodes(c, widest);
        let least = nodes.iter().copied().fold(f32::INFINITY, f32::min);
        nodes
            .iter()
            .map(|n| (-(n - least) / temperature).exp())
            .collect()
    };
    let kernel = |bend: f32| -> Vec<f32> {
        (0..=motion.steepest)
            .map(|s| (-bend * (s * s) as f32 / temperature).exp())
            .collect()
    };
    let kernels = (kernel(motion.bend.0), kernel(motion.bend.1));
    // The same move as in `cheapest`, summed instead of minimised; it is
    // symmetric, so it serves both directions.
    let spread = |mass: &[f32]| -> Vec<f32> {
        let reach = motion.steepest as i64;
        let mut half = vec![0.0f32; states];
        for r in 0..rows {
            for w in 0..widest as i64 {
                let mut sum = 0.0;
                for v in (w - reach).max(0)..=(w + reach).min(widest as i64 - 1) {
                    sum +=
                        mass[r * widest + v as usize] * kernels.1[(v - w).unsigned_abs() as usize];
                }
                half[r * widest + w as usize] = sum;
            }
        }
        let mut out = vec![0.0f32; states];
        for r in 0..rows as i64 {
            for w in 0..widest as i64 {
                let mut sum = 0.0;
                for step in -reach..=reach {
                    let (p, v) = (r + step, w - step);
                    if p >= 0 && p < rows as i64 && v >= 0 && v < widest as i64 {
                        sum += half[(p * widest as i64 + v) as usize]
                            * kernels.0[step.unsigned_abs() as usize];
                    }
                }
                out[(r * widest as i64 + w) as usize] = sum;
            }
        }
        out
    };
    let normal = |mut mass: Vec<f32>| {
        let sum: f32 = mass.iter().sum();
        if sum > 0.0 {
            mass.iter_mut().for_each(|m| *m /= sum);
        }
        mass
    };
    let times =
        |a: &[f32], b: &[f32]| -> Vec<f32> { a.iter().zip(b).map(|(a, b)| a * b).collect() };
    let mut forward = vec![normal(weights(0))];
    for c in 1..columns {
        let moved = spread(&forward[c - 1]);
        forward.push(normal(times(&moved, &weights(c))));
    }
    let mut backward = vec![1.0f32; states];
    let mut chances = vec![0.0f32; columns * rows];
    for c in (0..columns).rev() {
        let both = normal(times(&forward[c], &backward));
        for r in 0..rows {
            chances[c * rows + r] = both[r * widest..(r + 1) * widest].iter().sum();
        }
        backward = normal(spread(&times(&backward, &weights(c))));
    }
    chances
}

#[cfg(test)]
mod tests {
    use super::*;

    const MOTION: Motion = Motion {
        steepest: 2,
        bend: (0.1, 0.1),
        widest: 15,
    };

    /// Weak edge at row 10, strong one at row 18, colours alike inside row 18.
    fn weak_inside_strong(columns: usize) -> Lattice {
        let rows = 30;
        let edge = |inner: bool| -> Vec<f32> {
            (0..columns * rows)
                .map(|i| match i % rows {
                    10 => 0.5,
                    18 if inner => 0.2,
                    18 => 0.1,
                    _ => 1.0,
                })
                .collect()
        };
        let region: Vec<f32> = (0..columns * rows)
            .map(|i| if i % rows < 18 { -0.2 } else { 0.2 })
            .collect();
        Lattice {
            columns,
            rows,
            inner: edge(true),
            outer: edge(false),
            weld: region.clone(),
            band: region,
            width: Vec::new(),
        }
    }

    #[test]
    fn the_stronger_edge_is_left_to_the_band() {
        let (inner, outer) = cheapest(&weak_inside_strong(20), MOTION).unwrap();
        assert!(inner.iter().all(|r| *r == 10), "{inner:?}");
        assert!(outer.iter().all(|r| *r == 18), "{outer:?}");
    }

    #[test]
    fn chances_follow_the_evidence() {
        let mut lattice = weak_inside_strong(20);
        let chances_at = |l: &Lattice, c: usize| chances(l, MOTION, 0.1)[c * 30 + 10];
        let sure = chances_at(&lattice, 10);
        assert!(sure > 0.9, "{sure}");
        // The weak edge is missing over a stretch: the place is less certain there.
        for c in 6..14 {
            lattice.inner[c * 30 + 10] = 1.0;
        }
        let unsure = chances_at(&lattice, 10);
        assert!(unsure < 0.8 * sure, "{unsure} against {sure}");
        let column: f32 = chances(&lattice, MOTION, 0.1)[300..330].iter().sum();
        assert!((column - 1.0).abs() < 1e-3);
    }

    #[test]
    fn nothing_allowed_gives_none() {
        let mut lattice = weak_inside_strong(5);
        lattice.inner[2 * 30..3 * 30].fill(f32::INFINITY);
        assert!(cheapest(&lattice, MOTION).is_none());
    }
}
