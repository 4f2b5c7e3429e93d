//! One weld, from its tracing to its measurements.

use super::Weld;
use super::gap;
use super::groove::{self, Beside};
use super::lap;
use super::measurands;
use super::passes;
use super::restate::restate;
use super::tracing::Tracing;
use crate::base::geometry::{Joint, Point, Vector, centroid};
use crate::photo::Photo;
use crate::record::{Measurement, Outlines, PassOutline, Toes as ToesPx};
use crate::scale::Scale;

/// How far behind the root a butting member goes on at least whose other surface
/// does not stand out, mm.
const SHORT_MEMBER_MM: f64 = 4.0;

/// Measures the weld that was traced. `seed` makes the trials behind the
/// uncertainties the same for the same photograph.
pub fn measure(
    photo: &Photo,
    scale: &Scale,
    mut tracing: Tracing,
    declared_passes: Option<u32>,
    seed: u64,
) -> Weld {
    retrace_beside_toes(photo, scale, &mut tracing);
    let (frame, toes) = (&tracing.frame, &tracing.toes);
    let fusion = tracing.fusion.as_ref().ok();
    let gap = root_gap(photo, scale, &tracing);
    let gap_mm = gap.value.unwrap_or(0.0);
    let passes = fusion.and_then(|fusion| passes::find(toes, fusion, declared_passes));
    let traced = measurands::Traced {
        frame,
        toes,
        fusion: tracing.fusion.as_ref().map_err(|why| *why),
        gap_mm,
        passes: passes.as_ref(),
        outline_mm: tracing.outline_mm,
        root_mm: tracing.root_mm,
        fusion_mm: tracing.fusion_mm,
    };
    let mut measurements = measurands::measure(&traced, scale);
    let size_px = (photo.width, photo.height);
    restate(&tracing, scale, size_px, gap_mm, seed, &mut measurements);
    if tracing.covered {
        lap::withhold(&mut measurements);
    }
    measurements.insert("root_gap_mm".to_owned(), gap);
    let px = |p: Point<Joint>| scale.map.to_px(frame.to_plane(p));
    let draw =
        |points: &[Point<Joint>]| points.iter().map(|p| px(*p).to_array()).collect::<Vec<_>>();
    let parts = measurands::parts(toes, fusion, gap_mm);
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
        measurements,
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
        note: tracing.covered.then_some(lap::COVERED),
    }
}

/// The gap between the members, in the record's form.
fn root_gap(photo: &Photo, scale: &Scale, tracing: &Tracing) -> Measurement {
    let Ok(fusion) = &tracing.fusion else {
        return Measurement::not_assessed(
            "the gap is looked for behind the weld, and where fusion ends there is not known",
        );
    };
    let frame = &tracing.frame;
    let end_mm = tracing.butting_mm.unwrap_or(SHORT_MEMBER_MM);
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
fn retrace_beside_toes(photo: &Photo, scale: &Scale, tracing: &mut Tracing) {
    let (frame, toes) = (&tracing.frame, &mut tracing.toes);
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
