//! Names in an export: those people know, as far as every system can store them.

use super::super::{Revision, Role};
use std::collections::BTreeSet;
use std::path::Path;

/// The names given so far, in small letters, as some systems know no others.
#[derive(Debug, Default)]
pub struct Names {
    given: BTreeSet<String>,
}

impl Names {
    /// A folder for a coupon.
    pub fn folder(&mut self, coupon: &str) -> String {
        self.free(&safe(coupon), |name| vec![name.to_owned()])
    }

    /// The name before the endings for a photograph's files in a coupon's folder.
    pub fn stem(&mut self, folder: &str, revision: &Revision) -> String {
        let stem = Path::new(&revision.photo)
            .file_stem()
            .map_or(String::new(), |stem| stem.to_string_lossy().into_owned());
        self.free(&safe(&stem), |stem| {
            let endings = revision.files.iter().map(|file| (file.role, &file.ending));
            endings
                .map(|(role, ending)| place(folder, stem, role, ending))
                .collect()
        })
    }

    /// `wanted`, or `wanted-2` and so on, so that what it makes is new.
    fn free(&mut self, wanted: &str, made: impl Fn(&str) -> Vec<String>) -> String {
        let mut name = wanted.to_owned();
        for number in 2.. {
            let all: Vec<String> = made(&name).iter().map(|name| name.to_lowercase()).collect();
            if all.iter().all(|name| !self.given.contains(name)) {
                self.given.extend(all);
                break;
            }
            name = format!("{wanted}-{number}");
        }
        name
    }
}

/// Where a file goes: as `toeline section` names its results.
pub fn place(folder: &str, stem: &str, role: Role, ending: &str) -> String {
    let ending = match role {
        Role::Original => ending,
        Role::Record => "record.json",
        Role::Picture => "annotated.jpg",
        Role::Report => "report.html",
    };
    format!("{folder}/{stem}.{ending}")
}

/// Without what some system does not take in a name, or takes for something else.
fn safe(text: &str) -> String {
    let name: String = text
        .chars()
        .map(|c| match c {
            '/' | '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|' => '_',
            c if c.is_control() => '_',
            c => c,
        })
        .collect();
    match name.trim_matches(['.', ' ']) {
        "" => "unnamed".to_owned(),
        name => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leads_out_or_is_given_twice() {
        let mut names = Names::default();
        assert_eq!(names.folder("../HR/01"), "_HR_01");
        assert_eq!(names.folder("HR-01"), "HR-01");
        assert_eq!(names.folder("hr-01"), "hr-01-2");
        assert_eq!(names.folder("hr-01"), "hr-01-3");
        assert_eq!(names.folder(" .. "), "unnamed");
        assert_eq!(names.folder("a\nb"), "a_b");
    }
}
