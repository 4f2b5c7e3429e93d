//! What a bar stands out in: brightness, or colour.

use crate::base::geometry::{Point, Px};
use crate::base::raster::Gray;
use crate::photo::Photo;
use rayon::prelude::*;
use std::borrow::Cow;

/// In what a drawing differs from its ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Lighter than the ground.
    Bright,
    /// Darker than the ground.
    Dark,
    /// More colourful than the ground, such as a red bar on grey steel.
    Coloured,
}

impl Ink {
    /// All that are looked for.
    pub const ALL: [Self; 3] = [Self::Bright, Self::Dark, Self::Coloured];

    /// As a person would say it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Bright => "bright",
            Self::Dark => "dark",
            Self::Coloured => "coloured",
        }
    }

    /// 1 where the drawing has the larger samples, −1 where the ground has.
    pub fn sign(self) -> f32 {
        if self == Self::Dark { -1.0 } else { 1.0 }
    }

    /// The raster in which it shows: luma, or the largest less the smallest of
    /// red, green and blue.
    pub fn raster(self, photo: &Photo) -> Cow<'_, Gray> {
        if self != Self::Coloured {
            return Cow::Borrowed(&photo.luma);
        }
        let mut samples = vec![0.0f32; photo.width * photo.height];
        samples
            .par_chunks_mut(photo.width)
            .zip(photo.rgb.par_chunks(3 * photo.width))
            .for_each(|(out, row)| {
                for (o, p) in out.iter_mut().zip(row.as_chunks::<3>().0) {
                    *o = f32::from(p[0].max(p[1]).max(p[2]) - p[0].min(p[1]).min(p[2]));
                }
            });
        Cow::Owned(Gray::new(photo.width, photo.height, samples))
    }

    /// A sample as the light it stands for, 0 … 1, so that half way between two
    /// is where a lens's blur has its middle (transfer function of IEC
    /// 61966-2-1, the sRGB of camera files). Colourfulness has no such law.
    pub fn light(self, sample: f64) -> f64 {
        let v = (sample / 255.0).clamp(0.0, 1.0);
        if self == Self::Coloured {
            v
        } else if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    }
}

/// Mean sample at `p` and `k` px to either side along `d`.
pub fn mean_along(gray: &Gray, p: Point<Px>, d: crate::base::geometry::Vector<Px>, k: i32) -> f64 {
    let sum: f64 = (-k..=k)
        .map(|i| {
            let q = p + d * f64::from(i);
            f64::from(gray.sample(q.x, q.y))
        })
        .sum();
    sum / f64::from(2 * k + 1)
}
