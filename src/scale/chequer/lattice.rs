//! Squares put on one lattice by predicting neighbours.

use super::squares::Square;
use crate::base::geometry::{Point, Px};

/// A square and its cell.
#[derive(Clone, Copy, Debug)]
pub struct Placed {
    /// The square.
    pub square: Square,
    /// Cell along the first axis.
    pub column: i32,
    /// Cell along the second axis, a quarter turn from the first towards +y.
    pub row: i32,
    /// How the corners are turned against the lattice, quarters.
    quarter: usize,
}

impl Placed {
    /// Each corner with its lattice place in cells.
    pub fn cells(&self) -> [(Point<Px>, f64, f64); 4] {
        let (i, j) = (f64::from(self.column), f64::from(self.row));
        let places = [(i, j), (i + 1.0, j), (i + 1.0, j + 1.0), (i, j + 1.0)];
        std::array::from_fn(|k| {
            let (u, v) = places[(k + self.quarter) % 4];
            (self.square.corners[k], u, v)
        })
    }
}

/// Farthest neighbour bridged, cells, and how far from a cell it may lie.
const REACH: f64 = 3.3;
const STRAY: f64 = 0.16;

/// The largest set of squares that lie on one lattice, same colour cells only,
/// its longer side along the columns.
pub fn largest(squares: &[Square]) -> Vec<Placed> {
    let mut placed = all(squares).into_iter().next().unwrap_or_default();
    let extent = |of: fn(&Placed) -> i32| {
        let places = || placed.iter().map(of);
        places().max().unwrap_or(0) - places().min().unwrap_or(0)
    };
    if extent(|p| p.row) > extent(|p| p.column) {
        for p in &mut placed {
            // A quarter turn of the axes: the second becomes the first.
            (p.column, p.row) = (p.row, -p.column - 1);
            p.quarter = (p.quarter + 3) % 4;
        }
    }
    placed
}

/// The squares sorted by the lattice they lie on, same colour cells only; most
/// squares first.
pub fn all(squares: &[Square]) -> Vec<Vec<Placed>> {
    let mut left: Vec<bool> = vec![true; squares.len()];
    let mut found: Vec<Vec<Placed>> = Vec::new();
    for seed in 0..squares.len() {
        if left[seed] {
            found.push(grow(squares, seed, &mut left));
        }
    }
    // Stable: of equals the first found stays first.
    found.sort_by_key(|lattice| std::cmp::Reverse(lattice.len()));
    found
}

fn grow(squares: &[Square], seed: usize, left: &mut [bool]) -> Vec<Placed> {
    let mut placed = vec![Placed {
        square: squares[seed],
        column: 0,
        row: 0,
        quarter: 0,
    }];
    left[seed] = false;
    let mut next = 0;
    while next < placed.len() {
        let from = placed[next];
        next += 1;
        // The lattice axes as this square's own sides show them.
        let corner = |column: f64, row: f64| {
            from.cells()
                .iter()
                .find(|c| {
                    c.1 - f64::from(from.column) == column && c.2 - f64::from(from.row) == row
                })
                .map_or(from.square.corners[0], |c| c.0)
        };
        let e1 =
            ((corner(1.0, 0.0) - corner(0.0, 0.0)) + (corner(1.0, 1.0) - corner(0.0, 1.0))) * 0.5;
        let e2 =
            ((corner(0.0, 1.0) - corner(0.0, 0.0)) + (corner(1.0, 1.0) - corner(1.0, 0.0))) * 0.5;
        let det = e1.cross(e2);
        for (k, other) in squares.iter().enumerate() {
            if !left[k] {
                continue;
            }
            let ratio = other.side() / from.square.side();
            if !(0.85..1.18).contains(&ratio) {
                continue;
            }
            let d = other.centre() - from.square.centre();
            let (i, j) = (d.cross(e2) / det, e1.cross(d) / det);
            if i.hypot(j) > REACH {
                continue;
            }
            let (column, row) = (i.round(), j.round());
            let stray = (i - column).hypot(j - row);
            let same_colour = (column + row).rem_euclid(2.0) == 0.0;
            if stray > STRAY * i.hypot(j).max(1.0) / 1.5
                || !same_colour
                || (column, row) == (0.0, 0.0)
            {
                continue;
            }
            // Its own sides have to run with the lattice.
            let (a1, _) = other.axes();
            let turned = [e1, e2, -e1, -e2]
                .iter()
                .position(|e| a1.unit().dot(e.unit()) > 0.97);
            let Some(quarter) = turned else {
                continue;
            };
            let cell = (from.column + column as i32, from.row + row as i32);
            if placed.iter().any(|p| (p.column, p.row) == cell) {
                continue;
            }
            left[k] = false;
            placed.push(Placed {
                square: *other,
                column: cell.0,
                row: cell.1,
                quarter,
            });
        }
    }
    placed
}
