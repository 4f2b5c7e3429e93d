//! The neighbours of a cell of a grid kept row by row.

/// The up to four cells beside cell `i` of a `columns`-wide grid of `n` cells.
pub fn beside(i: usize, columns: usize, n: usize) -> impl Iterator<Item = usize> {
    let c = i % columns;
    [
        (c > 0).then(|| i - 1),
        (c + 1 < columns).then_some(i + 1),
        i.checked_sub(columns),
        (i + columns < n).then_some(i + columns),
    ]
    .into_iter()
    .flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_do_not_run_into_each_other() {
        let of = |i| beside(i, 3, 9).collect::<Vec<_>>();
        assert_eq!(of(4), [3, 5, 1, 7]);
        assert_eq!(of(3), [4, 0, 6]);
        assert_eq!(of(8), [7, 5]);
    }
}
