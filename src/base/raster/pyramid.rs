//! Halving by exact area means.

use super::Gray;
use rayon::prelude::*;
use std::borrow::Cow;

/// The first pyramid level with at most `most` samples, and how many samples of
/// `gray` one of its samples spans along each axis. The input itself where it
/// is small enough; a raster one sample wide or high is never made smaller.
pub fn reduced(gray: &Gray, most: usize) -> (Cow<'_, Gray>, f64) {
    let mut level = Cow::Borrowed(gray);
    let mut factor = 1.0;
    while level.width() * level.height() > most && level.width().min(level.height()) > 1 {
        level = Cow::Owned(halve(&level));
        factor *= 2.0;
    }
    (level, factor)
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reducing_stops_at_the_first_level_that_fits() {
        let gray = Gray::from_fn(64, 32, |x, _| x as f32);
        let (same, factor) = reduced(&gray, 64 * 32);
        assert_eq!((same.width(), factor), (64, 1.0));
        let (small, factor) = reduced(&gray, 200);
        assert_eq!((small.width(), small.height(), factor), (16, 8, 4.0));
        assert_eq!(small.at(0, 0), 1.5);
    }

    #[test]
    fn a_line_of_samples_is_never_reduced_away() {
        let line = Gray::from_fn(9, 1, |_, _| 1.0);
        assert_eq!(reduced(&line, 2).0.width(), 9);
    }
}
