//! A part of the photograph at the size it is shown.

use rayon::prelude::*;

/// A rectangle of the photograph, px (corner of the first pixel = 0, 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Left edge.
    pub x: usize,
    /// Upper edge.
    pub y: usize,
    /// Width, ≥ 1.
    pub width: usize,
    /// Height, ≥ 1.
    pub height: usize,
}

/// Opaque RGBA bytes of `part`, `out_width × out_height`: area-averaged when it
/// shrinks, bilinear when it grows.
///
/// `rgb` is interleaved with `width` px a row; `part` lies inside of it.
pub fn resample(
    rgb: &[u8],
    width: usize,
    part: Part,
    out_width: usize,
    out_height: usize,
) -> Vec<u8> {
    let columns = taps(part.width, out_width);
    let rows = taps(part.height, out_height);
    let mut out = vec![255u8; out_width * out_height * 4];
    out.par_chunks_mut(out_width * 4)
        .zip(rows.par_iter())
        .for_each_init(
            || vec![0f32; part.width * 3],
            |sum, (line, row)| {
                sum.fill(0.0);
                for (i, &weight) in row.weights.iter().enumerate() {
                    let start = ((part.y + row.first + i) * width + part.x) * 3;
                    let source = &rgb[start..start + part.width * 3];
                    for (total, &value) in sum.iter_mut().zip(source) {
                        *total += weight * f32::from(value);
                    }
                }
                for (pixel, column) in line.chunks_exact_mut(4).zip(&columns) {
                    let mut colour = [0.5f32; 3];
                    for (i, &weight) in column.weights.iter().enumerate() {
                        let at = (column.first + i) * 3;
                        for (channel, value) in colour.iter_mut().zip(&sum[at..at + 3]) {
                            *channel += weight * value;
                        }
                    }
                    for (byte, channel) in pixel.iter_mut().zip(colour) {
                        *byte = channel as u8; // saturates
                    }
                }
            },
        );
    out
}

/// Which source pixels make one output pixel; the weights sum to 1.
struct Taps {
    first: usize,
    weights: Vec<f32>,
}

fn taps(from: usize, to: usize) -> Vec<Taps> {
    let ratio = from as f64 / to as f64;
    (0..to)
        .map(|i| {
            // A box of the output pixel's width; never narrower than a source
            // pixel, which makes it bilinear when growing.
            let centre = (i as f64 + 0.5) * ratio;
            let half = ratio.max(1.0) / 2.0;
            let (lower, upper) = (centre - half, centre + half);
            let first = lower.floor().max(0.0) as usize;
            let end = (upper.ceil() as usize).clamp(first + 1, from.max(first + 1));
            let mut weights: Vec<f32> = (first..end)
                .map(|j| {
                    let covered = upper.min(j as f64 + 1.0) - lower.max(j as f64);
                    covered.max(0.0) as f32
                })
                .collect();
            let total: f32 = weights.iter().sum();
            for weight in &mut weights {
                *weight /= total;
            }
            Taps { first, weights }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: Part = Part {
        x: 0,
        y: 0,
        width: 4,
        height: 2,
    };

    #[test]
    fn shrinking_averages_areas() {
        let gray = [0u8, 100, 200, 40, 20, 80, 220, 140];
        let rgb: Vec<u8> = gray.iter().flat_map(|v| [*v; 3]).collect();
        let out = resample(&rgb, 4, ALL, 2, 1);
        assert_eq!(out, [50, 50, 50, 255, 150, 150, 150, 255]);
    }

    #[test]
    fn the_same_size_is_the_same_picture_and_growing_stays_in_range() {
        let rgb: Vec<u8> = (0..24).map(|v| v * 10).collect();
        let same = resample(&rgb, 4, ALL, 4, 2);
        let back: Vec<u8> = same
            .chunks(4)
            .flat_map(|pixel| pixel[..3].to_vec())
            .collect();
        assert_eq!(back, rgb);
        let flat = resample(&[90; 24], 4, ALL, 11, 7);
        assert!(flat.chunks(4).all(|pixel| pixel == [90, 90, 90, 255]));
    }
}
