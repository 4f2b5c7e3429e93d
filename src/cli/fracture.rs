//! `toeline fracture`.

use super::args::FractureArgs;
use super::settings::Settings;
use super::{CliError, Exit, photographs};
use crate::pipeline;

pub(super) fn run(args: FractureArgs) -> Result<Exit, CliError> {
    let settings = Settings::resolve(
        "fracture",
        args.photos,
        args.scale,
        args.reference,
        args.coupon,
        args.answer,
    )?;
    photographs::run(&settings, pipeline::measure_fracture)
}
