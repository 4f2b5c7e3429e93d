//! From cells back to an outline.

use super::features::Cells;
use crate::base::geometry::Point;
use crate::fracture::strip::Straight;

/// Rounds of rounding off the stairs of cell sides.
const ROUNDS: usize = 2;

/// The outer outline of a connected set of cells, closed, its cell stairs
/// rounded off. Area is kept to within a cell.
pub fn outline(cells: &Cells, part: &[usize]) -> Vec<Point<Straight>> {
    let (w, h) = (cells.columns, cells.rows);
    let mut member = vec![false; w * h];
    part.iter().for_each(|i| member[*i] = true);
    let Some(&first) = part.iter().min() else {
        return Vec::new();
    };
    let has = |x: i64, y: i64| {
        x >= 0 && y >= 0 && (x as usize) < w && (y as usize) < h && member[y as usize * w + x as usize]
    };
    // Along the cell sides with the set on the left, from the lower left corner
    // of the first cell, towards +s first.
    let start = ((first % w) as i64, (first / w) as i64);
    let (mut at, mut way) = (start, (1i64, 0i64));
    let mut corners = Vec::new();
    loop {
        corners.push(at);
        at = (at.0 + way.0, at.1 + way.1);
        if at == start {
            break;
        }
        // The two cells ahead of this corner, left and right of the way.
        let left = (-way.1, way.0);
        let cell = |side: (i64, i64)| {
            let x = at.0 + (way.0 + side.0 - 1) / 2;
            let y = at.1 + (way.1 + side.1 - 1) / 2;
            has(x, y)
        };
        let right = (-left.0, -left.1);
        if !cell(left) {
            way = left;
        } else if cell(right) {
            way = right;
        }
    }
    let mut line: Vec<(f64, f64)> = corners.iter().map(|p| (p.0 as f64, p.1 as f64)).collect();
    for _ in 0..ROUNDS {
        let n = line.len();
        line = (0..n)
            .map(|i| {
                let (a, b, c) = (line[(i + n - 1) % n], line[i], line[(i + 1) % n]);
                (0.25 * (a.0 + 2.0 * b.0 + c.0), 0.25 * (a.1 + 2.0 * b.1 + c.1))
            })
            .collect();
    }
    line.iter()
        .map(|p| Point::new(p.0 * cells.side_mm, cells.low_mm + p.1 * cells.side_mm))
        .collect()
}
