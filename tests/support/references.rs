//! A small simulated camera over a plane that carries a rule or a chequer
//! strip. Knows nothing of the analysis code: geometry and tone only.

use toeline::base::raster::Gray;
use toeline::photo::Photo;

/// How the plane is seen.
#[derive(Clone, Copy, Debug)]
pub struct View {
    pub width: usize,
    pub height: usize,
    /// Scale where the optical axis meets the plane.
    pub px_per_mm: f64,
    /// Turn of the plane in the picture, and its tilt and the tilt's direction.
    pub turn_deg: f64,
    pub tilt_deg: f64,
    pub tilt_towards_deg: f64,
    /// Focal length in half diagonals.
    pub focal: f64,
    /// Grey-level noise (uniform, ±).
    pub noise: f64,
}

impl View {
    /// Plane place (mm, origin where the optical axis meets it) of a pixel.
    pub fn to_mm(self, x: f64, y: f64) -> (f64, f64) {
        let (w, h) = (self.width as f64, self.height as f64);
        let f = self.focal * w.hypot(h) / 2.0;
        let (sx, sy) = ((x - w / 2.0) / f, (y - h / 2.0) / f);
        // Plane through (0, 0, z) with unit axes e, g turned out of the
        // picture plane by the tilt about an axis at `tilt_towards`.
        let (t, a) = (
            self.tilt_deg.to_radians(),
            self.tilt_towards_deg.to_radians(),
        );
        let z = f / self.px_per_mm;
        let normal = [t.sin() * a.cos(), t.sin() * a.sin(), t.cos()];
        let k = z * normal[2] / (normal[0] * sx + normal[1] * sy + normal[2]);
        let p = [k * sx, k * sy, k - z];
        // e: the direction in the plane nearest to the turned x axis.
        let r = self.turn_deg.to_radians();
        let raw = [r.cos(), r.sin(), 0.0];
        let d = raw[0] * normal[0] + raw[1] * normal[1];
        let e = [
            raw[0] - d * normal[0],
            raw[1] - d * normal[1],
            -d * normal[2],
        ];
        let n = (e[0] * e[0] + e[1] * e[1] + e[2] * e[2]).sqrt();
        let e = [e[0] / n, e[1] / n, e[2] / n];
        let g = [
            normal[1] * e[2] - normal[2] * e[1],
            normal[2] * e[0] - normal[0] * e[2],
            normal[0] * e[1] - normal[1] * e[0],
        ];
        let dot = |q: [f64; 3]| p[0] * q[0] + p[1] * q[1] + p[2] * q[2];
        (dot(e), dot(g))
    }

    /// Local scale at a pixel, px/mm: square root of the area ratio.
    pub fn px_per_mm_at(self, x: f64, y: f64) -> f64 {
        let (o, r, d) = (
            self.to_mm(x, y),
            self.to_mm(x + 1.0, y),
            self.to_mm(x, y + 1.0),
        );
        let area = (r.0 - o.0) * (d.1 - o.1) - (r.1 - o.1) * (d.0 - o.0);
        1.0 / area.abs().sqrt()
    }

    /// The photograph of a plane whose brightness at (u, v) mm is `tone`.
    pub fn photograph(&self, tone: impl Fn(f64, f64) -> f64) -> Photo {
        let mut state = 0x2545_f491_4f6c_dd1du64;
        let luma = Gray::from_fn(self.width, self.height, |x, y| {
            let mut sum = 0.0;
            for i in 0..3 {
                for j in 0..3 {
                    let (u, v) = self.to_mm(
                        x as f64 + (f64::from(i) + 0.5) / 3.0,
                        y as f64 + (f64::from(j) + 0.5) / 3.0,
                    );
                    sum += tone(u, v);
                }
            }
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let noise = ((state >> 40) as f64 / (1u64 << 24) as f64 * 2.0 - 1.0) * self.noise;
            (sum / 9.0 + noise).clamp(0.0, 255.0).round() as f32
        });
        let rgb = luma.samples().iter().flat_map(|v| [*v as u8; 3]).collect();
        Photo {
            width: self.width,
            height: self.height,
            rgb,
            luma,
            focal_half_diagonals: None,
        }
    }
}

/// A rule along u with its graduated edge at v = `edge_mm`, ticks towards +v.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    pub edge_mm: f64,
    /// Distance of ticks, and their lengths: index → mm.
    pub pitch_mm: f64,
    pub length_mm: fn(i64) -> f64,
    /// Every how many-th tick is worn away (0 = none).
    pub worn_every: i64,
}

impl Rule {
    /// Brightness at (u, v) mm.
    pub fn tone(&self, u: f64, v: f64) -> f64 {
        let into = v - self.edge_mm;
        if !(0.0..=22.0).contains(&into) {
            return 60.0;
        }
        let i = (u / self.pitch_mm).round() as i64;
        let worn = self.worn_every > 0 && i.rem_euclid(self.worn_every) == 3;
        let stroke = (u - i as f64 * self.pitch_mm).abs() < 0.09;
        if stroke && !worn && into < (self.length_mm)(i) {
            40.0
        } else {
            190.0
        }
    }
}

/// Whole millimetres.
pub fn millimetres(i: i64) -> f64 {
    match i.rem_euclid(10) {
        0 => 7.0,
        5 => 5.5,
        _ => 4.0,
    }
}

/// Half millimetres.
pub fn half_millimetres(i: i64) -> f64 {
    match i.rem_euclid(20) {
        0 => 7.5,
        10 => 6.0,
        k if k % 2 == 0 => 4.5,
        _ => 3.0,
    }
}

/// All ticks alike: no unit can be read.
pub fn alike(_: i64) -> f64 {
    4.0
}

/// A two-row chequer strip of `squares` columns, on white paper.
pub fn chequer_tone(pitch_mm: f64, squares: i64, u: f64, v: f64) -> f64 {
    let (i, j) = ((u / pitch_mm).floor() as i64, (v / pitch_mm).floor() as i64);
    let half = squares / 2;
    if (-half..half).contains(&i) && (0..2).contains(&j) {
        return if (i + j).rem_euclid(2) == 0 {
            35.0
        } else {
            215.0
        };
    }
    let margin = (-half - 1..=half).contains(&i) && (-1..=2).contains(&j);
    if margin { 215.0 } else { 90.0 }
}
