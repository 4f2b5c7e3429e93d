//! The scale card as printed: the PDF page itself, its operators carried out one
//! by one, laid on a bench and photographed by the simulated camera. Knows
//! nothing of the analysis code, nor of the design: only what is in the file.
use super::references::View;
use image::{GrayImage, Luma};
use std::sync::Arc;
use tiny_skia::{Color, FillRule, Paint, PathBuilder, Pixmap, Transform};
use toeline::base::raster::Gray;
use toeline::photo::Photo;

/// Upper left corner of the ring on an A4 page, mm, as measured on the page.
pub const RING_ON_A4_MM: [f64; 2] = [37.5, 20.0];
/// The card to be cut out, from the ring's corner, mm: left, top, right, bottom.
pub const SHEET_MM: [f64; 4] = [-8.0, -8.0, 143.0, 105.0];
/// Samples a millimetre of the page's raster.
pub const PAGE_PX_PER_MM: f64 = 20.0;
const INK: f64 = 35.0;
const PAPER: f64 = 215.0;

/// What stands between two words of a file that is known to hold them.
fn between<'a>(bytes: &'a [u8], before: &str, after: &str) -> &'a [u8] {
    let find = |bytes: &[u8], word: &str| {
        bytes
            .windows(word.len())
            .position(|w| w == word.as_bytes())
            .unwrap_or_else(|| panic!("no '{word}' in the file"))
    };
    let rest = &bytes[find(bytes, before) + before.len()..];
    &rest[..find(rest, after)]
}

/// A PDF page of ours.
pub struct Page {
    operators: String,
    /// Width and height, points.
    pub size_pt: [f64; 2],
}

impl Page {
    /// Reads the file of one page.
    pub fn read(pdf: &[u8]) -> Self {
        let numbers = |text: &[u8]| -> Vec<f64> {
            String::from_utf8_lossy(text)
                .split_whitespace()
                .map(|word| word.parse().expect("a number"))
                .collect()
        };
        assert_eq!(numbers(between(pdf, "/Count ", "\n")), [1.0], "one page");
        let sides = numbers(between(pdf, "/MediaBox [", "]"));
        Self {
            operators: String::from_utf8(between(pdf, "stream\n", "endstream").to_vec())
                .expect("operators in plain text"),
            size_pt: [sides[2] - sides[0], sides[3] - sides[1]],
        }
    }

    /// The page as a raster, ink 1, paper 0.
    pub fn raster(&self) -> Gray {
        let k = PAGE_PX_PER_MM * 25.4 / 72.0;
        let [width, height] = self.size_pt.map(|pt| (pt * k).round() as u32);
        let mut pixmap = Pixmap::new(width, height).expect("a page");
        pixmap.fill(Color::WHITE);
        let ink = Paint {
            anti_alias: true,
            ..Paint::default()
        };
        let k = k as f32;
        // Points, y up, to samples, y down.
        let mut now = Transform::from_row(k, 0.0, 0.0, -k, 0.0, height as f32);
        let mut kept = Vec::new();
        let mut path = PathBuilder::new();
        let mut operands: Vec<f32> = Vec::new();
        for word in self.operators.split_whitespace() {
            if let Ok(number) = word.parse() {
                operands.push(number);
                continue;
            }
            match (word, operands.as_slice()) {
                ("q", []) => kept.push(now),
                ("Q", []) => now = kept.pop().expect("q before Q"),
                ("cm", &[a, b, c, d, e, f]) => {
                    now = now.pre_concat(Transform::from_row(a, b, c, d, e, f));
                }
                ("g", &[0.0]) => {}
                ("m", &[x, y]) => path.move_to(x, y),
                ("l", &[x, y]) => path.line_to(x, y),
                ("c", &[a, b, c, d, x, y]) => path.cubic_to(a, b, c, d, x, y),
                ("re", &[x, y, w, h]) => {
                    path.move_to(x, y);
                    path.line_to(x + w, y);
                    path.line_to(x + w, y + h);
                    path.line_to(x, y + h);
                    path.close();
                }
                ("h", []) => path.close(),
                ("f", []) => {
                    let shape = std::mem::replace(&mut path, PathBuilder::new()).finish();
                    if let Some(shape) = shape {
                        pixmap.fill_path(&shape, &ink, FillRule::Winding, now, None);
                    }
                }
                other => panic!("an operator nobody expects: {other:?}"),
            }
            operands.clear();
        }
        let pixels = pixmap.pixels();
        Gray::from_fn(width as usize, height as usize, |x, y| {
            1.0 - f32::from(pixels[y * width as usize + x].red()) / 255.0
        })
    }
}

/// A card on a bench.
#[derive(Clone)]
pub struct Bench {
    page: Arc<Gray>,
    /// Brightness of the bench.
    pub level: f64,
    /// How many times its size the card was printed.
    pub printed: f64,
    /// What lies on the card, from the ring's corner, mm: left, top, right, bottom.
    pub covered: Vec<[f64; 4]>,
    /// Part of the card that is smudged to grey, likewise.
    pub smudged: Option<[f64; 4]>,
}

impl Bench {
    /// A card printed on A4, cut out, on a dark bench.
    pub fn with(pdf: &[u8]) -> Self {
        Self {
            page: Arc::new(Page::read(pdf).raster()),
            level: 70.0,
            printed: 1.0,
            covered: Vec::new(),
            smudged: None,
        }
    }

    /// Brightness at a place of the bench, mm from the ring's corner.
    pub fn tone(&self, u: f64, v: f64) -> f64 {
        let within = |[left, top, right, bottom]: [f64; 4], u: f64, v: f64| {
            (left..=right).contains(&u) && (top..=bottom).contains(&v)
        };
        if self.covered.iter().any(|area| within(*area, u, v)) {
            // A ground face: grey with fine lines.
            return 130.0 + 12.0 * (3.0 * u + 0.4 * v).sin();
        }
        let (u, v) = (u / self.printed, v / self.printed);
        if !within(SHEET_MM, u, v) {
            return self.level + 8.0 * (0.31 * u).sin() * (0.23 * v).cos();
        }
        if self.smudged.is_some_and(|area| within(area, u, v)) {
            return 0.5 * (INK + PAPER);
        }
        let ink = f64::from(self.page.sample(
            (u + RING_ON_A4_MM[0]) * PAGE_PX_PER_MM,
            (v + RING_ON_A4_MM[1]) * PAGE_PX_PER_MM,
        ));
        PAPER + ink * (INK - PAPER)
    }
}

/// The camera: pose, lens, blur.
#[derive(Clone, Copy, Debug)]
pub struct Camera {
    pub view: View,
    /// Place of the card where the optical axis meets it, mm from the ring's corner.
    pub aim: [f64; 2],
    /// Radial shift at the picture's corner, relative.
    pub kappa: f64,
    /// Standard deviation of the blur, px.
    pub blur_px: f64,
    /// Seen in a mirror.
    pub mirrored: bool,
}

impl Camera {
    /// Place on the card of a place in the picture, mm from the ring's corner.
    pub fn to_mm(self, x: f64, y: f64) -> (f64, f64) {
        let (w, h) = (self.view.width as f64, self.view.height as f64);
        let x = if self.mirrored { w - x } else { x };
        let (dx, dy) = (x - 0.5 * w, y - 0.5 * h);
        let k = 1.0 + self.kappa * (dx * dx + dy * dy) / (0.25 * (w * w + h * h));
        let (u, v) = self.view.to_mm(0.5 * w + k * dx, 0.5 * h + k * dy);
        (u + self.aim[0], v + self.aim[1])
    }

    /// Local scale, px/mm: square root of the area ratio.
    pub fn px_per_mm_at(&self, x: f64, y: f64) -> f64 {
        let (o, r, d) = (
            self.to_mm(x, y),
            self.to_mm(x + 1.0, y),
            self.to_mm(x, y + 1.0),
        );
        let area = (r.0 - o.0) * (d.1 - o.1) - (r.1 - o.1) * (d.0 - o.0);
        1.0 / area.abs().sqrt()
    }

    /// The photograph of `tone`.
    pub fn photograph(&self, tone: impl Fn(f64, f64) -> f64) -> Photo {
        let (width, height) = (self.view.width, self.view.height);
        let mut sharp = GrayImage::new(width as u32, height as u32);
        for (x, y, pixel) in sharp.enumerate_pixels_mut() {
            let mut sum = 0.0;
            for i in 0..3 {
                for j in 0..3 {
                    let (u, v) = self.to_mm(
                        f64::from(x) + (f64::from(i) + 0.5) / 3.0,
                        f64::from(y) + (f64::from(j) + 0.5) / 3.0,
                    );
                    sum += tone(u, v);
                }
            }
            *pixel = Luma([(sum / 9.0).clamp(0.0, 255.0).round() as u8]);
        }
        let soft = match self.blur_px {
            s if s > 0.0 => imageproc::filter::gaussian_blur_f32(&sharp, s as f32),
            _ => sharp,
        };
        let mut state = 0x2545_f491_4f6c_dd1du64;
        let luma = Gray::from_fn(width, height, |x, y| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let noise = (state >> 40) as f64 / (1u64 << 24) as f64 * 2.0 - 1.0;
            let level = f64::from(soft.get_pixel(x as u32, y as u32).0[0]);
            (level + noise * self.view.noise).clamp(0.0, 255.0).round() as f32
        });
        let rgb = luma.samples().iter().flat_map(|v| [*v as u8; 3]).collect();
        Photo {
            width,
            height,
            rgb,
            luma,
            focal_half_diagonals: None,
        }
    }
}
