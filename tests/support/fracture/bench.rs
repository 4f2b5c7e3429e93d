//! What the coupon lies on.

use crate::support::section::background::Background;
use crate::support::section::metal::smooth;
use crate::support::section::noise::value;
use crate::support::section::shapes::P;

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bench {
    /// What sections lie on as well: paper, cloth, stone.
    Table(Background),
    /// A planed board, the grain along x.
    Board,
    /// A rubber mat of this linear colour, worn here and there.
    Mat([f64; 3]),
}

impl Bench {
    /// Linear colour at a place of the bench, mm; `fine` = smallest detail
    /// worth painting, mm (one pixel).
    pub fn colour(self, p: P, fine: f64, seed: u64) -> [f64; 3] {
        let [x, y] = p;
        match self {
            Self::Table(background) => background.colour(p, fine, seed),
            Self::Board => {
                let wave = 4.0 * value(seed, x / 90.0, y / 30.0);
                let rings = value(seed ^ 1, 0.3, (y + wave) / 3.2)
                    + 0.5 * value(seed ^ 2, x / 60.0, (y + wave) / 1.1);
                let fibre = value(seed ^ 3, x / 9.0, y / 0.3);
                let v = 1.0 + 0.10 * rings + 0.02 * fibre;
                [0.40 * v, 0.265 * v * v, 0.145 * v * v]
            }
            Self::Mat(colour) => {
                let worn = smooth(1.5 * value(seed ^ 4, x / 22.0, y / 17.0));
                let grain = value(seed ^ 5, x / 0.5, y / 0.5);
                colour.map(|c| c * (1.0 + 0.03 * grain) + 0.012 * worn)
            }
        }
    }
}
