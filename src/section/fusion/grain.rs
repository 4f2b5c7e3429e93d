//! Coarse grain against fine: weld metal freezes in columns that grow from the boundary
//! inwards and show as stripes along the rays; beside it heat leaves no such stripes.
//! Contrast is taken square to the rays, so that the boundary itself gives none.

use crate::section::strip::Strip;

/// Tones are compared over twice this, square to the rays, mm.
const ASIDE_MM: f64 = 0.12;
/// Rays are never taken to lie closer than this, mm: they meet at a point.
const LEAST_SPACING_MM: f64 = 0.02;
/// Contrast is averaged over so far along the rays, and over so many of them to each
/// side, mm and rays.
const WINDOW_MM: f64 = 0.2;
const WINDOW_RAYS: usize = 3;
/// Steps of contrast told apart, as a share, and how many; contrast that is none, grey levels.
const STEP: f32 = 0.12;
const STEPS: usize = 48;
const NONE: f32 = 0.3;
/// Largest log-likelihood ratio a place may claim, and a share too small to conclude from.
const MOST: f32 = 1.5;
const FLOOR: f32 = 2e-3;

/// Steps of contrast along the rays.
pub struct Grain {
    rows: usize,
    steps: Vec<u8>,
}

impl Grain {
    /// Of what a strip shows.
    pub fn of(strip: &Strip) -> Self {
        let (columns, rows) = (strip.columns(), strip.rows);
        let aside = |c: usize| {
            let (a, b) = (c.saturating_sub(1), (c + 1).min(columns - 1));
            let apart = |r: usize| {
                let place = |c: usize| strip.place(c, r as f64);
                place(a).distance(place(b)) / (b - a).max(1) as f64
            };
            // Rays fan out evenly.
            let (near, far) = (apart(0), apart(rows - 1));
            move |r: usize| {
                let spacing = near + (far - near) * r as f64 / rows as f64;
                (ASIDE_MM / spacing.max(LEAST_SPACING_MM)).round().max(1.0) as usize
            }
        };
        let mut contrast = vec![0.0f32; columns * rows];
        for (c, out) in contrast.chunks_mut(rows).enumerate() {
            let aside = aside(c);
            for (r, out) in out.iter_mut().enumerate() {
                let (a, b) = (c.saturating_sub(aside(r)), (c + aside(r)).min(columns - 1));
                *out = (strip.column(b)[r][0] - strip.column(a)[r][0]).abs();
            }
        }
        let window = (WINDOW_MM / strip.step_mm).round() as usize;
        let along = averaged(&contrast, [rows, 1], [columns, rows], window);
        let both = averaged(&along, [columns, rows], [rows, 1], WINDOW_RAYS);
        Self {
            rows,
            steps: both.iter().map(|v| step(*v)).collect(),
        }
    }

    /// Steps of one column.
    pub fn column(&self, c: usize) -> &[u8] {
        &self.steps[c * self.rows..(c + 1) * self.rows]
    }

    /// Steps of all places.
    pub fn all(&self) -> &[u8] {
        &self.steps
    }
}

fn step(contrast: f32) -> u8 {
    ((contrast / NONE).max(1.0).ln() / STEP).min(STEPS as f32 - 1.0) as u8
}

/// Means over `half` neighbours to each side along lines of `count` values `stride` apart;
/// of the lines there are `lines`, `next` apart.
fn averaged(
    values: &[f32],
    [count, stride]: [usize; 2],
    [lines, next]: [usize; 2],
    half: usize,
) -> Vec<f32> {
    let mut out = vec![0.0; values.len()];
    let mut sums = vec![0.0f32; count + 1];
    for line in 0..lines {
        for i in 0..count {
            sums[i + 1] = sums[i] + values[line * next + i * stride];
        }
        for i in 0..count {
            let (from, to) = (i.saturating_sub(half), (i + half + 1).min(count));
            out[line * next + i * stride] = (sums[to] - sums[from]) / (to - from) as f32;
        }
    }
    out
}

/// How much likelier each step of contrast is in weld metal than beside it.
pub struct Stripes {
    ratio: [f32; STEPS],
}

impl Stripes {
    /// Learns from steps of weld metal and of other metal.
    pub fn learn(weld: &[u8], other: &[u8]) -> Self {
        let (a, b) = (shares(weld), shares(other));
        Self {
            ratio: std::array::from_fn(|i| {
                ((a[i] + FLOOR) / (b[i] + FLOOR)).ln().clamp(-MOST, MOST)
            }),
        }
    }

    /// Log-likelihood ratio, weld metal against other.
    pub fn ratio(&self, step: u8) -> f32 {
        self.ratio[usize::from(step)]
    }
}

/// Share of each step, neighbours supporting each other.
fn shares(steps: &[u8]) -> [f32; STEPS] {
    let mut raw = [0.0f32; STEPS];
    for s in steps {
        raw[usize::from(*s)] += 1.0 / steps.len() as f32;
    }
    std::array::from_fn(|i| {
        let at = |k: isize| raw[(i as isize + k).clamp(0, STEPS as isize - 1) as usize];
        0.25 * at(-1) + 0.5 * at(0) + 0.25 * at(1)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::{Mm, Point, Vector};
    use crate::base::raster::Gray;
    use crate::photo::Photo;
    use crate::scale::PlaneMap;

    /// A strip 4 mm by 4 mm of a picture of 20 px a millimetre, columns along x.
    fn strip(tone: impl Fn(usize, usize) -> u8) -> Strip {
        let side = 80;
        let tones: Vec<u8> = (0..side * side).map(|i| tone(i % side, i / side)).collect();
        let photo = Photo {
            width: side,
            height: side,
            rgb: tones.iter().flat_map(|t| [*t; 3]).collect(),
            luma: Gray::new(side, side, tones.iter().map(|t| f32::from(*t)).collect()),
            focal_half_diagonals: None,
        };
        let spine: Vec<Point<Mm>> = (0..32)
            .map(|c| Point::new(0.06 + 0.12 * f64::from(c), 0.1))
            .collect();
        let down = vec![Vector::new(0.0, 1.0); spine.len()];
        Strip::new(
            &photo,
            &PlaneMap::uniform(20.0).expect("a scale"),
            spine,
            down,
            0.0,
            3.8,
            0.05,
        )
    }

    #[test]
    fn stripes_along_the_rays_show_and_a_border_across_them_does_not() {
        let mean = |grain: &Grain| {
            grain.all().iter().map(|s| f64::from(*s)).sum::<f64>() / grain.all().len() as f64
        };
        let striped = Grain::of(&strip(|x, _| if x % 8 < 4 { 90 } else { 120 }));
        let border = Grain::of(&strip(|_, y| if y < 40 { 90 } else { 180 }));
        assert!(mean(&striped) > 20.0, "{}", mean(&striped));
        assert_eq!(mean(&border), 0.0);
        let told = Stripes::learn(striped.all(), border.all());
        assert!(told.ratio(striped.column(16)[30]) > 1.0);
        assert!(told.ratio(border.column(16)[30]) < -1.0);
    }
}
