//! The photograph around a ribbon, turned so that the ribbon lies along the
//! rows: columns run along the weld, rows across it.

use super::roughness::relief;
use super::search::Ribbon;
use crate::base::geometry::{Point, Px, Vector};
use crate::base::raster::{Gray, halve};
use crate::photo::Photo;
use rayon::prelude::*;

/// Most columns. On a coupon of 100 mm a column is then a tenth of a
/// millimetre; the edges are refined in the photograph itself.
const MOST_COLUMNS: f64 = 1100.0;

/// Rows above and below the ribbon's middle, in ribbon widths: unfused bands
/// beside the torn metal can be as wide as it is, and the plates beside them
/// must be seen.
const REACH: f64 = 2.4;

/// The straightened surroundings of a ribbon.
#[derive(Clone, Debug)]
pub(super) struct Band {
    /// Luma, 0 … 255; outside the photograph its border.
    pub luma: Gray,
    /// Roughness of half as many columns and rows.
    pub rough: Gray,
    /// Pixels of the photograph a sample.
    pub step: f64,
    /// The ribbon it was laid along.
    pub ribbon: Ribbon,
    origin: Point<Px>,
}

impl Band {
    /// Lays a band along `ribbon` and beyond both its ends by `beyond` times
    /// its length, as far as the photograph goes.
    pub fn new(photo: &Photo, ribbon: Ribbon, beyond: f64) -> Self {
        let inside = |t: f64| {
            let p = ribbon.centre + ribbon.along * t;
            p.x >= 0.0 && p.y >= 0.0 && p.x <= photo.width as f64 && p.y <= photo.height as f64
        };
        let limit = |sign: f64| {
            let most = ribbon.length * (0.5 + beyond) + ribbon.width;
            let n = 200;
            let last = (1..=n)
                .take_while(|i| inside(sign * most * f64::from(*i) / f64::from(n)))
                .last();
            most * f64::from(last.unwrap_or(1)) / f64::from(n)
        };
        let (back, ahead) = (limit(-1.0), limit(1.0));
        let step = ((back + ahead) / MOST_COLUMNS)
            .max(ribbon.width / 80.0)
            .max(1.0);
        let columns = (((back + ahead) / step) as usize).max(16) & !1;
        let rows = ((2.0 * REACH * ribbon.width / step) as usize).max(16) & !1;
        let across = ribbon.along.turned();
        let origin = ribbon.centre - ribbon.along * back - across * (0.5 * rows as f64 * step);
        // The pyramid level whose samples are just finer than the band's.
        let mut level = None;
        let mut size = 1.0;
        while 2.0 * size <= step {
            level = Some(halve(level.as_ref().unwrap_or(&photo.luma)));
            size *= 2.0;
        }
        let source = level.as_ref().unwrap_or(&photo.luma);
        let mut luma = Gray::from_fn(columns, rows, |_, _| 0.0);
        luma.samples_mut()
            .par_chunks_mut(columns)
            .enumerate()
            .for_each(|(r, row)| {
                for (c, v) in row.iter_mut().enumerate() {
                    let p = place(origin, ribbon.along, step, c as f64 + 0.5, r as f64 + 0.5);
                    *v = source.sample(p.x / size, p.y / size);
                }
            });
        let rough = relief(&luma, 1, 1.0);
        Self {
            luma,
            rough,
            step,
            ribbon,
            origin,
        }
    }

    /// Where band coordinates (column, row) lie in the photograph.
    pub fn to_px(&self, column: f64, row: f64) -> Point<Px> {
        place(self.origin, self.ribbon.along, self.step, column, row)
    }

    /// Columns and rows of [`Band::luma`].
    pub fn size(&self) -> (usize, usize) {
        (self.luma.width(), self.luma.height())
    }
}

fn place(origin: Point<Px>, along: Vector<Px>, step: f64, column: f64, row: f64) -> Point<Px> {
    origin + along * (column * step) + along.turned() * (row * step)
}
