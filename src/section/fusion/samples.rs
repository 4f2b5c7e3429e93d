//! Colours of regions whose metal is certain before the boundary is known:
//! weld metal inside the deposit, parent metal far off, and the heat-affected
//! band beside either toe, where the weld has ended but its heat has not.

use crate::base::geometry::{Joint, Mm, Point, Vector, centroid, contains};
use crate::photo::Photo;
use crate::scale::PlaneMap;
use crate::section::members::JointFrame;
use crate::section::strip::Strip;
use crate::section::toes::Toes;

/// The band beside a toe: from and to along the surface, and depth, mm. The
/// narrowest heat-affected bands of arc welds are near half a millimetre.
const BESIDE_TOE_MM: (f64, f64) = (0.2, 0.9);
const BESIDE_TOE_DEPTH_MM: (f64, f64) = (0.2, 0.7);
/// Kept clear of an undercut's walls, mm.
const BESIDE_GROOVE_MM: f64 = 0.2;
/// Beyond this from a toe no heat has changed the metal, over this length, mm.
const CLEAR_OF_HEAT_MM: f64 = 4.0;
const PARENT_MM: f64 = 8.0;

/// Colours of the heat-affected band beside the toes.
pub fn band_beside_toes(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
) -> Vec<[f32; 3]> {
    let riser = frame.butting_direction();
    let psi = frame.dihedral();
    let behind = Vector::<Joint>::new(-psi.sin(), psi.cos());
    let mut samples = Vec::new();
    for (toe, along, into, bare) in [
        (
            toes.nonbutting,
            Vector::new(1.0, 0.0),
            Vector::new(0.0, -1.0),
            &toes.bare_nonbutting,
        ),
        (toes.butting, riser, behind, &toes.bare_butting),
    ] {
        let pitch = 0.03;
        let count = ((BESIDE_TOE_MM.1 - BESIDE_TOE_MM.0) / pitch) as usize;
        // An undercut is no metal, and its rim has every tone between metal and air.
        let groove = |at: f64| {
            bare.iter()
                .map(|p| *p - toe)
                .filter(|d| (d.dot(along) - at).abs() <= BESIDE_GROOVE_MM)
                .map(|d| d.dot(into))
                .fold(0.0, f64::max)
        };
        let spine: Vec<Point<Mm>> = (0..count)
            .map(|i| {
                let at = BESIDE_TOE_MM.0 + i as f64 * pitch;
                frame.to_plane(toe + along * at + into * groove(at))
            })
            .collect();
        let inward = frame.to_plane(toe + into) - frame.to_plane(toe);
        let (low, high) = BESIDE_TOE_DEPTH_MM;
        let strip = Strip::new(photo, map, spine, vec![inward; count], low, high, pitch);
        for c in 0..count {
            samples.extend_from_slice(strip.column(c));
        }
    }
    samples
}

/// Colours of certain weld metal: the deposit, clear of the face and of the
/// original surfaces.
pub fn weld_samples(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
) -> Vec<[f32; 3]> {
    let mut polygon = vec![Point::<Joint>::new(0.0, 0.0), toes.nonbutting];
    polygon.extend(toes.face.iter().rev());
    let Some(centre) = centroid(&polygon) else {
        return Vec::new();
    };
    // Shrunk towards its centroid.
    let core: Vec<Point<Joint>> = polygon.iter().map(|p| centre.lerp(*p, 0.8)).collect();
    grid_colours(photo, map, frame, &|p| contains(&core, p), toes)
}

/// Colours of certain parent metal: inside the plates, beyond any heat-affected band.
pub fn parent_samples(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
    deepest: f64,
) -> Vec<[f32; 3]> {
    let strips = parent_strips(photo, map, frame, toes, deepest.min(5.0), (0.15, 0.15));
    let columns = strips
        .iter()
        .flat_map(|s| (0..s.columns()).map(move |c| s.column(c)));
    columns.flatten().copied().collect()
}

/// The plates under their bare surfaces, far from the toes; one column every `pitch` mm
/// with a row every `step` mm.
pub fn parent_strips(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    toes: &Toes,
    deepest: f64,
    (pitch, step): (f64, f64),
) -> [Strip; 2] {
    let riser = frame.butting_direction();
    [
        (
            toes.nonbutting,
            Vector::new(1.0, 0.0),
            Vector::new(0.0, -1.0),
        ),
        (toes.butting, riser, riser.turned()),
    ]
    .map(|(toe, along, into)| {
        let start = toe + along * CLEAR_OF_HEAT_MM;
        let count = (PARENT_MM / pitch) as usize;
        let spine: Vec<Point<Mm>> = (0..count)
            .map(|i| frame.to_plane(start + along * (i as f64 * pitch)))
            .collect();
        let inward = frame.to_plane(start + into) - frame.to_plane(start);
        Strip::new(photo, map, spine, vec![inward; count], 0.4, deepest, step)
    })
}

fn grid_colours(
    photo: &Photo,
    map: &PlaneMap,
    frame: &JointFrame,
    wanted: &dyn Fn(Point<Joint>) -> bool,
    toes: &Toes,
) -> Vec<[f32; 3]> {
    let size = toes.nonbutting.x.max(toes.butting.y) + 2.0;
    let count = (size / 0.12) as usize;
    let left = toes.butting.x.min(0.0);
    let mut samples = Vec::new();
    for i in 0..count {
        let x = left + i as f64 * 0.12;
        let foot = Point::<Joint>::new(x, 0.0);
        let up = frame.to_plane(Point::new(x, 1.0)) - frame.to_plane(foot);
        let strip = Strip::new(
            photo,
            map,
            vec![frame.to_plane(foot)],
            vec![up],
            0.0,
            size,
            0.12,
        );
        for (r, colour) in strip.column(0).iter().enumerate() {
            if wanted(Point::new(x, strip.offset_mm(r as f64))) {
                samples.push(*colour);
            }
        }
    }
    samples
}
