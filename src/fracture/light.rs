//! How bright the torn metal is along the weld.
//!
//! Light falls off along a coupon, and a bent coupon turns away from it; what
//! a place shows is therefore compared with the torn metal around it, not with
//! the whole face.

use crate::base::numeric::median;
use std::ops::Range;

/// How the light is followed, in columns.
#[derive(Clone, Copy, Debug)]
pub struct Light {
    /// Half-length of the stretch over which it is taken to be even.
    pub half: usize,
    /// Spacing of the places at which it is estimated.
    pub step: usize,
    /// Fewest tones that an estimate may rest on.
    pub fewest: usize,
}

impl Light {
    /// Median tone around each of `columns` columns, straight between places
    /// where it is known; 0 when it is known nowhere. `tones` gives the torn
    /// metal's tones in a stretch of columns.
    pub fn along(self, columns: usize, tones: impl Fn(Range<usize>) -> Vec<f64>) -> Vec<f32> {
        let known: Vec<(usize, f32)> = (0..columns)
            .step_by(self.step.max(1))
            .filter_map(|c| {
                let stretch = c.saturating_sub(self.half)..(c + self.half + 1).min(columns);
                let tones = tones(stretch);
                (tones.len() >= self.fewest).then(|| (c, median(&tones) as f32))
            })
            .collect();
        (0..columns)
            .map(|c| {
                let i = known.partition_point(|k| k.0 < c);
                match (i.checked_sub(1).and_then(|i| known.get(i)), known.get(i)) {
                    (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (c - a.0) as f32 / (b.0 - a.0) as f32,
                    (Some(one), None) | (None, Some(one)) => one.1,
                    (None, None) => 0.0,
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_is_followed_and_bridged_where_nothing_is_torn() {
        let light = Light {
            half: 5,
            step: 5,
            fewest: 4,
        };
        // Falls by 0.01 a column; nothing torn from column 40 to 60.
        let tones = |stretch: Range<usize>| -> Vec<f64> {
            let torn = stretch.filter(|c| !(40..60).contains(c));
            torn.map(|c| -0.01 * c as f64).collect()
        };
        let along = light.along(100, tones);
        for (c, value) in along.iter().enumerate().take(90).skip(10) {
            assert!((value + 0.01 * c as f32).abs() < 0.03, "{c}: {value}");
        }
        assert_eq!(light.along(10, |_| Vec::new()), [0.0; 10]);
    }
}
