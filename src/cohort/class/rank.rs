//! How coupons stand by points. Equal points share a rank; coupons whose points
//! could as well be equal are said not to be told apart.

use super::row::Row;

/// A coupon's place.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Place {
    /// Which row.
    pub row: usize,
    /// Rank, from 1.
    pub rank: usize,
    /// Whether another coupon has as many points.
    pub tied: bool,
    /// Whether the measured sizes leave open which of this and the one before it
    /// has more points.
    pub close: bool,
}

/// Points closer than this are equal: they are shown with one decimal.
const EQUAL: f64 = 0.05;

/// The coupons that have points, best first. Points of different tables of limits
/// do not compare, so each table has ranks of its own.
pub(super) fn places(rows: &[Row]) -> Vec<(String, Vec<Place>)> {
    let mut tables: Vec<(String, Vec<usize>)> = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        let Some(profile) = profile(row) else {
            continue;
        };
        match tables.iter_mut().find(|(name, _)| *name == profile) {
            Some((_, of)) => of.push(i),
            None => tables.push((profile, vec![i])),
        }
    }
    tables
        .into_iter()
        .map(|(name, of)| (name, placed(rows, of)))
        .collect()
}

/// The limits that a coupon's points belong to.
fn profile(row: &Row) -> Option<String> {
    let fewest = row.points()?.left;
    let look = row
        .looks
        .iter()
        .find(|look| look.points.as_ref().is_some_and(|p| p.left == fewest))?;
    look.profile.clone()
}

fn placed(rows: &[Row], mut of: Vec<usize>) -> Vec<Place> {
    let left = |i: usize| rows[i].points().map_or(0.0, |p| p.left);
    let spread = |i: usize| rows[i].points().map_or(0.0, |p| p.expanded_uncertainty);
    of.sort_by(|a, b| left(*b).total_cmp(&left(*a)));
    let mut places: Vec<Place> = Vec::new();
    for (n, &row) in of.iter().enumerate() {
        let before = n.checked_sub(1).map(|k| of[k]);
        let gap = before.map(|other| left(other) - left(row));
        let tied = gap.is_some_and(|gap| gap < EQUAL);
        if tied && let Some(last) = places.last_mut() {
            last.tied = true;
        }
        let close = before
            .zip(gap)
            .is_some_and(|(other, gap)| !tied && gap <= spread(other).hypot(spread(row)));
        let rank = match places.last() {
            Some(last) if tied => last.rank,
            _ => n + 1,
        };
        places.push(Place {
            row,
            rank,
            tied,
            close,
        });
    }
    places
}

#[cfg(test)]
mod tests {
    use super::super::row::tests::row;
    use super::*;

    #[test]
    fn equal_points_share_a_rank_and_close_ones_are_said_to_be() {
        let rows: Vec<Row> = [
            (80.0, 0.5),
            (95.0, 0.2),
            (80.0, 1.0),
            (79.0, 0.4),
            (60.0, 2.0),
        ]
        .map(|(left, u)| row("HR", left, u))
        .to_vec();
        let tables = places(&rows);
        assert_eq!(tables.len(), 1);
        let shown: Vec<(usize, usize, bool, bool)> = tables[0]
            .1
            .iter()
            .map(|p| (p.row, p.rank, p.tied, p.close))
            .collect();
        assert_eq!(
            shown,
            [
                (1, 1, false, false),
                (0, 2, true, false),
                (2, 2, true, false),
                (3, 4, false, true),
                (4, 5, false, false)
            ]
        );
    }
}
