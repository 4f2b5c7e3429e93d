//! `toeline fracture`.

use super::args::FractureArgs;
use super::settings::Settings;
use super::{CliError, Exit, photographs};
use crate::pipeline;
use crate::record::Kind;

pub(super) fn run(args: FractureArgs) -> Result<Exit, CliError> {
    let settings = Settings::resolve(
        Kind::Fracture,
        args.photos,
        args.scale,
        args.reference,
        args.coupon,
        args.answer,
    )?
    .broken(args.bent_flat, args.root_side);
    photographs::run(&settings, pipeline::measure_fracture)
}
