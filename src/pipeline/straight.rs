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
    use crate::base::geometry::Px;
    use crate::fracture::face::Face;
    use crate::photo::Photo;
    use crate::scale::{self, Request, Source};

    /// A face 60 mm long and 6 mm high at 10 px/mm, hanging with its root side
    /// up and to the right: laid straight, the root is below, the red end (the
    /// photograph's right) on the left.
    #[test]
    fn the_root_side_comes_to_lie_below_in_its_own_colours() {
        let mut rgb = Vec::new();
        for y in 0..200 {
            for x in 0..700 {
                rgb.extend(match (x, y) {
                    (500.., 60..=120) => [200, 60, 40],
                    (_, 60..=120) => [40, 90, 180],
                    (_, 0..60) => [20, 20, 20],
                    _ => [230, 230, 230],
                });
            }
        }
        let photo = Photo::from_rgb(700, 200, rgb).unwrap();
        let declared = Request::of(Source::Declared { px_per_mm: 10.0 });
        let scale = scale::find(&photo, &declared).unwrap();
        let line = |y: f64| vec![Point::<Px>::new(650.0, y), Point::new(50.0, y)];
        let face = Face {
            root_px: line(60.0),
            far_px: line(120.0),
            far_doubt_px: 0.0,
            whole: true,
            side_confidence: 1.0,
        };
        let strip = Strip::new(&photo, &scale, &face).unwrap();
        let straight = picture(&strip);
        assert_eq!(straight.rgb.len(), 3 * straight.width * straight.height);
        assert!((straight.width as f64 / straight.px_per_mm - 60.0).abs() < 0.2);
        let colour = |s: f64, h: f64| {
            let column = (s * straight.px_per_mm) as usize;
            let row = ((straight.top_mm - h) * straight.px_per_mm) as usize;
            let at = 3 * (row * straight.width + column);
            [0, 1, 2].map(|i| i32::from(straight.rgb[at + i]))
        };
        let near = |found: [i32; 3], wanted: [i32; 3]| {
            found.iter().zip(wanted).all(|(f, w)| (f - w).abs() <= 2)
        };
        assert!(
            near(colour(5.0, 3.0), [200, 60, 40]),
            "{:?}",
            colour(5.0, 3.0)
        );
        assert!(near(colour(40.0, 3.0), [40, 90, 180]));
        assert!(near(colour(40.0, -0.6), [20, 20, 20]));
        assert!(near(colour(40.0, 6.6), [230, 230, 230]));
        let [s, h] = (straight.place)([550.0, 80.0]);
        assert!((s - 10.0).abs() < 0.05 && (h - 2.0).abs() < 0.05, "{s} {h}");
    }

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
