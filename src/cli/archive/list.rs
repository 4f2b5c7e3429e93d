//! `toeline archive list`.

use super::super::args::ListArgs;
use super::super::summary::{outcome, status};
use super::super::{CliError, Exit, output};
use crate::archive::{CouponFacts, CouponView};

pub(super) fn run(args: &ListArgs) -> Result<Exit, CliError> {
    let (archive, exit) = super::open(&args.archive)?;
    let coupons = archive.coupons()?;
    let mut text = String::new();
    for coupon in &coupons {
        text.push_str(&lines(coupon));
    }
    text.push_str(&format!("{}, ", super::coupons(coupons.len())));
    text.push_str(&super::head_line(&archive.head()?));
    archive.close()?;
    output::say(&text)?;
    Ok(exit)
}

fn lines(coupon: &CouponView) -> String {
    let mut text = format!("{}{}\n", coupon.id, facts(&coupon.facts));
    if coupon.photographs.is_empty() {
        text.push_str("  no photograph yet\n");
    }
    for photograph in &coupon.photographs {
        let revision = &photograph.latest.revision;
        let judged = revision
            .outcome
            .map_or(String::new(), |found| format!(", {}", outcome(found)));
        let times = match photograph.earlier.len() {
            0 => String::new(),
            n => format!(", measured {} times", n + 1),
        };
        text.push_str(&format!(
            "  {}: {}{judged}{times}\n",
            revision.photo,
            status(revision.status)
        ));
    }
    text
}

/// What the sheet says of a coupon, behind its name.
pub(super) fn facts(facts: &CouponFacts) -> String {
    let parts = [&facts.welder, &facts.date, &facts.process, &facts.position];
    parts
        .into_iter()
        .flatten()
        .map(|part| format!(", {part}"))
        .collect()
}
