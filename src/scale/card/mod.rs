//! Toeline's own printed scale card.
//!
//! The chequer finder gives squares on lattices; the keys of the ring tell which
//! lattice is a card's and which cell each square is ([`placement`]). From then
//! on every place of the card is known in the picture: squares beyond a gap are
//! taken in, the plane and the lens are fitted to all corners, the QR code is
//! read where it must lie ([`code`]). The scale does not lean on the code.

mod code;
mod design;
mod placement;
mod shown;

pub use design::Design;

use super::budget::{self, Budget};
use super::chequer::flat::{self, Flat, Seat};
use super::chequer::lattice;
use super::chequer::squares::Square;
use super::sight::Sight;
use super::{PlaneMap, Scale};
use crate::base::geometry::{Mm, Point};
use crate::record::{Code, NumberedMark, Reason, ScaleEvidence, ScaleFacts};
use code::Code as Qr;
use placement::Placement;

/// What a workshop calliper adds when the control line is measured, half-width
/// over the line, mm (common practice, no source).
const CALLIPER_MM: f64 = 0.05;
/// How far a printer's two directions may differ when only one was measured,
/// half-width of the scale (common practice, no source).
const DIRECTIONS_REL: f64 = 0.001;
/// A square belongs to a cell whose corners lie this near to its own, in cells.
const STRAY: f64 = 0.2;

/// Reads the scale from the card. `card_line_mm` is the measured length of its
/// control line.
///
/// # Errors
/// `no-scale` when no card is found, `scale-doubtful` when one is found that
/// lies in no plane or was printed at another size.
pub fn find(
    sight: &Sight,
    offset_mm: Option<f64>,
    card_line_mm: Option<f64>,
) -> Result<Scale, Reason> {
    let stretch = stretch(card_line_mm)?;
    let (photo, found) = (sight.photo, sight.squares());
    let lattices = lattice::all(found);
    let placed = lattices
        .iter()
        .find_map(|l| Some((l, Placement::find(&photo.luma, l)?)));
    let Some((lattice, placement)) = placed else {
        return Err(no_card(&lattices));
    };
    let mirrored = placement.mirrored();
    let on_plane = |place: [f64; 2]| placement::plane(place, stretch, mirrored);
    let pitch_mm = Design::SQUARE_MM * stretch;

    let mut seats = seats_of(lattice, &placement, &on_plane);
    let place = flat::centre_of(seats.iter().map(|s| &s.square));
    let doubt = |what: &str| {
        Reason::new(
            Code::ScaleDoubtful,
            format!(
                "the squares of the scale card near ({:.0}, {:.0}) px {what}",
                place.x, place.y
            ),
            "lay the card flat, free of glare and in focus, or print it again; or use another scale",
        )
    };
    // Twice: what lies beyond a gap is met by the map of what lies before it.
    let mut flat = flat::settle(photo, &seats, pitch_mm).map_err(|what| doubt(&what))?;
    for _ in 0..2 {
        let more = seats_by(found, &flat.map, &on_plane, pitch_mm);
        if more.len() <= seats.len() {
            break;
        }
        flat = flat::settle(photo, &more, pitch_mm).map_err(|what| doubt(&what))?;
        seats = more;
    }
    let Flat {
        fit,
        map,
        swell,
        length_mm,
        halves_rel,
    } = flat;

    let qr = code::read(photo, &map, on_plane);
    let occupied = shown::parts(photo, &map, &seats, &qr, &on_plane, stretch);
    let middle = Point::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
    let (factor, height) = budget::height(offset_mm, &fit.distance());
    let budget = Budget {
        fit: fit.scale_uncertainty_rel(middle),
        reference: print_uncertainty(card_line_mm, length_mm),
        height,
    };
    let outline_px = shown::outline(&map, Design::RING, &on_plane)
        .iter()
        .map(|p| p.to_array())
        .collect();
    let map = map
        .rescaled(factor)
        .ok_or_else(|| doubt("leave no plane at the declared offset"))?;
    let standard_uncertainty_rel = budget.combined();
    let mut cross_checks = vec![
        identity(&qr),
        format!(
            "{} of the card's {} squares; they look {:+.1} % larger than their cell, which is taken out",
            seats.len(),
            Design::dark().count(),
            100.0 * (swell - 1.0)
        ),
        format!(
            "first half of the card against its second half: {:.2} % apart",
            100.0 * halves_rel
        ),
        print_checked(card_line_mm),
        format!(
            "relative standard uncertainty: fit, tilt and lens {:.2} %, the print {:.2} %, its height against the plane {:.2} %",
            100.0 * budget.fit,
            100.0 * budget.reference,
            100.0 * budget.height
        ),
        budget::effect_of_height(offset_mm, factor, &fit.distance()),
    ];
    if mirrored {
        cross_checks.push("the picture shows the card as in a mirror".to_owned());
    }
    Ok(Scale {
        facts: ScaleFacts {
            source: "card".to_owned(),
            px_per_mm: map.px_per_mm_at(map.to_mm(middle)),
            standard_uncertainty_rel,
            tilt_deg: Some(fit.tilt_deg()),
            at_px: Some(place.to_array()),
            evidence: ScaleEvidence {
                ticks: None,
                corners: Some(4 * seats.len()),
                residual_px: Some(fit.residual_px),
                cross_checks,
                outline_px,
                marks_px: seats
                    .iter()
                    .flat_map(|s| s.square.corners)
                    .map(Point::to_array)
                    .collect(),
                numbered: seats
                    .iter()
                    .map(|s| {
                        let at = s.cell(pitch_mm);
                        NumberedMark {
                            at_px: s.square.centre().to_array(),
                            place: format!("{},{}", at[0], at[1]),
                        }
                    })
                    .collect(),
            },
        },
        map,
        standard_uncertainty_rel,
        occupied,
        coupon_id: match qr {
            Qr::Read(name) => name,
            Qr::Unreadable | Qr::OutOfPicture => None,
        },
    })
}

/// How many times its designed size the card was printed.
fn stretch(card_line_mm: Option<f64>) -> Result<f64, Reason> {
    match card_line_mm {
        None => Ok(1.0),
        Some(mm) if Design::CONTROL_ACCEPTED_MM.contains(&mm) => Ok(mm / Design::CONTROL_MM),
        Some(mm) => Err(Reason::new(
            Code::ScaleDoubtful,
            format!(
                "the card's control line, {mm} mm instead of 100 mm, says that it was printed at another size"
            ),
            "print the card again at 100 %, without fitting it to the page, and measure its control line",
        )),
    }
}

fn no_card(lattices: &[Vec<lattice::Placed>]) -> Reason {
    let what = match lattices.first().filter(|l| l.len() >= 4) {
        Some(squares) => {
            let at = flat::centre_of(squares.iter().map(|p| &p.square));
            format!(
                "no Toeline scale card was found; the {} chequer squares near ({:.0}, {:.0}) px are not the card's, or too few of the card's to tell",
                squares.len(),
                at.x,
                at.y
            )
        }
        None => "no Toeline scale card was found in the picture".to_owned(),
    };
    Reason::new(
        Code::NoScale,
        what,
        "lay the card flat in the plane of the measured face, at least two sides of its ring in the picture, in focus and free of glare; for another chequer use --scale chequer:MM",
    )
}

/// The squares of the card's own lattice.
fn seats_of(
    lattice: &[lattice::Placed],
    placement: &Placement,
    on_plane: &impl Fn([f64; 2]) -> Point<Mm>,
) -> Vec<Seat> {
    lattice
        .iter()
        .filter(|p| placement.dark(p).is_some())
        .map(|p| Seat {
            square: p.square,
            places: p.cells().map(|(_, u, v)| {
                let (x, y) = placement.cells(u, v);
                on_plane([x * Design::SQUARE_MM, y * Design::SQUARE_MM])
            }),
        })
        .collect()
}

/// All squares that lie where `map` puts a dark square of the card.
fn seats_by(
    found: &[Square],
    map: &PlaneMap,
    on_plane: &impl Fn([f64; 2]) -> Point<Mm>,
    pitch_mm: f64,
) -> Vec<Seat> {
    let side = Design::SQUARE_MM;
    Design::dark()
        .filter_map(|dark| {
            let (x, y) = (f64::from(dark.column), f64::from(dark.row));
            let cell = [(x, y), (x + 1.0, y), (x + 1.0, y + 1.0), (x, y + 1.0)]
                .map(|(x, y)| on_plane([x * side, y * side]));
            let middle = cell[0].lerp(cell[2], 0.5);
            let near = |p: Point<Mm>, q: Point<Mm>| p.distance(q) < STRAY * pitch_mm;
            let square = found.iter().find(|s| near(map.to_mm(s.centre()), middle))?;
            let mut places = [middle; 4];
            for (place, corner) in places.iter_mut().zip(square.corners) {
                let seen = map.to_mm(corner);
                *place = *cell.iter().find(|c| near(seen, **c))?;
            }
            Some(Seat {
                square: *square,
                places,
            })
        })
        .collect()
}

/// Relative standard uncertainty of the printed size.
fn print_uncertainty(card_line_mm: Option<f64>, length_mm: f64) -> f64 {
    match card_line_mm {
        Some(line) => (CALLIPER_MM / line).hypot(DIRECTIONS_REL) / 3f64.sqrt(),
        None => budget::printed(length_mm),
    }
}

fn print_checked(card_line_mm: Option<f64>) -> String {
    match card_line_mm {
        Some(line) => format!(
            "the card's control line was measured as {line} mm instead of 100 mm, and all its lengths are taken in that ratio"
        ),
        None => "the print was not checked: measure the card's 100 mm control line once and give --card-line".to_owned(),
    }
}

fn identity(qr: &Qr) -> String {
    match qr {
        Qr::Read(Some(name)) => format!("the card's code names the coupon {name}"),
        Qr::Read(None) => "the card's code was read; the card carries no coupon's name".to_owned(),
        Qr::Unreadable => "the card's code is covered or not sharp enough to be read".to_owned(),
        Qr::OutOfPicture => "the card's code lies outside the picture".to_owned(),
    }
}
