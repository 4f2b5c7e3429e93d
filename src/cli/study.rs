//! `toeline study`.

use super::args::StudyArgs;
use super::{CliError, Exit, output};
use crate::base::rounding::plain;
use crate::cohort::{self, AllowedOf, NoStudy, Unusable};
use crate::record::study::{Allowed, Found, Part, StudyColumn};
use crate::report;
use std::fs;
use std::path::Path;

/// Faults of a sheet that are listed; whoever has more than this has them all alike.
const MOST_FAULTS: usize = 20;

pub(super) fn run(args: &StudyArgs) -> Result<Exit, CliError> {
    if let Some(path) = &args.new {
        return new_sheet(path, args.quiet);
    }
    // The argument parser demands both.
    let (Some(sheet), Some(out)) = (&args.sheet, &args.out) else {
        return Ok(Exit::Failed);
    };
    let bytes = fs::read(sheet).map_err(|source| cohort::CohortError::Read {
        path: sheet.clone(),
        source,
    })?;
    let study = cohort::study(&bytes, &name(sheet), &allowed(args))
        .map_err(|trouble| unusable(sheet, trouble))?;
    let figures = out.with_extension("json");
    let json = serde_json::to_vec_pretty(&study).map_err(|source| CliError::Json {
        path: figures.clone(),
        source,
    })?;
    if let Some(folder) = out.parent().filter(|f| !f.as_os_str().is_empty()) {
        fs::create_dir_all(folder).map_err(|source| CliError::Write {
            path: folder.to_owned(),
            source,
        })?;
    }
    let page = report::study_html(&study);
    output::write(out, page.as_bytes())?;
    if args.pdf {
        output::write_pdf(&out.with_extension("pdf"), &page)?;
    }
    output::write(&figures, &json)?;
    for line in study.columns.iter().filter_map(not_assessed) {
        output::mutter(&line);
    }
    if !args.quiet {
        let lines: String = study.columns.iter().filter_map(in_short).collect();
        output::say(&format!(
            "{lines}{}: the page; {}: the same figures\n",
            out.display(),
            figures.display()
        ))?;
    }
    let refused = study.columns.iter().any(|c| not_assessed(c).is_some());
    Ok(if refused {
        Exit::Refused
    } else {
        Exit::Measured
    })
}

fn new_sheet(path: &Path, quiet: bool) -> Result<Exit, CliError> {
    if path.exists() {
        return Err(CliError::SheetThere(path.to_owned()));
    }
    output::write(path, cohort::study_example().as_bytes())?;
    if !quiet {
        output::say(&format!(
            "{}: an example, one line a look of one examiner at one coupon; its lines show how and \
             are to be replaced. Columns:\n  \
             coupon    the coupon's name\n  \
             examiner  a letter or a name; it stands in the page\n  \
             look      1 for the examiner's first look, 2 for the second and so on\n  \
             leg_mm    measured values; name such columns as you like, as many as you like\n  \
             verdict   verdicts in a few words of your own; as many such columns as you like\n  \
             note      is not read\n\
             Every examiner looks at every coupon equally often, twice or more where values are \
             measured.\n",
            path.display()
        ))?;
    }
    Ok(Exit::Measured)
}

fn name(path: &Path) -> String {
    let name = path.file_name().unwrap_or(path.as_os_str());
    name.to_string_lossy().into_owned()
}

/// Tolerances and limits, as typed.
fn allowed(args: &StudyArgs) -> Vec<AllowedOf> {
    let of = |(column, allowed): (Option<String>, Allowed)| AllowedOf { column, allowed };
    let widths = args.tolerance.iter().cloned();
    let limits = args.limit.iter().cloned();
    widths
        .map(|(column, mm)| of((column, Allowed::ToleranceMm(mm))))
        .chain(limits.map(|(column, mm)| of((column, Allowed::LimitMm(mm)))))
        .collect()
}

fn unusable(sheet: &Path, trouble: NoStudy) -> CliError {
    let message = match trouble {
        NoStudy::Allowed(message) => return CliError::NoStudy(message),
        NoStudy::Sheet(Unusable::NoSheet(message)) => message,
        NoStudy::Sheet(Unusable::Faults(faults)) => {
            let mut lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            if lines.len() > MOST_FAULTS {
                let more = lines.len() - MOST_FAULTS;
                lines.truncate(MOST_FAULTS);
                lines.push(format!("and {more} more"));
            }
            format!("put these right\n  {}", lines.join("\n  "))
        }
    };
    cohort::CohortError::Sheet {
        path: sheet.to_owned(),
        message,
    }
    .into()
}

fn not_assessed(column: &StudyColumn) -> Option<String> {
    match &column.found {
        Found::NotAssessed { message, remedy } => Some(format!(
            "{}: not assessed: {message}. What to do: {remedy}\n",
            column.title
        )),
        _ => None,
    }
}

/// One line a column.
fn in_short(column: &StudyColumn) -> Option<String> {
    let text = match &column.found {
        Found::Values(found) => {
            let part = |wanted: Part| found.parts.iter().find(|p| p.part == wanted);
            let share = |wanted| plain(part(wanted).map_or(0.0, |p| p.contribution_percent), 1);
            let measuring = part(Part::Measuring)?;
            format!(
                "of the scatter {} % lies in the coupons, {} % between examiners, {} % in looking \
                 again; measuring takes up {} % of the study variation",
                share(Part::Coupons),
                plain(
                    100.0
                        - part(Part::Coupons).map_or(0.0, |p| p.contribution_percent)
                        - part(Part::Repeatability).map_or(0.0, |p| p.contribution_percent),
                    1
                ),
                share(Part::Repeatability),
                plain(measuring.study_variation_percent, 1)
            )
        }
        Found::Verdicts(found) => {
            let kappa = match (found.overall.value, found.overall.interval) {
                (Some(value), Some([low, high])) => format!(
                    "kappa {} ({} to {})",
                    plain(value, 2),
                    plain(low, 2),
                    plain(high, 2)
                ),
                (Some(value), None) => format!("kappa {}, no interval", plain(value, 2)),
                (None, _) => "kappa is undefined".to_owned(),
            };
            format!(
                "the same verdict throughout on {} of {} coupons, {kappa}",
                found.agreed.count, found.agreed.of
            )
        }
        Found::NotAssessed { .. } => return None,
    };
    Some(format!("{}: {text}\n", column.title))
}
