//! A column of measured values.

use super::design::{Design, Withheld};
use super::gauge::{Anova, Line, anova};
use crate::record::study::{Allowed, AnovaLine, Part, PartOfScatter, ValueStudy};

/// In the order in which the analysis gives them.
const PARTS: [Part; 6] = [
    Part::Repeatability,
    Part::Reproducibility,
    Part::Interaction,
    Part::Measuring,
    Part::Coupons,
    Part::Total,
];

/// Where the scatter comes from.
///
/// # Errors
/// One look only, or no scatter at all.
pub fn values(design: &Design<f64>, allowed: Option<Allowed>) -> Result<ValueStudy, Withheld> {
    let Some(anova) = anova(&design.cells) else {
        return Err(Withheld::new(
            "every examiner measured every coupon once, so that repeats and examiners cannot be \
             told apart",
            "have every examiner measure every coupon a second time, in another order and without \
             the first values in sight",
        ));
    };
    let variances = anova.components();
    if variances.total() == 0.0 {
        return Err(Withheld::new(
            "all values are the same, or as good as, so that there is no scatter to explain",
            "take coupons that differ, and write the values with one digit more",
        ));
    }
    let examiner_mean = |e: usize| {
        let own: Vec<f64> = design.cells.iter().flat_map(|c| c[e].clone()).collect();
        own.iter().sum::<f64>() / own.len() as f64
    };
    let (measuring, coupons) = (variances.measuring(), variances.coupons);
    Ok(ValueStudy {
        values_mm: design.cells.clone(),
        mean_mm: anova.mean,
        examiner_means_mm: (0..design.examiners.len()).map(examiner_mean).collect(),
        anova: lines(&anova),
        interaction_p: anova.interaction_p(),
        interaction_pooled: anova.pooled(),
        set_to_zero: variances.set_to_zero,
        parts: parts(&anova, allowed),
        distinct_categories: (measuring > 0.0)
            .then(|| (2.0 * coupons / measuring).sqrt())
            // Beyond this the number says nothing but "many".
            .map(|classes| classes.min(1e6) as u32),
        allowed,
    })
}

fn lines(anova: &Anova) -> Vec<AnovaLine> {
    let line = |source, line: Line| AnovaLine {
        source,
        sum_of_squares: line.squares,
        degrees_of_freedom: line.freedom,
        mean_square: line.mean(),
    };
    vec![
        line("coupons", anova.coupons),
        line("examiners", anova.examiners),
        line("coupons × examiners", anova.interaction),
        line("repeats", anova.repeats),
    ]
}

fn parts(anova: &Anova, allowed: Option<Allowed>) -> Vec<PartOfScatter> {
    let variances = anova.components().all();
    let total = variances[5];
    let intervals = anova.intervals();
    let mut parts = Vec::new();
    for (at, part) in PARTS.into_iter().enumerate() {
        let deviation = variances[at].sqrt();
        let (deviation_interval_mm, share) = intervals[at];
        parts.push(PartOfScatter {
            part,
            variance_mm2: variances[at],
            deviation_mm: deviation,
            deviation_interval_mm,
            contribution_percent: 100.0 * variances[at] / total,
            study_variation_percent: 100.0 * deviation / total.sqrt(),
            study_variation_interval_percent: share.map(|bound| 100.0 * bound),
            tolerance_percent: allowed.and_then(|allowed| {
                let (times, room) = match allowed {
                    Allowed::ToleranceMm(width) => (6.0, width),
                    Allowed::LimitMm(limit) => (3.0, (anova.mean - limit).abs()),
                };
                let percent = 100.0 * times * deviation / room;
                percent.is_finite().then_some(percent)
            }),
        });
    }
    if anova.pooled() {
        parts.retain(|part| part.part != Part::Interaction);
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(cells: Vec<Vec<Vec<f64>>>) -> Design<f64> {
        Design {
            coupons: (0..cells.len()).map(|i| format!("HR-{i}")).collect(),
            examiners: (0..cells[0].len()).map(|i| format!("E{i}")).collect(),
            looks: cells[0][0].len(),
            cells,
            left_out: Vec::new(),
        }
    }

    #[test]
    fn shares_add_up_and_a_single_limit_counts_half() {
        let cells = vec![
            vec![vec![6.0, 6.2], vec![6.1, 6.3]],
            vec![vec![7.0, 7.1], vec![7.3, 7.1]],
            vec![vec![5.0, 5.2], vec![5.1, 5.1]],
        ];
        let found = values(&design(cells.clone()), Some(Allowed::LimitMm(5.0))).unwrap();
        let share = |wanted: &[Part]| -> f64 {
            let of = found.parts.iter().filter(|p| wanted.contains(&p.part));
            of.map(|p| p.contribution_percent).sum()
        };
        let causes = [
            Part::Repeatability,
            Part::Reproducibility,
            Part::Interaction,
            Part::Coupons,
        ];
        assert!((share(&causes) - 100.0).abs() < 1e-9);
        assert!((share(&[Part::Measuring, Part::Coupons]) - 100.0).abs() < 1e-9);
        let one_sided = found.parts[0].tolerance_percent.unwrap();
        let width = Some(Allowed::ToleranceMm(2.0 * (found.mean_mm - 5.0)));
        let two_sided = values(&design(cells), width).unwrap().parts[0].tolerance_percent;
        assert!((one_sided - two_sided.unwrap()).abs() < 1e-9);
    }

    #[test]
    fn no_division_by_nothing() {
        // Repeats that do not scatter at all, and a mean that lies on the limit.
        let cells = vec![vec![vec![1.0; 2]; 2], vec![vec![3.0; 2]; 2]];
        let found = values(&design(cells), Some(Allowed::LimitMm(2.0))).unwrap();
        assert_eq!(found.distinct_categories, None);
        assert_eq!(found.interaction_p, None);
        assert!(found.parts.iter().all(|p| p.tolerance_percent.is_none()));
        assert!(
            found
                .parts
                .iter()
                .all(|p| p.study_variation_percent.is_finite())
        );
        let same = values(&design(vec![vec![vec![6.1; 3]; 2]; 4]), None).unwrap_err();
        assert!(same.message.contains("all values are the same"));
        let once = values(&design(vec![vec![vec![6.1]; 2]; 4]), None).unwrap_err();
        assert!(once.message.contains("once"));
    }
}
