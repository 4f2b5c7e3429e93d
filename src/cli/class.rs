//! `toeline class`.

use super::args::ClassArgs;
use super::{CliError, Exit, archive, output};
use crate::cohort::{Class, ClassRequest};
use std::path::Path;

pub(super) fn run(args: &ClassArgs) -> Result<Exit, CliError> {
    let (opened, exit) = archive::open(&args.archive)?;
    let folder = match args.out.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let request = ClassRequest {
        welder: args.welder.clone(),
        anonymous: args.anonymous,
    };
    let class = Class::gather(&opened, &args.archive, folder, &request)?;
    opened.close()?;
    let table = args.out.with_extension("csv");
    let page = class.html();
    output::write(&args.out, page.as_bytes())?;
    if args.pdf {
        output::write_pdf(&args.out.with_extension("pdf"), &page)?;
    }
    output::write(&table, &class.csv())?;
    if !args.quiet {
        output::say(&format!(
            "{}: {}; {}: the same figures as a table\n",
            args.out.display(),
            archive::coupons(class.rows.len()),
            table.display()
        ))?;
    }
    Ok(exit)
}
