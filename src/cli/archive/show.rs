//! `toeline archive show`.

use super::super::args::ShowArgs;
use super::super::summary::{outcome, status};
use super::super::{CliError, Exit, output};
use super::list::facts;
use crate::archive::{Filed, Role};
use std::path::Path;

pub(super) fn run(args: &ShowArgs) -> Result<Exit, CliError> {
    let (archive, exit) = super::open(&args.archive)?;
    let coupon = archive.coupon_view(&args.coupon)?;
    archive.close()?;
    let mut text = format!("{}{}\n", coupon.id, facts(&coupon.facts));
    if coupon.photographs.is_empty() {
        text.push_str("  no photograph yet\n");
    }
    for photograph in &coupon.photographs {
        let latest = &photograph.latest;
        text.push_str(&format!("  {}\n", latest.revision.photo));
        for filed in std::iter::once(latest).chain(photograph.earlier.iter().rev()) {
            text.push_str(&revision(filed, &args.archive));
        }
    }
    output::say(&text)?;
    Ok(exit)
}

fn revision(filed: &Filed, archive: &Path) -> String {
    let revision = &filed.revision;
    let judged = revision
        .outcome
        .map_or(String::new(), |found| format!(", {}", outcome(found)));
    let mut text = format!(
        "    entry {} of {}: {}{judged}\n      {} {}; {}\n      hash {}\n",
        filed.seq,
        revision.at,
        status(revision.status),
        revision.tool.name,
        revision.tool.version,
        revision.reason,
        filed.hash
    );
    for role in Role::ALL {
        if let Some(file) = revision.file(role) {
            text.push_str(&format!("      {}\n", archive.join(file.place()).display()));
        }
    }
    text
}
