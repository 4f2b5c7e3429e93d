//! `toeline card`.

use super::args::{CardArgs, Paper};
use super::{CliError, Exit, output};
use crate::cardprint;

pub(super) fn run(args: CardArgs) -> Result<Exit, CliError> {
    let paper = match args.paper {
        Paper::A4 => cardprint::Paper::A4,
        Paper::Letter => cardprint::Paper::Letter,
    };
    let pdf = cardprint::pdf(args.coupon.as_deref(), paper)?;
    if let Some(folder) = args.out.parent().filter(|f| !f.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).map_err(|source| CliError::Write {
            path: folder.to_owned(),
            source,
        })?;
    }
    output::write(&args.out, &pdf)?;
    output::say(&format!(
        "{}: a scale card to print at 100 %; measure its control line and give --card-line\n",
        args.out.display()
    ))?;
    Ok(Exit::Measured)
}
