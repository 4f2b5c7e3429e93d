//! Which coupons count: those that every examiner looked at equally often.
//!
//! The mathematics needs a whole grid. What is missing is never filled in; coupons
//! without their full number of looks are left out and named, and where half of them
//! would go nothing is said at all.

use super::sheet::Grid;
use std::collections::BTreeMap;

/// A whole grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Design<T> {
    /// Coupons that count.
    pub coupons: Vec<String>,
    /// Examiners who wrote something.
    pub examiners: Vec<String>,
    /// Looks of each at each.
    pub looks: usize,
    /// `cells[coupon][examiner][look]`.
    pub cells: Vec<Vec<Vec<T>>>,
    /// What was left out, a sentence each.
    pub left_out: Vec<String>,
}

/// Why a column is not assessed, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Withheld {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

impl Withheld {
    /// From its two parts.
    pub fn new(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            remedy: remedy.into(),
        }
    }
}

/// The whole grid in what was written.
///
/// # Errors
/// Fewer than two examiners or coupons, or half of the coupons without all looks.
pub fn design<T: Clone>(
    grid: &Grid<T>,
    coupons: &[String],
    examiners: &[String],
) -> Result<Design<T>, Withheld> {
    let looks = |coupon: usize, examiner: usize| grid.get(&(coupon, examiner));
    let count = |coupon: usize, examiner: usize| looks(coupon, examiner).map_or(0, BTreeMap::len);
    let (present, absent): (Vec<usize>, Vec<usize>) =
        (0..examiners.len()).partition(|e| (0..coupons.len()).any(|c| count(c, *e) > 0));
    match present.len() {
        0 => {
            return Err(Withheld::new(
                "nothing was written in this column",
                "fill it in, or take it out",
            ));
        }
        1 => {
            return Err(Withheld::new(
                format!(
                    "only examiner {} wrote something in this column",
                    examiners[present[0]]
                ),
                "have a second examiner look at the same coupons, without knowing what the first \
                 one wrote",
            ));
        }
        _ => {}
    }
    let usual = usual(grid);
    let mut left_out: Vec<String> = absent
        .iter()
        .map(|e| format!("Examiner {} wrote nothing in this column", examiners[*e]))
        .collect();
    let (mut kept, mut judged) = (Vec::new(), 0);
    for (c, coupon) in coupons.iter().enumerate() {
        if present.iter().all(|e| count(c, *e) == 0) {
            continue;
        }
        judged += 1;
        let odd: Vec<String> = present
            .iter()
            .filter(|e| count(c, **e) != usual)
            .map(|e| format!("examiner {} has {}", examiners[*e], many(count(c, *e))))
            .collect();
        if odd.is_empty() {
            kept.push(c);
        } else {
            left_out.push(format!(
                "Coupon {coupon}: {}, where {} each would be needed",
                odd.join(", "),
                many(usual)
            ));
        }
    }
    if kept.len() < 2 || 2 * kept.len() <= judged {
        let example = left_out
            .iter()
            .find(|line| line.starts_with("Coupon"))
            .map_or(String::new(), |line| format!(" ({line})"));
        return Err(Withheld::new(
            format!(
                "only {} of {judged} coupons have {} by every examiner{example}",
                kept.len(),
                many(usual)
            ),
            "let every examiner look at every coupon equally often, at two coupons or more, and \
             fill in what is missing",
        ));
    }
    let cell = |c: usize, e: usize| {
        let cell = looks(c, e).into_iter().flat_map(BTreeMap::values);
        cell.cloned().collect()
    };
    Ok(Design {
        coupons: kept.iter().map(|c| coupons[*c].clone()).collect(),
        examiners: present.iter().map(|e| examiners[*e].clone()).collect(),
        looks: usual,
        cells: kept
            .iter()
            .map(|c| present.iter().map(|e| cell(*c, *e)).collect())
            .collect(),
        left_out,
    })
}

/// The number of looks that most cells have; of two equally frequent the larger.
fn usual<T>(grid: &Grid<T>) -> usize {
    let mut times: BTreeMap<usize, usize> = BTreeMap::new();
    for looks in grid.values() {
        *times.entry(looks.len()).or_default() += 1;
    }
    times
        .into_iter()
        .max_by_key(|(looks, times)| (*times, *looks))
        .map_or(0, |(looks, _)| looks)
}

fn many(looks: usize) -> String {
    match looks {
        0 => "no look".to_owned(),
        1 => "1 look".to_owned(),
        n => format!("{n} looks"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Looks by coupon and examiner.
    fn grid(counts: &[&[u32]]) -> Grid<u32> {
        let mut grid = Grid::new();
        for (c, row) in counts.iter().enumerate() {
            for (e, looks) in row.iter().enumerate() {
                if *looks > 0 {
                    grid.insert((c, e), (1..=*looks).map(|look| (look, look)).collect());
                }
            }
        }
        grid
    }

    fn names(count: usize, stem: &str) -> Vec<String> {
        (0..count).map(|i| format!("{stem}{i}")).collect()
    }

    fn of(counts: &[&[u32]]) -> Result<Design<u32>, Withheld> {
        design(
            &grid(counts),
            &names(counts.len(), "HR-"),
            &names(counts[0].len(), "E"),
        )
    }

    #[test]
    fn a_coupon_without_all_looks_is_left_out_and_named() {
        let found = of(&[&[2, 2], &[2, 1], &[2, 2], &[2, 2]]).unwrap();
        assert_eq!((found.coupons.len(), found.looks), (3, 2));
        assert_eq!(found.cells, vec![vec![vec![1, 2]; 2]; 3]);
        assert_eq!(
            found.left_out,
            ["Coupon HR-1: examiner E1 has 1 look, where 2 looks each would be needed"]
        );
        // A look too many is no reason to choose among them.
        assert_eq!(of(&[&[2, 2], &[3, 2], &[2, 2]]).unwrap().coupons.len(), 2);
    }

    #[test]
    fn an_examiner_of_other_columns_does_not_count() {
        let found = of(&[&[1, 1, 0], &[1, 1, 0]]).unwrap();
        assert_eq!(found.examiners, ["E0", "E1"]);
        assert!(found.left_out[0].starts_with("Examiner E2"));
    }

    #[test]
    fn half_a_grid_and_one_examiner_are_refused() {
        let message = |counts: &[&[u32]]| of(counts).unwrap_err().message;
        assert!(message(&[&[2, 2], &[2, 2], &[2, 0], &[1, 2]]).contains("2 of 4"));
        assert!(message(&[&[2, 0], &[0, 2]]).contains("Coupon HR-0"));
        assert!(message(&[&[2, 0], &[2, 0]]).contains("only examiner E0"));
        assert!(message(&[&[2, 2]]).contains("1 of 1"));
        assert!(message(&[&[0, 0]]).contains("nothing was written"));
    }
}
