//! Whether the far edge of the face is seen where a zone touches it.
//!
//! A side wall that never fused ends at a corner: the break left the weld
//! there, and the cap or the groove goes on beyond it another way. The corner
//! shows as a dark or bright line, or the surface on its two sides is not
//! equally rough. Where neither is so, the same surface goes on across the
//! supposed edge, and it is the edge that lies wrong: what looks smooth inside
//! is the cap.

use super::features::Cells;
use crate::base::numeric::median;
use crate::base::raster::Gray;
use crate::fracture::strip::Strip;

/// How far from the edge its line may lie, mm.
const LINE_MM: f64 = 0.15;
/// The surfaces on its two sides are looked at from there to here, mm.
const SIDE_MM: f64 = 0.4;
/// Their roughness from there to here, mm.
const ROUGH_MM: f64 = 0.55;
/// Steps across the edge, mm.
const STEP_MM: f64 = 0.05;
/// Half-length along the weld over which tone is averaged, mm: grains change
/// from place to place, the edge does not.
const ALONG_MM: f64 = 0.3;

/// A line this much darker or brighter than both sides is surely one,
/// ln(luma) …
const CLEAR_LINE: f64 = 0.05;
/// … and so is a change of roughness by this much, in units of its logarithm:
/// one and a half times as rough.
const CLEAR_CHANGE: f64 = 0.5;
/// Change of tone from sample to sample that is sensor noise, ln(luma).
const NOISE: f64 = 0.003;
/// Least and most that a corner counts, in units of a clear one.
const BOUNDS: (f64, f64) = (-0.5, 1.5);

/// How clearly a corner is seen at the far edge above the given columns of
/// cells, 1 when clearly; `log` is ln(luma) of the strip.
pub fn corner(strip: &Strip, cells: &Cells, log: &Gray, columns: &[usize]) -> f64 {
    let k = strip.px_per_mm;
    let (w, h) = (log.width(), log.height());
    let along = (ALONG_MM * k) as usize;
    let row = |height: f64| strip.row_at(height).clamp(0.0, (h - 1) as f64) as usize;
    let mut lines = Vec::with_capacity(columns.len());
    let (mut inside, mut outside) = (Vec::new(), Vec::new());
    for c in columns {
        let s = cells.s(*c);
        let far = strip.far_at(s);
        let x = ((s * k) as usize).min(w - 1);
        let (from, to) = (x.saturating_sub(along), (x + along + 1).min(w));
        let tone = |d: f64| {
            let y = row(far + d);
            let sum: f64 = (from..to).map(|x| f64::from(log.at(x, y))).sum();
            sum / (to - from) as f64
        };
        let side = |sign: f64| {
            let n = ((SIDE_MM - LINE_MM) / STEP_MM).round() as usize;
            let tones = (0..=n).map(|i| tone(sign * (LINE_MM + i as f64 * STEP_MM)));
            tones.sum::<f64>() / (n + 1) as f64
        };
        let (below, above) = (side(-1.0), side(1.0));
        let reach = (LINE_MM / STEP_MM).round() as i32;
        let (darkest, brightest) = (-reach..=reach)
            .map(|i| tone(f64::from(i) * STEP_MM))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| {
                (low.min(t), high.max(t))
            });
        lines.push((below.min(above) - darkest).max(brightest - below.max(above)));
        for (sign, out) in [(-1.0, &mut inside), (1.0, &mut outside)] {
            let ends = [row(far + sign * LINE_MM), row(far + sign * ROUGH_MM)];
            for y in ends[0].min(ends[1])..=ends[0].max(ends[1]) {
                let steps = x.saturating_sub(2)..(x + 3).min(w - 1);
                out.extend(steps.map(|x| f64::from((log.at(x + 1, y) - log.at(x, y)).abs())));
            }
        }
    }
    let change = ((median(&inside) + NOISE) / (median(&outside) + NOISE)).ln();
    let clear = (median(&lines) / CLEAR_LINE).max(change / CLEAR_CHANGE);
    clear.clamp(BOUNDS.0, BOUNDS.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Point;
    use crate::fracture::face::Face;
    use crate::fracture::zones::features::log_luma;
    use crate::photo::Photo;
    use crate::scale::{self, Request, Source};

    const FAR: usize = 60;

    /// How clearly the far edge is seen on a face 40 mm long and 6 mm high at
    /// 20 px/mm; `tone` gives luma by distance above that edge, px, and chance.
    fn seen(tone: impl Fn(i64, f64) -> f64) -> f64 {
        let (w, h) = (800, 220);
        let mut state = 7u64;
        let mut rgb = Vec::new();
        for y in 0..h {
            for _ in 0..w {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                let chance = (state >> 33) as f64 / f64::from(1u32 << 31) - 0.5;
                let v = tone(FAR as i64 - y as i64, chance).clamp(0.0, 255.0) as u8;
                rgb.extend([v; 3]);
            }
        }
        let photo = Photo::from_rgb(w, h, rgb).unwrap();
        let declared = Request::of(Source::Declared { px_per_mm: 20.0 });
        let scale = scale::find(&photo, &declared).unwrap();
        let line = |y: f64| vec![Point::new(0.0, y), Point::new(800.0, y)];
        let face = Face {
            root_px: line(FAR as f64 + 120.0),
            far_px: line(FAR as f64),
            far_doubt_px: 0.0,
            whole: true,
            side_confidence: 1.0,
        };
        let strip = Strip::new(&photo, &scale, &face).unwrap();
        let cells = Cells::new(&strip);
        let log = log_luma(&strip, &cells);
        let columns: Vec<usize> = (50..150).collect();
        corner(&strip, &cells, &log, &columns)
    }

    #[test]
    fn a_line_or_a_change_of_surface_is_a_corner_and_one_surface_is_none() {
        let even = seen(|_, chance| 120.0 + 4.0 * chance);
        let line = seen(|above, chance| {
            let tone = if above.abs() <= 1 { 95.0 } else { 120.0 };
            tone + 4.0 * chance
        });
        let change = seen(|above, chance| {
            let rough = if above < 0 { 12.0 } else { 2.0 };
            120.0 + rough * chance
        });
        assert!(even < 0.4, "{even}");
        assert!(line > 1.0, "{line}");
        assert!(change > 1.0, "{change}");
    }
}
