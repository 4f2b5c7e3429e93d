//! Agreement of verdicts beyond what chance would give.
//!
//! Two examiners: Cohen's kappa (Cohen 1960), standard error after Fleiss, Cohen and
//! Everitt 1969. Several: Fleiss' kappa (Fleiss 1971). Formulas from memory.

/// Cohen's kappa of a square table of counts: rows one examiner's categories, columns
/// the other's. Gives kappa and its standard error; `None` where the table is empty or
/// not square, or both used one and the same category only: kappa is then undefined.
pub fn cohen(table: &[Vec<u32>]) -> Option<(f64, f64)> {
    let k = table.len();
    if table.iter().any(|row| row.len() != k) {
        return None;
    }
    let n: f64 = table.iter().flatten().map(|c| f64::from(*c)).sum();
    if n == 0.0 {
        return None;
    }
    let p = |i: usize, j: usize| f64::from(table[i][j]) / n;
    let row: Vec<f64> = (0..k).map(|i| (0..k).map(|j| p(i, j)).sum()).collect();
    let column: Vec<f64> = (0..k).map(|j| (0..k).map(|i| p(i, j)).sum()).collect();
    let observed: f64 = (0..k).map(|i| p(i, i)).sum();
    let chance: f64 = (0..k).map(|i| row[i] * column[i]).sum();
    let room = 1.0 - chance;
    if room < 1e-12 {
        return None;
    }
    let kappa = (observed - chance) / room;
    let short = 1.0 - kappa;
    let mut sum = -(kappa - chance * short).powi(2);
    for i in 0..k {
        for j in 0..k {
            sum += p(i, j)
                * if i == j {
                    (1.0 - (row[i] + column[i]) * short).powi(2)
                } else {
                    (short * (column[i] + row[j])).powi(2)
                };
        }
    }
    Some((kappa, (sum.max(0.0) / n).sqrt() / room))
}

/// Fleiss' kappa: a row a coupon, a column a category, each cell how many examiners
/// chose it. `None` where rows differ in their sum or length, fewer than two examiners
/// judged, or all verdicts fall into one category: kappa is then undefined.
pub fn fleiss(table: &[Vec<u32>]) -> Option<f64> {
    let first = table.first()?;
    let raters: u32 = first.iter().sum();
    let uneven = |row: &Vec<u32>| row.len() != first.len() || row.iter().sum::<u32>() != raters;
    if raters < 2 || table.iter().any(uneven) {
        return None;
    }
    let (n, m) = (table.len() as f64, f64::from(raters));
    let pairs: f64 = table.iter().flatten().map(|c| f64::from(*c).powi(2)).sum();
    let observed = (pairs - n * m) / (n * m * (m - 1.0));
    let chance: f64 = (0..first.len())
        .map(|j| (table.iter().map(|r| f64::from(r[j])).sum::<f64>() / (n * m)).powi(2))
        .sum();
    (1.0 - chance > 1e-12).then(|| (observed - chance) / (1.0 - chance))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The widely reprinted table of 10 subjects, 14 raters and 5 categories.
    #[test]
    fn fleiss_gives_the_published_value() {
        let table = [
            [0, 0, 0, 0, 14],
            [0, 2, 6, 4, 2],
            [0, 0, 3, 5, 6],
            [0, 3, 9, 2, 0],
            [2, 2, 8, 1, 1],
            [7, 7, 0, 0, 0],
            [3, 2, 6, 3, 0],
            [2, 5, 3, 2, 2],
            [6, 5, 2, 1, 0],
            [0, 2, 2, 3, 7],
        ]
        .map(|row| row.to_vec());
        assert!((fleiss(&table).unwrap() - 0.209_930_704_421_955_22).abs() < 1e-12);
    }

    /// 20, 5, 10, 15: kappa 0.40 (from memory, and by hand: 0.70 observed, 0.50 by chance).
    #[test]
    fn cohen_gives_the_textbook_value() {
        let (kappa, error) = cohen(&[vec![20, 5], vec![10, 15]]).unwrap();
        assert!((kappa - 0.4).abs() < 1e-12);
        assert!(error > 0.1 && error < 0.15, "{error}");
    }

    #[test]
    fn one_category_only_is_undefined() {
        assert_eq!(cohen(&[vec![9, 0], vec![0, 0]]), None);
        assert_eq!(fleiss(&[vec![3, 0], vec![3, 0]]), None);
    }
}
