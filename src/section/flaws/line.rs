//! Which dark lines are places where metal did not fuse.
//!
//! Three things hold of a thin void and together of nothing else in an etched
//! section: it is nearly black; it stands out of the texture of this metal;
//! and it is as dark as a black line of its width can be drawn by this lens.
//! A boundary that the etch has bitten is wider and shallower, and a grain is
//! one among many.

use super::geometry::{Side, WeldShape};
use super::patch::Patch;
use super::profile::{across, depths_along, direction};
use crate::base::geometry::{Joint, Point, Vector, length, resample};
use crate::base::numeric::quantile_of;

/// Shortest line stated, mm: shorter ones are pores, inclusions or texture.
pub const LEAST_LENGTH_MM: f64 = 0.5;
/// Shortest part of a line that lies on a surface, or off it, by itself, mm.
const LEAST_PART_MM: f64 = 0.35;
/// Widest line, mm; what is wider has an area.
pub const MOST_WIDTH_MM: f64 = 0.4;
/// Share of light missing over four fifths of the line.
const LEAST_DEPTH: f64 = 0.4;
/// The same of a line that goes on from the root along a surface: fainter ones
/// are worth a look there, and stated as unsure.
const LEAST_ROOT_DEPTH: f64 = 0.15;
/// The same against the texture's own lines (median over the weld).
const LEAST_OVER_TEXTURE: f64 = 10.0;
/// Depth against that of a black line which takes as much light. Voids with
/// known truth have 0.72 and more, the clearest etched boundaries 0.68 and less.
const LEAST_FILL: f64 = 0.70;
/// A line too fine for the lens to draw it black is unsure; it must keep this share of the
/// depth of a black line of its width over four fifths of its length.
const STEADY: f64 = 0.6;
/// Merit of such a line: on rendered sections two of five were voids.
const FAINT_MERIT: f64 = 0.9;
/// On an original surface, where a side wall or a root may stay unfused, this
/// share of the evidence is enough: few other lines run exactly there.
const ENOUGH_ON_SURFACE: f64 = 0.85;
/// Black as photographed: a hole still gives back this share less than all.
const BLACK: f64 = 0.9;
/// A part lies on a surface when it is this near, mm …
const ON_SURFACE_MM: f64 = 0.17;
/// … and runs along it within this angle, radians.
const ALONG_SURFACE: f64 = 0.5;
/// A line that begins within this of the joint root begins at the root, mm.
const AT_ROOT_MM: f64 = 0.45;
/// A gap that reaches less than this in front of the root ends there, mm.
const LEAST_AT_ROOT_MM: f64 = 0.3;
/// A scratch is followed this far beyond the weld, mm.
const BEYOND_MM: (f64, f64) = (0.2, 0.8);

/// Where a line lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// On an original surface, from the joint root on.
    Root(Side),
    /// On an original surface.
    SideWall(Side),
    /// Inside the weld metal.
    Inside,
}

/// One line that did not fuse.
#[derive(Clone, Debug)]
pub struct Unfused {
    /// Centre line; at the root from the root outwards.
    pub points: Vec<Point<Joint>>,
    /// Width at half depth less the picture's blur, mm.
    pub width_mm: f64,
    /// Standard uncertainty of the width, mm.
    pub width_own_mm: f64,
    /// Where it lies.
    pub place: Place,
    /// How far its evidence lies over what is asked for; 1 = just enough, less
    /// = unsure.
    pub merit: f64,
}

/// What the picture is like, for judging lines in it.
pub struct Conditions {
    /// Median depth of the lines that texture makes, 0 … 1.
    pub texture: f64,
    /// Width of a sharp edge, mm.
    pub edge_mm: f64,
}

/// Judges one centre line and splits it where it leaves a surface; empty when
/// it is no flaw.
pub fn judge(
    patch: &Patch,
    shape: &WeldShape,
    seen: &Conditions,
    centre_line: &[Point<Joint>],
) -> Vec<Unfused> {
    let line = resample(centre_line, patch.step_mm);
    if line.len() < 4 {
        return Vec::new();
    }
    let parts = parts(shape, &line);
    if parts.iter().map(|(points, _)| length(points)).sum::<f64>() < LEAST_LENGTH_MM {
        return Vec::new();
    }
    let Some(profile) = across(patch, &line) else {
        return Vec::new();
    };
    if profile.width_mm > MOST_WIDTH_MM.hypot(seen.edge_mm) {
        return Vec::new();
    }
    let mut depths = depths_along(patch, &line, profile.width_mm);
    let steady = quantile_of(&mut depths, 0.2);
    let stands_out = (steady / (LEAST_OVER_TEXTURE * seen.texture.max(1e-3)))
        .min(profile.depth / drawn_depth(profile.black_mm, seen.edge_mm) / LEAST_FILL);
    let on_surface: f64 = parts
        .iter()
        .filter(|(_, place)| *place != Place::Inside)
        .map(|(points, _)| length(points))
        .sum();
    let expected = on_surface > 0.4 * length(&line);
    let enough = if expected { ENOUGH_ON_SURFACE } else { 1.0 };
    let merit = stands_out.min(steady / LEAST_DEPTH) / enough;
    let at_root = parts.iter().any(|(_, p)| matches!(p, Place::Root(_)));
    let faint_root = at_root && stands_out.min(steady / LEAST_ROOT_DEPTH) >= enough;
    let drawn = drawn_depth(profile.black_mm, seen.edge_mm);
    let faint = stands_out >= 1.0 && steady >= LEAST_ROOT_DEPTH.max(STEADY * drawn);
    if merit < 1.0 && !faint_root && !faint {
        return Vec::new();
    }
    let width_mm = (profile.width_mm.powi(2) - seen.edge_mm.powi(2))
        .max(profile.black_mm.powi(2))
        .sqrt();
    if !at_root && goes_on_outside(patch, &line, profile.width_mm, steady) {
        return Vec::new();
    }
    parts
        .into_iter()
        .filter(|(_, place)| merit >= 1.0 || faint || matches!(place, Place::Root(_)))
        .map(|(points, place)| Unfused {
            points,
            width_mm,
            width_own_mm: 0.3 * seen.edge_mm,
            place,
            merit: if faint && merit < 1.0 {
                FAINT_MERIT
            } else {
                merit
            },
        })
        .collect()
}

/// Depth at which a lens that draws a sharp edge `edge_mm` wide shows a black
/// line `black_mm` wide (a Gaussian's share within the line's width).
pub fn drawn_depth(black_mm: f64, edge_mm: f64) -> f64 {
    // An edge drawn by a Gaussian is √(2π) σ wide by its steepest slope.
    let sigma = edge_mm / std::f64::consts::TAU.sqrt();
    erf(black_mm / BLACK / (2.0 * std::f64::consts::SQRT_2 * sigma)).max(1e-6)
}

/// Error function to 5e-4 (Abramowitz and Stegun, *Handbook of Mathematical
/// Functions*, 7.1.27).
fn erf(x: f64) -> f64 {
    let p = 1.0 + x * (0.278_393 + x * (0.230_389 + x * (0.000_972 + x * 0.078_108)));
    1.0 - p.powi(-4)
}

/// The stretches of a line on one surface, on the other, or inside.
fn parts(shape: &WeldShape, line: &[Point<Joint>]) -> Vec<(Vec<Point<Joint>>, Place)> {
    let flags: Vec<Option<Side>> = (0..line.len())
        .map(|i| {
            let side = shape.surface_or_faying(line[i], ON_SURFACE_MM)?;
            let surface = match side {
                Side::Nonbutting => Vector::new(1.0, 0.0),
                Side::Butting => shape.riser,
            };
            let near = &line[i.saturating_sub(5)..(i + 6).min(line.len())];
            let run = (near[near.len() - 1] - near[0]).unit();
            (run.cross(surface).abs() <= ALONG_SURFACE.sin()).then_some(side)
        })
        .collect();
    // Runs of one flag; too short a run joins the one before it, a short first
    // one the one after it.
    let spacing = length(line) / (line.len() - 1) as f64;
    let least = (LEAST_PART_MM / spacing).ceil() as usize;
    let mut runs: Vec<(usize, usize, Option<Side>)> = Vec::new();
    for (i, flag) in flags.iter().enumerate() {
        match runs.last_mut() {
            Some(last) if last.2 == *flag => last.1 = i + 1,
            _ => runs.push((i, i + 1, *flag)),
        }
    }
    while runs.len() > 1 {
        let Some(short) = (0..runs.len())
            .filter(|&k| runs[k].1 - runs[k].0 < least)
            .min_by_key(|&k| runs[k].1 - runs[k].0)
        else {
            break;
        };
        let into = if short == 0 { 1 } else { short - 1 };
        let (a, b) = (runs[short.min(into)], runs[short.max(into)]);
        let flag = runs[into].2;
        runs[short.min(into)] = (a.0, b.1, flag);
        runs.remove(short.max(into));
        // Neighbours that now agree are one.
        runs.dedup_by(|later, earlier| {
            let same = later.2 == earlier.2;
            if same {
                earlier.1 = later.1;
            }
            same
        });
    }
    runs.into_iter()
        .filter_map(|(from, to, flag)| {
            // Parts of one line touch each other.
            let mut points = line[from..(to + 1).min(line.len())].to_vec();
            let Some(side) = flag else {
                return Some((points, Place::Inside));
            };
            let along = |p: Point<Joint>| shape.beside(side, p).0;
            if along(points[0]) > along(points[points.len() - 1]) {
                points.reverse();
            }
            if along(points[0]) > AT_ROOT_MM {
                return Some((points, Place::SideWall(side)));
            }
            // What lies behind the root is the gap between the members; the
            // flaw is what goes on in front of it.
            points.retain(|p| along(*p) > 0.0);
            points.insert(0, Point::new(0.0, 0.0));
            let reach = along(points[points.len() - 1]);
            (reach >= LEAST_AT_ROOT_MM).then_some((points, Place::Root(side)))
        })
        .collect()
}

/// Whether the line runs out of the searched area and goes on there: a
/// scratch, or the edge of something that is not the weld's.
fn goes_on_outside(patch: &Patch, line: &[Point<Joint>], width_mm: f64, depth: f64) -> bool {
    let last = line.len() - 1;
    [(0, -1.0), (last, 1.0)].into_iter().any(|(end, sign)| {
        let Some(d) = direction(line, end).map(|d| d * sign) else {
            return false;
        };
        let leaves = (0..=4).any(|k| !patch.is_open(line[end] + d * (0.05 * f64::from(k))));
        if !leaves {
            return false;
        }
        let beyond: Vec<Point<Joint>> = (0..=12)
            .map(|k| {
                let t = BEYOND_MM.0 + (BEYOND_MM.1 - BEYOND_MM.0) * f64::from(k) / 12.0;
                line[end] + d * t
            })
            .collect();
        let mut depths = depths_along(patch, &beyond, width_mm);
        quantile_of(&mut depths, 0.5) >= 0.5 * depth
    })
}

#[cfg(test)]
mod tests {
    use super::erf;

    #[test]
    fn the_error_function_has_its_tabled_values() {
        for (x, y) in [
            (0.0, 0.0),
            (0.5, 0.520_50),
            (1.0, 0.842_70),
            (2.0, 0.995_32),
        ] {
            assert!((erf(x) - y).abs() < 6e-4, "{x}: {}", erf(x));
        }
    }
}
