//! The camera: a pinhole over the section plane. Plane frame: mm, x right and
//! y down as pictured, origin at the middle of the view. Pixels as in the
//! record: the centre of the first pixel is (0.5, 0.5).

use super::shapes::P;

/// How the picture is taken.
#[derive(Clone, Debug)]
pub struct CameraSpec {
    pub width: usize,
    pub height: usize,
    /// Pixels per mm at the middle of the view.
    pub px_per_mm: f64,
    /// Tilt of the plane, degrees, about an axis at `tilt_axis_deg` in it.
    pub tilt_deg: f64,
    pub tilt_axis_deg: f64,
    /// Focal length over the longer side of the picture.
    pub focal: f64,
    /// Standard deviation of the blur, px.
    pub blur_px: f64,
    /// Standard deviation of the noise at mid-grey, of 1.
    pub noise: f64,
    /// JPEG quality, 1 … 100.
    pub quality: u8,
    /// Exposure factor and white balance.
    pub exposure: f64,
    pub balance: [f64; 3],
}

/// Row-major 3 × 3.
pub type M3 = [[f64; 3]; 3];

pub struct Camera {
    pub spec: CameraSpec,
    pub to_px: M3,
    pub to_mm: M3,
    /// Foot of the camera on the plane and its height over it, mm.
    pub foot: P,
    pub height_mm: f64,
    pub distance_mm: f64,
    pub focal_px: f64,
}

impl Camera {
    pub fn new(spec: CameraSpec) -> Self {
        let f = spec.focal * spec.width.max(spec.height) as f64;
        let z = f / spec.px_per_mm;
        let (s, c) = spec.tilt_deg.to_radians().sin_cos();
        let (ay, ax) = spec.tilt_axis_deg.to_radians().sin_cos();
        // Rotation by the tilt about the unit axis (ax, ay, 0) in the plane.
        let r = [
            [c + ax * ax * (1.0 - c), ax * ay * (1.0 - c), ay * s],
            [ax * ay * (1.0 - c), c + ay * ay * (1.0 - c), -ax * s],
            [-ay * s, ax * s, c],
        ];
        let (u, v) = (spec.width as f64 / 2.0, spec.height as f64 / 2.0);
        let row = |i: usize| [r[i][0], r[i][1], if i == 2 { z } else { 0.0 }];
        let (r0, r1, r2) = (row(0), row(1), row(2));
        let to_px = [
            std::array::from_fn(|k| f * r0[k] + u * r2[k]),
            std::array::from_fn(|k| f * r1[k] + v * r2[k]),
            r2,
        ];
        // The camera stands at −Rᵀ·t = −z · (third row of R).
        let foot = [-z * r[2][0], -z * r[2][1]];
        Self {
            to_mm: inverse(&to_px),
            to_px,
            foot,
            height_mm: z * c,
            distance_mm: z,
            focal_px: f,
            spec,
        }
    }

    /// What lies `depth` mm under the plane on the sight line through the
    /// plane point `p`.
    pub fn below(&self, p: P, depth: f64) -> P {
        let k = (self.height_mm + depth) / self.height_mm;
        [
            self.foot[0] + (p[0] - self.foot[0]) * k,
            self.foot[1] + (p[1] - self.foot[1]) * k,
        ]
    }
}

pub fn apply(m: &M3, p: P) -> P {
    let row = |i: usize| m[i][0] * p[0] + m[i][1] * p[1] + m[i][2];
    let w = row(2);
    [row(0) / w, row(1) / w]
}

pub fn product(a: &M3, b: &M3) -> M3 {
    std::array::from_fn(|i| std::array::from_fn(|j| (0..3).map(|k| a[i][k] * b[k][j]).sum()))
}

pub fn inverse(m: &M3) -> M3 {
    let cofactor = |i: usize, j: usize| {
        let (a, b) = ((i + 1) % 3, (i + 2) % 3);
        let (c, d) = ((j + 1) % 3, (j + 2) % 3);
        m[a][c] * m[b][d] - m[a][d] * m[b][c]
    };
    let det: f64 = (0..3).map(|j| m[0][j] * cofactor(0, j)).sum();
    std::array::from_fn(|i| std::array::from_fn(|j| cofactor(j, i) / det))
}

/// Square root of the area ratio of `m` at `p`: px per mm.
pub fn local_scale(m: &M3, p: P) -> f64 {
    let e = 1e-3;
    let o = apply(m, p);
    let x = apply(m, [p[0] + e, p[1]]);
    let y = apply(m, [p[0], p[1] + e]);
    let area = (x[0] - o[0]) * (y[1] - o[1]) - (x[1] - o[1]) * (y[0] - o[0]);
    area.abs().sqrt() / e
}
