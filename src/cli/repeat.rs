//! `toeline repeat`.

use super::args::RepeatArgs;
use super::{CliError, Exit, output};
use crate::base::rounding::plain;
use crate::cohort::{Repeat, Scatter, repeat};
use crate::record::{Record, catalogue};
use std::fs;
use std::path::Path;

pub(super) fn run(args: RepeatArgs) -> Result<Exit, CliError> {
    let records = args
        .records
        .iter()
        .map(|path| Ok((path.display().to_string(), read(path)?)))
        .collect::<Result<Vec<_>, CliError>>()?;
    let found = repeat(&records).map_err(CliError::NothingToCompare)?;
    if let Some(path) = &args.out {
        let json = serde_json::to_vec_pretty(&found).map_err(|source| CliError::Json {
            path: path.clone(),
            source,
        })?;
        output::write(path, &json)?;
    }
    output::say(&text(&found))?;
    Ok(Exit::Measured)
}

fn read(path: &Path) -> Result<Record, CliError> {
    let bytes = fs::read(path).map_err(|source| CliError::ReadRecord {
        path: path.to_owned(),
        source,
    })?;
    serde_json::from_slice(&bytes).map_err(|source| CliError::NoRecord {
        path: path.to_owned(),
        source,
    })
}

/// The comparison as a table for the terminal.
fn text(found: &Repeat) -> String {
    let mut lines = vec![format!(
        "{} photographs of one coupon. Scatter is the standard deviation of the repeats, with the \
         interval that holds it at 95 %; stated is the records' own standard uncertainty.",
        found.records
    )];
    let title = |name: &str| catalogue::entry(name).map_or(name.to_owned(), |e| e.title.to_owned());
    let width = found
        .measurements
        .iter()
        .map(|m| title(&m.name).chars().count())
        .max()
        .unwrap_or(0);
    for m in &found.measurements {
        let unit = catalogue::entry(&m.name).map_or("", |e| e.unit.sign());
        lines.push(format!(
            "  {:<width$}  mean {} {unit}  scatter {} ({} to {})  stated {}  {}",
            title(&m.name),
            plain(m.mean, 2),
            plain(m.deviation, 3),
            plain(m.deviation_interval[0], 3),
            plain(m.deviation_interval[1], 3),
            plain(m.stated, 3),
            match m.scatter {
                Scatter::AsStated => "no more than stated",
                Scatter::LargerThanStated => "MORE THAN STATED",
            }
        ));
    }
    for note in &found.notes {
        lines.push(format!("  note: {note}"));
    }
    let more = found
        .measurements
        .iter()
        .filter(|m| m.scatter == Scatter::LargerThanStated)
        .count();
    lines.push(if more == 0 {
        "The stated uncertainties hold as far as repeats can show. What all photographs share \
         (the rule's class, one camera, one cut) does not scatter."
            .to_owned()
    } else {
        format!(
            "{more} of {} scatter more than stated (each with a 5 % chance of being called so by \
             accident). Look at the annotated pictures of the extremes.",
            found.measurements.len()
        )
    });
    lines.join("\n") + "\n"
}
