//! `toeline limits`.

use super::args::LimitsArgs;
use super::{CliError, Exit, output};
use crate::pipeline::Profile;
use crate::record::Kind;

pub(super) fn run(args: LimitsArgs) -> Result<Exit, CliError> {
    let text = match args.limits.as_deref() {
        None => list()?,
        Some(name) if args.toml => Profile::text(name)?,
        Some(name) => Profile::load(name)?.sheet(),
    };
    output::say(&text)?;
    Ok(Exit::Measured)
}

/// The built-in tables, by what they are for.
fn list() -> Result<String, CliError> {
    let names = Profile::names();
    let width = names.iter().map(|name| name.len()).max().unwrap_or(0);
    let mut lines = Vec::new();
    for (kind, heading) in [
        (Kind::Section, "For etched sections (toeline section):"),
        (Kind::Fracture, "For broken welds (toeline fracture):"),
    ] {
        lines.push(heading.to_owned());
        for name in Profile::names_for(kind) {
            lines.push(format!("  {name:<width$}  {}", Profile::named(name)?.title));
        }
    }
    lines.push(
        "toeline limits NAME shows a table and where its values come from. Your own copy of the \
         standard and the authorised examiner decide."
            .to_owned(),
    );
    Ok(lines.join("\n") + "\n")
}
