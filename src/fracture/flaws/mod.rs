//! Stage 3d: pores, wormholes and inclusions on the straightened face.
//!
//! All of them are darker than the torn metal around. The face is cut at many
//! levels of darkness at two scales; every connected spot of every cut is a
//! candidate ([`spot`]), judged by its look ([`look`]), and of spots that
//! overlap the most flaw-like one is kept.

mod look;
mod spot;
mod tones;

use super::outline::outline;
use super::strip::{Straight, Strip};
use super::zones::{Zones, patches};
use crate::base::geometry::Point;
use crate::base::raster::{Gray, gaussian_blur};
use rayon::prelude::*;
use spot::{Shape, Spot};
use tones::Tones;

/// What a flaw is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FlawKind {
    /// A round cavity left by gas.
    Pore,
    /// A long cavity left by gas.
    Wormhole,
    /// Foreign matter, mostly slag: dark, matt, irregular.
    Inclusion,
}

/// A pore, a wormhole or an inclusion.
#[derive(Clone, Debug)]
pub struct Flaw {
    /// Which.
    pub kind: FlawKind,
    /// Its centre of area.
    pub at: Point<Straight>,
    /// Greatest distance between two points of the outline, mm.
    pub greatest_mm: f64,
    /// The two points.
    pub ends: [Point<Straight>; 2],
    /// Standard uncertainty of the greatest distance from the outline, mm.
    pub outline_mm: f64,
    /// Area, mm².
    pub area_mm2: f64,
    /// Closed outline.
    pub outline: Vec<Point<Straight>>,
    /// How sure it is that it is a flaw, 0 … 1.
    pub confidence: f64,
}

/// The flaws of a face.
#[derive(Clone, Debug, Default)]
pub struct Flaws {
    /// More likely a flaw than not.
    pub found: Vec<Flaw>,
    /// Less likely a flaw than not: they count towards the uncertainty only.
    pub passed_over: Vec<Flaw>,
}

/// Scales of smoothing, mm: the finer one keeps small flaws apart, the coarser
/// one closes the lit side of a cavity.
const SCALES_MM: [f64; 2] = [0.06, 0.14];
/// Least smoothing, samples.
const LEAST_SIGMA_PX: f64 = 0.6;
/// Darkness levels, ln luma below the torn metal around: the first, the step,
/// and how many at each scale.
const FIRST_LEVEL: f32 = -0.25;
const LEVEL_STEP: f32 = -0.15;
const LEVELS: [usize; 2] = [16, 10];
/// Smallest spot looked at: mm², and samples.
const SMALLEST: (f64, f64) = (0.03, 6.0);
/// Largest, mm².
const LARGEST_MM2: f64 = 12.0;
/// Margin around a spot, mm and samples: its ring fits in.
const MARGIN: (f64, usize) = (0.35, 2);
/// Log-odds that decide on the usual face, which shows [`USUAL_SHADOWS`] that come
/// near to a flaw and one flaw that is sure. The weights balance as many flaws as
/// shadows; shadows are far more.
const DECISIVE: f64 = 0.8;
/// Log-odds below [`DECISIVE`] down to which a spot counts as a shadow that
/// might have been one.
const DOUBTFUL: f64 = 1.6;
/// … and above it.
const DOUBTFUL_ABOVE: f64 = 0.4;
/// Such shadows on the usual face, and how many are added to what is counted
/// (a face with none may be a short one).
const USUAL_SHADOWS: f64 = 6.0;
const ADDED_SHADOWS: f64 = 2.0;
/// Log-odds from which a flaw is sure, how many sure ones count, and how much each
/// doubling of one more than their number lowers what is asked of the others: gas and
/// slag come in company, but not everywhere in equal numbers.
const SURE: f64 = 3.5;
const MOST_COMPANY: usize = 6;
const COMPANY: f64 = 0.6;
/// Elongation from which a spot is foreign matter, which lies drawn out along the weld, and
/// no gas cavity, which is round, and from which it is a wormhole, much longer than wide
/// (common practice, no source). On rendered faces 85 of 95 cavities and half of 24
/// inclusions are told right; raggedness of the outline told none.
const DRAWN_OUT: f64 = 1.8;
const WORMHOLE: f64 = 4.0;
/// Outline of a flaw against the true one, mm, beside half a sample.
const OUTLINE_MM: f64 = 0.08;

struct Candidate {
    spot: Spot,
    odds: f64,
}

impl Flaws {
    /// Looks for flaws on the face.
    pub fn find(strip: &Strip, zones: &Zones) -> Self {
        let Some(tones) = Tones::new(strip, zones) else {
            return Self::default();
        };
        let mut candidates: Vec<Candidate> = SCALES_MM
            .into_par_iter()
            .zip(LEVELS)
            .flat_map_iter(|(scale_mm, levels)| {
                let sigma = (scale_mm * strip.px_per_mm).max(LEAST_SIGMA_PX);
                let smooth = gaussian_blur(&tones.tone, sigma);
                let (gx, gy) = tones::slopes(&smooth);
                let slope = Gray::from_fn(gx.width(), gx.height(), |x, y| {
                    gx.at(x, y).hypot(gy.at(x, y))
                });
                let level = |n: usize| FIRST_LEVEL + LEVEL_STEP * n as f32;
                (0..levels)
                    .flat_map(|n| at_level(&tones, &smooth, &slope, strip.px_per_mm, level(n)))
                    .collect::<Vec<_>>()
            })
            .collect();
        candidates.sort_by(|a, b| b.odds.total_cmp(&a.odds));
        let columns = strip.columns();
        let mut taken = vec![false; columns * strip.rows()];
        candidates.retain(|candidate| {
            let members = candidate.spot.members();
            let places = || {
                members
                    .iter()
                    .map(|i| candidate.spot.in_raster(*i, columns))
            };
            let free = places().all(|i| !taken[i]);
            if free {
                places().for_each(|i| taken[i] = true);
            }
            free
        });
        let decisive = decisive(candidates.iter().map(|c| c.odds));
        let (found, passed_over) = candidates
            .iter()
            .map(|candidate| flaw(strip, candidate, decisive))
            .partition(|flaw: &Flaw| flaw.confidence >= 0.5);
        let mut flaws = Self { found, passed_over };
        flaws.found.sort_by(|a, b| a.at.x.total_cmp(&b.at.x));
        flaws
    }
}

/// The candidates of one cut.
fn at_level(tones: &Tones, smooth: &Gray, slope: &Gray, k: f64, level: f32) -> Vec<Candidate> {
    let (columns, rows) = (smooth.width(), smooth.height());
    let dark: Vec<bool> = smooth
        .samples()
        .iter()
        .zip(&tones.face)
        .map(|(t, face)| *face && *t < level)
        .collect();
    let face_mm2 = tones.face.iter().filter(|f| **f).count() as f64 / (k * k);
    let least = (SMALLEST.0 * k * k).max(SMALLEST.1);
    let parts: Vec<Vec<usize>> = patches::parts(&dark, columns)
        .into_iter()
        .filter(|part| part.len() as f64 >= least)
        .collect();
    let crowd = parts.len() as f64 / (face_mm2 / 100.0).max(f64::MIN_POSITIVE);
    let margin = (MARGIN.0 * k) as usize + MARGIN.1;
    parts
        .par_iter()
        .filter(|part| (part.len() as f64) < (LARGEST_MM2 * k * k).min(0.25 * face_mm2 * k * k))
        .filter_map(|part| {
            let spot = Spot::new(part, (columns, rows), margin);
            let odds = look::odds(&spot, tones, smooth, slope, k, crowd)?;
            (odds >= DECISIVE - DOUBTFUL).then_some(Candidate { spot, odds })
        })
        .collect()
}

/// Log-odds from which a spot is more likely a flaw than one of this face's
/// shadows: the more shadows come near to looking like flaws, the more is asked, and
/// the more flaws are sure, the less (Bayes' rule; the numbers stand for the priors).
fn decisive(odds: impl Iterator<Item = f64> + Clone) -> f64 {
    let near = DECISIVE - DOUBTFUL..DECISIVE + DOUBTFUL_ABOVE;
    let shadows = odds.clone().filter(|o| near.contains(o)).count() as f64;
    let sure = odds.filter(|o| *o >= SURE).count().min(MOST_COMPANY) as f64;
    DECISIVE + ((shadows + ADDED_SHADOWS) / (USUAL_SHADOWS + ADDED_SHADOWS)).ln()
        - COMPANY * (0.5 * (sure + 1.0)).ln()
}

fn flaw(strip: &Strip, candidate: &Candidate, decisive: f64) -> Flaw {
    let k = strip.px_per_mm;
    let columns = strip.columns();
    let shape = candidate.spot.shape();
    let place = |x: f64, y: f64| Point::<Straight>::new(x / k, strip.height_at(y));
    let members = candidate.spot.members();
    let places: Vec<usize> = members
        .iter()
        .map(|i| candidate.spot.in_raster(*i, columns))
        .collect();
    let outline = outline(columns, &places, place);
    let (greatest_mm, ends) = greatest(&outline);
    Flaw {
        kind: kind(&shape),
        at: place(shape.centre.0, shape.centre.1),
        greatest_mm,
        ends,
        outline_mm: OUTLINE_MM.hypot(0.5 / k),
        area_mm2: shape.area / (k * k),
        outline,
        confidence: 1.0 / (1.0 + (decisive - candidate.odds).exp()),
    }
}

fn kind(shape: &Shape) -> FlawKind {
    if shape.elongation >= WORMHOLE {
        FlawKind::Wormhole
    } else if shape.elongation >= DRAWN_OUT {
        FlawKind::Inclusion
    } else {
        FlawKind::Pore
    }
}

/// Greatest distance between two points of an outline, and the two.
fn greatest<F>(outline: &[Point<F>]) -> (f64, [Point<F>; 2]) {
    let mut best = (0.0, [Point::new(0.0, 0.0); 2]);
    for (i, a) in outline.iter().enumerate() {
        for b in &outline[i + 1..] {
            let d = a.distance(*b);
            if d > best.0 {
                best = (d, [*a, *b]);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Px;

    #[test]
    fn more_is_asked_where_the_metal_is_full_of_shadows() {
        let few = decisive([7.0, 5.0, -3.0].into_iter());
        let many = decisive(std::iter::repeat_n(0.5, 60).chain([7.0]));
        assert!(few < DECISIVE && many > DECISIVE + 1.5, "{few} {many}");
        // The usual face: nothing changes.
        let usual = std::iter::repeat_n(0.0, 6).chain([7.0]);
        assert!((decisive(usual) - DECISIVE).abs() < 1e-9);
    }

    #[test]
    fn less_is_asked_in_the_company_of_sure_flaws() {
        let with = |sure: usize| {
            let shadows = std::iter::repeat_n(0.0, 6);
            decisive(shadows.chain(std::iter::repeat_n(5.0, sure)))
        };
        assert!(with(0) > with(1) && with(1) > with(4) + 0.4);
        assert_eq!(with(MOST_COMPANY), with(50));
    }

    #[test]
    fn the_greatest_dimension_is_the_longest_diagonal() {
        let outline =
            [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)].map(|p| Point::<Px>::new(p.0, p.1));
        let (d, ends) = greatest(&outline);
        assert!((d - 5.0).abs() < 1e-12 && ends[0].distance(ends[1]) == d);
    }
}
