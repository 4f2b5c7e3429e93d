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
