//! `toeline section`.

use super::args::SectionArgs;
use super::settings::Settings;
use super::{CliError, Exit, photographs};
use crate::pipeline;
use crate::record::Kind;

pub(super) fn run(args: SectionArgs) -> Result<Exit, CliError> {
    let settings = Settings::resolve(
        Kind::Section,
        args.photos,
        args.scale,
        args.reference,
        args.coupon,
        args.answer,
    )?;
    photographs::run(&settings, pipeline::measure_section)
}
