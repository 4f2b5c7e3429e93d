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
                let speck =
                    value(seed ^ 5, x / 0.45, y / 0.45) + 0.7 * value(seed ^ 6, x / 0.2, y / 0.2);
                let k = 0.035 * (1.0 + 0.25 * broad + 0.55 * speck.max(-0.9) * fade(0.3, fine));
                let fleck = (value(seed ^ 7, x / 0.5, y / 0.5) - 0.72).max(0.0) * 0.35;
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
