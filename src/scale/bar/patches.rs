//! Connected patches of one tone and their shape.

use crate::base::geometry::{Point, Px, Vector};

/// A connected patch of one tone, in full-resolution pixels.
#[derive(Clone, Debug)]
pub struct Patch {
    /// Middle of its extent along its axis, for a stroke with end caps that of
    /// the stroke.
    pub centre: Point<Px>,
    /// Unit direction of its longer axis.
    pub axis: Vector<Px>,
    pub length: f64,
    /// Width of the stroke, without caps.
    pub width: f64,
    /// Share of the rectangle of that length and width it fills; without caps.
    pub solid: f64,
    /// Thickness of end caps along the axis, 0 for none.
    pub cap: f64,
}

/// Caps are wider than the stroke by at least this factor.
const CAP_WIDER: f64 = 1.35;
/// Longest cap as a share of the whole.
const CAP_LONGEST: f64 = 0.12;

/// Patches (eight neighbours) of the set samples of a mask `width` wide, whose
/// samples are `factor` px apart.
pub fn patches(mask: &[bool], width: usize, factor: f64) -> Vec<Patch> {
    let height = mask.len() / width.max(1);
    let mut seen = vec![false; mask.len()];
    let mut found = Vec::new();
    let mut places: Vec<Point<Px>> = Vec::new();
    for start in 0..mask.len() {
        if !mask[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        places.clear();
        let mut stack = vec![start];
        while let Some(i) = stack.pop() {
            let (col, row) = (i % width, i / width);
            places.push(Point::new(col as f64 + 0.5, row as f64 + 0.5));
            for r in row.saturating_sub(1)..=(row + 1).min(height - 1) {
                for c in col.saturating_sub(1)..=(col + 1).min(width - 1) {
                    let j = r * width + c;
                    if mask[j] && !seen[j] {
                        seen[j] = true;
                        stack.push(j);
                    }
                }
            }
        }
        if places.len() >= 4 {
            found.push(shape(&places, factor));
        }
    }
    found
}

fn shape(places: &[Point<Px>], factor: f64) -> Patch {
    let whole = Moments::of(places.iter().copied());
    let capped = cap(places, &whole).and_then(|(cap, low, high)| {
        let body = Moments::of(places.iter().copied().filter(|p| {
            let t = (*p - whole.centre).dot(whole.axis);
            t >= low + cap && t <= high - cap
        }));
        (body.count > 4.0).then_some((body, cap))
    });
    let (body, cap) = capped.unwrap_or((whole, 0.0));
    Patch {
        centre: Point::new(body.centre.x * factor, body.centre.y * factor),
        axis: body.axis,
        length: (body.length + 2.0 * cap) * factor,
        width: body.width * factor,
        solid: body.count / (body.length * body.width).max(1e-9),
        cap: cap * factor,
    }
}

/// Thickness of the caps at both ends of a stroke and where it begins and ends
/// along its axis, in samples; `None` without caps.
fn cap(places: &[Point<Px>], whole: &Moments) -> Option<(f64, f64, f64)> {
    let along = |p: &Point<Px>| (*p - whole.centre).dot(whole.axis);
    let (low, high) = places
        .iter()
        .map(along)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| {
            (l.min(t), h.max(t))
        });
    let n = (high - low).ceil() as usize + 1;
    if n < 12 || whole.length < 3.0 * whole.width {
        return None;
    }
    let mut counts = vec![0.0f64; n];
    for p in places {
        counts[((along(p) - low) as usize).min(n - 1)] += 1.0;
    }
    let mut sorted = counts.clone();
    sorted.sort_by(f64::total_cmp);
    let stroke = sorted[n / 2];
    let wide = |c: &&f64| **c > CAP_WIDER * stroke;
    let most = (CAP_LONGEST * n as f64).ceil() as usize;
    // The outermost columns may be cut by the raster, or empty.
    let of = |columns: Vec<f64>| {
        let skip = columns.iter().take(2).take_while(|c| !wide(c)).count();
        let run = columns[skip..].iter().take_while(wide).count();
        (run > 0 && run + skip <= most).then_some(run as f64 + skip as f64)
    };
    let (front, back) = (
        of(counts.clone())?,
        of(counts.iter().rev().copied().collect())?,
    );
    (front.max(back) <= 2.0 * front.min(back) + 1.0).then_some((0.5 * (front + back), low, high))
}

/// Second moments of a set of samples.
#[derive(Clone, Copy)]
struct Moments {
    count: f64,
    centre: Point<Px>,
    axis: Vector<Px>,
    length: f64,
    width: f64,
}

impl Moments {
    fn of(places: impl Iterator<Item = Point<Px>>) -> Self {
        let (mut n, mut sx, mut sy, mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for Point { x, y, .. } in places {
            n += 1.0;
            sx += x;
            sy += y;
            sxx += x * x;
            sxy += x * y;
            syy += y * y;
        }
        let count = f64::max(n, 1.0);
        let (mx, my) = (sx / count, sy / count);
        // A sample is a square: its own second moment is 1/12.
        let (xx, yy, xy) = (
            sxx / count - mx * mx + 1.0 / 12.0,
            syy / count - my * my + 1.0 / 12.0,
            sxy / count - mx * my,
        );
        let (half, root) = (0.5 * (xx + yy), (0.25 * (xx - yy).powi(2) + xy * xy).sqrt());
        Self {
            count: n,
            centre: Point::new(mx, my),
            axis: Vector::from_angle(0.5 * (2.0 * xy).atan2(xx - yy)),
            length: (12.0 * (half + root)).sqrt(),
            width: (12.0 * (half - root).max(0.0)).sqrt(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(rows: &[&str]) -> Vec<Patch> {
        let mask: Vec<bool> = rows
            .iter()
            .flat_map(|r| r.chars().map(|c| c == '#'))
            .collect();
        patches(&mask, rows[0].len(), 2.0)
    }

    #[test]
    fn a_stroke_has_its_own_length_and_width() {
        let found = drawn(&[
            "....................",
            "..################..",
            "..################..",
            "....................",
        ]);
        assert_eq!(found.len(), 1);
        assert!((found[0].length - 32.0).abs() < 1e-6 && (found[0].width - 4.0).abs() < 1e-6);
        assert!((found[0].solid - 1.0).abs() < 1e-9 && found[0].cap == 0.0);
    }

    #[test]
    fn caps_are_told_from_the_stroke() {
        let found = drawn(&[
            "..#......................#..",
            "..#......................#..",
            "..########################..",
            "..########################..",
            "..#......................#..",
            "..#......................#..",
        ]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].cap, 2.0);
        assert!((found[0].length - 48.0).abs() < 2.1, "{}", found[0].length);
        assert!((found[0].width - 4.0).abs() < 0.1 && found[0].solid > 0.9);
    }
}
