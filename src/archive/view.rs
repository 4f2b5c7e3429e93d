//! The entries as a person thinks of them: coupons, their photographs, and the
//! revisions of each.

use super::chain::Link;
use super::entry::{CouponFacts, Entry, Revision};
use super::error::ArchiveError;
use std::collections::BTreeMap;

/// A coupon.
#[derive(Clone, Debug, PartialEq)]
pub struct CouponView {
    /// Its name.
    pub id: String,
    /// What the sheet said last.
    pub facts: CouponFacts,
    /// Its photographs, in the order they were first filed.
    pub photographs: Vec<PhotographView>,
}

/// A photograph. It belongs to the coupon of its latest revision.
#[derive(Clone, Debug, PartialEq)]
pub struct PhotographView {
    /// Everything before the latest revision, oldest first.
    pub earlier: Vec<Filed>,
    /// The latest revision.
    pub latest: Filed,
}

/// A revision with its place in the chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Filed {
    /// Number of the entry.
    pub seq: u64,
    /// Hash of the entry.
    pub hash: String,
    /// What was filed.
    pub revision: Revision,
}

/// All coupons by name.
pub fn coupons(links: &[Link]) -> Result<Vec<CouponView>, ArchiveError> {
    let mut coupons: BTreeMap<String, CouponView> = BTreeMap::new();
    let mut photographs: Vec<PhotographView> = Vec::new();
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    for link in links {
        let entry: Entry = serde_json::from_str(&link.body)?;
        let view = coupons
            .entry(entry.coupon().to_owned())
            .or_insert_with(|| CouponView {
                id: entry.coupon().to_owned(),
                facts: CouponFacts::default(),
                photographs: Vec::new(),
            });
        match entry {
            Entry::Coupon(entry) => view.facts = entry.facts,
            Entry::Revision(revision) => {
                let photograph = revision.photograph().to_owned();
                let filed = Filed {
                    seq: link.seq,
                    hash: link.hash.clone(),
                    revision: *revision,
                };
                match known.get(&photograph) {
                    Some(at) => {
                        let view = &mut photographs[*at];
                        view.earlier
                            .push(std::mem::replace(&mut view.latest, filed));
                    }
                    None => {
                        known.insert(photograph, photographs.len());
                        photographs.push(PhotographView {
                            earlier: Vec::new(),
                            latest: filed,
                        });
                    }
                }
            }
        }
    }
    for photograph in photographs {
        if let Some(coupon) = coupons.get_mut(&photograph.latest.revision.coupon) {
            coupon.photographs.push(photograph);
        }
    }
    Ok(coupons.into_values().collect())
}
