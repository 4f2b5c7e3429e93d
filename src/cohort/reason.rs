//! Why a photograph is measured again, so that the archive can tell years later.

use super::asking::VERSION;
use super::plan::Claim;
use crate::archive::Revision;
use crate::record::Asked;
use std::collections::BTreeMap;

/// Why a photograph is measured (again), in words.
pub fn reason(before: Option<&Revision>, claim: &Claim) -> String {
    let Some(before) = before else {
        return "first measured".to_owned();
    };
    let mut reasons = Vec::new();
    if before.coupon != claim.coupon {
        reasons.push(format!("it was filed for coupon {} before", before.coupon));
    }
    let changed = changed(&before.asked, &claim.asked);
    if !changed.is_empty() {
        reasons.push(format!("changed in the sheet: {}", changed.join(", ")));
    }
    if before.tool.version != VERSION {
        reasons.push(format!(
            "measured by version {} before",
            before.tool.version
        ));
    }
    reasons.join("; ")
}

/// Names of the settings in which two questions differ.
fn changed(before: &Asked, after: &Asked) -> Vec<String> {
    let flat = |asked: &Asked| -> BTreeMap<String, serde_json::Value> {
        let mut flat = BTreeMap::new();
        if let Ok(serde_json::Value::Object(map)) = serde_json::to_value(asked) {
            for (name, value) in map {
                match value {
                    serde_json::Value::Object(inner) if name == "coupon" => flat.extend(inner),
                    value => {
                        flat.insert(name, value);
                    }
                }
            }
        }
        flat
    };
    let (before, after) = (flat(before), flat(after));
    let mut names: Vec<String> = before
        .keys()
        .chain(after.keys())
        .filter(|name| before.get(*name) != after.get(*name) && *name != "id")
        .cloned()
        .collect();
    names.sort();
    names.dedup();
    names
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Coupon, Kind, Status};

    #[test]
    fn the_reason_says_what_is_another_than_before() {
        let mut asked = Asked {
            kind: Kind::Section,
            coupon: Coupon {
                id: Some("HR-01".to_owned()),
                ..Coupon::default()
            },
            scale: "rule-mm".to_owned(),
            rule_class: "II".to_owned(),
            card_line_mm: None,
            limits: None,
        };
        let before = Revision {
            at: String::new(),
            coupon: "HR-01".to_owned(),
            photo: "a.jpg".to_owned(),
            asked: asked.clone(),
            key: String::new(),
            tool: crate::record::Tool {
                name: "toeline".to_owned(),
                version: "0.0.1".to_owned(),
            },
            reason: String::new(),
            status: Status::Measured,
            outcome: None,
            files: Vec::new(),
        };
        asked.scale = "auto".to_owned();
        asked.coupon.leg_mm = Some(6.0);
        asked.coupon.id = Some("HR-02".to_owned());
        let claim = Claim {
            coupon: "HR-02".to_owned(),
            asked,
        };
        assert_eq!(reason(None, &claim), "first measured");
        assert_eq!(
            reason(Some(&before), &claim),
            "it was filed for coupon HR-01 before; changed in the sheet: leg_mm, scale; measured \
             by version 0.0.1 before"
        );
    }
}
