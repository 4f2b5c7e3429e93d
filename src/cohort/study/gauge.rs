//! Measured values: parts × examiners × repeats, all crossed, as a two-way analysis of
//! variance with random effects (Montgomery, Design and Analysis of Experiments; from
//! memory).

use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor};

/// Above this probability the interaction is pooled with the repeats.
const POOLED_ABOVE: f64 = 0.25;

/// Variances, each in the square of the unit of the values; an estimate below zero is
/// set to zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Of repeats of one examiner on one part.
    pub repeatability: f64,
    /// Of examiners.
    pub reproducibility: f64,
    /// Of examiners that differ from part to part; zero where pooled.
    pub interaction: f64,
    /// Of parts.
    pub part_to_part: f64,
    /// Probability of an interaction this large by chance; `None` where the repeats do
    /// not scatter at all.
    pub interaction_p: Option<f64>,
    /// Whether the interaction was pooled with the repeats.
    pub pooled: bool,
    /// Whether an estimate was below zero and set to it.
    pub set_to_zero: bool,
    /// Degrees of freedom of the repeats.
    pub repeats_free: f64,
}

impl Gauge {
    /// Interval of the repeats' variance (coverage 0.95, chi-square).
    pub fn repeatability_interval(&self) -> [f64; 2] {
        let quantile =
            |p: f64| ChiSquared::new(self.repeats_free).map_or(f64::NAN, |d| d.inverse_cdf(p));
        [0.975, 0.025].map(|p| self.repeatability * self.repeats_free / quantile(p))
    }
}

/// Analyses `values[part][examiner][repeat]`; `None` unless every part has every
/// examiner's same number of repeats and there are two of each at least.
pub fn gauge(values: &[Vec<Vec<f64>>]) -> Option<Gauge> {
    let (p, o) = (values.len(), values.first()?.len());
    let r = values[0].first()?.len();
    let uneven = |part: &Vec<Vec<f64>>| part.len() != o || part.iter().any(|c| c.len() != r);
    if p < 2 || o < 2 || r < 2 || values.iter().any(uneven) {
        return None;
    }
    let (np, no, nr) = (p as f64, o as f64, r as f64);
    let cell = |i: usize, j: usize| values[i][j].iter().sum::<f64>() / nr;
    let part: Vec<f64> = (0..p)
        .map(|i| (0..o).map(|j| cell(i, j)).sum::<f64>() / no)
        .collect();
    let examiner: Vec<f64> = (0..o)
        .map(|j| (0..p).map(|i| cell(i, j)).sum::<f64>() / np)
        .collect();
    let grand = part.iter().sum::<f64>() / np;
    let squares = |means: &[f64]| means.iter().map(|m| (m - grand).powi(2)).sum::<f64>();
    let (mut both, mut within) = (0.0, 0.0);
    for i in 0..p {
        for j in 0..o {
            both += (cell(i, j) - part[i] - examiner[j] + grand).powi(2);
            within += values[i][j]
                .iter()
                .map(|v| (v - cell(i, j)).powi(2))
                .sum::<f64>();
        }
    }
    let (free_both, free_within) = ((np - 1.0) * (no - 1.0), np * no * (nr - 1.0));
    let (mean_both, mean_within) = (nr * both / free_both, within / free_within);
    let interaction_p = (mean_within > 0.0)
        .then(|| FisherSnedecor::new(free_both, free_within).ok())
        .flatten()
        .map(|f| f.sf(mean_both / mean_within));
    let pooled = interaction_p.is_some_and(|chance| chance > POOLED_ABOVE);
    let repeatability = if pooled {
        (nr * both + within) / (free_both + free_within)
    } else {
        mean_within
    };
    let against = if pooled { repeatability } else { mean_both };
    let raw = [
        (np * nr * squares(&examiner) / (no - 1.0) - against) / (np * nr),
        if pooled {
            0.0
        } else {
            (mean_both - mean_within) / nr
        },
        (no * nr * squares(&part) / (np - 1.0) - against) / (no * nr),
    ];
    let [reproducibility, interaction, part_to_part] = raw.map(|v| v.max(0.0));
    Some(Gauge {
        repeatability,
        reproducibility,
        interaction,
        part_to_part,
        interaction_p,
        pooled,
        set_to_zero: raw.iter().any(|v| *v < 0.0),
        repeats_free: if pooled {
            free_both + free_within
        } else {
            free_within
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The widely reprinted study of 10 parts, 3 examiners and 3 repeats.
    #[test]
    fn the_published_study_is_met() {
        let rows = "0.29 0.41 0.64 0.08 0.25 0.07 0.04 -0.11 -0.15
            -0.56 -0.68 -0.58 -0.47 -1.22 -0.68 -1.38 -1.13 -0.96
            1.34 1.17 1.27 1.19 0.94 1.34 0.88 1.09 0.67
            0.47 0.50 0.64 0.01 1.03 0.20 0.14 0.20 0.11
            -0.80 -0.92 -0.84 -0.56 -1.20 -1.28 -1.46 -1.07 -1.45
            0.02 -0.11 -0.21 -0.20 0.22 0.06 -0.29 -0.67 -0.49
            0.59 0.75 0.66 0.47 0.55 0.83 0.02 0.01 0.21
            -0.31 -0.20 -0.17 -0.63 0.08 -0.34 -0.46 -0.56 -0.49
            2.26 1.99 2.01 1.80 2.12 2.19 1.77 1.45 1.87
            -1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16";
        let values: Vec<Vec<Vec<f64>>> = rows
            .lines()
            .map(|line| {
                let all: Vec<f64> = line
                    .split_whitespace()
                    .map(|v| v.parse().unwrap())
                    .collect();
                all.chunks(3).map(<[f64]>::to_vec).collect()
            })
            .collect();
        let found = gauge(&values).unwrap();
        assert!(found.pooled && !found.set_to_zero);
        assert!((found.interaction_p.unwrap() - 0.974).abs() < 5e-4);
        assert!((found.repeatability - 0.039973).abs() < 1e-6);
        assert!((found.reproducibility - 0.051455).abs() < 1e-6);
        assert!((found.part_to_part - 1.086447).abs() < 1e-6);
        // 78 degrees of freedom; chi-square 0.975 and 0.025: 104.316 and 55.466.
        let [low, high] = found.repeatability_interval();
        assert!((low - 0.039973 * 78.0 / 104.316).abs() < 1e-5, "{low}");
        assert!((high - 0.039973 * 78.0 / 55.466).abs() < 1e-5, "{high}");
    }

    #[test]
    fn a_missing_cell_or_a_single_repeat_is_refused() {
        let full = vec![vec![vec![1.0, 1.1]; 2]; 3];
        assert!(gauge(&full).is_some());
        let mut short = full;
        short[1][1].pop();
        assert_eq!(gauge(&short), None);
        assert_eq!(gauge(&vec![vec![vec![1.0]; 2]; 3]), None);
    }
}
