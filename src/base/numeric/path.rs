//! The cheapest path through a grid, column by column (dynamic programming;
//! Bellman, 1957).

/// A grid of costs: `columns` along the path, `rows` across it.
#[derive(Clone, Debug)]
pub struct Grid {
    columns: usize,
    rows: usize,
    costs: Vec<f32>,
}

impl Grid {
    /// A grid filled with `cost`.
    pub fn filled(columns: usize, rows: usize, cost: f32) -> Self {
        Self {
            columns,
            rows,
            costs: vec![cost; columns * rows],
        }
    }

    /// Columns (steps along the path).
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Rows (places across the path).
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The costs of one column.
    pub fn column(&self, column: usize) -> &[f32] {
        &self.costs[column * self.rows..(column + 1) * self.rows]
    }

    /// The costs of one column, to change.
    pub fn column_mut(&mut self, column: usize) -> &mut [f32] {
        &mut self.costs[column * self.rows..(column + 1) * self.rows]
    }
}

/// One row per column so that the sum of node costs plus
/// `bend · step²` (step = change of row between neighbouring columns, at most
/// `max_step`) is least. Infinite costs forbid a node. Returns the rows and
/// the total cost; `None` for an empty grid or when no path is allowed.
pub fn optimal_path(grid: &Grid, max_step: usize, bend: f32) -> Option<(Vec<usize>, f32)> {
    let (columns, rows) = (grid.columns, grid.rows);
    if columns == 0 || rows == 0 {
        return None;
    }
    let mut best = grid.column(0).to_vec();
    let mut from = vec![0u16; columns * rows];
    let mut next = vec![0.0f32; rows];
    for c in 1..columns {
        for r in 0..rows {
            let (low, high) = (r.saturating_sub(max_step), (r + max_step).min(rows - 1));
            let (mut least, mut at) = (f32::INFINITY, low);
            for (p, cost) in best.iter().enumerate().take(high + 1).skip(low) {
                let step = p as f32 - r as f32;
                let total = cost + bend * step * step;
                if total < least {
                    (least, at) = (total, p);
                }
            }
            next[r] = least + grid.column(c)[r];
            from[c * rows + r] = at as u16;
        }
        std::mem::swap(&mut best, &mut next);
    }
    let (mut row, total) = best
        .iter()
        .copied()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    if !total.is_finite() {
        return None;
    }
    let mut path = vec![0; columns];
    for c in (0..columns).rev() {
        path[c] = row;
        row = from[c * rows + row] as usize;
    }
    Some((path, total))
}

/// A track a path may keep to: one row and one cost a column; an infinite cost
/// where there is no track.
#[derive(Clone, Debug)]
pub struct Track {
    /// The row of the track in each column.
    pub rows: Vec<usize>,
    /// What keeping to the track costs in each column.
    pub costs: Vec<f32>,
}

/// The cheapest path that keeps to the track `first` for a while, wanders
/// freely through `grid`, and ends on the track `last`. It may leave or join a
/// track only within `slack` rows of it; while wandering it moves at most
/// `max_step` rows a column and pays `bend · step²`. Returns the rows and, for
/// each column, whether the path wandered there; `None` when no such path is
/// allowed.
///
/// # Panics
/// When a track has another number of columns than the grid.
pub fn excursion(
    grid: &Grid,
    (first, last): (&Track, &Track),
    slack: usize,
    max_step: usize,
    bend: f32,
) -> Option<(Vec<usize>, Vec<bool>)> {
    let (columns, rows) = (grid.columns, grid.rows);
    assert!(
        first.rows.len() == columns && last.rows.len() == columns,
        "one track row a column"
    );
    const FROM_TRACK: u16 = u16::MAX;
    let mut from = vec![0u16; columns * rows];
    let mut wander = vec![f32::INFINITY; rows];
    let mut next = vec![f32::INFINITY; rows];
    let mut before = 0.0f32; // cost of having kept to `first` so far
    let mut after = f32::INFINITY; // cost of keeping to `last` now
    let mut joined: Vec<Option<usize>> = vec![None; columns]; // row left when `last` was joined here
    for c in 0..columns {
        let was = before;
        before += first.costs[c];
        let join = (0..rows)
            .filter(|r| c > 0 && r.abs_diff(last.rows[c]) <= slack)
            .map(|r| (r, wander[r]))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((row, cost)) = join
            && cost < after
        {
            (after, joined[c]) = (cost, Some(row));
        }
        after += last.costs[c];
        for r in 0..rows {
            let (mut least, mut at) = (f32::INFINITY, 0);
            if r.abs_diff(first.rows[c]) <= slack {
                (least, at) = (was, FROM_TRACK);
            }
            let (low, high) = (r.saturating_sub(max_step), (r + max_step).min(rows - 1));
            for (p, cost) in wander.iter().enumerate().take(high + 1).skip(low) {
                let step = p as f32 - r as f32;
                let total = cost + bend * step * step;
                if total < least {
                    (least, at) = (total, p as u16);
                }
            }
            next[r] = least + grid.column(c)[r];
            from[c * rows + r] = at;
        }
        std::mem::swap(&mut wander, &mut next);
    }
    if !after.is_finite() {
        return None;
    }
    let mut path = vec![0; columns];
    let mut wandered = vec![false; columns];
    let mut c = columns;
    // Back along the last track to where it was joined …
    let mut row = loop {
        c = c.checked_sub(1)?;
        path[c] = last.rows[c];
        if let Some(row) = joined[c] {
            break row;
        }
    };
    // … through the excursion, and along the first track.
    while c > 0 {
        c -= 1;
        path[c] = row;
        wandered[c] = true;
        match from[c * rows + row] {
            FROM_TRACK => break,
            p => row = p as usize,
        }
    }
    path[..c].copy_from_slice(&first.rows[..c]);
    Some((path, wandered))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Leaves the lower track where the bump begins and joins the upper one.
    #[test]
    fn an_excursion_leaves_and_joins_where_it_pays() {
        let (columns, rows) = (12, 9);
        let mut grid = Grid::filled(columns, rows, 1.0);
        for c in 4..8 {
            grid.column_mut(c)[1 + c - 4] = 0.0;
        }
        let track = |row: usize, good: std::ops::Range<usize>| Track {
            rows: vec![row; columns],
            costs: (0..columns)
                .map(|c| if good.contains(&c) { 0.1 } else { 5.0 })
                .collect(),
        };
        let (path, wandered) =
            excursion(&grid, (&track(1, 0..4), &track(4, 8..12)), 1, 1, 0.001).expect("a path");
        assert_eq!(path, [1, 1, 1, 1, 1, 2, 3, 4, 4, 4, 4, 4]);
        assert_eq!(wandered.iter().filter(|w| **w).count(), 4);
    }

    #[test]
    fn no_track_no_excursion() {
        let grid = Grid::filled(5, 4, 1.0);
        let none = Track {
            rows: vec![0; 5],
            costs: vec![f32::INFINITY; 5],
        };
        let some = Track {
            rows: vec![0; 5],
            costs: vec![0.0; 5],
        };
        assert!(excursion(&grid, (&some, &none), 1, 1, 0.0).is_none());
    }
}
