//! `toeline archive export`.

use super::super::args::ExportArgs;
use super::super::{CliError, Exit, output};
use crate::archive;

pub(super) fn run(args: &ExportArgs) -> Result<Exit, CliError> {
    let (archive, exit) = super::open(&args.archive)?;
    let coupons = match args.coupon.is_empty() {
        true => archive.coupons()?,
        false => args
            .coupon
            .iter()
            .map(|id| archive.coupon_view(id))
            .collect::<Result<_, _>>()?,
    };
    let exported = archive::export(&archive, &coupons, &args.out)?;
    archive.close()?;
    for missing in &exported.missing {
        output::mutter(&format!("warning: {missing}\n"));
    }
    output::say(&format!(
        "{}: {}, {} files; 'sha256sum -c SHA256SUMS' in it checks them\n",
        args.out.display(),
        super::coupons(coupons.len()),
        exported.files
    ))?;
    Ok(match exported.missing.is_empty() {
        true => exit,
        false => Exit::Failed,
    })
}
