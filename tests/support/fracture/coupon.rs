//! The broken coupon as geometry. Coupon frame: mm, s along the weld from the
//! coupon's left end, h from the straight root line (the plate's corner)
//! towards the cap; seen with the root side below.

use crate::support::section::metal::smooth;
use crate::support::section::noise::{Stream, value};
use crate::support::section::shapes::*;

/// What one coupon is like.
#[derive(Clone, Debug)]
pub struct CouponSpec {
    pub length: f64,
    /// Mean width of the face, root line to far edge.
    pub width: f64,
    /// Widths of the strips beside the face: plate under the root line, cap of
    /// the weld beyond the far edge, plate beyond the cap's toe.
    pub plate: f64,
    pub cap: f64,
    pub beyond: f64,
    /// Height of the face over the bench.
    pub depth: f64,
    pub roots: Vec<Stretch>,
    pub walls: Vec<Stretch>,
    pub patches: Vec<Patch>,
    pub pores: Vec<Pore>,
    pub inclusions: Vec<Inclusion>,
    /// Share of crystalline metal in the torn face, 0 … 1.
    pub crystalline: f64,
    /// What the plate's surface beside the root is.
    pub surface: Surface,
    /// Digits of the identity painted on the plate beyond the cap.
    pub identity: &'static str,
    pub seed: u64,
}

/// An unfused band along the root line or the far edge.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    pub start: f64,
    pub end: f64,
    /// Typical depth, away from the edge into the face.
    pub depth: f64,
}

/// A place where two runs did not fuse.
#[derive(Clone, Copy, Debug)]
pub struct Patch {
    pub at: P,
    pub half_length: f64,
    pub half_width: f64,
    /// Bright bead surface, or one dulled by oxide.
    pub shiny: bool,
}

#[derive(Clone, Copy, Debug)]
pub struct Pore {
    pub at: P,
    pub diameter: f64,
}

#[derive(Clone, Copy, Debug)]
pub struct Inclusion {
    pub at: P,
    pub half_length: f64,
    pub half_width: f64,
    pub turn_deg: f64,
}

/// An original plate surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surface {
    /// Mill scale.
    Rolled,
    /// Ground or milled, lines along the weld.
    Machined,
}

/// A coupon whose outlines are settled.
pub struct Coupon {
    pub spec: CouponSpec,
    pub patches: Vec<Vec<P>>,
    pub inclusions: Vec<Vec<P>>,
}

impl Coupon {
    pub fn build(spec: CouponSpec) -> Self {
        let patches = spec.patches.iter().enumerate();
        let patches = patches
            .map(|(i, p)| {
                ring(
                    p.at,
                    [p.half_length, p.half_width],
                    0.0,
                    0.16,
                    3.0,
                    spec.seed ^ (0x70 + i as u64),
                )
            })
            .collect();
        let inclusions = spec.inclusions.iter().enumerate();
        let inclusions = inclusions
            .map(|(i, n)| {
                let half = [n.half_length, n.half_width];
                ring(
                    n.at,
                    half,
                    n.turn_deg,
                    0.22,
                    2.0,
                    spec.seed ^ (0x90 + i as u64),
                )
            })
            .collect();
        Self {
            spec,
            patches,
            inclusions,
        }
    }

    /// Top border of the coupon, h.
    pub fn top(&self) -> f64 {
        self.spec.width + self.spec.cap + self.spec.beyond
    }

    /// Where the crack left the weld through the cap, h.
    pub fn far(&self, s: f64) -> f64 {
        let seed = self.spec.seed ^ 0xfa;
        let broad = 0.07 * self.spec.width * value(seed, s / 13.0, 0.5);
        let wide = 0.035 * self.spec.width * value(seed, s / 4.3, 7.5);
        self.spec.width + broad + wide + 2.0 * self.jagged(seed ^ 1, s)
    }

    /// Where the cap meets the plate beyond, h.
    pub fn toe(&self, s: f64) -> f64 {
        let seed = self.spec.seed ^ 0x70e;
        let wave = 0.25 * value(seed, s / 6.0, 0.5) + 0.08 * value(seed, s / 1.1, 3.5);
        self.spec.width + self.spec.cap + wave
    }

    /// Lower border of the face, h: the root line where the root was not
    /// reached; elsewhere the crack runs a little past the plate's corner.
    pub fn root(&self, s: f64) -> f64 {
        let seed = self.spec.seed ^ 0x2007;
        let past = 0.16 + 0.10 * value(seed, s / 2.7, 0.5) + 0.06 * value(seed, s / 0.5, 5.5);
        let fused = 1.0 - smooth(self.root_gap(s) / 0.3);
        -past.max(0.03) * fused
    }

    /// Depth of the unfused band at the root, 0 where it was reached.
    pub fn root_gap(&self, s: f64) -> f64 {
        self.band(&self.spec.roots, s, self.spec.seed ^ 0x6a9)
    }

    /// Depth of the unfused band along the far edge.
    pub fn wall(&self, s: f64) -> f64 {
        self.band(&self.spec.walls, s, self.spec.seed ^ 0x3a11)
    }

    fn band(&self, stretches: &[Stretch], s: f64, seed: u64) -> f64 {
        stretches
            .iter()
            .map(|b| {
                // Steep ends: the band begins within about a millimetre.
                let rise = smooth(((s - b.start).min(b.end - s) / 1.4).clamp(0.0, 1.0));
                let uneven =
                    1.0 + 0.22 * value(seed, s / 5.0, 0.5) + 0.12 * value(seed, s / 1.4, 2.5);
                (rise * (b.depth * uneven + self.jagged(seed ^ 1, s))).max(0.0)
            })
            .fold(0.0, f64::max)
    }

    /// The torn edge's tooth.
    fn jagged(&self, seed: u64, s: f64) -> f64 {
        0.10 * value(seed, s / 0.9, 0.5)
            + 0.06 * value(seed, s / 0.35, 4.5)
            + 0.03 * value(seed, s / 0.14, 9.5)
    }

    /// Outline of the face with points `step` mm apart: along the root line, back along the far edge.
    pub fn face(&self, step: f64) -> Vec<P> {
        let l = self.spec.length;
        let there = samples(0.0, l, step).into_iter().map(|s| [s, self.root(s)]);
        let back = samples(0.0, l, step)
            .into_iter()
            .rev()
            .map(|s| [s, self.far(s)]);
        there.chain(back).collect()
    }

    /// Outlines of the unfused bands at the root.
    pub fn root_zones(&self, step: f64) -> Vec<Vec<P>> {
        let outline = |[a, b]: [f64; 2]| {
            let there = samples(a, b, step).into_iter().map(|s| [s, self.root(s)]);
            let back = samples(a, b, step)
                .into_iter()
                .rev()
                .map(|s| [s, self.root_gap(s)]);
            there.chain(back).collect()
        };
        self.stretches(|s| self.root_gap(s))
            .into_iter()
            .map(outline)
            .collect()
    }

    /// Outlines of the unfused bands at the far edge.
    pub fn wall_zones(&self, step: f64) -> Vec<Vec<P>> {
        let outline = |[a, b]: [f64; 2]| {
            let there = samples(a, b, step)
                .into_iter()
                .map(|s| [s, self.far(s) - self.wall(s)]);
            let back = samples(a, b, step)
                .into_iter()
                .rev()
                .map(|s| [s, self.far(s)]);
            there.chain(back).collect()
        };
        self.stretches(|s| self.wall(s))
            .into_iter()
            .map(outline)
            .collect()
    }

    /// Stretches of at least 1 mm along which `depth` is at least 0.1 mm.
    pub fn stretches(&self, depth: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
        let mut found: Vec<[f64; 2]> = Vec::new();
        let mut open: Option<[f64; 2]> = None;
        for s in samples(0.0, self.spec.length, STEP) {
            if depth(s) >= 0.1 {
                open = Some([open.map_or(s, |o| o[0]), s]);
            } else {
                found.extend(open.take());
            }
        }
        found.extend(open);
        found.retain(|[a, b]| b - a >= 1.0);
        found
    }
}

/// How finely outlines are followed where figures come from them, mm.
pub const STEP: f64 = 0.05;

/// Places at most `step` mm apart from `a` to `b`, both included.
pub fn samples(a: f64, b: f64, step: f64) -> Vec<f64> {
    let n = (((b - a) / step).ceil() as usize).max(1);
    (0..=n).map(|i| a + (b - a) * i as f64 / n as f64).collect()
}

/// An uneven closed curve with half axes `half`, `power` 2 = ellipse, more =
/// squarer.
fn ring(at: P, half: P, turn_deg: f64, uneven: f64, power: f64, seed: u64) -> Vec<P> {
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    let shift = 10.0 * Stream::new(seed).unit();
    (0..240)
        .map(|i| {
            let (y, x) = (std::f64::consts::TAU * f64::from(i) / 240.0).sin_cos();
            let r = (x.abs().powf(power) + y.abs().powf(power)).powf(-1.0 / power);
            let k = 1.0
                + uneven * value(seed, 1.6 * x + shift, 1.6 * y)
                + 0.3 * uneven * value(seed ^ 1, 5.0 * x + shift, 5.0 * y);
            let (u, v) = (r * x * half[0] * k, r * y * half[1] * k);
            [at[0] + cos * u - sin * v, at[1] + sin * u + cos * v]
        })
        .collect()
}
