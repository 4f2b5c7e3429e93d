//! What several photographs of one coupon say together, in words.

use super::row::{Look, Row, Size};
use crate::base::rounding::plain;
use crate::record::Kind;

/// Whether it speaks for or against the numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Says {
    /// They agree.
    Agree,
    /// They differ by more than their uncertainties, or one contradicts the other.
    Differ,
}

/// Sizes that sections along one weld share, and what they are called.
const SIZES: [(&str, &str); 4] = [
    ("leg_butting_mm", "leg at the butting member"),
    ("leg_nonbutting_mm", "leg at the nonbutting member"),
    ("inscribed_throat_mm", "throat"),
    ("root_penetration_mm", "root penetration"),
];
/// What the halves of a break share.
const LENGTHS: [(&str, &str); 3] = [
    ("root_unfused_length_mm", "root not fused"),
    (
        "inter_run_unfused_length_mm",
        "passes not fused to each other",
    ),
    ("sidewall_unfused_length_mm", "not fused at the side"),
];
/// A share of the root, per cent, from which it is not fused nearly everywhere.
const NEARLY_ALL: f64 = 90.0;

/// Sentences on a coupon with more than one photograph.
pub(super) fn sentences(row: &Row) -> Vec<(Says, String)> {
    let mut out = Vec::new();
    let sections: Vec<&Look> = row.of_kind(Kind::Section).collect();
    let breaks: Vec<&Look> = row.of_kind(Kind::Fracture).collect();
    out.extend(compared(
        &sections,
        &SIZES,
        "sections",
        "the weld is not the same size everywhere, or one was measured wrongly",
    ));
    out.extend(compared(
        &breaks,
        &LENGTHS,
        "photographs of the break",
        "a place that never fused shows on both halves: look at the reports",
    ));
    for section in &sections {
        out.extend(breaks.iter().filter_map(|face| root(section, face)));
    }
    out
}

/// The greatest difference of each value over all pairs.
fn compared(
    looks: &[&Look],
    values: &[(&str, &str)],
    what: &str,
    meaning: &str,
) -> Vec<(Says, String)> {
    let mut out = Vec::new();
    let mut agreed = Vec::new();
    for (name, title) in values {
        let sizes: Vec<Size> = looks
            .iter()
            .filter_map(|l| l.sizes.get(*name))
            .copied()
            .collect();
        if sizes.len() < 2 {
            continue;
        }
        let beyond = |a: &Size, b: &Size| (a.value - b.value).abs() - a.expanded.hypot(b.expanded);
        let pairs = sizes
            .iter()
            .enumerate()
            .flat_map(|(i, a)| sizes[i + 1..].iter().map(move |b| (a, b)));
        let worst = pairs.max_by(|(a, b), (c, d)| beyond(a, b).total_cmp(&beyond(c, d)));
        match worst {
            Some((a, b)) if beyond(a, b) > 0.0 => out.push((
                Says::Differ,
                format!(
                    "the {what} differ in {title}: {} and {}; {meaning}",
                    with(a),
                    with(b)
                ),
            )),
            _ => agreed.push(*title),
        }
    }
    if !agreed.is_empty() {
        out.push((
            Says::Agree,
            format!("the {what} agree in {}", agreed.join(", ")),
        ));
    }
    out
}

fn with(size: &Size) -> String {
    format!("{} ± {} mm", plain(size.value, 1), plain(size.expanded, 1))
}

/// The root as a section shows it at one place, and as the break shows it along
/// the weld.
fn root(section: &Look, face: &Look) -> Option<(Says, String)> {
    let open = section
        .stretches
        .iter()
        .any(|s| s.kind == "lack-of-root-fusion" && s.confidence >= 0.75);
    let length = face.sizes.get("root_unfused_length_mm")?;
    let percent = face.sizes.get("root_unfused_percent");
    // A length that may as well be long says nothing of a sound root.
    let sound =
        length.value < 1.0 && percent.is_some_and(|p| p.value + p.expanded < 100.0 - NEARLY_ALL);
    let nearly_all = percent.is_some_and(|p| p.value - p.expanded > NEARLY_ALL);
    let reached = section
        .sizes
        .get("root_penetration_mm")
        .is_some_and(|p| p.value - p.expanded >= 0.0);
    match (open, reached, sound, nearly_all) {
        (true, _, true, _) => Some((
            Says::Differ,
            "the section shows a root that was not reached, the break shows none: either the section lies where the break was not looked at, or one of them was read wrongly".to_owned(),
        )),
        (false, true, _, true) => Some((
            Says::Differ,
            "the break shows hardly any root fused, the section shows the root reached: either the section lies at one of the few good places, or one of them was read wrongly".to_owned(),
        )),
        (true, _, false, _) => Some((
            Says::Agree,
            "section and break both show a root that was not reached".to_owned(),
        )),
        (false, true, true, _) => Some((
            Says::Agree,
            "section and break both show the root reached".to_owned(),
        )),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::row::tests::look;
    use super::*;

    fn row(looks: Vec<Look>) -> Row {
        Row {
            coupon: "HR-01".into(),
            facts: Default::default(),
            looks,
        }
    }

    #[test]
    fn sections_that_differ_beyond_their_uncertainty_are_named() {
        let leg = |v: f64| look(Kind::Section, &[("leg_butting_mm", v, 0.2)]);
        let said = sentences(&row(vec![leg(6.0), leg(6.8), leg(6.1)]));
        assert_eq!(said.len(), 1);
        assert_eq!(said[0].0, Says::Differ);
        assert!(
            said[0].1.contains("6.0 ± 0.2 mm and 6.8 ± 0.2 mm"),
            "{said:?}"
        );
        let said = sentences(&row(vec![leg(6.0), leg(6.2)]));
        assert_eq!(said[0].0, Says::Agree);
        assert!(sentences(&row(vec![leg(6.0)])).is_empty());
    }

    #[test]
    fn a_section_is_held_against_the_break() {
        let section = |p: f64| look(Kind::Section, &[("root_penetration_mm", p, 0.2)]);
        let face = |mm: f64, percent: f64| {
            look(
                Kind::Fracture,
                &[
                    ("root_unfused_length_mm", mm, 0.5),
                    ("root_unfused_percent", percent, 1.0),
                ],
            )
        };
        let says = |a: Look, b: Look| sentences(&row(vec![a, b])).first().map(|s| s.0);
        assert_eq!(says(section(0.8), face(0.0, 0.0)), Some(Says::Agree));
        assert_eq!(says(section(0.8), face(98.0, 98.0)), Some(Says::Differ));
        // None found, but much may have been missed: neither for nor against.
        let mut vague = face(0.0, 0.0);
        let percent = vague.sizes.get_mut("root_unfused_percent").unwrap();
        percent.expanded = 15.0;
        assert_eq!(says(section(0.8), vague), None);
        // At one place reached, over a part of the weld not: no contradiction.
        assert_eq!(says(section(0.8), face(30.0, 30.0)), None);
        let mut open = section(-0.5);
        open.stretches.push(super::super::row::Stretch {
            kind: "lack-of-root-fusion".into(),
            along_mm: None,
            counts: true,
            confidence: 0.9,
        });
        assert_eq!(says(open.clone(), face(0.0, 0.0)), Some(Says::Differ));
        assert_eq!(says(open, face(30.0, 30.0)), Some(Says::Agree));
    }
}
