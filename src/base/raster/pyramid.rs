//! Halving by exact area means.

use super::Gray;
use rayon::prelude::*;

/// Half the size: each sample is the mean of 2 × 2; an odd last column or row
/// is dropped (a side of one sample is kept). A place (x, y) of the input is
/// (x / 2, y / 2) of the output.
pub fn halve(gray: &Gray) -> Gray {
    let (w, h) = ((gray.width() / 2).max(1), (gray.height() / 2).max(1));
    let (right, below) = (
        usize::from(gray.width() > 1),
        usize::from(gray.height() > 1),
    );
    let mut samples = vec![0.0; w * h];
    samples.par_chunks_mut(w).enumerate().for_each(|(y, out)| {
        let (a, b) = (gray.row(2 * y), gray.row(2 * y + below));
        for (x, o) in out.iter_mut().enumerate() {
            *o = 0.25 * (a[2 * x] + a[2 * x + right] + b[2 * x] + b[2 * x + right]);
        }
    });
    Gray::new(w, h, samples)
}
