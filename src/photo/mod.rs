//! Stage 1: from a file's bytes to an upright picture and what is known of it.

use crate::base::raster::Gray;

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
}
