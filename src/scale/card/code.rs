//! The QR code beside the ring.
//!
//! Its place is known from the ring, so each module is looked at where it must
//! lie. Only where that gives no code is the picture searched for one.

use super::design::Design;
use crate::base::geometry::{Mm, Point, Px};
use crate::base::numeric::quantile;
use crate::base::raster::reduced;
use crate::photo::Photo;
use crate::scale::PlaneMap;
use rqrr::{BitGrid, Grid, PreparedImage};

/// What became of the code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Code {
    /// It was read; the coupon's name, if the card carries one.
    Read(Option<String>),
    /// It lies in the picture but cannot be read.
    Unreadable,
    /// It lies outside the picture.
    OutOfPicture,
}

/// Fewest modules along a side (version 1), and how many a version adds.
const LEAST_MODULES: usize = 21;
const MODULES_A_VERSION: usize = 4;
/// Samples of the picture that is searched.
const SEARCH_SAMPLES: usize = 3_200_000;

/// Reads the code. `on_plane` puts a place of the card on the plane of `map`.
pub fn read(photo: &Photo, map: &PlaneMap, on_plane: impl Fn([f64; 2]) -> Point<Mm>) -> Code {
    let [left, top, side, _] = Design::CODE;
    let place = |u: f64, v: f64| map.to_px(on_plane([left + u * side, top + v * side]));
    let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(u, v)| place(u, v));
    if !corners.iter().all(|p| photo.luma.covers(p.x, p.y)) {
        return Code::OutOfPicture;
    }
    let sampled = (LEAST_MODULES..=Design::MOST_MODULES)
        .step_by(MODULES_A_VERSION)
        .find_map(|size| {
            let modules = Modules::sample(size, |u, v| {
                let p = place(u, v);
                f64::from(photo.luma.sample(p.x, p.y))
            });
            let (_, text) = Grid::new(modules).decode().ok()?;
            Design::coupon_in(&text)
        });
    match sampled.or_else(|| search(photo, place(0.5, 0.5), corners[0].distance(corners[2]))) {
        Some(name) => Code::Read(name),
        None => Code::Unreadable,
    }
}

/// Searches the whole picture for a code of a card; one that lies elsewhere
/// than this card's is another card's.
fn search(photo: &Photo, centre: Point<Px>, diagonal_px: f64) -> Option<Option<String>> {
    let (small, factor) = reduced(&photo.luma, SEARCH_SAMPLES);
    let mut image = PreparedImage::prepare_from_greyscale(small.width(), small.height(), |x, y| {
        small.at(x, y) as u8
    });
    image.detect_grids().iter().find_map(|grid| {
        let (sx, sy) = grid.bounds.iter().fold((0.0, 0.0), |(x, y), p| {
            (x + 0.25 * f64::from(p.x), y + 0.25 * f64::from(p.y))
        });
        let at = Point::new(sx * factor, sy * factor);
        if at.distance(centre) > 0.25 * diagonal_px {
            return None;
        }
        let (_, text) = grid.decode().ok()?;
        Design::coupon_in(&text)
    })
}

/// The modules of a code of known size.
struct Modules {
    size: usize,
    dark: Vec<bool>,
}

impl Modules {
    /// `level(u, v)` is the brightness at a place of the code, both 0 to 1.
    fn sample(size: usize, level: impl Fn(f64, f64) -> f64) -> Self {
        let n = size as f64;
        let levels: Vec<f64> = (0..size * size)
            .map(|i| {
                let (x, y) = ((i % size) as f64, (i / size) as f64);
                // The middle third of the module, its corners and centre.
                [
                    (0.5, 0.5),
                    (0.35, 0.35),
                    (0.65, 0.35),
                    (0.35, 0.65),
                    (0.65, 0.65),
                ]
                .iter()
                .map(|(a, b)| level((x + a) / n, (y + b) / n))
                .sum::<f64>()
                    / 5.0
            })
            .collect();
        let cut = 0.5 * (quantile(&levels, 0.05) + quantile(&levels, 0.95));
        Self {
            size,
            dark: levels.iter().map(|v| *v < cut).collect(),
        }
    }
}

impl BitGrid for Modules {
    fn size(&self) -> usize {
        self.size
    }

    fn bit(&self, y: usize, x: usize) -> bool {
        self.dark[y * self.size + x]
    }
}
