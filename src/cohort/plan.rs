//! From sheet and folder to what there is to do: which photograph belongs to which
//! coupon, and what is asked of it.

use super::asking;
use super::photos::PhotoFolder;
use super::sheet::{Line, Photos, Sheet, SheetFault};
use crate::record::{Asked, AskedLimits, Kind};
use std::collections::{BTreeMap, BTreeSet};

/// A photograph and what is asked of it.
#[derive(Clone, Debug)]
pub struct Job {
    /// Its name in the folder.
    pub name: String,
    /// Its coupon and the question; `None`: its scale card says which.
    pub claim: Option<Claim>,
}

/// Whose photograph it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Claim {
    pub coupon: String,
    pub asked: Asked,
}

/// What to ask of photographs that show a coupon's card.
#[derive(Clone, Debug, PartialEq)]
pub enum ByCard {
    /// This.
    Ask(Box<Asked>),
    /// The sheet does not say whether they show a section or a broken weld.
    Unclear,
}

/// All there is to do.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    pub jobs: Vec<Job>,
    /// Coupons whose photographs are found by their card.
    pub by_card: BTreeMap<String, ByCard>,
    /// What cannot be done.
    pub faults: Vec<SheetFault>,
    /// Photographs that nothing is done with.
    pub unclaimed: Vec<String>,
    /// Coupons of lines that can be used.
    pub coupons: Vec<(String, crate::archive::CouponFacts)>,
}

/// Makes the plan. `limits` are the run's, for lines that name none.
pub fn plan(sheet: &Sheet, photos: &PhotoFolder, limits: &[String]) -> Plan {
    let mut plan = Plan {
        faults: sheet.faults.clone(),
        ..Plan::default()
    };
    let mut claimed: BTreeMap<String, u64> = BTreeMap::new();
    for line in &sheet.lines {
        let chosen = match Chosen::of(line, limits) {
            Ok(chosen) => chosen,
            Err(message) => {
                plan.fault(line, "limits", message);
                continue;
            }
        };
        if !plan
            .coupons
            .iter()
            .any(|(coupon, _)| *coupon == line.coupon)
        {
            plan.coupons.push((line.coupon.clone(), line.facts.clone()));
        }
        let looks = [
            (Kind::Section, "section", &line.section),
            (Kind::Fracture, "fracture", &line.fracture),
        ];
        for (kind, column, cell) in looks {
            let Photos::Named(names) = cell else { continue };
            if let Some(message) = chosen.fault(kind, line) {
                plan.fault(line, "limits", message);
            }
            for name in names {
                let found = photos.find(name).and_then(|found| {
                    match claimed.insert(found.clone(), line.line) {
                        Some(first) => Err(format!(
                            "'{name}' is already named in line {first}; a photograph belongs to \
                             one coupon and shows one thing"
                        )),
                        None => Ok(found),
                    }
                });
                match found {
                    Ok(name) => plan.jobs.push(Job {
                        name,
                        claim: Some(Claim {
                            coupon: line.coupon.clone(),
                            asked: asking::asked(line, kind, chosen.limits(kind)),
                        }),
                    }),
                    Err(message) => plan.fault(line, column, message),
                }
            }
        }
        if let Some(by_card) = by_card(line, &chosen) {
            plan.by_card.insert(line.coupon.clone(), by_card);
        }
    }
    for name in photos.names() {
        if claimed.contains_key(name) {
            continue;
        }
        match plan.by_card.is_empty() {
            true => plan.unclaimed.push(name.clone()),
            false => plan.jobs.push(Job {
                name: name.clone(),
                claim: None,
            }),
        }
    }
    plan
}

impl Plan {
    fn fault(&mut self, line: &Line, column: &str, message: String) {
        self.faults.push(SheetFault {
            line: line.line,
            column: column.to_owned(),
            message,
        });
    }
}

/// What the cells for photographs say of those that show the coupon's card: the
/// word `card`, or nothing at all.
fn by_card(line: &Line, chosen: &Chosen) -> Option<ByCard> {
    let ask = |kind| {
        Some(ByCard::Ask(Box::new(asking::asked(
            line,
            kind,
            chosen.limits(kind),
        ))))
    };
    match (&line.section, &line.fracture) {
        (Photos::Card, Photos::Card) => Some(ByCard::Unclear),
        (Photos::Card, _) | (Photos::Empty, Photos::NoColumn) => ask(Kind::Section),
        (_, Photos::Card) | (Photos::NoColumn, Photos::Empty) => ask(Kind::Fracture),
        (Photos::Named(_), _) | (_, Photos::Named(_)) => None,
        (Photos::Empty | Photos::NoColumn, Photos::Empty | Photos::NoColumn) => {
            Some(ByCard::Unclear)
        }
    }
}

/// The limits of a line, one for each kind of photograph at most.
struct Chosen {
    limits: Vec<(AskedLimits, Kind)>,
}

impl Chosen {
    fn of(line: &Line, run: &[String]) -> Result<Self, String> {
        let names = match line.limits.is_empty() {
            true => run,
            false => &line.limits,
        };
        let mut limits = Vec::new();
        for name in names {
            limits.push(asking::limits(name).map_err(|error| in_full(&error))?);
        }
        let kinds: BTreeSet<bool> = limits.iter().map(|(_, k)| *k == Kind::Section).collect();
        match kinds.len() == limits.len() {
            true => Ok(Self { limits }),
            false => Err(format!(
                "{} are for the same kind of photograph; name one for sections and one for broken \
                 welds at most",
                names.join(" and ")
            )),
        }
    }

    fn limits(&self, kind: Kind) -> Option<AskedLimits> {
        self.limits
            .iter()
            .find(|(_, of)| *of == kind)
            .map(|(limits, _)| limits.clone())
    }

    /// What to say when the line's own limits are for none of its photographs of
    /// that kind.
    fn fault(&self, kind: Kind, line: &Line) -> Option<String> {
        let what = match kind {
            Kind::Section => "sections",
            Kind::Fracture => "broken welds",
        };
        (!line.limits.is_empty() && self.limits(kind).is_none()).then(|| {
            format!(
                "{} are no limits for {what}, so those photographs are measured and not judged; \
                 'toeline limits' lists some",
                line.limits.join(" and ")
            )
        })
    }
}

/// An error with its causes in one line.
fn in_full(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        text.push_str(&format!(": {error}"));
        cause = error.source();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn planned(text: &str, names: &[&str], limits: &[&str]) -> Plan {
        let folder = tempfile::tempdir().unwrap();
        for name in names {
            std::fs::write(folder.path().join(name), "x").unwrap();
        }
        let photos = PhotoFolder::open(folder.path()).unwrap();
        let limits: Vec<String> = limits.iter().map(|l| (*l).to_owned()).collect();
        plan(&Sheet::read(text.as_bytes()).unwrap(), &photos, &limits)
    }

    fn limits_of(plan: &Plan) -> Vec<Option<&str>> {
        let limits = |job: &'_ Job| job.claim.clone().unwrap().asked.limits.map(|l| l.name);
        let names: Vec<Option<String>> = plan.jobs.iter().map(limits).collect();
        names
            .into_iter()
            .map(|name| name.map(|name| &*name.leak()))
            .collect()
    }

    #[test]
    fn each_photograph_gets_the_limits_for_its_kind() {
        let plan = planned(
            "coupon,limits,section,fracture\n\
             HR-01,iso5817-c|iso5817-b-break,a.jpg,b.jpg\nHR-02,,c.jpg,\n",
            &["a.jpg", "b.jpg", "c.jpg", "d.jpg"],
            &["iso5817-d"],
        );
        assert!(plan.faults.is_empty(), "{:?}", plan.faults);
        let want = [
            Some("iso5817-c"),
            Some("iso5817-b-break"),
            Some("iso5817-d"),
        ];
        assert_eq!(limits_of(&plan), want);
        assert_eq!(plan.unclaimed, ["d.jpg"]);
    }

    #[test]
    fn what_cannot_be_done_is_told_by_line_and_column() {
        let plan = planned(
            "coupon,limits,section,fracture\n\
             HR-01,iso9999,a.jpg,\nHR-02,iso5817-b|iso5817-c,a.jpg,\n\
             HR-03,iso5817-c,,b.jpg\nHR-04,,gone.jpg,b.jpg\n",
            &["a.jpg", "b.jpg"],
            &[],
        );
        let told: Vec<(u64, &str)> = plan
            .faults
            .iter()
            .map(|fault| (fault.line, fault.column.as_str()))
            .collect();
        let want = [
            (2, "limits"),
            (3, "limits"),
            (4, "limits"),
            (5, "section"),
            (5, "fracture"),
        ];
        assert_eq!(told, want);
        assert!(plan.faults[4].message.contains("line 4"));
        // The photograph whose limits do not fit is measured all the same.
        assert_eq!(limits_of(&plan), [None]);
        let coupons: Vec<&str> = plan.coupons.iter().map(|(c, _)| c.as_str()).collect();
        assert_eq!(coupons, ["HR-03", "HR-04"]);
    }

    #[test]
    fn cards_are_looked_for_where_the_sheet_leaves_photographs_out() {
        let kinds = |text: &str| -> Vec<Option<Kind>> {
            let plan = planned(text, &["a.jpg", "b.jpg"], &[]);
            plan.by_card
                .values()
                .map(|by_card| match by_card {
                    ByCard::Ask(asked) => Some(asked.kind),
                    ByCard::Unclear => None,
                })
                .collect()
        };
        assert_eq!(kinds("coupon,section\nHR-01,\n"), [Some(Kind::Section)]);
        assert_eq!(kinds("coupon,fracture\nHR-01,\n"), [Some(Kind::Fracture)]);
        assert_eq!(kinds("coupon,section,fracture\nHR-01,,\n"), [None]);
        assert_eq!(kinds("coupon\nHR-01\n"), [None]);
        assert_eq!(
            kinds("coupon,section,fracture\nHR-01,a.jpg,card\nHR-02,b.jpg,\n"),
            [Some(Kind::Fracture)]
        );
        let plan = planned(
            "coupon,section\nHR-01,\nHR-02,b.jpg\n",
            &["a.jpg", "b.jpg"],
            &[],
        );
        let open: Vec<&str> = plan
            .jobs
            .iter()
            .filter(|job| job.claim.is_none())
            .map(|job| job.name.as_str())
            .collect();
        assert_eq!(open, ["a.jpg"]);
    }
}
