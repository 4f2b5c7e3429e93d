//! Tones of the coupon's surfaces: linear colour in even light, and gloss.

use super::coupon::{Coupon, Surface};
use super::relief::{Part, part};
use super::torn;
use crate::support::section::digits;
use crate::support::section::metal::{cover, smooth};
use crate::support::section::noise::value;
use crate::support::section::shapes::*;

/// Colour and gloss (0 = matt) at a place of the coupon.
pub struct Look {
    pub colour: [f64; 3],
    pub gloss: f64,
}

pub fn look(c: &Coupon, q: P, fine: f64) -> Look {
    let seed = c.spec.seed;
    let (part, inside) = part(c, q);
    let stain = value(seed ^ 0x51, q[0] / 4.0, q[1] / 4.0);
    let speck = value(seed ^ 0x52, q[0] / 0.3, q[1] / 0.3);
    let tinted = |v: f64, tint: [f64; 3], gloss: f64| Look {
        colour: tint.map(|t| v * t),
        gloss,
    };
    match part {
        Part::Torn => {
            let cleaved = torn::crystalline(seed, c.spec.crystalline, q);
            let v = 0.17 + 0.06 * cleaved + 0.012 * speck + 0.012 * stain;
            tinted(v, [1.0, 0.99, 0.97], 0.10 + 0.7 * cleaved)
        }
        Part::Root => {
            let mut look = surface(c.spec.surface, seed, q, fine);
            if c.spec.surface == Surface::Machined {
                // Bare steel so near the weld is tinted by its heat.
                let tint = blend(
                    [0.68, 0.60, 0.47],
                    [0.52, 0.56, 0.66],
                    smooth(0.5 + clouds(seed ^ 0x59, q, 7.0, 0.3)),
                );
                look.colour = std::array::from_fn(|k| look.colour[k] * tint[k]);
            }
            look
        }
        Part::Plate => {
            let ground = surface(Surface::Machined, seed ^ 0x9, [q[1], q[0]], fine);
            let rust = rust(seed ^ 0x53, q);
            let corner = 1.0 - 0.25 * (-(inside / 0.12).powi(2)).exp();
            Look {
                colour: blend(ground.colour, [0.11, 0.050, 0.028], rust).map(|v| v * corner),
                gloss: ground.gloss * (1.0 - rust),
            }
        }
        Part::Wall => surface(Surface::Rolled, seed ^ 0x8, q, fine),
        Part::Run { shiny: true } => tinted(0.30 * (1.0 + 0.08 * stain), [1.0, 0.985, 0.95], 0.5),
        Part::Run { shiny: false } => {
            // Oxide: blue to straw, as thick as the run was hot.
            let hot = smooth(0.5 + 0.8 * value(seed ^ 0x54, q[0] / 5.0, q[1] / 2.5));
            let tint = blend([0.82, 0.92, 1.15], [1.15, 0.97, 0.72], hot);
            tinted(0.105 * (1.0 + 0.1 * stain), tint, 0.25)
        }
        Part::Pore => tinted(
            0.05 + 0.07 * smooth(1.0 - inside / 0.18),
            [1.0, 0.95, 0.9],
            0.2,
        ),
        Part::Inclusion => tinted(0.035 * (1.0 + 0.3 * speck), [1.05, 1.0, 0.88], 0.5),
        Part::Cap => {
            let hot = smooth(0.5 + 0.7 * value(seed ^ 0x55, q[0] / 7.0, q[1] / 1.5));
            let slag = smooth(2.4 * (clouds(seed ^ 0x56, q, 1.5, 0.5) - 0.85));
            let bead = blend([0.20, 0.193, 0.18], [0.165, 0.14, 0.11], hot);
            Look {
                colour: blend(bead, [0.055, 0.05, 0.042], slag),
                gloss: 0.15 * (1.0 - slag),
            }
        }
        Part::Beyond => {
            let mut look = surface(Surface::Rolled, seed ^ 0x4, q, fine);
            let rust = rust(seed ^ 0x57, q);
            look.colour = blend(look.colour, [0.12, 0.052, 0.028], rust);
            let ink = identity(c, q, fine) * (0.92 - 0.1 * smooth(3.0 * speck - 1.0));
            look.colour = blend(look.colour, [0.50, 0.045, 0.03], ink);
            look.gloss *= 1.0 - ink.max(rust);
            look
        }
    }
}

/// The painted identity, in the middle of the plate beyond the cap.
fn identity(c: &Coupon, q: P, fine: f64) -> f64 {
    let spec = &c.spec;
    let height = 0.55 * spec.beyond;
    let top = c.top() - 0.2 * spec.beyond;
    let wobble = 0.12 * value(spec.seed ^ 0x58, q[0] / 1.5, q[1] / 1.5);
    let d = digits::distance(
        spec.identity,
        [q[0] - 0.72 * spec.length, top - q[1]],
        height,
    );
    cover(d - 0.07 * height - wobble, fine)
}

fn surface(kind: Surface, seed: u64, q: P, fine: f64) -> Look {
    match kind {
        Surface::Rolled => {
            let cloud = clouds(seed ^ 0x61, q, 8.0, 0.4);
            let grain = value(seed ^ 0x63, q[0] / 0.35, q[1] / 0.35);
            let worn = smooth(1.4 * (clouds(seed ^ 0x64, q, 4.0, 0.25) - 0.55));
            let v = 0.088 * (1.0 + 0.14 * cloud + 0.04 * grain) + 0.05 * worn;
            Look {
                colour: [0.93 * v, 0.98 * v, 1.06 * v],
                gloss: 0.15,
            }
        }
        Surface::Machined => {
            let mut lines = 0.0;
            for (k, size) in [0.9, 0.4, 0.2, 0.1].into_iter().enumerate() {
                if size > 1.5 * fine {
                    lines += value(seed ^ (0x65 + k as u64), q[1] / size, q[0] / 16.0) * 0.06;
                }
            }
            let v = 0.22 * (1.0 + lines + 0.06 * value(seed ^ 0x6a, q[0] / 8.0, q[1] / 8.0));
            Look {
                colour: [v, 0.995 * v, 0.98 * v],
                gloss: 0.2,
            }
        }
    }
}

/// Share of rust: a few ragged spots.
fn rust(seed: u64, q: P) -> f64 {
    let place = clouds(seed, q, 6.0, 0.5);
    let ragged = 0.25 * value(seed ^ 2, q[0] / 0.4, q[1] / 0.4);
    0.85 * smooth(4.0 * (place + ragged - 0.70))
}

/// Clouds of about `size` mm in turned lattices, bent by finer ones, so that
/// none looks square.
fn clouds(seed: u64, q: P, size: f64, bend: f64) -> f64 {
    let bent = |k: u64| bend * value(seed ^ k, 2.3 * q[0] / size, 2.3 * q[1] / size);
    let (x, y) = (q[0] / size + bent(0x11), q[1] / size + bent(0x12));
    let (u, v) = (0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y);
    let (a, b) = (0.28 * x + 0.96 * y, 0.96 * x - 0.28 * y);
    value(seed ^ 0x13, u, v)
        + 0.5 * value(seed ^ 0x14, 2.1 * a, 2.1 * b)
        + 0.25 * value(seed ^ 0x15, 4.7 * u, 4.7 * v)
}

fn blend(a: [f64; 3], b: [f64; 3], t: f64) -> [f64; 3] {
    std::array::from_fn(|k| a[k] + (b[k] - a[k]) * t)
}
