//! Height of the coupon's upper side over the plane of the face, mm, and what
//! each place of it is.

use super::coupon::{Coupon, Surface};
use super::torn;
use crate::support::section::metal::smooth;
use crate::support::section::noise::value;
use crate::support::section::shapes::*;

/// What a place of the coupon is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Part {
    /// Plate under the root line.
    Plate,
    /// Plate surface inside the root line: the root was not reached.
    Root,
    Torn,
    /// Surface of an earlier run.
    Run {
        shiny: bool,
    },
    /// Side wall the last run did not fuse to.
    Wall,
    Pore,
    Inclusion,
    Cap,
    /// Plate beyond the cap.
    Beyond,
}

/// What lies at `q`, and how far inside its border it is, mm (square to the
/// weld for bands, to the nearest border for the others).
pub fn part(c: &Coupon, q: P) -> (Part, f64) {
    let [s, h] = q;
    let (root, far) = (c.root(s), c.far(s));
    if h < root {
        return (Part::Plate, root - h);
    }
    if h > far {
        let toe = c.toe(s);
        return if h < toe {
            (Part::Cap, h - far)
        } else {
            (Part::Beyond, h - toe)
        };
    }
    for pore in &c.spec.pores {
        let inside = pore.diameter / 2.0 - length(sub(q, pore.at));
        if inside > 0.0 {
            return (Part::Pore, inside);
        }
    }
    let ringed = |rings: &[Vec<P>]| {
        rings.iter().enumerate().find_map(|(i, ring)| {
            let reach = length(sub(q, centroid(ring)));
            let size = ring
                .iter()
                .map(|p| length(sub(*p, ring[0])))
                .fold(0.0, f64::max);
            let inside = if reach < size {
                -signed_distance(q, ring)
            } else {
                -1.0
            };
            (inside > 0.0).then_some((i, inside))
        })
    };
    if let Some((_, inside)) = ringed(&c.inclusions) {
        return (Part::Inclusion, inside);
    }
    if let Some((i, inside)) = ringed(&c.patches) {
        return (
            Part::Run {
                shiny: c.spec.patches[i].shiny,
            },
            inside,
        );
    }
    let (gap, wall) = (c.root_gap(s), c.wall(s));
    if h < gap {
        return (Part::Root, gap - h);
    }
    if wall > 0.0 && h > far - wall {
        return (Part::Wall, h - far + wall);
    }
    (Part::Torn, (h - root.max(gap)).min(far - wall - h))
}

/// Height at `q`; detail finer than `fine` is left out.
pub fn height(c: &Coupon, q: P, fine: f64) -> f64 {
    let seed = c.spec.seed;
    let (part, inside) = part(c, q);
    // How far a step down has been gone at this distance from the border.
    let down = |reach: f64| smooth(inside / reach);
    match part {
        Part::Torn => torn::height(seed, c.spec.crystalline, q, fine) * (0.35 + 0.65 * down(0.3)),
        Part::Root => -0.30 * down(0.12) + plate(c.spec.surface, seed, q, fine),
        Part::Plate => {
            -0.22 * down(0.10) + plate(Surface::Machined, seed ^ 0x9, [q[1], q[0]], fine)
        }
        Part::Wall => -0.28 * down(0.15) + plate(Surface::Rolled, seed ^ 0x8, q, fine),
        Part::Run { .. } => -0.40 * down(0.20) + ripples(seed ^ 0x7, q, 1.1, 0.035),
        Part::Pore => {
            let depth = 1.2 * (inside + 0.02).sqrt();
            -depth.min(0.9)
        }
        Part::Inclusion => -0.35 * down(0.15) + 0.05 * value(seed ^ 0x6, q[0] / 0.4, q[1] / 0.4),
        Part::Cap => {
            // The bead falls away from the face to its toe.
            let above = SLOPE * (c.toe(q[0]) - q[1]);
            below(c) - 0.30 * down(0.12) + above + ripples(seed ^ 0x5, q, 1.3, 0.03)
        }
        Part::Beyond => below(c) - 0.30 + plate(Surface::Rolled, seed ^ 0x4, q, fine),
    }
}

/// Fall of the cap away from the face.
const SLOPE: f64 = 0.75;

/// Height of the plate beyond the cap where no step remains at the toe.
fn below(c: &Coupon) -> f64 {
    -SLOPE * c.spec.cap
}

/// An original plate surface: nearly flat.
fn plate(surface: Surface, seed: u64, q: P, fine: f64) -> f64 {
    match surface {
        Surface::Rolled => {
            0.02 * value(seed ^ 0x21, q[0] / 2.5, q[1] / 2.5)
                + 0.004 * value(seed ^ 0x22, q[0] / 0.5, q[1] / 0.5)
        }
        Surface::Machined => [(0.5, 0.010), (0.21, 0.006), (0.11, 0.003)]
            .into_iter()
            .filter(|(size, _)| *size > 1.5 * fine)
            .map(|(size, deep)| deep * value(seed ^ 0x23, q[1] / size, q[0] / 14.0))
            .sum(),
    }
}

/// The ripples a weld pool leaves: crescents that follow each other along s.
fn ripples(seed: u64, q: P, pitch: f64, deep: f64) -> f64 {
    let bend = 0.35 * (q[1] - 2.0 * (q[1] / 4.0).round() * 2.0).powi(2);
    let uneven = 0.6 * value(seed, q[0] / 3.0, q[1] / 3.0);
    let phase = (q[0] - 0.4 * bend) / pitch + uneven;
    let strength = 1.0 + 0.5 * value(seed ^ 1, q[0] / 2.0, q[1] / 4.0);
    deep * strength * (std::f64::consts::TAU * phase).sin()
        + 0.02 * value(seed ^ 2, q[0] / 0.8, q[1] / 0.8)
}
