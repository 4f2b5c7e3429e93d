//! What a study says, column by column.

use super::agreement::{Kappa, Share, several, two};
use super::gauge::{self, Gauge};
use super::sheet::{Column, StudySheet};
use crate::base::rounding::plain;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A study's figures.
#[derive(Clone, Debug, Serialize)]
pub(super) struct StudyResult {
    pub coupons: Vec<String>,
    pub examiners: Vec<String>,
    pub values: Vec<ValueResult>,
    pub verdicts: Vec<VerdictResult>,
}

/// What is said of a column of numbers.
#[derive(Clone, Debug, Serialize)]
pub(super) struct ValueResult {
    pub title: String,
    /// Why there are no figures, in words.
    pub why_not: Option<String>,
    pub scatter: Option<Scatter>,
    /// `values[coupon][examiner]`, look by look.
    pub values: Vec<Vec<Vec<f64>>>,
}

/// Standard deviations, in the unit of the values, and what follows from them.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Scatter {
    pub repeats: f64,
    /// Interval of `repeats` (chi-square, 0.95).
    pub repeats_low: f64,
    pub repeats_high: f64,
    pub examiners: f64,
    pub interaction: f64,
    /// Repeats, examiners and their interaction together.
    pub measuring: f64,
    pub coupons: f64,
    pub total: f64,
    pub interaction_pooled: bool,
    pub interaction_probability: Option<f64>,
    pub set_to_zero: bool,
    /// Sizes that can be told apart: √2 · coupons / measuring, whole; none where
    /// measuring does not scatter.
    pub distinct: Option<u64>,
    pub tolerance: Option<f64>,
    /// 6 · measuring over the tolerance.
    pub share_of_tolerance: Option<f64>,
}

/// What is said of a column of words.
#[derive(Clone, Debug, Serialize)]
pub(super) struct VerdictResult {
    pub title: String,
    /// The words used.
    pub words: Vec<String>,
    /// Coupons of which every examiner said the same at every look.
    pub all_agree: Option<Share>,
    /// Of all verdicts; `None` where it is undefined.
    pub between_all: Option<Kappa>,
    /// Each examiner with themselves, look against look.
    pub within: Vec<Within>,
    /// Each two examiners, look by look.
    pub pairs: Vec<Pair>,
    /// Coupons on which they differ, and what each examiner said.
    pub differing: Vec<(String, Vec<String>)>,
    /// Why some figures are missing, in words.
    pub why_not: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
pub(super) struct Within {
    pub examiner: String,
    pub same: Option<Share>,
    pub kappa: Option<Kappa>,
}

#[derive(Clone, Debug, Serialize)]
pub(super) struct Pair {
    pub examiners: [String; 2],
    pub same: Option<Share>,
    pub kappa: Option<Kappa>,
}

pub(super) fn of(sheet: &StudySheet, tolerances: &BTreeMap<String, f64>) -> StudyResult {
    StudyResult {
        coupons: sheet.coupons.clone(),
        examiners: sheet.examiners.clone(),
        values: sheet
            .values
            .iter()
            .map(|column| value(sheet, column, tolerances.get(&column.title).copied()))
            .collect(),
        verdicts: sheet
            .verdicts
            .iter()
            .map(|column| verdict(sheet, column))
            .collect(),
    }
}

/// Why a column is not crossed and balanced, naming the first place.
fn gap<T>(sheet: &StudySheet, column: &Column<T>, least: usize) -> Option<String> {
    if sheet.examiners.len() < 2 || sheet.coupons.len() < 2 {
        return Some("it needs two coupons and two examiners at least".to_owned());
    }
    let usual = column.looks[0][0].len();
    for (c, row) in column.looks.iter().enumerate() {
        for (e, looks) in row.iter().enumerate() {
            if looks.len() != usual {
                return Some(format!(
                    "examiner {} looked {} at coupon {}, but examiner {} {} at coupon {}; everybody must look at every coupon equally often",
                    sheet.examiners[e],
                    times(looks.len()),
                    sheet.coupons[c],
                    sheet.examiners[0],
                    times(usual),
                    sheet.coupons[0]
                ));
            }
        }
    }
    (usual < least).then(|| {
        format!(
            "every examiner must look at every coupon {} at least, here it is {}",
            times(least),
            times(usual)
        )
    })
}

fn times(n: usize) -> String {
    match n {
        0 => "never".to_owned(),
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}

fn value(sheet: &StudySheet, column: &Column<f64>, tolerance: Option<f64>) -> ValueResult {
    let why_not = gap(sheet, column, 2);
    let found = why_not
        .is_none()
        .then(|| gauge::gauge(&column.looks))
        .flatten();
    ValueResult {
        title: column.title.clone(),
        scatter: found.map(|g| scatter(&g, tolerance)),
        why_not,
        values: column.looks.clone(),
    }
}

fn scatter(g: &Gauge, tolerance: Option<f64>) -> Scatter {
    let measuring = (g.repeatability + g.reproducibility + g.interaction).sqrt();
    let coupons = g.part_to_part.sqrt();
    let [low, high] = g.repeatability_interval();
    Scatter {
        repeats: g.repeatability.sqrt(),
        repeats_low: low.sqrt(),
        repeats_high: high.sqrt(),
        examiners: g.reproducibility.sqrt(),
        interaction: g.interaction.sqrt(),
        measuring,
        coupons,
        total: measuring.hypot(coupons),
        interaction_pooled: g.pooled,
        interaction_probability: g.interaction_p,
        set_to_zero: g.set_to_zero,
        distinct: (measuring > 0.0).then(|| (2f64.sqrt() * coupons / measuring) as u64),
        tolerance,
        share_of_tolerance: tolerance.map(|t| 6.0 * measuring / t),
    }
}

fn verdict(sheet: &StudySheet, column: &Column<String>) -> VerdictResult {
    let words: Vec<String> = column
        .looks
        .iter()
        .flatten()
        .flatten()
        .cloned()
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    let why_not = gap(sheet, column, 1);
    let all: Vec<Vec<&String>> = column
        .looks
        .iter()
        .map(|row| row.iter().flatten().collect())
        .collect();
    let same = |ratings: &[&String]| ratings.windows(2).all(|w| w[0] == w[1]);
    let examiners = sheet.examiners.len();
    let looked = |e: usize| {
        column
            .looks
            .iter()
            .map(move |row| &row[e])
            .filter(|l| !l.is_empty())
    };
    let within = (0..examiners)
        .filter(|e| looked(*e).all(|looks| looks.len() > 1))
        .map(|e| {
            let own: Vec<Vec<&String>> = looked(e).map(|looks| looks.iter().collect()).collect();
            Within {
                examiner: sheet.examiners[e].clone(),
                same: Share::new(own.iter().filter(|r| same(r)).count(), own.len()),
                kappa: several(&own, &words),
            }
        })
        .collect();
    let mut pairs = Vec::new();
    for a in 0..examiners {
        for b in a + 1..examiners {
            let both: Vec<(&String, &String)> = column
                .looks
                .iter()
                .flat_map(|row| row[a].iter().zip(&row[b]))
                .collect();
            pairs.push(Pair {
                examiners: [sheet.examiners[a].clone(), sheet.examiners[b].clone()],
                same: Share::new(both.iter().filter(|(x, y)| x == y).count(), both.len()),
                kappa: two(&both, &words),
            });
        }
    }
    let differing = (0..sheet.coupons.len())
        .filter(|c| !same(&all[*c]))
        .map(|c| {
            let said = column.looks[c].iter().map(|looks| {
                let mut looks = looks.clone();
                if looks.windows(2).all(|w| w[0] == w[1]) {
                    looks.truncate(1);
                }
                looks.join(", then ")
            });
            (sheet.coupons[c].clone(), said.collect())
        })
        .collect();
    let judged = all.iter().filter(|r| r.len() > 1);
    VerdictResult {
        title: column.title.clone(),
        all_agree: Share::new(judged.clone().filter(|r| same(r)).count(), judged.count()),
        between_all: why_not.is_none().then(|| several(&all, &words)).flatten(),
        within,
        pairs,
        differing,
        why_not,
        words,
    }
}

impl StudyResult {
    /// One line a column.
    pub fn summary(&self) -> Vec<String> {
        let values = self.values.iter().map(|v| match (&v.scatter, &v.why_not) {
            (Some(s), _) => format!(
                "{}: standard deviation {} of repeats, {} between examiners, {} between coupons",
                v.title,
                plain(s.repeats, 3),
                plain(s.examiners.hypot(s.interaction), 3),
                plain(s.coupons, 3)
            ),
            (None, why) => format!(
                "{}: not worked out: {}",
                v.title,
                why.as_deref().unwrap_or("the values are not enough")
            ),
        });
        let verdicts = self.verdicts.iter().map(|v| {
            let agree = v.all_agree.map_or(String::new(), |s| {
                format!("all agree on {} of {} coupons", s.agree, s.of)
            });
            let kappa = match (&v.between_all, &v.why_not) {
                (Some(k), _) => format!(
                    ", kappa {} ({} to {})",
                    plain(k.value, 2),
                    plain(k.low, 2),
                    plain(k.high, 2)
                ),
                (None, Some(why)) => format!(", no kappa: {why}"),
                (None, None) => {
                    ", kappa is undefined: there is one and the same verdict throughout".to_owned()
                }
            };
            format!("{}: {agree}{kappa}", v.title)
        });
        values.chain(verdicts).collect()
    }
}
