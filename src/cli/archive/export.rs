//! `toeline archive export`.

use super::super::args::ExportArgs;
use super::super::{CliError, Exit, output};
use crate::{archive, report};

pub(super) fn run(args: &ExportArgs) -> Result<Exit, CliError> {
    let (opened, exit) = super::open(&args.archive)?;
    let coupons = match args.coupon.is_empty() {
        true => opened.coupons()?,
        false => args
            .coupon
            .iter()
            .map(|id| opened.coupon_view(id))
            .collect::<Result<_, _>>()?,
    };
    let now = archive::now();
    let pdf = |page: &str| report::pdf(page, &now).map_err(|error| error.to_string());
    let paper: Option<archive::OnPaper<'_>> = if args.pdf { Some(&pdf) } else { None };
    let exported = archive::export(&opened, &coupons, &args.out, paper)?;
    opened.close()?;
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
