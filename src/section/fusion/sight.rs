//! What the photograph shows along the rays, and the metal that is certain beforehand.

use super::grain::Grain;
use super::rays::{COLUMN_MM, Rays};
use super::samples::{band_beside_toes, parent_samples, parent_strips, weld_samples};
use crate::base::numeric::quantile;
use crate::photo::Photo;
use crate::scale::PlaneMap;
use crate::section::members::JointFrame;
use crate::section::strip::{Strip, distance};
use crate::section::toes::Toes;

/// Depth looked at beyond the deepest penetration, to see the outer edge of the
/// heat-affected band, mm.
const BEYOND_MM: f64 = 2.5;
/// Grain and grinding marks average out along the boundary, while across it the boundary
/// itself is sharp: standard deviations of the mean, mm.
const ALONG_MM: f64 = 0.35;
const ACROSS_MM: f64 = 0.05;
/// Slope that counts half, as a multiple of the one that three fifths of all places stay
/// under; and the least such slope, grey levels a row.
const HALF_AT: f32 = 2.5;
const USUAL: f64 = 0.6;
const LEAST_SLOPE: f32 = 0.02;
/// How far from a toe the boundary may begin, mm.
const AT_TOE_MM: f64 = 0.25;
/// The gap between the members is darker than this share of either metal, begins this far
/// behind the joint root and lies so low over the nonbutting surface, mm.
const GAP_DARK: f64 = 0.6;
const GAP_BEHIND_MM: f64 = -0.05;
const GAP_MM: (f64, f64) = (-0.15, 0.4);

/// Colours are compared this far on either side of a line, mm.
const ACROSS_LINE_MM: f64 = 0.2;

/// How colours change across a line, from the inside out.
pub struct Step {
    /// Unit direction of the mean change.
    way: [f32; 3],
    /// Share of all change that goes that way, 0 … 1.
    alike: f32,
}

impl Step {
    /// Nothing is known of the change.
    pub const UNKNOWN: Self = Self {
        way: [0.0; 3],
        alike: 0.0,
    };
}

/// The picture along the rays.
pub struct Sight {
    /// Colours as photographed.
    pub raw: Strip,
    /// Colours evened along the boundary.
    pub smooth: Strip,
    /// Colours of certain weld metal, of the heat-affected band beside the toes, and of
    /// certain parent metal.
    pub certain: [Vec<[f32; 3]>; 3],
    /// The first row of each column that shows the gap between the members.
    pub gap: Vec<Option<usize>>,
    /// Contrast square to the rays, and that of certain weld metal and parent metal.
    pub grain: Grain,
    pub certain_grain: [Vec<u8>; 2],
    /// First row at the curve the rays start from.
    pub first: usize,
    to_surface_mm: Vec<f64>,
    deepest_mm: f64,
    usual_slope: f32,
}

impl Sight {
    /// Samples the picture; `deepest_mm` = largest penetration considered.
    pub fn new(
        photo: &Photo,
        map: &PlaneMap,
        frame: &JointFrame,
        toes: &Toes,
        rays: Rays,
        deepest_mm: f64,
    ) -> Self {
        let px_mm = 1.0 / map.px_per_mm_at(frame.root);
        let step = (0.7 * px_mm).clamp(0.02, 0.06);
        let raw = rays.strip(photo, map, frame, deepest_mm + BEYOND_MM, step);
        let smooth = raw.smoothed(ALONG_MM / COLUMN_MM, (ACROSS_MM / step).max(1.0));
        let certain = [
            weld_samples(photo, map, frame, toes),
            band_beside_toes(photo, map, frame, toes),
            parent_samples(photo, map, frame, toes, deepest_mm),
        ];
        let plates = parent_strips(photo, map, frame, toes, deepest_mm, (COLUMN_MM, step));
        let certain_grain = [
            Grain::of(&rays.inside(photo, map, frame, step))
                .all()
                .to_vec(),
            plates
                .iter()
                .flat_map(|s| Grain::of(s).all().to_vec())
                .collect(),
        ];
        let slopes: Vec<f64> = (0..rays.count())
            .flat_map(|c| (0..smooth.rows).step_by(3).map(move |r| (c, r)))
            .map(|(c, r)| f64::from(smooth.slope(c, r)))
            .collect();
        Self {
            grain: Grain::of(&raw),
            certain_grain,
            gap: gap_rows(&raw, frame, &certain),
            first: smooth.row_at(0.0),
            to_surface_mm: rays.to_surface_mm,
            deepest_mm,
            usual_slope: (quantile(&slopes, USUAL) as f32).max(LEAST_SLOPE),
            certain,
            raw,
            smooth,
        }
    }

    /// Columns.
    pub fn columns(&self) -> usize {
        self.raw.columns()
    }

    /// Distance between rows, mm.
    pub fn step_mm(&self) -> f64 {
        self.raw.step_mm
    }

    /// Evidence for an edge, 0 … 1.
    pub fn edge(&self, c: usize, r: usize) -> f32 {
        self.worth(self.smooth.slope(c, r))
    }

    /// Evidence, 0 … 1, for an edge whose colours change as most do along a line.
    pub fn edge_like(&self, c: usize, r: usize, usual: &Step) -> f32 {
        let column = self.smooth.column(c);
        let (a, b) = (
            column[r.saturating_sub(1)],
            column[(r + 1).min(self.smooth.rows - 1)],
        );
        let along: f32 = (0..3).map(|k| 0.5 * (b[k] - a[k]) * usual.way[k]).sum();
        let size = self.smooth.slope(c, r);
        let counts = (1.0 - usual.alike) * size + usual.alike * along.max(0.0);
        self.worth(counts)
    }

    /// What an edge of so many grey levels a row is worth, 0 … 1.
    fn worth(&self, slope: f32) -> f32 {
        let relative = (slope / (HALF_AT * self.usual_slope)).powi(2);
        relative / (1.0 + relative)
    }

    /// How colours change across a line, one row a column.
    pub fn step_across(&self, rows: &[usize]) -> Step {
        let clear = (ACROSS_LINE_MM / self.step_mm()).round().max(1.0) as usize;
        let (mut sum, mut sizes) = ([0.0f32; 3], 0.0f32);
        for (c, r) in rows.iter().enumerate() {
            let column = self.smooth.column(c);
            let inside = column[r.saturating_sub(clear)];
            let outside = column[(r + clear).min(self.smooth.rows - 1)];
            for k in 0..3 {
                sum[k] += outside[k] - inside[k];
            }
            sizes += distance(outside, inside);
        }
        let size = distance(sum, [0.0; 3]).max(f32::MIN_POSITIVE);
        Step {
            way: sum.map(|v| v / size),
            alike: size / sizes.max(size),
        }
    }

    /// Whether a row lies within `near_mm` of the deepest place looked at.
    pub fn is_deepest(&self, c: usize, r: usize, near_mm: f64) -> bool {
        self.depth_mm(c, r) > self.deepest_mm - near_mm
    }

    /// Depth under the original surface along the ray, mm.
    fn depth_mm(&self, c: usize, r: usize) -> f64 {
        self.smooth.offset_mm(r as f64) - self.to_surface_mm[c]
    }

    /// Whether the boundary may lie at a row: under the surface, not too deep, and at the
    /// ends near the toes.
    pub fn allowed(&self, c: usize, r: usize) -> bool {
        let step = self.step_mm();
        let depth = self.depth_mm(c, r);
        let at_end = c == 0 || c + 1 == self.columns();
        r >= self.first.max(1)
            && depth > -0.5 * step
            && depth <= self.deepest_mm
            && (!at_end || r <= self.first + (AT_TOE_MM / step) as usize)
    }
}

/// Dark places behind the joint root, on the nonbutting surface carried on.
fn gap_rows(
    strip: &Strip,
    frame: &JointFrame,
    [weld, _, parent]: &[Vec<[f32; 3]>; 3],
) -> Vec<Option<usize>> {
    let tone = |samples: &[[f32; 3]]| {
        let luma: Vec<f64> = samples.iter().map(|s| f64::from(s[0])).collect();
        quantile(&luma, 0.5)
    };
    let dark = (GAP_DARK * tone(weld).min(tone(parent))) as f32;
    (0..strip.columns())
        .map(|c| {
            (0..strip.rows).find(|&r| {
                strip.column(c)[r][0] < dark && {
                    let p = frame.to_joint(strip.place(c, r as f64));
                    p.x < GAP_BEHIND_MM && (GAP_MM.0..GAP_MM.1).contains(&p.y)
                }
            })
        })
        .collect()
}
