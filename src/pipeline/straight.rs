//! The straightened face as the report shows it.

use crate::base::geometry::Point;
use crate::base::raster::Gray;
use crate::fracture::Strip;
use crate::report::Straightened;
use rayon::prelude::*;

/// Grey levels the strip adds before it takes a ratio of colours.
const DARK: f32 = 8.0;

/// The strip in colour, cap side up, root side down.
///
/// # Allocations
/// 3 bytes a sample.
pub(super) fn picture(strip: &Strip) -> Straightened<'_> {
    let (width, height) = (strip.columns(), strip.rows());
    let mut rgb = vec![0u8; 3 * width * height];
    rgb.par_chunks_exact_mut(3 * width)
        .enumerate()
        .for_each(|(row, line)| {
            // The strip's rows run from the root side upwards.
            let from = height - 1 - row;
            for (column, pixel) in line.chunks_exact_mut(3).enumerate() {
                let at = |raster: &Gray| raster.at(column, from);
                let colour = colour(
                    at(&strip.luma),
                    at(&strip.red_green),
                    at(&strip.yellow_blue),
                );
                pixel.copy_from_slice(&colour);
            }
        });
    Straightened {
        rgb,
        width,
        height,
        px_per_mm: strip.px_per_mm,
        top_mm: strip.height_at(height as f64),
        place: Box::new(|[x, y]| {
            let p = strip.to_straight(Point::new(x, y));
            [p.x, p.y]
        }),
    }
}

/// Colour from luma (Rec. 601) and the logarithms of red to green and of yellow
/// to blue: the strip's own equations solved for red, green and blue.
fn colour(luma: f32, red_green: f32, yellow_blue: f32) -> [u8; 3] {
    let red = red_green.exp();
    let blue = 0.5 * (red + 1.0) * (-yellow_blue).exp();
    let green = (luma + DARK) / (0.299 * red + 0.587 + 0.114 * blue);
    [red * green, green, blue * green].map(|v| (v - DARK).round() as u8) // saturates
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_comes_back() {
        for [r, g, b] in [[120.0f32, 90.0, 60.0], [0.0, 255.0, 3.0], [200.0; 3]] {
            let luma = 0.299 * r + 0.587 * g + 0.114 * b;
            let rg = ((r + DARK) / (g + DARK)).ln();
            let yb = ((0.5 * (r + g) + DARK) / (b + DARK)).ln();
            assert_eq!(colour(luma, rg, yb), [r as u8, g as u8, b as u8]);
        }
    }
}
