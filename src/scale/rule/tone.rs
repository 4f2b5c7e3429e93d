//! Samples between pixels, by the million.

use crate::base::raster::Gray;

/// [`Gray::sample`] at (x, y), without its care for the border where there is
/// none near.
#[inline]
pub fn tone(gray: &Gray, x: f64, y: f64) -> f64 {
    let (width, height) = (gray.width(), gray.height());
    let (u, v) = (x - 0.5, y - 0.5);
    let inside = u >= 0.0 && v >= 0.0 && u < (width - 1) as f64 && v < (height - 1) as f64;
    if !inside {
        return f64::from(gray.sample(x, y));
    }
    // 32 bits are enough for a place inside and convert fast.
    let (column, row) = (u as i32, v as i32);
    let (fx, fy) = ((u - f64::from(column)) as f32, (v - f64::from(row)) as f32);
    let at = row as usize * width + column as usize;
    let samples = gray.samples();
    let (above, below) = (&samples[at..at + 2], &samples[at + width..at + width + 2]);
    let top = above[0] * (1.0 - fx) + above[1] * fx;
    let bottom = below[0] * (1.0 - fx) + below[1] * fx;
    f64::from(top * (1.0 - fy) + bottom * fy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_bilinear_sample_everywhere() {
        let gray = Gray::from_fn(7, 5, |x, y| ((x * 31 + y * 57) % 101) as f32);
        for i in -20..100 {
            for j in -20..80 {
                let (x, y) = (f64::from(i) * 0.09, f64::from(j) * 0.083);
                assert_eq!(
                    tone(&gray, x, y),
                    f64::from(gray.sample(x, y)),
                    "({x}, {y})"
                );
            }
        }
    }
}
