//! From cells back to an outline.

use crate::base::geometry::Point;

/// Rounds of rounding off the stairs of cell sides.
const ROUNDS: usize = 2;

/// The outer outline of a connected set of cells of a `columns`-wide grid,
/// closed, its cell stairs rounded off, with each corner placed by `place`
/// (grid units, (0, 0) the outer corner of the first cell). Area is kept to
/// within a cell.
pub fn outline<F>(
    columns: usize,
    part: &[usize],
    place: impl Fn(f64, f64) -> Point<F>,
) -> Vec<Point<F>> {
    let (Some(&first), Some(&last)) = (part.iter().min(), part.iter().max()) else {
        return Vec::new();
    };
    let (w, h) = (columns, last / columns + 1);
    let mut member = vec![false; w * h];
    part.iter().for_each(|i| member[*i] = true);
    let has = |x: i64, y: i64| {
        x >= 0
            && y >= 0
            && (x as usize) < w
            && (y as usize) < h
            && member[y as usize * w + x as usize]
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
                (
                    0.25 * (a.0 + 2.0 * b.0 + c.0),
                    0.25 * (a.1 + 2.0 * b.1 + c.1),
                )
            })
            .collect();
    }
    line.iter().map(|p| place(p.0, p.1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::{Px, area};

    #[test]
    fn an_outline_goes_round_all_cells_once() {
        // A ring of cells with a foot; the hole is inside the outline.
        let picture = ["......", ".####.", ".#..#.", ".####.", "...##."];
        let part: Vec<usize> = (0..30)
            .filter(|i| picture[i / 6].as_bytes()[i % 6] == b'#')
            .collect();
        let line = outline(6, &part, Point::<Px>::new);
        // 10 cells of the ring, 2 of its hole, 2 of the foot, less what
        // rounding takes off the corners.
        assert!((area(&line) - 14.0).abs() < 2.0, "{}", area(&line));
        let x = line.iter().map(|p| p.x);
        assert!(x.clone().fold(f64::MAX, f64::min) >= 1.0 && x.fold(0.0, f64::max) <= 5.0);
        assert!(outline(6, &[], Point::<Px>::new).is_empty());
    }
}
