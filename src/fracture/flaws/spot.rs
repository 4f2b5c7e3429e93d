//! One dark spot: its mask, its shape, and its surroundings.

use crate::fracture::beside::beside;

/// A connected set of samples in its own small frame, which reaches a margin
/// beyond it on every side that the raster allows.
#[derive(Clone, Debug)]
pub struct Spot {
    /// Raster column and row of the frame's first sample.
    pub at: (usize, usize),
    /// Frame width, samples.
    pub width: usize,
    /// Frame height, samples.
    pub height: usize,
    /// Members, holes filled.
    pub filled: Vec<bool>,
    /// Samples on the rim of the set as found.
    pub rim: Vec<usize>,
}

impl Spot {
    /// From the raster indices of a connected set; `margin` samples of frame
    /// around it.
    pub fn new(part: &[usize], raster: (usize, usize), margin: usize) -> Self {
        let (columns, rows) = raster;
        let range = |v: &dyn Fn(&usize) -> usize, n: usize| {
            let low = part.iter().map(v).min().unwrap_or(0).saturating_sub(margin);
            let high = (part.iter().map(v).max().unwrap_or(0) + margin + 1).min(n);
            (low, high)
        };
        let (x0, x1) = range(&|i| i % columns, columns);
        let (y0, y1) = range(&|i| i / columns, rows);
        let (width, height) = (x1 - x0, y1 - y0);
        let mut found = vec![false; width * height];
        for i in part {
            found[(i / columns - y0) * width + i % columns - x0] = true;
        }
        let mut spot = Self {
            at: (x0, y0),
            width,
            height,
            filled: Vec::new(),
            rim: Vec::new(),
        };
        spot.rim = (0..found.len())
            .filter(|i| found[*i] && !spot.surrounded(&found, *i))
            .collect();
        spot.filled = spot.without_holes(&found);
        spot
    }

    /// Whether all eight neighbours are members; the frame's border has none.
    fn surrounded(&self, member: &[bool], i: usize) -> bool {
        let (x, y) = (i % self.width, i / self.width);
        x > 0
            && y > 0
            && x + 1 < self.width
            && y + 1 < self.height
            && (y - 1..=y + 1).all(|v| {
                member[v * self.width + x - 1..=v * self.width + x + 1]
                    .iter()
                    .all(|m| *m)
            })
    }

    fn without_holes(&self, found: &[bool]) -> Vec<bool> {
        let mut outside = vec![false; found.len()];
        let border = |i: usize| {
            let (x, y) = (i % self.width, i / self.width);
            x == 0 || y == 0 || x + 1 == self.width || y + 1 == self.height
        };
        let mut open: Vec<usize> = (0..found.len())
            .filter(|i| border(*i) && !found[*i])
            .collect();
        open.iter().for_each(|i| outside[*i] = true);
        while let Some(i) = open.pop() {
            for j in beside(i, self.width, found.len()) {
                if !found[j] && !outside[j] {
                    outside[j] = true;
                    open.push(j);
                }
            }
        }
        outside.iter().map(|o| !o).collect()
    }

    /// Raster index of a sample of the frame.
    pub fn in_raster(&self, i: usize, columns: usize) -> usize {
        (self.at.1 + i / self.width) * columns + self.at.0 + i % self.width
    }

    /// Members, holes filled, as frame indices.
    pub fn members(&self) -> Vec<usize> {
        (0..self.filled.len()).filter(|i| self.filled[*i]).collect()
    }

    /// Members that lie inside the rim; all of them in a tiny spot.
    pub fn inner(&self) -> Vec<usize> {
        let inner: Vec<usize> = (0..self.filled.len())
            .filter(|i| self.filled[*i] && self.surrounded(&self.filled, *i))
            .collect();
        if inner.len() > 3 {
            inner
        } else {
            self.members()
        }
    }

    /// Distance of each sample of the frame from the nearest member, samples
    /// (chamfer distance with steps 3 and 4: Borgefors, 1986).
    pub fn distances(&self) -> Vec<f32> {
        let (w, h) = (self.width, self.height);
        const FAR: u32 = u32::MAX / 2;
        let mut d: Vec<u32> = self
            .filled
            .iter()
            .map(|m| if *m { 0 } else { FAR })
            .collect();
        let near = |d: &[u32], x: usize, y: usize, steps: &[(i64, i64, u32)]| {
            steps.iter().fold(d[y * w + x], |best, (dx, dy, cost)| {
                let (u, v) = (x as i64 + dx, y as i64 + dy);
                if u < 0 || v < 0 || u >= w as i64 || v >= h as i64 {
                    return best;
                }
                best.min(d[v as usize * w + u as usize] + cost)
            })
        };
        for y in 0..h {
            for x in 0..w {
                d[y * w + x] = near(&d, x, y, &[(-1, 0, 3), (0, -1, 3), (-1, -1, 4), (1, -1, 4)]);
            }
        }
        for y in (0..h).rev() {
            for x in (0..w).rev() {
                d[y * w + x] = near(&d, x, y, &[(1, 0, 3), (0, 1, 3), (1, 1, 4), (-1, 1, 4)]);
            }
        }
        d.iter().map(|d| *d as f32 / 3.0).collect()
    }

    /// Shape of the filled set.
    pub fn shape(&self) -> Shape {
        let members = self.members();
        let n = members.len() as f64;
        let place = |i: &usize| ((i % self.width) as f64 + 0.5, (i / self.width) as f64 + 0.5);
        let (mx, my) = members
            .iter()
            .map(place)
            .fold((0.0, 0.0), |a, p| (a.0 + p.0 / n, a.1 + p.1 / n));
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (x, y) in members.iter().map(place) {
            let (dx, dy) = (x - mx, y - my);
            (xx, xy, yy) = (xx + dx * dx / n, xy + dx * dy / n, yy + dy * dy / n);
        }
        // A sample's own second moment.
        (xx, yy) = (xx + 1.0 / 12.0, yy + 1.0 / 12.0);
        let (half, spread) = (0.5 * (xx + yy), (0.5 * (xx - yy)).hypot(xy));
        let (long, short) = (half + spread, (half - spread).max(1e-3));
        Shape {
            area: n,
            centre: (self.at.0 as f64 + mx, self.at.1 as f64 + my),
            elongation: (long / short).sqrt(),
            fill: n / (4.0 * std::f64::consts::PI * (long * short).sqrt()),
        }
    }
}

/// Shape of a spot.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    /// Area, samples.
    pub area: f64,
    /// Centre of area, raster coordinates.
    pub centre: (f64, f64),
    /// Long to short axis of the ellipse of equal second moments.
    pub elongation: f64,
    /// Area against that ellipse's: 1 for any ellipse, less for ragged or
    /// bent shapes.
    pub fill: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(inside: impl Fn(f64, f64) -> bool) -> Spot {
        let part: Vec<usize> = (0..60 * 60)
            .filter(|i| inside((i % 60) as f64 - 29.5, (i / 60) as f64 - 29.5))
            .collect();
        Spot::new(&part, (60, 60), 5)
    }

    #[test]
    fn a_disc_an_ellipse_and_an_angle_differ_in_shape() {
        let disc = spot(|x, y| x.hypot(y) < 10.0).shape();
        assert!(
            (disc.fill - 1.0).abs() < 0.02 && disc.elongation < 1.02,
            "{disc:?}"
        );
        assert!((disc.area - 314.0).abs() < 8.0);
        let ellipse = spot(|x, y| (x / 3.0).hypot(y) < 6.0).shape();
        assert!(
            (ellipse.elongation - 3.0).abs() < 0.1 && ellipse.fill > 0.97,
            "{ellipse:?}"
        );
        let angle = spot(|x, y| {
            (-12.0..12.0).contains(&x) && (-12.0..12.0).contains(&y) && (x < -8.0 || y < -8.0)
        })
        .shape();
        assert!(angle.fill < 0.75, "{angle:?}");
    }

    #[test]
    fn a_hole_belongs_to_the_spot_and_not_to_its_rim() {
        let ring = spot(|x, y| (6.0..10.0).contains(&x.hypot(y)));
        assert_eq!(
            ring.shape().area,
            spot(|x, y| x.hypot(y) < 10.0).shape().area
        );
        let centre = (30 - ring.at.1) * ring.width + 30 - ring.at.0;
        assert!(ring.filled[centre] && !ring.rim.contains(&centre));
    }

    #[test]
    fn distances_are_those_to_the_nearest_member() {
        let d = spot(|x, y| x.hypot(y) < 10.0);
        // Four samples right of the disc's edge.
        let row = (30 - d.at.1) * d.width;
        let distance = d.distances()[row + 43 - d.at.0];
        assert!((distance - 4.0).abs() < 0.6, "{distance}");
    }
}
