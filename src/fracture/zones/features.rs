//! What each small cell of the straightened face looks like.
//!
//! Torn metal is rough at every scale; a surface that never fused (machined,
//! rolled, or the skin of a bead) is smooth, or streaked one way. Gradients are
//! taken of the logarithm of luma, so that brighter light changes nothing, and
//! summed up by *medians* over small windows: a single bright edge, such as the
//! step at a zone's border, then does not make its neighbourhood look rough.

use crate::base::geometry::Point;
use crate::base::raster::{Gray, gaussian_blur};
use crate::fracture::figures::Grid;
use crate::fracture::outline::outline;
use crate::fracture::strip::{Straight, Strip};
use rayon::prelude::*;

/// Side of a cell, mm: half the smallest flaw looked for.
const CELL_MM: f64 = 0.1;

/// Scale of the fine gradient, mm (never below [`LEAST_SIGMA_PX`]).
const FINE_MM: f64 = 0.04;

/// Scale of the coarse gradient, mm.
const COARSE_MM: f64 = 0.1;

/// Below this a derivative filter no longer differs from pixel differences.
const LEAST_SIGMA_PX: f64 = 0.6;

/// Scale over which colour is averaged, mm.
const TONE_MM: f64 = 0.12;

/// Share of the face's median luma that is added before the logarithm: what a
/// shadow still reflects, so that noise in shadows does not look rough.
const SHADOW_SHARE: f32 = 0.1;

/// Smallest relative gradient told from none, a sample.
const LEAST_GRADIENT: f32 = 2e-3;

/// Cells further outside the face than this are not looked at, mm.
const LOOK_MM: f64 = 0.3;

/// The edge of the face is left out of every window by this much, mm: the
/// width of the dark or bright line along a corner.
const EDGE_MM: f64 = 0.1;

/// What one cell looks like. Sizes are natural logarithms.
#[derive(Clone, Copy, Debug, Default)]
pub struct Look {
    /// Median size of the fine gradient along s, over a long low window: torn
    /// metal has it everywhere, a streaked surface only across its streaks.
    pub streak: f32,
    /// Median size of the fine gradient, any direction.
    pub fine: f32,
    /// Spread of tone (15 to 85 per cent) over half a millimetre.
    pub spread: f32,
    /// Median tone over a long low window, against the face's median.
    pub tone: f32,
    /// ln(yellow / blue): falls with blue oxide tints.
    pub yellow_blue: f32,
    /// How far the coarse gradient runs one way, 0 … 1.
    pub coherence: f32,
}

/// The face in cells.
#[derive(Clone, Debug)]
pub struct Cells {
    /// Columns, along s.
    pub columns: usize,
    /// Rows, along h.
    pub rows: usize,
    /// Side of a cell, mm.
    pub side_mm: f64,
    /// h of the first row's lower border, mm.
    pub low_mm: f64,
    /// Whether the cell's centre lies on the face and shows metal.
    pub inside: Vec<bool>,
    /// What each cell looks like, row by row.
    pub looks: Vec<Look>,
}

impl Cells {
    /// Looks at every cell of the strip.
    pub fn new(strip: &Strip) -> Self {
        let k = strip.px_per_mm;
        let columns = (strip.columns() as f64 / (CELL_MM * k)) as usize;
        let rows = (strip.rows() as f64 / (CELL_MM * k)) as usize;
        let mut cells = Self {
            columns,
            rows,
            side_mm: CELL_MM,
            low_mm: strip.height_at(0.0),
            inside: vec![false; columns * rows],
            looks: vec![Look::default(); columns * rows],
        };
        for i in 0..columns * rows {
            let (c, r) = (i % columns, i / columns);
            let h = cells.height(r);
            let (x, y) = cells.sample(strip, i);
            cells.inside[i] =
                h > 0.0 && h < strip.far_at(cells.s(c)) && !strip.hidden[y * strip.columns() + x];
        }
        let log = log_luma(strip, &cells);
        let sigma = |mm: f64| (mm * k).max(LEAST_SIGMA_PX);
        let fine = Gradient::new(&log, sigma(FINE_MM));
        let coherence = coherence(&log, sigma(COARSE_MM));
        let yellow_blue = gaussian_blur(&strip.yellow_blue, TONE_MM * k);
        let level = Bytes::new(&log, |v| (v * STEPS + 128.0).clamp(0.0, 255.0) as u8);
        let half = |mm: f64| ((0.5 * mm * k).round() as usize).max(1);
        cells.looks = (0..columns * rows)
            .into_par_iter()
            .map_init(Vec::new, |scratch, i| {
                let (x, y) = cells.sample(strip, i);
                let h = cells.height(i / columns);
                let far = strip.far_at(cells.s(i % columns));
                if h < -LOOK_MM || h > far + LOOK_MM {
                    return Look::default();
                }
                // Windows keep to the face: the smooth plate beyond its edges
                // must not make the first tenths of a millimetre look smooth.
                let row = |h: f64| strip.row_at(h).clamp(0.0, strip.rows() as f64) as usize;
                let bounds = if far > 4.0 * EDGE_MM {
                    (row(EDGE_MM), row(far - EDGE_MM))
                } else {
                    (0, strip.rows())
                };
                let mut at = |bytes: &Bytes, s: f64, h: f64, q: &[f64]| {
                    bytes.gather(
                        scratch,
                        &Window::around((x, y), (half(s), half(h)), bytes, bounds),
                    );
                    q.iter().fold(0.0, |last, q| quantile(scratch, *q) - last)
                };
                Look {
                    streak: at(&fine.along, 1.6, 0.3, &[0.5]) / STEPS,
                    fine: at(&fine.size, 0.6, 0.5, &[0.5]) / STEPS,
                    spread: at(&level, 0.6, 0.4, &[0.15, 0.85]) / STEPS,
                    tone: (at(&level, 1.6, 0.3, &[0.5]) - 128.0) / STEPS,
                    yellow_blue: yellow_blue.at(x, y),
                    coherence: coherence.at(x, y),
                }
            })
            .collect();
        cells
    }

    /// The strip's sample at a cell's centre, (column, row).
    fn sample(&self, strip: &Strip, cell: usize) -> (usize, usize) {
        let at = |i: usize, n: usize| {
            (((i as f64 + 0.5) * self.side_mm * strip.px_per_mm) as usize).min(n - 1)
        };
        (
            at(cell % self.columns, strip.columns()),
            at(cell / self.columns, strip.rows()),
        )
    }

    /// How the cells are laid out.
    pub fn grid(&self) -> Grid {
        Grid {
            columns: self.columns,
            side_mm: self.side_mm,
            low_mm: self.low_mm,
        }
    }

    /// Outline of a connected set of cells.
    pub fn outline(&self, part: &[usize]) -> Vec<Point<Straight>> {
        let side = self.side_mm;
        outline(self.columns, part, |x, y| {
            Point::new(x * side, self.low_mm + y * side)
        })
    }

    /// s of a column's centre, mm.
    pub fn s(&self, column: usize) -> f64 {
        (column as f64 + 0.5) * self.side_mm
    }

    /// h of a row's centre, mm.
    pub fn height(&self, row: usize) -> f64 {
        self.low_mm + (row as f64 + 0.5) * self.side_mm
    }
}

/// ln(luma + shadow), 0 at the face's median.
pub fn log_luma(strip: &Strip, cells: &Cells) -> Gray {
    let on_face: Vec<f64> = (0..cells.inside.len())
        .filter(|i| cells.inside[*i])
        .map(|i| {
            let (x, y) = cells.sample(strip, i);
            f64::from(strip.luma.at(x, y))
        })
        .collect();
    let median = crate::base::numeric::median(&on_face);
    let median = if median.is_finite() {
        median.max(1.0) as f32
    } else {
        128.0
    };
    let dark = SHADOW_SHARE * median;
    let zero = (median + dark).ln();
    let samples = strip
        .luma
        .samples()
        .par_iter()
        .map(|y| (y + dark).ln() - zero);
    Gray::new(strip.columns(), strip.rows(), samples.collect())
}

/// Steps of a byte per unit of a logarithm.
const STEPS: f32 = 32.0;

/// The fine gradient as bytes of the logarithm of its size.
struct Gradient {
    size: Bytes,
    along: Bytes,
}

impl Gradient {
    fn new(log: &Gray, sigma: f64) -> Self {
        let (gx, gy) = slopes(log, sigma);
        let byte =
            |g: f32| ((g + LEAST_GRADIENT).ln() * STEPS + 7.0 * STEPS).clamp(0.0, 255.0) as u8;
        Self {
            size: Bytes::new(&combined(&gx, &gy, f32::hypot), byte),
            along: Bytes::new(&gx, |g| byte(g.abs())),
        }
    }
}

/// Slopes along s and h of the raster smoothed by `sigma` samples, per `sigma`.
fn slopes(log: &Gray, sigma: f64) -> (Gray, Gray) {
    let smooth = gaussian_blur(log, sigma);
    let (w, h) = (smooth.width(), smooth.height());
    let slope = |dx: usize, dy: usize| {
        Gray::from_fn(w, h, |x, y| {
            let (x0, x1) = (x.saturating_sub(dx), (x + dx).min(w - 1));
            let (y0, y1) = (y.saturating_sub(dy), (y + dy).min(h - 1));
            0.5 * sigma as f32 * (smooth.at(x1, y1) - smooth.at(x0, y0))
        })
    };
    (slope(1, 0), slope(0, 1))
}

fn combined(a: &Gray, b: &Gray, f: impl Fn(f32, f32) -> f32) -> Gray {
    Gray::from_fn(a.width(), a.height(), |x, y| f(a.at(x, y), b.at(x, y)))
}

/// How far the gradient runs one way, 0 (all ways alike) … 1 (streaks): from
/// the structure tensor (Bigün and Granlund, 1987).
fn coherence(log: &Gray, sigma: f64) -> Gray {
    let (gx, gy) = slopes(log, sigma);
    let wide = |g: Gray| gaussian_blur(&g, 3.0 * sigma);
    let (xx, yy) = (
        wide(combined(&gx, &gx, |a, b| a * b)),
        wide(combined(&gy, &gy, |a, b| a * b)),
    );
    let xy = wide(combined(&gx, &gy, |a, b| a * b));
    Gray::from_fn(gx.width(), gx.height(), |x, y| {
        let (a, b, c) = (xx.at(x, y), xy.at(x, y), yy.at(x, y));
        (a - c).hypot(2.0 * b) / (a + c + LEAST_GRADIENT * LEAST_GRADIENT)
    })
}

/// A raster of bytes for order statistics over windows.
struct Bytes {
    width: usize,
    samples: Vec<u8>,
}

impl Bytes {
    fn new(gray: &Gray, byte: impl Fn(f32) -> u8) -> Self {
        Self {
            width: gray.width(),
            samples: gray.samples().iter().map(|v| byte(*v)).collect(),
        }
    }

    /// The samples of a window; of a large window every second sample of a
    /// row, which changes a median by less than its own scatter.
    fn gather(&self, out: &mut Vec<u8>, window: &Window) {
        let (x0, x1) = window.x;
        let step = if x1 - x0 > 10 { 2 } else { 1 };
        out.clear();
        for row in window.y.0..window.y.1 {
            let samples = &self.samples[row * self.width + x0..row * self.width + x1];
            out.extend(samples.iter().step_by(step));
        }
    }
}

/// The `q`-quantile; reorders the values.
fn quantile(values: &mut [u8], q: f64) -> f32 {
    let at = (q * (values.len() - 1) as f64).round() as usize;
    f32::from(*values.select_nth_unstable(at).1)
}

/// A window of samples: half-open ranges, never empty.
struct Window {
    x: (usize, usize),
    y: (usize, usize),
}

impl Window {
    /// Half-widths `half` around `centre`, pushed into the raster along s and
    /// into `bounds` along h.
    fn around(
        (x, y): (usize, usize),
        half: (usize, usize),
        raster: &Bytes,
        bounds: (usize, usize),
    ) -> Self {
        let range = |centre: usize, half: usize, (low, high): (usize, usize)| {
            let size = (2 * half + 1).min(high - low);
            let first = centre.saturating_sub(half).clamp(low, high - size);
            (first, first + size)
        };
        Self {
            x: range(x, half.0, (0, raster.width)),
            y: range(y, half.1, bounds),
        }
    }
}
