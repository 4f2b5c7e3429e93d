//! One weld, from its reading to its measurements.

use super::Weld;
use super::doubts::Traced;
use super::evidence::Run;
use super::fusion::{self, Fusion};
use super::gap;
use super::groove::{self, Beside};
use super::measurands;
use super::members::{JointFrame, Reading};
use super::outline::{self, Guide};
use super::passes;
use super::surface::{self, Surface};
use super::toes::{self, Toes};
use crate::base::geometry::{Joint, Line, Mm, Point, Vector, centroid};
use crate::photo::Photo;
use crate::record::{Measurement, Outlines, PassOutline, Toes as ToesPx};
use crate::scale::Scale;

/// Bare surface kept clear of the toe when a surface line is fitted, mm: an
/// undercut or a rounded toe must not bend it.
const CLEAR_OF_TOE_MM: f64 = 0.8;
/// Bare surface used at most, mm.
const MOST_SURFACE_MM: f64 = 25.0;
/// Bare surface that makes a surface line sure, mm.
const ENOUGH_SURFACE_MM: f64 = 2.5;
/// How far behind the root a butting member goes on at least whose other surface
/// does not stand out, mm.
const SHORT_MEMBER_MM: f64 = 4.0;
/// Share of surrounding colours near the root from which on the corner counts
/// as empty. Right readings of pictures with known truth have at most 0.14.
const EMPTY_CORNER: f64 = 0.5;
/// Support left to an outline under which no fusion boundary stands out.
const NO_FUSION_LINE: f64 = 0.75;
/// The joint root lies at least this share of the picture's shorter side from
/// its border.
const BORDER_SHARE: f64 = 0.02;
/// Bare surface followed beyond the guessed toe, mm.
const BEYOND_TOE_MM: f64 = 12.0;
/// Penetration looked for, as a share of the longer leg, beyond 1.2 mm.
const DEEPEST_OF_LEG: f64 = 0.27;
/// Edge of a plate's other surface looked at, mm from the joint root.
const BACK_MM: (f64, f64) = (-10.0, 30.0);
/// Rounds of toes → surfaces → outline → toes.
const ROUNDS: usize = 2;

/// Why there is no fusion boundary, and what to do.
const NO_BOUNDARY: &str = "the fusion boundary does not stand out in this picture: etch again until it does, and photograph with even light";
const HIDDEN_BOUNDARY: &str = "glare hides part of the fusion boundary: turn the lamp or the section until the weld shows no white patch, and photograph again";

/// One reading, traced and measured.
pub struct Found {
    /// Support its outline has in the picture, 0 … 1.
    pub support: f64,
    /// What was traced, and how surely.
    pub traced: Traced,
    /// Its numbers and outlines.
    pub weld: Weld,
}

/// Traces and measures the weld of one reading. `None` when the outline cannot be followed from
/// one surface to the other.
pub fn trace(
    photo: &Photo,
    scale: &Scale,
    reading: &Reading,
    guide: Guide,
    declared_passes: Option<u32>,
) -> Option<Found> {
    let mut reading = *reading;
    let root = Point::<Joint>::new(0.0, 0.0);
    let follow = |reading: &Reading| {
        let far = |run: Run, clear: f64| run.end.min(clear + BEYOND_TOE_MM) - 0.4;
        let far = (
            far(reading.nonbutting, reading.clear_from.0),
            far(reading.butting, reading.clear_from.1),
        );
        let outline = outline::trace(photo, &scale.map, reading, far, guide)?;
        toes::find(&outline, reading.frame.dihedral())
    };
    let mut toes = follow(&reading)?;
    let mut surfaces = None;
    for _ in 0..ROUNDS {
        reading.nonbutting.begin = toes.nonbutting.x;
        reading.butting.begin = toes.butting.distance(root);
        reading.clear_from = (reading.nonbutting.begin, reading.butting.begin);
        surfaces = Some(refine_surfaces(photo, scale, &mut reading)?);
        toes = follow(&reading)?;
    }
    let (surface_n, surface_b) = surfaces?;
    let frame = &reading.frame;
    retrace_beside_toes(photo, scale, frame, &mut toes);
    // A joint root at the very border of the picture is no joint one can see.
    let border = BORDER_SHARE * photo.width.min(photo.height) as f64;
    let at = scale.map.to_px(frame.root);
    let inside = |v: f64, size: usize| v >= border && v <= size as f64 - border;
    if !(inside(at.x, photo.width) && inside(at.y, photo.height)) {
        return None;
    }
    let deepest = (DEEPEST_OF_LEG * reading.nonbutting.begin.max(reading.butting.begin) + 1.2)
        .min(0.9 * reading.thickness_nonbutting.max(3.0));
    let fusion = fusion::trace(photo, &scale.map, frame, &toes, deepest)
        .filter(Fusion::is_clear)
        .ok_or(NO_BOUNDARY)
        .and_then(|fusion| {
            if fusion.is_hidden() {
                Err(HIDDEN_BOUNDARY)
            } else {
                Ok(fusion)
            }
        });
    let bare = |s: &Surface| s.clarity * (s.support_mm / ENOUGH_SURFACE_MM).min(1.0);
    // A corner coloured like the surroundings is empty.
    let filled = (1.0 - (toes.corner_is_air / EMPTY_CORNER).powi(2)).max(0.0);
    let support = toes.clarity
        * (bare(&surface_n) * bare(&surface_b)).sqrt()
        * filled
        * if matches!(fusion, Err(NO_BOUNDARY)) {
            NO_FUSION_LINE
        } else {
            1.0
        };
    let mut weld = assemble(
        scale,
        frame,
        &toes,
        fusion.as_ref().map_err(|why| *why),
        (&surface_n, &surface_b),
        declared_passes,
    );
    weld.measurements.insert(
        "root_gap_mm".to_owned(),
        root_gap(photo, scale, &reading, fusion.as_ref().ok()),
    );
    Some(Found {
        support,
        traced: Traced {
            frame: reading.frame,
            outline_mm: outline_mm(scale, &reading.frame, &toes, (&surface_n, &surface_b)),
            fusion_mm: fusion_mm(scale, &reading.frame, fusion.as_ref().ok()),
            toes,
            fusion: fusion.ok(),
            surfaces: (surface_n, surface_b),
        },
        weld,
    })
}

/// Standard uncertainty of an outline position, mm.
fn outline_mm(
    scale: &Scale,
    frame: &JointFrame,
    toes: &Toes,
    surfaces: (&Surface, &Surface),
) -> f64 {
    let px_mm = 1.0 / scale.map.px_per_mm_at(frame.root);
    let scatter = surfaces.0.scatter_mm.max(surfaces.1.scatter_mm);
    (0.03f64).hypot(0.5 * px_mm).hypot(0.5 * scatter) * (1.0 + 1.5 * (1.0 - toes.clarity))
}

/// Standard uncertainty of a fusion boundary position besides its deviation, mm.
fn fusion_mm(scale: &Scale, frame: &JointFrame, fusion: Option<&Fusion>) -> f64 {
    let px_mm = 1.0 / scale.map.px_per_mm_at(frame.root);
    (0.06f64).hypot(0.7 * px_mm) * fusion.map_or(1.0, |f| 1.0 + 3.0 * (1.0 - f.clarity))
}

/// The gap between the members, in the record's form.
fn root_gap(
    photo: &Photo,
    scale: &Scale,
    reading: &Reading,
    fusion: Option<&Fusion>,
) -> Measurement {
    let Some(fusion) = fusion else {
        return Measurement::not_assessed(
            "the gap is looked for behind the weld, and where fusion ends there is not known",
        );
    };
    let frame = &reading.frame;
    let end_mm = reading.back.1.unwrap_or(SHORT_MEMBER_MM);
    match gap::measure(photo, &scale.map, frame, fusion.behind_root_mm(), end_mm) {
        Ok(gap) => {
            let px = |p: &Point<Joint>| scale.map.to_px(frame.to_plane(*p)).to_array();
            let scale_mm = gap.width_mm * scale.standard_uncertainty_rel;
            Measurement::measured(
                gap.width_mm,
                gap.own_mm.hypot(scale_mm),
                gap.across.iter().map(px).collect(),
            )
        }
        Err(why) => Measurement::not_assessed(why),
    }
}

/// Puts what is seen square to either plate in place of the outline beside its toe.
fn retrace_beside_toes(photo: &Photo, scale: &Scale, frame: &JointFrame, toes: &mut Toes) {
    let riser = Vector::<Joint>::from_angle(frame.dihedral());
    let in_front = Vector::<Joint>::new(riser.y, -riser.x);
    for (toe, bare, away, out) in [
        (
            toes.nonbutting,
            &mut toes.bare_nonbutting,
            Vector::new(1.0, 0.0),
            Vector::new(0.0, 1.0),
        ),
        (toes.butting, &mut toes.bare_butting, riser, in_front),
    ] {
        let along = |p: &Point<Joint>| (*p - toe).dot(away);
        let beside = Beside {
            toe,
            away,
            out,
            bare_mm: bare.last().map_or(0.0, along),
        };
        if let Some(traced) = groove::trace(photo, &scale.map, frame, &beside) {
            let reach = traced.last().map_or(0.0, along);
            let beyond = bare.iter().filter(|p| along(p) > reach).copied();
            *bare = traced.iter().copied().chain(beyond).collect();
        }
    }
}

/// Fits both surfaces beyond the toes as known so far and moves the frame to
/// them. Where too little bare surface is in the picture the line stays as it was.
fn refine_surfaces(
    photo: &Photo,
    scale: &Scale,
    reading: &mut Reading,
) -> Option<(Surface, Surface)> {
    let frame = reading.frame;
    let refine = |origin, direction, outward, range| {
        surface::refine(photo, &scale.map, origin, direction, outward, range)
    };
    let fit = |direction, outward: Vector<Mm>, run: Run, thickness: Option<f64>| {
        let from = run.begin + CLEAR_OF_TOE_MM;
        let to = (run.end - 0.4).min(run.begin + MOST_SURFACE_MM);
        let own = refine(frame.root, direction, outward, (from, to))?;
        let back = thickness.and_then(|mm| {
            let range = (BACK_MM.0, run.end.min(BACK_MM.1));
            refine(frame.root - outward * mm, direction, -outward, range)
        });
        Some(match back {
            Some(back) => own.turned_to(&back),
            None => own,
        })
    };
    let n = fit(
        frame.along_nonbutting,
        frame.out_of_nonbutting(),
        reading.nonbutting,
        reading.back.0,
    )
    .unwrap_or(Surface::guessed(Line::new(
        frame.root,
        frame.along_nonbutting,
    )));
    let b = fit(
        frame.along_butting,
        frame.out_of_butting(),
        reading.butting,
        reading.back.1,
    )
    .unwrap_or(Surface::guessed(Line::new(frame.root, frame.along_butting)));
    let root = n.line.crossing(&b.line)?;
    reading.frame = JointFrame {
        root,
        along_nonbutting: n.line.direction,
        along_butting: b.line.direction,
    };
    Some((n, b))
}

fn assemble(
    scale: &Scale,
    frame: &JointFrame,
    toes: &Toes,
    fusion: Result<&Fusion, &str>,
    surfaces: (&Surface, &Surface),
    declared_passes: Option<u32>,
) -> Weld {
    let px_mm = 1.0 / scale.map.px_per_mm_at(frame.root);
    let scatter = surfaces.0.scatter_mm.max(surfaces.1.scatter_mm);
    let why_not = fusion.err();
    let fusion = fusion.ok();
    let passes = fusion.and_then(|fusion| passes::find(toes, fusion, declared_passes));
    let traced = measurands::Traced {
        frame,
        toes,
        fusion: fusion.ok_or_else(|| why_not.unwrap_or_default().to_owned()),
        passes: passes.as_ref(),
        outline_mm: outline_mm(scale, frame, toes, surfaces),
        root_mm: (0.02f64).hypot(0.3 * px_mm).hypot(scatter),
        fusion_mm: fusion_mm(scale, frame, fusion),
    };
    let px = |p: Point<Joint>| scale.map.to_px(frame.to_plane(p));
    let draw =
        |points: &[Point<Joint>]| points.iter().map(|p| px(*p).to_array()).collect::<Vec<_>>();
    let parts = measurands::parts(toes, fusion);
    let root = Point::<Joint>::new(0.0, 0.0);
    let riser = frame.butting_direction();
    let plates = [
        [
            root,
            toes.bare_nonbutting
                .last()
                .copied()
                .unwrap_or(toes.nonbutting),
        ],
        [
            root,
            root + riser
                * toes
                    .bare_butting
                    .last()
                    .copied()
                    .unwrap_or(toes.butting)
                    .distance(root),
        ],
    ];
    let metal = if parts.metal.is_empty() {
        &parts.deposit
    } else {
        &parts.metal
    };
    let centre = centroid(metal).unwrap_or(root);
    Weld {
        centre: px(centre),
        measurements: measurands::measure(&traced, scale),
        outlines_px: Outlines {
            weld_metal: draw(&parts.metal),
            fusion_boundary_butting: draw(&parts.in_butting),
            fusion_boundary_nonbutting: draw(&parts.in_nonbutting),
            face: draw(&toes.face),
            toes: Some(ToesPx {
                butting: px(toes.butting).to_array(),
                nonbutting: px(toes.nonbutting).to_array(),
            }),
            joint_root: Some(px(root).to_array()),
            passes: match (&passes, fusion) {
                (Some(passes), Some(fusion)) => passes.outlines(toes, fusion),
                _ => Vec::new(),
            }
            .iter()
            .zip(1..)
            .map(|(outline, number)| PassOutline {
                number,
                outline_px: draw(outline),
                proposed: true,
            })
            .collect(),
            plates: plates.iter().map(|p| draw(p)).collect(),
            ..Outlines::default()
        },
        findings: Vec::new(),
        searched: Vec::new(),
        reasons: Vec::new(),
        scale_checks: Vec::new(),
    }
}
