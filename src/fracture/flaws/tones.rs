//! The face as flaws are looked for in it: logarithm of luma against the torn
//! metal around, so that neither brightness nor a slow change of light counts.

use crate::base::numeric::median;
use crate::base::raster::{Gray, gaussian_blur};
use crate::fracture::light::Light;
use crate::fracture::strip::Strip;
use crate::fracture::zones::Zones;

/// Share of the median luma added before the logarithm (see `zones::features`).
const SHADOW_SHARE: f32 = 0.1;
/// Kept clear of the root line, mm: it is known to a few tenths, and the
/// corner's own dark line is no pore.
const CLEAR_OF_ROOT_MM: f64 = 0.3;
/// Kept clear of the far edge, mm.
const CLEAR_OF_FAR_MM: f64 = 0.25;
/// Kept clear of the weld's ends, mm: the edge of a saw cut is dark.
const CLEAR_OF_ENDS_MM: f64 = 0.3;
/// Half-length of the stretch over which the light is taken to be even, mm.
const LIGHT_MM: f64 = 4.0;
/// Spacing of the places where the light is estimated, mm.
const LIGHT_STEP_MM: f64 = 1.0;
/// Fewest samples of torn metal that an estimate rests on.
const FEWEST: usize = 200;
/// Scale of the fine gradient, mm, and its least, samples.
const FINE: (f64, f64) = (0.04, 0.6);
/// Smallest relative gradient told from none.
const LEAST_GRADIENT: f32 = 2e-3;

/// The face in logarithmic tones.
pub struct Tones {
    /// ln(luma) against the torn metal around.
    pub tone: Gray,
    /// ln(size of the fine gradient) against the torn metal's median.
    pub roughness: Gray,
    /// Whether a sample lies on the face, clear of its edges.
    pub face: Vec<bool>,
    /// Whether a sample lies in a surface that never fused.
    pub unfused: Vec<bool>,
}

impl Tones {
    /// `None` where the face shows next to nothing.
    pub fn new(strip: &Strip, zones: &Zones) -> Option<Self> {
        let (w, h, k) = (strip.columns(), strip.rows(), strip.px_per_mm);
        let cells = &zones.cells;
        let mut face = vec![false; w * h];
        let mut unfused = vec![false; w * h];
        let length = strip.length_mm();
        for i in 0..w * h {
            let (s, row) = (((i % w) as f64 + 0.5) / k, (i / w) as f64 + 0.5);
            let height = strip.height_at(row);
            face[i] = height > CLEAR_OF_ROOT_MM
                && height < strip.far_mm[i % w] - CLEAR_OF_FAR_MM
                && s > CLEAR_OF_ENDS_MM
                && s < length - CLEAR_OF_ENDS_MM
                && !strip.hidden[i];
            let at = |mm: f64, n: usize| ((mm / cells.side_mm) as usize).min(n - 1);
            let cell = at(row / k, cells.rows) * cells.columns + at(s, cells.columns);
            unfused[i] = zones.best[cell].is_some();
        }
        let of = |gray: &Gray, counts: &dyn Fn(usize) -> bool| -> Vec<f64> {
            // Every third sample: a median does not need more.
            let picked = (0..w * h).step_by(3).filter(|i| counts(*i));
            picked.map(|i| f64::from(gray.samples()[i])).collect()
        };
        let on_face = of(&strip.luma, &|i| face[i]);
        if on_face.len() < FEWEST {
            return None;
        }
        let middle = median(&on_face).max(1.0) as f32;
        let dark = SHADOW_SHARE * middle;
        let zero = (middle + dark).ln();
        let log = strip.luma.samples().iter().map(|y| (y + dark).ln() - zero);
        let mut tone = Gray::new(w, h, log.collect());
        let enough = of(&tone, &|i| face[i] && !unfused[i]).len() >= FEWEST;
        let torn = |i: usize| face[i] && (!unfused[i] || !enough);
        let light = light(&tone, k, &torn);
        for (i, t) in tone.samples_mut().iter_mut().enumerate() {
            *t -= light[i % w];
        }
        let smooth = gaussian_blur(&tone, (FINE.0 * k).max(FINE.1));
        let unit = (FINE.0 * k).max(FINE.1) as f32;
        let (gx, gy) = slopes(&smooth);
        let mut roughness = Gray::from_fn(w, h, |x, y| {
            (gx.at(x, y).hypot(gy.at(x, y)) * unit + LEAST_GRADIENT).ln()
        });
        let level = median(&of(&roughness, &torn)) as f32;
        roughness.samples_mut().iter_mut().for_each(|r| *r -= level);
        Some(Self {
            tone,
            roughness,
            face,
            unfused,
        })
    }
}

/// Slopes along s and h, per sample.
pub fn slopes(gray: &Gray) -> (Gray, Gray) {
    let (w, h) = (gray.width(), gray.height());
    let slope = |dx: usize, dy: usize| {
        Gray::from_fn(w, h, |x, y| {
            let (x0, x1) = (x.saturating_sub(dx), (x + dx).min(w - 1));
            let (y0, y1) = (y.saturating_sub(dy), (y + dy).min(h - 1));
            let steps = (x1 - x0 + y1 - y0).max(1) as f32;
            (gray.at(x1, y1) - gray.at(x0, y0)) / steps
        })
    };
    (slope(1, 0), slope(0, 1))
}

/// Median tone of the torn metal around each column.
fn light(tone: &Gray, k: f64, torn: &impl Fn(usize) -> bool) -> Vec<f32> {
    let (w, h) = (tone.width(), tone.height());
    let light = Light {
        half: (LIGHT_MM * k) as usize,
        step: (LIGHT_STEP_MM * k) as usize,
        fewest: FEWEST / 3,
    };
    light.along(w, |stretch| {
        (0..h)
            .flat_map(|r| (r * w + stretch.start..r * w + stretch.end).step_by(3))
            .filter(|i| torn(*i))
            .map(|i| f64::from(tone.samples()[i]))
            .collect()
    })
}
