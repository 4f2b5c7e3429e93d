//! Engraved numerals as strokes.

use super::shapes::*;

/// Strokes of one digit in a box 0.6 wide and 1 high, y down.
fn strokes(digit: u32) -> Vec<Vec<P>> {
    let arc = |cx: f64, cy: f64, rx: f64, ry: f64, from: f64, to: f64| -> Vec<P> {
        (0..=14)
            .map(|i| {
                let a = (from + (to - from) * f64::from(i) / 14.0).to_radians();
                [cx + rx * a.cos(), cy + ry * a.sin()]
            })
            .collect()
    };
    match digit {
        0 => vec![arc(0.3, 0.5, 0.28, 0.5, 0.0, 360.0)],
        1 => vec![vec![[0.12, 0.22], [0.34, 0.0], [0.34, 1.0]]],
        2 => {
            let mut top = arc(0.3, 0.28, 0.27, 0.28, -170.0, 40.0);
            top.extend([[0.03, 1.0], [0.58, 1.0]]);
            vec![top]
        }
        3 => vec![
            arc(0.28, 0.26, 0.26, 0.26, -150.0, 90.0),
            arc(0.28, 0.74, 0.29, 0.26, -90.0, 150.0),
        ],
        4 => vec![vec![[0.44, 1.0], [0.44, 0.0], [0.02, 0.7], [0.6, 0.7]]],
        5 => {
            let mut s = vec![[0.53, 0.0], [0.1, 0.0], [0.07, 0.43]];
            s.extend(arc(0.28, 0.68, 0.29, 0.32, -130.0, 140.0));
            vec![s]
        }
        6 => vec![
            arc(0.3, 0.68, 0.27, 0.32, 0.0, 360.0),
            arc(0.46, 0.62, 0.43, 0.64, 175.0, 255.0),
        ],
        7 => vec![vec![[0.02, 0.0], [0.58, 0.0], [0.22, 1.0]]],
        8 => vec![
            arc(0.3, 0.25, 0.24, 0.25, 0.0, 360.0),
            arc(0.3, 0.75, 0.28, 0.25, 0.0, 360.0),
        ],
        _ => vec![
            arc(0.3, 0.32, 0.27, 0.32, 0.0, 360.0),
            arc(0.14, 0.38, 0.43, 0.64, -5.0, 75.0),
        ],
    }
}

/// Distance from `p` to the middle of the nearest stroke of `text`, whose
/// digits are `height` mm high, centred on x = 0 with their top at y = 0.
pub fn distance(text: &str, p: P, height: f64) -> f64 {
    let pitch = 0.85;
    let n = text.chars().count() as f64;
    let mut best = f64::INFINITY;
    for (i, c) in text.chars().enumerate() {
        let Some(digit) = c.to_digit(10) else {
            continue;
        };
        let left = (i as f64 - n / 2.0) * pitch + 0.12;
        let q = [p[0] / height - left, p[1] / height];
        if q[0] < -0.4 || q[0] > 1.0 || q[1] < -0.4 || q[1] > 1.4 {
            continue;
        }
        for stroke in strokes(digit) {
            best = best.min(to_polyline(q, &stroke).0 * height);
        }
    }
    best
}
