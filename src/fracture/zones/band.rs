//! The upper edge of a smooth band that starts at an edge of the face, as an
//! optimal path along s with a state for "no band here" (dynamic programming;
//! Bellman, 1957).

/// How reluctantly the band changes.
#[derive(Clone, Copy, Debug)]
pub struct Reluctance {
    /// Cost of one row of change from one column to the next.
    pub step: f32,
    /// Cost of beginning or ending a band inside the face.
    pub switch: f32,
}

/// Height of the band in rows for each column, 0 where there is none.
///
/// `gain` holds, for each column, what each row adds when the band covers it,
/// counted from the band's edge of the face; columns may differ in length. The
/// path maximises the covered rows' sum less the costs of change.
pub fn band(gain: &[Vec<f32>], reluctance: Reluctance) -> Vec<usize> {
    let columns = gain.len();
    let rows = gain.iter().map(Vec::len).max().unwrap_or(0);
    if columns == 0 || rows == 0 {
        return vec![0; columns];
    }
    let states = rows + 1;
    let covered = |column: &[f32]| -> Vec<f32> {
        let mut sum = 0.0;
        let mut sums = vec![0.0];
        sums.extend(column.iter().map(|g| {
            sum += g;
            sum
        }));
        sums.resize(states, f32::NEG_INFINITY);
        sums
    };
    let mut best = covered(&gain[0]);
    let mut from = vec![0u16; columns * states];
    for (c, column) in gain.iter().enumerate().skip(1) {
        let origin = &mut from[c * states..(c + 1) * states];
        let mut next = best.clone();
        (0..states).for_each(|b| origin[b] = b as u16);
        // From the neighbour below, then from the one above: with a cost
        // proportional to the change, two sweeps find the best of all. The
        // state without a band takes no part.
        for b in (2..states).chain((1..states - 1).rev().map(|b| b + states)) {
            let (b, beside) = if b < states { (b, b - 1) } else { (b - states, b - states + 1) };
            if next[beside] - reluctance.step > next[b] {
                next[b] = next[beside] - reluctance.step;
                origin[b] = origin[beside];
            }
        }
        let (mut end, mut end_from) = (best[0], 0);
        for b in 1..states {
            let change = reluctance.switch + reluctance.step * b as f32;
            if best[b] - change > end {
                (end, end_from) = (best[b] - change, b as u16);
            }
            if best[0] - change > next[b] {
                (next[b], origin[b]) = (best[0] - change, 0);
            }
        }
        (next[0], origin[0]) = (end, end_from);
        for (n, g) in next.iter_mut().zip(covered(column)) {
            *n += g;
        }
        best = next;
    }
    let mut state = (0..states)
        .max_by(|a, b| best[*a].total_cmp(&best[*b]))
        .unwrap_or(0);
    let mut path = vec![0; columns];
    for c in (0..columns).rev() {
        path[c] = state;
        state = from[c * states + state] as usize;
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIRM: Reluctance = Reluctance { step: 0.5, switch: 4.0 };

    /// `#` speaks for the band, `.` against it; the lowest line is the edge.
    fn gains(picture: &[&str]) -> Vec<Vec<f32>> {
        let columns = picture[0].len();
        (0..columns)
            .map(|c| {
                let mark = |line: &&str| if line.as_bytes()[c] == b'#' { 1.0 } else { -1.0 };
                picture.iter().rev().map(mark).collect()
            })
            .collect()
    }

    #[test]
    fn the_path_follows_the_band_and_is_zero_beside_it() {
        let path = band(
            &gains(&[
                "................",
                "......##........",
                "....#######.....",
                "....########....",
            ]),
            FIRM,
        );
        assert_eq!(path, [0, 0, 0, 0, 2, 2, 3, 3, 2, 2, 2, 1, 0, 0, 0, 0]);
    }

    #[test]
    fn a_speck_is_no_band() {
        let path = band(&gains(&["......", "..#...", "..#..."]), FIRM);
        assert_eq!(path, [0; 6]);
    }

    #[test]
    fn columns_may_differ_in_height() {
        let path = band(&[vec![1.0; 9], vec![1.0; 2], vec![1.0; 9]], FIRM);
        assert_eq!(path[1], 2);
        assert!(band(&[], FIRM).is_empty());
    }
}
