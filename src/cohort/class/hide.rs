//! Where the page leads, and what it must not tell.

use super::row::Row;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path};

/// The way from one folder to another as a link that ends with `/`. A folder on
/// another drive is named whole.
pub(super) fn way(from: &Path, to: &Path) -> String {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let whole = |path: &Path| path.canonicalize().unwrap_or_else(|_| whole(path));
    let (from, to) = (whole(from), whole(to));
    let (from, to): (Vec<Component>, Vec<Component>) =
        (from.components().collect(), to.components().collect());
    let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        let place: Vec<String> = to.iter().map(part).collect();
        return format!("file:///{}/", place.join("/"));
    }
    let mut way = "../".repeat(from.len() - shared);
    for component in &to[shared..] {
        way.push_str(&part(component));
        way.push('/');
    }
    way
}

/// A part of a path as a link takes it (percent-encoding, RFC 3986).
fn part(component: &Component) -> String {
    let text = component.as_os_str().to_string_lossy();
    let mut link = String::new();
    for byte in text.trim_matches(['/', '\\']).bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                link.push(char::from(byte));
            }
            other => link.push_str(&format!("%{other:02X}")),
        }
    }
    link
}

/// Shortest part of a welder's name that is looked for by itself: shorter ones, like
/// initials, stand in too many other words.
const TELLING: usize = 3;

/// Labels in place of the welders, the same for the same welder; what else may
/// carry a name is left out: photographs' names, the reports, which show them,
/// notes, and every text with a welder's name or a part of it.
pub(super) fn names(rows: &mut [Row]) {
    let mut labels: BTreeMap<String, String> = BTreeMap::new();
    for row in rows.iter() {
        if let Some(welder) = &row.facts.welder {
            let next = format!("welder {}", labels.len() + 1);
            labels.entry(welder.clone()).or_insert(next);
        }
    }
    let told: BTreeSet<String> = labels.keys().flat_map(|name| parts(name)).collect();
    let tells = |text: &str| {
        let text = text.to_lowercase();
        told.iter().any(|name| text.contains(name.as_str()))
    };
    for (number, row) in rows.iter_mut().enumerate() {
        if tells(&row.coupon) {
            row.coupon = format!("coupon {}", number + 1);
        }
        if let Some(welder) = &mut row.facts.welder {
            *welder = labels[welder.as_str()].clone();
        }
        row.facts.notes = None;
        for fact in [&mut row.facts.process, &mut row.facts.position] {
            *fact = fact.take().filter(|text| !tells(text));
        }
        for look in &mut row.looks {
            look.photo.clear();
            look.report = None;
            // Limits of one's own are called after their file.
            if look.profile.as_deref().is_some_and(tells) {
                look.profile = Some("limits of one's own".to_owned());
            }
            for reason in look.reasons.iter_mut().filter(|reason| tells(reason)) {
                *reason = "the report says why".to_owned();
            }
        }
    }
}

/// A name and the parts of it that tell who it is, in small letters.
fn parts(name: &str) -> Vec<String> {
    let name = name.trim().to_lowercase();
    let mut parts: Vec<String> = name
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '.' | '_'))
        .filter(|part| part.chars().count() >= TELLING)
        .map(str::to_owned)
        .collect();
    if !name.is_empty() {
        parts.push(name);
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::super::row::tests::row;
    use super::*;

    #[test]
    fn the_way_leads_up_and_down() {
        let way = |from: &str, to: &str| way(Path::new(from), Path::new(to));
        assert_eq!(
            way("/nowhere/out", "/nowhere/the archive"),
            "../the%20archive/"
        );
        assert_eq!(way("/nowhere", "/nowhere/a/b"), "a/b/");
        assert_eq!(way("/nowhere/a", "/nowhere/a"), "");
    }
    #[test]
    fn a_part_of_a_name_is_a_name() {
        let mut one = row("quill-3", 80.0, 0.0);
        one.facts.welder = Some("Anna Quill".into());
        one.facts.process = Some("135, Anna's machine".into());
        one.facts.position = Some("PB".into());
        one.looks[0].profile = Some("quill-own".into());
        one.looks[0].reasons = vec!["the rule of ANNA is bent".into(), "blurred".into()];
        let mut other = row("HR-02", 70.0, 0.0);
        other.facts.welder = Some("W-1".into());
        other.looks[0].profile = Some("iso5817-c-break".into());
        let mut rows = vec![one, other];
        names(&mut rows);
        let shown = format!("{rows:?}").to_lowercase();
        assert!(
            !shown.contains("quill") && !shown.contains("anna"),
            "{shown}"
        );
        // What tells nobody stays.
        assert_eq!(rows[0].facts.position.as_deref(), Some("PB"));
        assert_eq!(rows[0].looks[0].reasons[1], "blurred");
        assert_eq!(rows[1].coupon, "HR-02");
        assert_eq!(rows[1].facts.welder.as_deref(), Some("welder 2"));
        assert_eq!(rows[1].looks[0].profile.as_deref(), Some("iso5817-c-break"));
    }
}
