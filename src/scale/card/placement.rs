//! Which cells of the card the squares of a lattice are.

use super::design::{Dark, Design};
use crate::base::geometry::{Mm, Point, Px};
use crate::base::numeric::median;
use crate::base::raster::Gray;
use crate::scale::chequer::lattice::Placed;
use crate::scale::chequer::squares::Square;
use std::collections::BTreeMap;

/// Fewest squares by which a card is told from any other chequer: one of the
/// some five hundred ways to lay twelve squares on the ring fits twelve random
/// keys once in eight lattices, and an ordinary chequer has no keys at all.
const FEWEST: usize = 12;
/// Fewest keyed and fewest plain squares among them.
const FEWEST_OF_EACH: usize = 3;
/// One square in so many may contradict: glare, dirt, a stray square.
const ONE_WRONG_IN: usize = 9;
/// By how many squares the best place must beat the next.
const LEAD: usize = 2;

/// How a lattice lies on the card.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Placement {
    /// Lattice axes on the card's: card = turn · lattice + shift, in cells.
    turn: [[i32; 2]; 2],
    shift: [i32; 2],
}

/// The eight ways round, the mirrored ones last.
const TURNS: [[[i32; 2]; 2]; 8] = [
    [[1, 0], [0, 1]],
    [[0, -1], [1, 0]],
    [[-1, 0], [0, -1]],
    [[0, 1], [-1, 0]],
    [[-1, 0], [0, 1]],
    [[0, 1], [1, 0]],
    [[1, 0], [0, -1]],
    [[0, -1], [-1, 0]],
];

impl Placement {
    /// The place on the card, in cells, of a place on the lattice.
    pub fn cells(&self, u: f64, v: f64) -> (f64, f64) {
        let [[a, b], [c, d]] = self.turn.map(|row| row.map(f64::from));
        (
            a * u + b * v + f64::from(self.shift[0]),
            c * u + d * v + f64::from(self.shift[1]),
        )
    }

    /// The card's dark square that a square of the lattice is.
    pub fn dark(&self, square: &Placed) -> Option<Dark> {
        let (u, v) = (f64::from(square.column) + 0.5, f64::from(square.row) + 0.5);
        let (x, y) = self.cells(u, v);
        Design::dark_at(x.floor() as i32, y.floor() as i32)
    }

    /// Whether the picture shows the card as in a mirror.
    pub fn mirrored(&self) -> bool {
        let [[a, b], [c, d]] = self.turn;
        a * d - b * c < 0
    }

    /// Finds how the lattice lies on the card; `None` when it is not the card's,
    /// or too little of it is seen to tell.
    pub fn find(gray: &Gray, lattice: &[Placed]) -> Option<Self> {
        if lattice.len() < FEWEST {
            return None;
        }
        let keys: Vec<Option<bool>> = lattice.iter().map(|p| key(gray, &p.square)).collect();
        let [keyed, plain] =
            [true, false].map(|kind| keys.iter().filter(|k| **k == Some(kind)).count());
        if keyed.min(plain) < FEWEST_OF_EACH {
            return None;
        }
        // Every pair of a seen and a printed square of one kind votes for the
        // one shift that brings them together.
        let mut votes: BTreeMap<Self, usize> = BTreeMap::new();
        for turn in TURNS {
            let unshifted = Self {
                turn,
                shift: [0, 0],
            };
            for (placed, key) in lattice.iter().zip(&keys) {
                let (u, v) = (f64::from(placed.column) + 0.5, f64::from(placed.row) + 0.5);
                let (x, y) = unshifted.cells(u, v);
                for dark in Design::dark().filter(|d| *key == Some(d.keyed)) {
                    let shift = [dark.column - x.floor() as i32, dark.row - y.floor() as i32];
                    *votes.entry(Self { turn, shift }).or_default() += 1;
                }
            }
        }
        let (best, agree) = votes.iter().max_by_key(|(_, n)| **n)?;
        let next = votes
            .iter()
            .filter(|(p, _)| *p != best)
            .map(|(_, n)| *n)
            .max()
            .unwrap_or(0);
        let wrong = keyed + plain - agree;
        (*agree >= FEWEST && wrong * ONE_WRONG_IN <= *agree && *agree >= next + LEAD)
            .then_some(*best)
    }
}

/// Whether a dark square carries a diamond; `None` where it cannot be told.
fn key(gray: &Gray, square: &Square) -> Option<bool> {
    let centre = square.centre();
    let (e1, e2) = square.axes();
    // Places in units of the half side: the diamond ends at 0.4 along the axes.
    let level = |places: &[(f64, f64)]| {
        let values: Vec<f64> = places
            .iter()
            .map(|(a, b)| {
                let p: Point<Px> = centre + e1 * (0.5 * a) + e2 * (0.5 * b);
                f64::from(gray.sample(p.x, p.y))
            })
            .collect();
        median(&values)
    };
    let cross = |r: f64| [(r, 0.0), (0.0, r), (-r, 0.0), (0.0, -r)];
    let saltire = |r: f64| [(r, r), (-r, r), (-r, -r), (r, -r)];
    let inside = level(&[&[(0.0, 0.0)], &cross(0.13)[..]].concat());
    let dark = level(&[saltire(0.62), cross(0.68)].concat());
    // The light cells beside it, not the corners, where dark ones touch.
    let light = level(&cross(1.4));
    let contrast = light - dark;
    let share = (inside - dark) / contrast;
    match share {
        _ if contrast < 20.0 => None,
        s if s < 0.3 => Some(false),
        // A small picture blurs a diamond to half its brightness.
        s if s > 0.4 => Some(true),
        _ => None,
    }
}

/// A place of the card as a point of the plane: mirrored cards are laid out
/// with y up, so that the plane's frame keeps its sense in the picture.
pub fn plane(place: [f64; 2], stretch: f64, mirrored: bool) -> Point<Mm> {
    let y = if mirrored { -place[1] } else { place[1] };
    Point::new(stretch * place[0], stretch * y)
}
