//! Squares with known places become a plane: the fit, what ink or light adds to
//! the squares' size, and whether the squares agree among themselves.

use super::squares::Square;
use crate::base::geometry::{Mm, Point, Px};
use crate::base::numeric::median;
use crate::photo::Photo;
use crate::scale::PlaneMap;
use crate::scale::budget;
use crate::scale::plane_fit::{Mark, PlaneFit};

/// A square and where its cell lies on the reference.
#[derive(Clone, Copy, Debug)]
pub struct Seat {
    /// The square as pictured.
    pub square: Square,
    /// Places of its four corners, in the square's own order.
    pub places: [Point<Mm>; 4],
}

impl Seat {
    fn middle(&self) -> Point<Mm> {
        self.places[0].lerp(self.places[2], 0.5)
    }

    /// Column and row of its cell on a reference with cells of `pitch_mm`.
    pub fn cell(&self, pitch_mm: f64) -> [i32; 2] {
        let middle = self.middle();
        [middle.x, middle.y].map(|mm| (mm / pitch_mm).floor() as i32)
    }

    /// Its corners, drawn in towards its centre by `swell`.
    fn marks(&self, swell: f64) -> impl Iterator<Item = Mark> {
        let (square, places) = (self.square, self.places);
        let centre = square.centre();
        (0..4).map(move |k| Mark {
            at: centre + (square.corners[k] - centre) * (1.0 / swell),
            u: places[k].x,
            v: Some(places[k].y),
            second: false,
            sigma_px: None,
        })
    }

    /// Mean side as `map` sees it, mm.
    fn side_mm(&self, map: &PlaneMap) -> f64 {
        let c = self.square.corners.map(|p| map.to_mm(p));
        (0..4).map(|k| c[k].distance(c[(k + 1) % 4])).sum::<f64>() / 4.0
    }
}

/// The plane the squares lie in.
pub struct Flat {
    /// The fit.
    pub fit: PlaneFit,
    /// Its map.
    pub map: PlaneMap,
    /// How many times their cell's size the squares look.
    pub swell: f64,
    /// Diagonal of the reference as far as it is seen, mm.
    pub length_mm: f64,
    /// Relative difference of the scales of the two halves of the reference.
    pub halves_rel: f64,
}

/// Rounds of fit and size: the fit leans on both.
const ROUNDS: usize = 6;
/// A change of size too small to matter: a thousandth of a pixel for a square of
/// ten, and the same all round it.
const SETTLED: f64 = 1e-4;

/// Fits the plane to squares of `pitch_mm`, the longer side of whose lattice runs
/// along the first axis where it matters (a strip).
///
/// # Errors
/// What is wrong with the squares, to be read after "the squares …".
pub fn settle(photo: &Photo, seats: &[Seat], pitch_mm: f64) -> Result<Flat, String> {
    let spread = |of: fn(&Point<Mm>) -> f64| {
        let all: Vec<f64> = seats
            .iter()
            .flat_map(|s| s.places.each_ref().map(of))
            .collect();
        all.iter().fold(f64::MIN, |a, b| a.max(*b)) - all.iter().fold(f64::MAX, |a, b| a.min(*b))
    };
    let (along, across) = (spread(|p| p.x), spread(|p| p.y));
    let stretch_rel = budget::printed(along).hypot(budget::printed(across));
    let mut swell = 1.0;
    let mut settled = None;
    for _ in 0..ROUNDS {
        let marks: Vec<Mark> = seats.iter().flat_map(|s| s.marks(swell)).collect();
        let fit = PlaneFit::new(&marks, photo, stretch_rel).ok_or("fit no plane")?;
        let map = fit.map().ok_or("fit no plane")?;
        let sides: Vec<f64> = seats.iter().map(|s| s.side_mm(&map) / pitch_mm).collect();
        let before = std::mem::replace(&mut swell, median(&sides));
        settled = Some((fit, map));
        if (swell - before).abs() < SETTLED {
            break;
        }
    }
    let (fit, map) = settled.ok_or("fit no plane")?;
    if !(0.8..1.25).contains(&swell) {
        return Err("are not as large as their spacing asks for".to_owned());
    }
    let side_px = pitch_mm * fit.px_per_mm_at(centre_of(seats.iter().map(|s| &s.square)));
    if fit.residual_px > (0.02 * side_px).max(0.5) {
        return Err(format!(
            "stray by {:.2} px from any flat chequer",
            fit.residual_px
        ));
    }
    let length_mm = along.hypot(across);
    let halves_rel = halves_difference(seats, &map, along >= across);
    // A short strip of small squares shows less than its corners' noise.
    let noise = 3.0 * fit.residual_px / (0.5 * length_mm / pitch_mm * side_px);
    if halves_rel > 0.01 + noise {
        return Err(format!(
            "give scales {:.2} % apart in the two halves of the strip",
            100.0 * halves_rel
        ));
    }
    Ok(Flat {
        fit,
        map,
        swell,
        length_mm,
        halves_rel,
    })
}

/// Relative difference of the scales between the centres of the squares of the
/// two halves of the reference.
fn halves_difference(seats: &[Seat], map: &PlaneMap, along: bool) -> f64 {
    let mut sorted: Vec<(Point<Mm>, &Seat)> = seats.iter().map(|s| (s.middle(), s)).collect();
    let key = |p: &Point<Mm>| if along { (p.x, p.y) } else { (p.y, p.x) };
    sorted.sort_by(|a, b| {
        let (a, b) = (key(&a.0), key(&b.0));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let ratio = |part: &[(Point<Mm>, &Seat)]| {
        let (a, b) = (&part[0], &part[part.len() - 1]);
        let mm = map
            .to_mm(a.1.square.centre())
            .distance(map.to_mm(b.1.square.centre()));
        mm / a.0.distance(b.0)
    };
    let middle = sorted.len() / 2;
    (ratio(&sorted[..=middle]) - ratio(&sorted[middle..])).abs()
}

/// Mean place of some squares.
pub fn centre_of<'a>(squares: impl ExactSizeIterator<Item = &'a Square>) -> Point<Px> {
    let n = squares.len() as f64;
    let (x, y) = squares.fold((0.0, 0.0), |(x, y), s| {
        let c = s.centre();
        (x + c.x / n, y + c.y / n)
    });
    Point::new(x, y)
}
