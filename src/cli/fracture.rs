//! `toeline fracture`.

use super::args::{FractureArgs, FractureScale};
use super::settings::Settings;
use super::{CliError, Exit, photographs};
use crate::pipeline::{self, ScaleSource as Source};

pub(super) fn run(args: FractureArgs) -> Result<Exit, CliError> {
    let scale = match args.scale {
        FractureScale::Reference(source) => (source.to_string(), source),
        // Kept in the record's settings; no stage uses it yet.
        FractureScale::Length(mm) => (format!("length:{mm}"), Source::Auto),
    };
    let settings = Settings::resolve("fracture", args.photos, scale, args.coupon, args.answer)?;
    photographs::run(&settings, pipeline::measure_fracture)
}
