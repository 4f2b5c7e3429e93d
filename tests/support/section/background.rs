//! What the specimen lies on.

use super::noise::value;
use super::shapes::P;

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Background {
    Paper,
    Cloth([f64; 3]),
    Stone,
}

impl Background {
    /// Linear colour at a place of the table, mm; `fine` = smallest detail
    /// worth painting, mm (one pixel).
    pub fn colour(self, p: P, fine: f64, seed: u64) -> [f64; 3] {
        let (x, y) = (p[0], p[1]);
        let broad = value(seed, x / 14.0, y / 14.0);
        match self {
            Background::Paper => {
                let fibre = value(seed ^ 1, x / 0.35, y / 0.35) * fade(0.35, fine);
                let v = 0.74 * (1.0 + 0.035 * broad + 0.02 * fibre);
                [v, v * 0.985, v * 0.94]
            }
            Background::Cloth(dye) => {
                // Plain weave: threads over and under each other.
                let pitch = 0.55;
                let bend = 0.25 * value(seed ^ 2, x / 5.0, y / 5.0);
                let (u, v) = (x / pitch + bend, y / pitch + 0.6 * bend);
                let (tu, tv) = (
                    (std::f64::consts::PI * u).sin(),
                    (std::f64::consts::PI * v).sin(),
                );
                let over = (u.floor() as i64 + v.floor() as i64).rem_euclid(2) == 0;
                let thread = if over { tu.abs() } else { tv.abs() };
                let uneven = value(seed ^ 3, u / 9.0, v * 1.3) + value(seed ^ 4, u * 1.3, v / 9.0);
                let weave = (thread - 0.64) * fade(pitch, fine);
                let k = (1.0 + 0.7 * weave + 0.22 * uneven + 0.15 * broad).max(0.15);
                dye.map(|c| c * k)
            }
            Background::Stone => {
                // Rotated lattices, so that no grain looks square.
                let turned = |k: f64, size: f64| {
                    let (s, c) = k.sin_cos();
                    value(
                        seed ^ (k * 64.0) as u64,
                        (c * x + s * y) / size,
                        (c * y - s * x) / size,
                    )
                };
                let speck = turned(0.3, 0.5) + 0.8 * turned(0.9, 0.31) + 0.6 * turned(1.7, 0.17);
                let k = 0.034 * (1.0 + 0.25 * broad + 0.42 * speck.max(-1.6) * fade(0.3, fine));
                let fleck = (turned(2.2, 0.6) + turned(2.9, 0.47) - 1.15).max(0.0) * 0.30;
                let v = k.max(0.004) + fleck;
                [v, v * 1.0, v * 1.04]
            }
        }
    }
}

/// Detail of size `size` washes out once a pixel is as large.
fn fade(size: f64, fine: f64) -> f64 {
    (1.5 - fine / size).clamp(0.0, 1.0)
}
