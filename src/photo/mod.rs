//! Stage 1: from a file's bytes to an upright picture and what is known of it.
//!
//! Guarantees of a [`Photo`]: upright (EXIF orientation applied), at least
//! [`SMALLEST_SIDE_PX`] on each side, within the [`Limits`], and complete: a
//! file that ends too early is refused, never filled up with grey.
//!
//! Not guaranteed: colour. Samples are taken as stored, without conversion by
//! a colour profile; a profile other than sRGB is noted.

mod checks;
mod decode;
mod format;
mod icc;
mod jpeg;
mod metadata;
mod sharpness;

pub use checks::{Checks, check, faults, precheck};
pub use format::Format;

use crate::base::raster::Gray;
use crate::record::{Code, PhotoFacts, Reason};
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Fewer pixels on a side than this is no photograph of a coupon.
pub const SMALLEST_SIDE_PX: u32 = 32;

/// An upright photograph in memory.
#[derive(Clone, Debug)]
pub struct Photo {
    /// Width after EXIF orientation, px.
    pub width: usize,
    /// Height after EXIF orientation, px.
    pub height: usize,
    /// Interleaved 8-bit sRGB, row by row, `3 · width · height` bytes.
    pub rgb: Vec<u8>,
    /// Luma (Rec. 601 weights of the stored values), 0 … 255.
    pub luma: Gray,
    /// Focal length over half the picture's diagonal as the metadata state it;
    /// `None` when they do not, or when the picture was cropped since.
    pub focal_half_diagonals: Option<f64>,
}

impl Photo {
    /// From interleaved 8-bit RGB; `None` unless the bytes are exactly
    /// `3 · width · height` and neither side is zero.
    pub fn from_rgb(width: usize, height: usize, rgb: Vec<u8>) -> Option<Self> {
        let expected = width.checked_mul(height)?.checked_mul(3)?;
        if expected == 0 || rgb.len() != expected {
            return None;
        }
        let luma = Gray::new(width, height, luma_of(&rgb));
        Some(Self {
            width,
            height,
            rgb,
            luma,
            focal_half_diagonals: None,
        })
    }
}

/// How large a photograph may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most pixels. Default: 100 million, above the cameras in common use.
    pub max_pixels: u64,
    /// Most memory for the decoder's output, the picture and its luma
    /// together, bytes. Default: 1.5 GiB, enough for `max_pixels` in 16-bit
    /// colour with alpha.
    pub max_alloc_bytes: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            max_pixels: 100_000_000,
            max_alloc_bytes: 3 << 29,
        }
    }
}

/// Why a file is not taken, with what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// What is wrong and what to do.
    pub reason: Reason,
    /// File name and hash always; size and format when known.
    pub facts: PhotoFacts,
}

/// Reads a photograph from the bytes of its file. The format is found from the
/// bytes; `file_name` is kept for the record and never trusted.
///
/// # Errors
/// [`Refused`] with `unreadable-file` (empty, damaged, cut off, no picture),
/// `unsupported-format` (a known format that is not read) or `too-large`.
///
/// # Allocations
/// About 7 bytes a pixel for the result and up to 8 more while decoding.
pub fn read(
    bytes: &[u8],
    file_name: &str,
    limits: &Limits,
) -> Result<(Photo, PhotoFacts), Box<Refused>> {
    let mut facts = PhotoFacts {
        file: file_name.to_owned(),
        sha256: sha256_hex(bytes),
        width_px: 0,
        height_px: 0,
        format: None,
        orientation: None,
        notes: Vec::new(),
        capture: BTreeMap::new(),
    };
    match read_into(bytes, limits, &mut facts) {
        Ok(photo) => Ok((photo, facts)),
        Err(reason) => Err(Box::new(Refused { reason, facts })),
    }
}

fn read_into(bytes: &[u8], limits: &Limits, facts: &mut PhotoFacts) -> Result<Photo, Reason> {
    let format = format::recognise(bytes).map_err(|reason| *reason)?;
    facts.format = Some(format.name().to_owned());
    facts.notes.extend(format::misnamed(&facts.file, format));
    if !format.is_read() {
        return Err(format::unsupported(format));
    }
    let decoded = decode::decode(bytes, format, limits, facts)?;
    Photo::from_rgb(decoded.width, decoded.height, decoded.rgb)
        .map(|photo| Photo {
            focal_half_diagonals: decoded.focal_half_diagonals,
            ..photo
        })
        .ok_or_else(|| unreadable("the decoder returned an incomplete picture"))
}

/// SHA-256 as lower-case hexadecimal digits (FIPS 180-4), as `sha256sum` prints it.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .fold(String::with_capacity(64), |mut text, byte| {
            // Writing into a string cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// A damaged file, or none at all.
pub(crate) fn unreadable(what: impl Into<String>) -> Reason {
    Reason::new(
        Code::UnreadableFile,
        what,
        "copy the file again from the camera or take a new photograph; a picture that an ordinary \
         viewer shows whole can be saved there as JPEG or PNG",
    )
}

/// Rec. 601 luma (Recommendation ITU-R BT.601, 2.5.1) of the stored values.
fn luma_of(rgb: &[u8]) -> Vec<f32> {
    const ROW: usize = 4096;
    let mut luma = vec![0.0f32; rgb.len() / 3];
    luma.par_chunks_mut(ROW)
        .zip(rgb.par_chunks(3 * ROW))
        .for_each(|(out, pixels)| {
            for (o, p) in out.iter_mut().zip(pixels.as_chunks::<3>().0) {
                *o = 0.299 * f32::from(p[0]) + 0.587 * f32::from(p[1]) + 0.114 * f32::from(p[2]);
            }
        });
    luma
}

#[cfg(test)]
mod tests;
