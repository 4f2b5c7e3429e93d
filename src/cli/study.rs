//! `toeline study`.

use super::args::StudyArgs;
use super::{CliError, Exit, output};
use crate::cohort::{CohortError, Study, study_example};
use std::collections::BTreeMap;
use std::fs;

pub(super) fn run(args: &StudyArgs) -> Result<Exit, CliError> {
    if let Some(path) = &args.new {
        if path.exists() {
            return Err(CliError::SheetThere(path.clone()));
        }
        output::write(path, &study_example())?;
        output::say(&format!(
            "{}: an example to fill in, one line a look of an examiner at a coupon\n",
            path.display()
        ))?;
        return Ok(Exit::Measured);
    }
    let (Some(sheet), Some(out)) = (&args.sheet, &args.out) else {
        // The arguments' own rules demand both.
        return Ok(Exit::Failed);
    };
    let bytes = fs::read(sheet).map_err(|source| CohortError::Read {
        path: sheet.clone(),
        source,
    })?;
    let tolerances: BTreeMap<String, f64> = args.tolerance.iter().cloned().collect();
    let study = Study::of(&bytes, &tolerances).map_err(|faults| CohortError::Sheet {
        path: sheet.clone(),
        message: faults.join("\n  "),
    })?;
    let figures = out.with_extension("json");
    output::write(out, study.html().as_bytes())?;
    output::write(&figures, study.json().as_bytes())?;
    if !args.quiet {
        let mut text = study.summary().join("\n");
        text.push_str(&format!(
            "\n{}; {}: the same figures\n",
            out.display(),
            figures.display()
        ));
        output::say(&text)?;
    }
    Ok(Exit::Measured)
}
