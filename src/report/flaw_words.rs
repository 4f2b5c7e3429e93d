//! What a flaw of a section is called, in words a student understands.

use crate::base::rounding::stated;
use crate::record::Finding;

/// A finding less sure than this is called unsure.
const DOUBTFUL_BELOW: f64 = 0.5;

/// E.g. `1.8 mm at the root not fused`; a finding that is not sure says so.
pub fn in_words(finding: &Finding) -> String {
    let size = finding
        .length_mm
        .or(finding.greatest_dimension_mm)
        .map(|q| format!("{} mm", stated(q.value, q.expanded_uncertainty, 1).0));
    let unfused = |place: &str| match &size {
        Some(size) => format!("{size} {place} not fused"),
        None => format!("not fused {place}"),
    };
    let spot = |name: &str| match &size {
        Some(size) => format!("{name}, {size}"),
        None => name.to_owned(),
    };
    let words = match finding.kind.as_str() {
        "lack-of-root-fusion" => unfused("at the root"),
        "lack-of-sidewall-fusion" => unfused("at the side wall"),
        "lack-of-inter-run-fusion" => unfused(&match finding.passes[..] {
            [earlier, later] => format!("between runs {earlier} and {later}"),
            _ => "between runs".to_owned(),
        }),
        other => spot(&other.replace('-', " ")),
    };
    if finding.confidence < DOUBTFUL_BELOW {
        format!("unsure: {words}")
    } else {
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Quantity;

    fn finding(kind: &str, confidence: f64) -> Finding {
        Finding {
            kind: kind.to_owned(),
            length_mm: Some(Quantity {
                value: 1.83,
                expanded_uncertainty: 0.12,
            }),
            confidence,
            ..Finding::default()
        }
    }

    #[test]
    fn a_flaw_says_how_long_where_and_whether_it_is_sure() {
        let root = finding("lack-of-root-fusion", 0.8);
        assert_eq!(in_words(&root), "1.8 mm at the root not fused");
        let wall = finding("lack-of-sidewall-fusion", 0.4);
        assert_eq!(in_words(&wall), "unsure: 1.8 mm at the side wall not fused");
        let runs = Finding {
            passes: vec![3, 4],
            ..finding("lack-of-inter-run-fusion", 0.8)
        };
        assert_eq!(in_words(&runs), "1.8 mm between runs 3 and 4 not fused");
        let pore = Finding {
            length_mm: None,
            ..finding("pore", 0.8)
        };
        assert_eq!(in_words(&pore), "pore");
    }
}
