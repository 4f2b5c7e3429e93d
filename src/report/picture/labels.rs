//! Labels beside the metal: each finds the nearest free place along its ray.

use super::pen::{At, Pen, Style};

/// Text height in line units.
const SIZE: f32 = 24.0;
const TEXT: [u8; 3] = [255, 255, 255];
const LEADER: Style = Style {
    colour: TEXT,
    width: 1.2,
    dash: &[],
};

/// Areas that labels keep clear of, px of the surface.
pub struct Labels {
    taken: Vec<[f32; 4]>,
    keep_clear: Vec<Vec<At>>,
    /// Left, upper, right, lower edge of where labels may stand.
    bounds: [f32; 4],
}

impl Labels {
    /// On a surface of that size; labels do not lie on the `keep_clear` outlines' insides.
    pub fn new(surface: At, keep_clear: Vec<Vec<At>>) -> Self {
        Self {
            taken: Vec::new(),
            keep_clear,
            bounds: [0.0, 0.0, surface[0], surface[1]],
        }
    }

    /// On a part of a surface: left, upper, right, lower edge.
    pub fn within(bounds: [f32; 4]) -> Self {
        Self {
            taken: Vec::new(),
            keep_clear: Vec::new(),
            bounds,
        }
    }

    /// Keeps labels off a line through `points`.
    pub fn reserve(&mut self, points: &[At], margin: f32) {
        for pair in points.windows(2) {
            let [from, to] = [pair[0], pair[1]];
            let length = (to[0] - from[0]).hypot(to[1] - from[1]);
            // A line may run far out of the surface; that part needs no boxes.
            let steps = (length / (2.0 * margin)).ceil().clamp(1.0, 2000.0) as usize;
            self.taken.extend((0..=steps).map(|i| {
                let s = i as f32 / steps as f32;
                let x = from[0] + s * (to[0] - from[0]);
                let y = from[1] + s * (to[1] - from[1]);
                [x - margin, y - margin, x + margin, y + margin]
            }));
        }
    }

    /// Writes `text` as near to `anchor` as there is room, first looking along
    /// `direction` (any length), then to its sides; a thin line leads back to
    /// the anchor when the label had to move away. Whether there was room.
    pub fn write(&mut self, pen: &mut Pen, text: &str, anchor: At, direction: At) -> bool {
        let size = pen.text_size(text, SIZE);
        let gap = 12.0 * pen.unit;
        let angle = direction[1].atan2(direction[0]);
        let turns = [0.0, 0.35, -0.35, 0.7, -0.7, 1.1, -1.1, 1.6, -1.6, 2.4, -2.4];
        let best = (0..9)
            .flat_map(|ring| turns.iter().map(move |turn| (ring, *turn)))
            .map(|(ring, turn)| {
                let reach = gap * (1.0 + 1.6 * ring as f32);
                let (y, x) = (angle + turn).sin_cos();
                // The label's box touches the ray's end with its near side.
                let half = [size[0] / 2.0, size[1] / 2.0];
                let out = half[0] * x.abs() + half[1] * y.abs();
                let centre = [anchor[0] + x * (reach + out), anchor[1] + y * (reach + out)];
                (
                    reach,
                    [
                        centre[0] - half[0],
                        centre[1] - half[1],
                        centre[0] + half[0],
                        centre[1] + half[1],
                    ],
                )
            })
            .find(|(_, area)| self.is_free(*area, 3.0 * pen.unit));
        // No room anywhere: better no label than one over the metal; the
        // page's table has the number.
        let Some((reach, area)) = best else {
            return false;
        };
        if reach > 2.0 * gap {
            let near = [
                anchor[0].clamp(area[0], area[2]),
                anchor[1].clamp(area[1], area[3]),
            ];
            pen.line(&[anchor, near], false, LEADER);
        }
        pen.text(text, [area[0], area[1]], SIZE, TEXT, true);
        self.taken.push(area);
        true
    }

    fn is_free(&self, area: [f32; 4], margin: f32) -> bool {
        let [left, upper, right, lower] = area;
        let bounds = self.bounds;
        if left < bounds[0] + margin
            || upper < bounds[1] + margin
            || right > bounds[2] - margin
            || lower > bounds[3] - margin
        {
            return false;
        }
        let overlaps = |other: &[f32; 4]| {
            left < other[2] && right > other[0] && upper < other[3] && lower > other[1]
        };
        if self.taken.iter().any(overlaps) {
            return false;
        }
        let probes = (0..=8).flat_map(|i| (0..=3).map(move |j| (i as f32 / 8.0, j as f32 / 3.0)));
        !probes
            .map(|(s, t)| [left + s * (right - left), upper + t * (lower - upper)])
            .any(|probe| self.keep_clear.iter().any(|ring| inside(ring, probe)))
    }
}

/// Whether a point lies inside a closed outline (even-odd rule).
fn inside(ring: &[At], [x, y]: At) -> bool {
    let mut odd = false;
    let mut previous = match ring.last() {
        Some(last) => *last,
        None => return false,
    };
    for &point in ring {
        if (point[1] > y) != (previous[1] > y) {
            let crossing =
                point[0] + (y - point[1]) * (previous[0] - point[0]) / (previous[1] - point[1]);
            if x < crossing {
                odd = !odd;
            }
        }
        previous = point;
    }
    odd
}
