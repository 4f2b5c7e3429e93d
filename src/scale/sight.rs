//! One photograph as the searches for references see it: what several of them
//! need is made once, when first asked for.

use super::chequer::squares::{self, Square};
use crate::base::raster::{Gray, reduced};
use crate::photo::Photo;
use std::borrow::Cow;
use std::cell::OnceCell;

/// Ticks are looked for on at most this many samples: half millimetres are some
/// samples apart still when a hand's breadth fills the picture.
const TICK_SAMPLES: usize = 3_200_000;
/// Squares are looked for on at most this many samples.
const SQUARE_SAMPLES: usize = 1_950_000;

/// A photograph and what was found in it so far.
pub struct Sight<'a> {
    /// The photograph.
    pub photo: &'a Photo,
    small: OnceCell<(Cow<'a, Gray>, f64)>,
    squares: OnceCell<Vec<Square>>,
}

impl<'a> Sight<'a> {
    /// Nothing is looked for yet.
    pub fn new(photo: &'a Photo) -> Self {
        Self {
            photo,
            small: OnceCell::new(),
            squares: OnceCell::new(),
        }
    }

    /// The luma reduced for the search for ticks, and how many px one of its
    /// samples spans.
    pub fn small(&self) -> (&Gray, f64) {
        let (small, factor) = self
            .small
            .get_or_init(|| reduced(&self.photo.luma, TICK_SAMPLES));
        (small, *factor)
    }

    /// All dark squares of the picture.
    pub fn squares(&self) -> &[Square] {
        self.squares.get_or_init(|| {
            let (small, factor) = self.small();
            let (smaller, further) = reduced(small, SQUARE_SAMPLES);
            squares::find(&self.photo.luma, &smaller, factor * further)
        })
    }
}
