//! Where the page leads, and what it must not tell.

use super::row::Row;
use std::collections::BTreeMap;
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

/// Labels in place of the welders, the same for the same welder; what else may
/// carry a name is left out: photographs' names, the reports, which show them,
/// notes, and the names of coupons that hold a welder's.
pub(super) fn names(rows: &mut [Row]) {
    let mut labels: BTreeMap<String, String> = BTreeMap::new();
    for row in rows.iter() {
        if let Some(welder) = &row.facts.welder {
            let next = format!("welder {}", labels.len() + 1);
            labels.entry(welder.clone()).or_insert(next);
        }
    }
    let told: Vec<String> = labels.keys().map(|name| name.to_lowercase()).collect();
    for (number, row) in rows.iter_mut().enumerate() {
        let coupon = row.coupon.to_lowercase();
        if told
            .iter()
            .any(|name| !name.is_empty() && coupon.contains(name))
        {
            row.coupon = format!("coupon {}", number + 1);
        }
        if let Some(welder) = &mut row.facts.welder {
            *welder = labels[welder.as_str()].clone();
        }
        row.facts.notes = None;
        for look in &mut row.looks {
            look.photo.clear();
            look.report = None;
        }
    }
}

#[cfg(test)]
mod tests {
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
}
