//! A profile of one's own that starts from a published one.
//!
//! A row with the identity of a published one takes its place, any other is
//! added. Stricter is what an instructor wants; a row that allows more than the
//! published one is not forbidden, but the report says so.

use super::formula::Formula;
use super::profile::Profile;
use super::row::{Case, Limit};
use crate::record::Sense;

/// The rows of `base` with those of `own` in their place or behind them, and what
/// the report has to say of it.
pub fn joined(base: &Profile, own: Vec<Limit>) -> (Vec<Limit>, String) {
    let mut rows = base.limits.clone();
    let (mut changed, mut added, mut looser) = (Vec::new(), Vec::new(), Vec::new());
    for row in own {
        match rows.iter_mut().find(|known| known.id == row.id) {
            Some(known) => {
                changed.push(row.id.clone());
                if allows_more(&row, known) {
                    looser.push(row.id.clone());
                }
                *known = row;
            }
            None => {
                added.push(row.id.clone());
                rows.push(row);
            }
        }
    }
    let mut note = format!("Starts from {}", base.name);
    for (what, ids) in [("changed", &changed), ("added", &added)] {
        if !ids.is_empty() {
            note.push_str(&format!("; {what}: {}", ids.join(", ")));
        }
    }
    note.push('.');
    if !looser.is_empty() {
        note.push_str(&format!(
            " Allows more than {} in: {}.",
            base.name,
            looser.join(", ")
        ));
    }
    (rows, note)
}

/// Nominal sizes a rule is tried at: thin sheet to heavy plate, in either unit.
const THROATS: [f64; 6] = [0.5, 2.0, 3.0, 4.0, 6.0, 12.0];
const THICKNESSES: [f64; 7] = [0.5, 1.0, 3.0, 5.0, 8.0, 12.0, 30.0];

/// Whether `own` allows more than `base` for any size tried.
fn allows_more(own: &Limit, base: &Limit) -> bool {
    THROATS.iter().any(|a| {
        THICKNESSES.iter().any(|t| {
            let size = Size {
                a: *a,
                b: 2.0 * a,
                t: *t,
                z: *a * std::f64::consts::SQRT_2,
            };
            match (allowed(own, size), allowed(base, size)) {
                (Some((Sense::AtMost, own)), Some((Sense::AtMost, base))) => own > base + 1e-9,
                (Some((Sense::AtLeast, own)), Some((Sense::AtLeast, base))) => own < base - 1e-9,
                // A limit gave way to an examiner's look, or to nothing.
                (None, Some(_)) => true,
                _ => false,
            }
        })
    })
}

/// A flat equal fillet's throat, face width, plate and leg.
#[derive(Clone, Copy)]
struct Size {
    a: f64,
    b: f64,
    t: f64,
    z: f64,
}

/// What a row allows for a size; `None` where it names no figure.
fn allowed(limit: &Limit, size: Size) -> Option<(Sense, f64)> {
    let holds = |case: &&Case| {
        case.when_t.is_none_or(|range| range.holds(size.t))
            && case.when_b.is_none_or(|range| range.holds(size.b))
    };
    let case = limit.cases.iter().find(holds)?;
    let value = |formula: &Formula| formula.at(size.a, size.b, size.t, size.z);
    match (&case.at_most, &case.at_least) {
        (Some(formula), _) => Some((Sense::AtMost, value(formula))),
        (_, Some(formula)) => Some((Sense::AtLeast, value(formula))),
        _ => case.not_permitted.then_some((Sense::AtMost, case.trace)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Profile;
    use super::super::error::LimitsError;

    fn own(rest: &str) -> Result<Profile, LimitsError> {
        Profile::from_text(
            "own",
            "own.toml",
            &format!("extends = \"iso5817-c\"\ntitle = \"Stricter\"\n{rest}"),
        )
    }

    fn row(id: &str, at_most: &str) -> String {
        format!(
            "[[limit]]\nid = \"{id}\"\nimperfection = \"convexity\"\nclause = \"sheet\"\n\
             measurements = [\"convexity_mm\"]\n[[limit.case]]\nat_most = {at_most}\n\
             source = {{ own = \"the instructor's\" }}\n"
        )
    }

    #[test]
    fn rows_take_the_place_of_published_ones_or_join_them() {
        let base = Profile::named("iso5817-c").unwrap();
        let text =
            row("503", "{ constant = 0.5, per_b = 0.05 }") + &row("extra", "{ constant = 1 }");
        let profile = own(&text).unwrap();
        assert_eq!(profile.limits.len(), base.limits.len() + 1);
        assert_eq!(profile.standard, base.standard);
        let changed = profile.limits.iter().find(|l| l.id == "503").unwrap();
        assert_eq!(changed.clause, "sheet");
        let note = profile.edition_note();
        assert!(
            note.contains("Starts from iso5817-c; changed: 503; added: extra."),
            "{note}"
        );
        assert!(!note.contains("Allows more"), "{note}");
    }

    #[test]
    fn a_row_that_allows_more_is_named() {
        let note = own(&row("503", "{ constant = 1, per_b = 0.3 }"))
            .unwrap()
            .edition_note();
        assert!(
            note.contains("Allows more than iso5817-c in: 503"),
            "{note}"
        );
    }

    #[test]
    fn what_does_not_fit_the_published_profile_is_refused_with_its_line() {
        for (rest, word) in [
            ("unit = \"inch\"\n", "unit"),
            ("kind = \"fracture\"\n", "kind"),
        ] {
            let message = own(rest).unwrap_err().to_string();
            assert!(
                message.contains("own.toml, line 1") && message.contains(word),
                "{message}"
            );
        }
        let unknown = Profile::from_text("o", "o.toml", "title = \"T\"\nextends = \"iso9999\"\n");
        let message = unknown.unwrap_err().to_string();
        assert!(
            message.contains("line 2") && message.contains("iso9999"),
            "{message}"
        );
    }
}
