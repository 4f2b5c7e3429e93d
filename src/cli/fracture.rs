//! `toeline fracture`.

use super::args::{FractureArgs, FractureScale};
use super::settings::Settings;
use super::{CliError, Exit, photographs};
use crate::pipeline::{self, ScaleSource as Source};
use crate::record::Kind;

pub(super) fn run(args: FractureArgs) -> Result<Exit, CliError> {
    let (scale, length_mm) = match args.scale {
        FractureScale::Reference(source) => ((source.to_string(), source), None),
        FractureScale::Length(mm) => ((format!("length:{mm}"), Source::Auto), Some(mm)),
    };
    let settings = Settings::resolve(Kind::Fracture, args.photos, scale, args.coupon, args.answer)?
        .broken(args.bent_flat, length_mm);
    photographs::run(&settings, pipeline::measure_fracture)
}
