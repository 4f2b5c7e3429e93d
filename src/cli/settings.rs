//! Arguments as typed become settings as meant: defaults filled in, limits
//! loaded, output names checked against each other. Nothing is written here.

use super::args::{
    AnswerArgs, CouponArgs, Cracks as CracksArg, Joint, Metal, ReferenceArgs,
    RootSide as RootSideArg,
};
use super::error::CliError;
use super::output::Names;
use crate::pipeline::{PhotoLimits, Profile, Request, ScaleRequest, ScaleSource};
use crate::record::{Coupon, Cracks, JointType, Kind, Material, RootSide};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What one run does.
#[derive(Debug)]
pub(super) struct Settings {
    jobs: Vec<Job>,
    request: Request,
    out: PathBuf,
    quiet: bool,
    pdf: bool,
    timings: bool,
}

/// One photograph and where its results go.
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub photo: PathBuf,
    pub names: Names,
}

impl Settings {
    /// For the command of that name.
    pub fn resolve(
        kind: Kind,
        photos: Vec<PathBuf>,
        source: ScaleSource,
        reference: ReferenceArgs,
        coupon: CouponArgs,
        answer: AnswerArgs,
    ) -> Result<Self, CliError> {
        let limits = answer
            .limits
            .as_deref()
            .map(|text| {
                let profile = Profile::load(text)?.for_kind(kind)?;
                Ok::<_, CliError>(Profile {
                    decision: answer.decision.unwrap_or(profile.decision),
                    ..profile
                })
            })
            .transpose()?;
        let request = Request {
            coupon: Coupon {
                length_mm: match source {
                    ScaleSource::CouponLength { length_mm } => Some(length_mm),
                    _ => None,
                },
                ..declared(coupon, &reference)
            },
            scale: asked(source, &reference),
            limits,
            photo_limits: PhotoLimits::default(),
            settings: BTreeMap::new(),
        };
        Ok(Self {
            jobs: jobs(photos, &answer.out)?,
            request: request.described(kind),
            out: answer.out,
            quiet: answer.quiet,
            pdf: answer.pdf,
            timings: answer.timings,
        })
    }

    /// The same with what is declared of broken coupons only: whether it bent flat
    /// instead, and where its root side lies.
    pub fn broken(mut self, bent_flat: bool, root_side: Option<RootSideArg>) -> Self {
        self.request.coupon.bent_flat = bent_flat;
        self.request.coupon.root_side = root_side.map(|side| match side {
            RootSideArg::Top => RootSide::Top,
            RootSideArg::Bottom => RootSide::Bottom,
            RootSideArg::Left => RootSide::Left,
            RootSideArg::Right => RootSide::Right,
        });
        self
    }

    pub fn jobs(&self) -> &[Job] {
        &self.jobs
    }

    pub fn request(&self) -> &Request {
        &self.request
    }

    pub fn out(&self) -> &Path {
        &self.out
    }

    /// Whether the report is set as PDF as well.
    pub fn pdf(&self) -> bool {
        self.pdf
    }

    pub fn quiet(&self) -> bool {
        self.quiet
    }

    pub fn timings(&self) -> bool {
        self.timings
    }
}

/// What the scale stage is asked for.
pub(super) fn asked(source: ScaleSource, reference: &ReferenceArgs) -> ScaleRequest {
    ScaleRequest {
        source,
        offset_mm: reference.scale_offset,
        rule_class: reference.rule_class,
        card_line_mm: reference.card_line,
    }
}

fn declared(args: CouponArgs, reference: &ReferenceArgs) -> Coupon {
    Coupon {
        id: args.coupon,
        joint: args.joint.map(|joint| match joint {
            Joint::Tee => JointType::Tee,
            Joint::Lap => JointType::Lap,
            Joint::Corner => JointType::Corner,
        }),
        dihedral_deg: args.dihedral,
        thickness_butting_mm: args.thickness.map(|t| t.butting),
        thickness_nonbutting_mm: args.thickness.map(|t| t.nonbutting),
        leg_mm: args.leg,
        throat_mm: args.throat,
        passes: args.passes,
        material: args.material.map(|metal| match metal {
            Metal::CarbonSteel => Material::CarbonSteel,
            Metal::Stainless => Material::Stainless,
            Metal::Aluminium => Material::Aluminium,
        }),
        discard_mm: args.discard,
        scale_offset_mm: reference.scale_offset,
        cracks: args.cracks.map(|cracks| match cracks {
            CracksArg::None => Cracks::None,
            CracksArg::Seen => Cracks::Seen,
        }),
        length_mm: None,
        root_side: None,
        bent_flat: false,
    }
}

/// Two photographs must not share result files, and no result may take the
/// place of a photograph of this run.
pub(super) fn jobs(photos: Vec<PathBuf>, out: &Path) -> Result<Vec<Job>, CliError> {
    let mut jobs: Vec<Job> = Vec::with_capacity(photos.len());
    for photo in photos {
        let names = Names::of(&photo, out);
        if let Some(first) = jobs.iter().find(|job| job.names == names) {
            return Err(CliError::SameName {
                first: first.photo.clone(),
                second: photo,
                name: names.record_name(),
            });
        }
        jobs.push(Job { photo, names });
    }
    let real = |path: &Path| path.canonicalize().ok();
    let photographs: Vec<PathBuf> = jobs.iter().filter_map(|job| real(&job.photo)).collect();
    let replaced = jobs
        .iter()
        .flat_map(|job| job.names.all())
        .find(|path| real(path).is_some_and(|path| photographs.contains(&path)));
    match replaced {
        Some(path) => Err(CliError::WouldReplacePhotograph(path.to_owned())),
        None => Ok(jobs),
    }
}
