//! Hatching: parallel lines inside an outline.

use super::pen::At;

/// Lines at `angle_deg` (0 = level, counted from the x axis towards the y axis)
/// inside a closed outline, `gap` px apart. Lines of neighbouring outlines with
/// the same gap run on into each other.
///
/// An outline that crosses itself is filled by the even-odd rule. Empty for
/// fewer than three points or a gap that is not positive.
pub fn lines(outline: &[At], angle_deg: f32, gap: f32) -> Vec<[At; 2]> {
    if outline.len() < 3 || !(gap.is_finite() && gap > 0.1) {
        return Vec::new();
    }
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    // Turned so that the lines are level: u along them, v across.
    let turned: Vec<At> = outline
        .iter()
        .map(|[x, y]| [x * cos + y * sin, y * cos - x * sin])
        .collect();
    let (low, high) = turned
        .iter()
        .fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), p| {
            (low.min(p[1]), high.max(p[1]))
        });
    if !(high - low).is_finite() {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut line = (low / gap).ceil();
    while line * gap <= high {
        let v = line * gap;
        line += 1.0;
        let mut crossings = Vec::new();
        let mut a = turned[turned.len() - 1];
        for &b in &turned {
            if (a[1] > v) != (b[1] > v) {
                crossings.push(a[0] + (b[0] - a[0]) * (v - a[1]) / (b[1] - a[1]));
            }
            a = b;
        }
        crossings.sort_by(f32::total_cmp);
        let back = |u: f32| [u * cos - v * sin, u * sin + v * cos];
        found.extend(
            crossings
                .chunks_exact(2)
                .map(|pair| [back(pair[0]), back(pair[1])]),
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: [At; 4] = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];

    #[test]
    fn level_lines_span_a_square() {
        let lines = lines(&SQUARE, 0.0, 4.0);
        assert_eq!(lines.len(), 3);
        for ([a, b], y) in lines.iter().zip([0.0f32, 4.0, 8.0]) {
            assert_eq!((a[0], b[0]), (0.0, 10.0));
            assert!((a[1] - y).abs() < 1e-4 && (b[1] - y).abs() < 1e-4);
        }
    }

    /// Length times gap is the area, whatever the angle, and nothing leaves
    /// the outline.
    #[test]
    fn hatching_covers_the_area_evenly() {
        let bay: [At; 6] = [
            [0.0, 0.0],
            [60.0, 0.0],
            [60.0, 40.0],
            [40.0, 40.0],
            [40.0, 15.0],
            [0.0, 15.0],
        ];
        for angle in [0.0, 45.0, 90.0, 135.0] {
            let mut length = 0.0;
            for [a, b] in lines(&bay, angle, 0.5) {
                length += (b[0] - a[0]).hypot(b[1] - a[1]);
                for p in [a, b] {
                    assert!(p[0] > -0.01 && p[0] < 60.01 && p[1] > -0.01 && p[1] < 40.01);
                }
            }
            let area = length * 0.5;
            assert!((area - 1400.0).abs() < 30.0, "{angle}: {area}");
        }
    }

    #[test]
    fn odd_outlines_give_no_lines() {
        assert!(lines(&SQUARE[..2], 0.0, 4.0).is_empty());
        assert!(lines(&SQUARE, 0.0, 0.0).is_empty());
        assert!(lines(&[[f32::NAN; 2]; 3], 0.0, 4.0).is_empty());
        assert!(lines(&[[0.0, f32::INFINITY], [1.0, 0.0], [2.0, 3.0]], 0.0, 4.0).is_empty());
    }
}
