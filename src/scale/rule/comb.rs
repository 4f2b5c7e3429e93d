//! Ticks in a one-dimensional profile, and the longest regular row of them.

use crate::base::numeric::median_of as middle;

/// A dip of the profile.
#[derive(Clone, Copy, Debug)]
pub struct Dip {
    /// Where, in samples; the centre of sample i is i.
    pub at: f64,
    /// How deep below its surroundings, grey levels.
    pub depth: f64,
}

/// Dips of a profile that stand out among their neighbours; places are
/// sub-sample (parabola).
pub fn dips(profile: &[f64]) -> Vec<Dip> {
    let n = profile.len();
    if n < 5 {
        return Vec::new();
    }
    let smooth: Vec<f64> = (0..n)
        .map(|i| {
            let (a, c) = (profile[i.saturating_sub(1)], profile[(i + 1).min(n - 1)]);
            0.25 * a + 0.5 * profile[i] + 0.25 * c
        })
        .collect();
    let lows = basins(&smooth);
    let depths: Vec<f64> = lows.iter().map(|l| l.1).collect();
    let mut found: Vec<Dip> = (0..lows.len())
        .filter(|&k| depths[k] > 2.0 && depths[k] > 0.3 * usual_depth(&depths, k))
        .map(|k| {
            let (low, depth) = lows[k];
            // Middle between the half-depth crossings: the floor may be flat.
            let half = smooth[low] + 0.5 * depth;
            let cross = |inner: usize, outer: usize| {
                let (a, b) = (smooth[inner], smooth[outer]);
                let t = if b > a { (half - a) / (b - a) } else { 0.0 };
                inner as f64 + t * (outer as f64 - inner as f64)
            };
            let mut i = low;
            while i > 0 && smooth[i - 1] < half {
                i -= 1;
            }
            let left = if i > 0 { cross(i, i - 1) } else { 0.0 };
            i = low;
            while i + 1 < n && smooth[i + 1] < half {
                i += 1;
            }
            let right = if i + 1 < n {
                cross(i, i + 1)
            } else {
                (n - 1) as f64
            };
            Dip {
                at: 0.5 * (left + right),
                depth,
            }
        })
        .collect();
    // A wide dip's middle may lie beyond a narrow neighbour's.
    found.sort_by(|a, b| a.at.total_cmp(&b.at));
    found
}

/// All local minima with their depth below the lowest pass to a deeper one
/// (persistence of sub-level sets: Edelsbrunner, Letscher and Zomorodian, 2002),
/// in order of place. Flooding from the lowest sample up joins basins; at each
/// join the shallower one's depth is settled.
fn basins(values: &[f64]) -> Vec<(usize, f64)> {
    const DRY: usize = usize::MAX;
    let places = turns(values);
    let values: Vec<f64> = places.iter().map(|i| values[*i]).collect();
    let mut order: Vec<(f64, usize)> = values.iter().copied().zip(0..).collect();
    order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    // A basin's root is its lowest sample, flooded first.
    let mut parent = vec![DRY; values.len()];
    let mut found = Vec::new();
    fn root(parent: &mut [usize], mut i: usize) -> usize {
        while parent[i] != i {
            parent[i] = parent[parent[i]];
            i = parent[i];
        }
        i
    }
    for &(_, i) in &order {
        parent[i] = i;
        for j in [i.wrapping_sub(1), i + 1] {
            if j >= values.len() || parent[j] == DRY {
                continue;
            }
            let (a, b) = (root(&mut parent, i), root(&mut parent, j));
            let (deep, shallow) = if values[a] <= values[b] {
                (a, b)
            } else {
                (b, a)
            };
            if deep == shallow {
                continue;
            }
            let depth = values[i] - values[shallow];
            if depth > 0.0 {
                found.push((shallow, depth));
            }
            parent[shallow] = deep;
        }
    }
    if let (Some(first), Some(last)) = (order.first(), order.last()) {
        found.push((first.1, last.0 - first.0));
    }
    found.sort_unstable_by_key(|f| f.0);
    found
        .into_iter()
        .map(|(i, depth)| (places[i], depth))
        .collect()
}

/// Where the values turn from falling to rising or back, and both ends: only
/// there basins begin and meet. Of equal values in a row, the first.
fn turns(values: &[f64]) -> Vec<usize> {
    let mut turns: Vec<usize> = Vec::with_capacity(values.len() / 2);
    for (i, v) in values.iter().enumerate() {
        if turns.last().is_some_and(|last| values[*last] == *v) {
            continue;
        }
        if let [.., before, last] = turns[..]
            && (values[before] < values[last]) == (values[last] < *v)
        {
            turns.pop();
        }
        turns.push(i);
    }
    turns
}

/// Depth of what counts as a tick around dip `k`: the third deepest of some
/// thirty neighbours, so that two numerals or stains there do not raise it.
fn usual_depth(depths: &[f64], k: usize) -> f64 {
    let near = &depths[k.saturating_sub(15)..(k + 16).min(depths.len())];
    let mut top = [0.0f64; 3];
    for d in near {
        if *d > top[2] {
            top[2] = *d;
            top.sort_by(|a, b| b.total_cmp(a));
        }
    }
    top[2]
}

/// A regular row of dips.
#[derive(Clone, Debug)]
pub struct Row {
    /// (number within the row, place in samples), ascending in both.
    pub ticks: Vec<(i32, f64)>,
    /// Median spacing of neighbours, samples.
    pub pitch: f64,
    /// Members less the gaps and strangers in between, times their usual depth.
    pub score: f64,
}

/// Most ticks in a row that may be missing.
const LARGEST_GAP: i32 = 8;

/// The best row with a pitch in `range` samples; `None` when fewer than eight
/// dips follow each other regularly. The pitch may drift slowly along the row,
/// as perspective makes it.
pub fn best_row(dips: &[Dip], range: (f64, f64)) -> Option<Row> {
    let deepest = dips.iter().map(|d| d.depth).fold(0.0, f64::max);
    let mut best: Option<(f64, Vec<Member>)> = None;
    let (mut members, mut depths) = (Vec::new(), Vec::new());
    let stride = (dips.len() / 80).max(1);
    for s in (0..dips.len()).step_by(stride) {
        for skip in 1..=2 {
            let Some(next) = dips.get(s + skip) else {
                continue;
            };
            let pitch = next.at - dips[s].at;
            if pitch < range.0 || pitch > range.1 {
                continue;
            }
            // Cheap look before the walk: the next two have to be there too.
            let there =
                |x: f64| nearest(dips, x, s).is_some_and(|k| (dips[k].at - x).abs() < 0.25 * pitch);
            if !(there(next.at + pitch)
                && (there(next.at + 2.0 * pitch) || there(dips[s].at - pitch)))
            {
                continue;
            }
            walk(dips, s, s + skip, pitch, &mut members);
            let regular = regularity(&members);
            let top = best.as_ref().map(|b| b.0);
            // Not even the deepest marks would make it the best.
            if top.is_some_and(|top| regular.max(0.0) * deepest.min(DEEPEST) <= top) {
                continue;
            }
            depths.clear();
            depths.extend(members.iter().map(|m| dips[m.1].depth));
            let score = regular * middle(&mut depths).min(DEEPEST);
            if top.is_none_or(|top| score > top) {
                let kept = best.get_or_insert_with(Default::default);
                kept.0 = score;
                std::mem::swap(&mut kept.1, &mut members);
            }
        }
    }
    let (score, members) = best.filter(|b| b.1.len() >= 8)?;
    let mut spacings: Vec<f64> = members
        .windows(2)
        .map(|w| (dips[w[1].1].at - dips[w[0].1].at) / f64::from(w[1].0 - w[0].0))
        .collect();
    Some(Row {
        pitch: middle(&mut spacings),
        score,
        ticks: members.iter().map(|m| (m.0, dips[m.1].at)).collect(),
    })
}

/// (Number within the row, index of the dip).
type Member = (i32, usize);

/// Ticks deeper than this, grey levels, count no more: all are clearly seen.
pub const DEEPEST: f64 = 40.0;

/// Index of the dip nearest to `x`, looked for from dip `start` on.
fn nearest(dips: &[Dip], x: f64, start: usize) -> Option<usize> {
    // The first dip not before x.
    let mut k = start.min(dips.len());
    while k < dips.len() && dips[k].at < x {
        k += 1;
    }
    while k > 0 && dips[k - 1].at >= x {
        k -= 1;
    }
    [k.checked_sub(1), (k < dips.len()).then_some(k)]
        .into_iter()
        .flatten()
        .min_by(|a, b| (dips[*a].at - x).abs().total_cmp(&(dips[*b].at - x).abs()))
}

/// Predict and correct from a first pair, both ways; the row's members in order.
fn walk(dips: &[Dip], first: usize, second: usize, pitch: f64, members: &mut Vec<Member>) {
    members.clear();
    for sense in [-1.0, 1.0] {
        let (mut k, mut index) = if sense > 0.0 { (second, 1) } else { (first, 0) };
        let mut step = pitch;
        let mut matched = 2;
        let mut gap = 1;
        loop {
            let want = dips[k].at + sense * step * f64::from(gap);
            if want < dips[0].at - step || want > dips[dips.len() - 1].at + step {
                break;
            }
            // The prediction gets less sure with each tick it bridges.
            let tolerance = step * (0.18 + 0.02 * f64::from(gap)).min(0.3);
            match nearest(dips, want, k) {
                Some(j) if (dips[j].at - want).abs() < tolerance && j != k => {
                    let seen = (dips[j].at - dips[k].at).abs() / f64::from(gap);
                    step += (0.25 * (seen - step)).clamp(-0.03 * step, 0.03 * step);
                    index += if sense > 0.0 { gap } else { -gap };
                    members.push((index, j));
                    k = j;
                    gap = 1;
                    matched += 1;
                }
                _ => {
                    gap += 1;
                    if gap > (2 + matched / 5).min(LARGEST_GAP) {
                        break;
                    }
                }
            }
        }
        if sense < 0.0 {
            members.reverse();
            members.extend([(0, first), (1, second)]);
        }
    }
}

/// Members of a row less the gaps and the strangers in between.
fn regularity(members: &[Member]) -> f64 {
    let (first, last) = (members[0], members[members.len() - 1]);
    let matched = members.len() as f64;
    let missing = f64::from(last.0 - first.0 + 1) - matched;
    let strangers = (last.1 - first.1 + 1) as f64 - matched;
    matched - 0.7 * missing - 0.7 * strangers
}

#[cfg(test)]
mod tests {
    use super::*;

    fn comb(places: &[f64], n: usize) -> Vec<f64> {
        (0..n)
            .map(|i| {
                let dark: f64 = places
                    .iter()
                    .map(|p| (-0.5 * ((i as f64 - p) / 1.5).powi(2)).exp())
                    .sum();
                200.0 - 100.0 * dark
            })
            .collect()
    }

    #[test]
    fn numbers_survive_a_gap_and_a_stranger() {
        let mut places: Vec<f64> = (0..40).map(|i| 20.3 + 11.7 * f64::from(i)).collect();
        places.drain(17..20);
        places.push(20.3 + 11.7 * 5.5);
        let row = best_row(&dips(&comb(&places, 520)), (4.0, 100.0)).unwrap();
        assert!((row.pitch - 11.7).abs() < 0.05, "{}", row.pitch);
        assert_eq!(row.ticks[row.ticks.len() - 1].0 - row.ticks[0].0, 39);
        for (i, at) in &row.ticks {
            let want = row.ticks[0].1 + 11.7 * f64::from(i - row.ticks[0].0);
            assert!((at - want).abs() < 0.4, "tick {i}: {at} against {want}");
        }
    }

    #[test]
    fn noise_holds_no_long_row() {
        let mut state = 7u64;
        let noise: Vec<f64> = (0..600)
            .map(|_| {
                state = state
                    .wrapping_mul(6364136223846793005)
                    .wrapping_add(1442695040888963407);
                (state >> 33) as f64 % 60.0
            })
            .collect();
        if let Some(row) = best_row(&dips(&noise), (4.0, 100.0)) {
            assert!(row.ticks.len() < 25, "{} members", row.ticks.len());
        }
    }
}
