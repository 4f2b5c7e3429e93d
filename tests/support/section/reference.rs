//! Scale objects that lie beside the specimen: a steel or white rule with
//! millimetre graduations and numerals, or a printed chequer strip.

use super::digits;
use super::metal::{cover, smooth};
use super::noise::value;
use super::shapes::*;

#[derive(Clone, Debug)]
pub enum ReferenceKind {
    /// Graduated in whole or half millimetres; numerals count centimetres or
    /// millimetres.
    Rule {
        half_mm: bool,
        steel: bool,
        width: f64,
        length: f64,
        first: f64,
        in_cm: bool,
    },
    /// `columns` × 2 squares of side `pitch`.
    Chequer { pitch: f64, columns: usize },
}

/// A reference with its place in the plane frame.
#[derive(Clone, Debug)]
pub struct Reference {
    pub kind: ReferenceKind,
    /// Plane position of its local origin: the graduated edge at the first
    /// graduation, or the strip's corner.
    pub origin: P,
    /// Direction of its length, degrees from plane x towards plane y.
    pub angle_deg: f64,
}

/// Thickness seen as a thin dark side, mm.
const THICKNESS: f64 = 0.6;

impl Reference {
    fn local(&self, p: P) -> P {
        let (s, c) = self.angle_deg.to_radians().sin_cos();
        let d = sub(p, self.origin);
        [c * d[0] + s * d[1], -s * d[0] + c * d[1]]
    }

    /// Plane position of a local place.
    pub fn place(&self, q: P) -> P {
        let (s, c) = self.angle_deg.to_radians().sin_cos();
        add(self.origin, [c * q[0] - s * q[1], s * q[0] + c * q[1]])
    }

    fn size(&self) -> P {
        match &self.kind {
            ReferenceKind::Rule { width, length, .. } => [*length, *width],
            ReferenceKind::Chequer { pitch, columns } => {
                [pitch * (*columns as f64 + 2.0), pitch * 4.0]
            }
        }
    }

    /// Its four corners in the plane frame.
    pub fn corners(&self) -> Vec<P> {
        let [l, w] = self.size();
        let margin = self.lead();
        [
            [-margin, 0.0],
            [l - margin, 0.0],
            [l - margin, w],
            [-margin, w],
        ]
        .into_iter()
        .map(|q| self.place(q))
        .collect()
    }

    /// What lies before the first graduation.
    fn lead(&self) -> f64 {
        match self.kind {
            ReferenceKind::Rule { .. } => 5.0,
            ReferenceKind::Chequer { .. } => 0.0,
        }
    }

    /// Signed distance of the plane point to its outline.
    pub fn distance(&self, p: P) -> f64 {
        let q = self.local(p);
        let [l, w] = self.size();
        let lead = self.lead();
        let dx = (-lead - q[0]).max(q[0] - (l - lead));
        let dy = (-q[1]).max(q[1] - w);
        if dx > 0.0 && dy > 0.0 {
            dx.hypot(dy)
        } else {
            dx.max(dy)
        }
    }

    /// The numbered graduations or square corners: (mm along, plane place).
    pub fn marks(&self) -> Vec<(f64, P)> {
        match &self.kind {
            ReferenceKind::Rule { length, first, .. } => (0..=((length - 10.0) / 10.0) as i64)
                .map(|k| (first + 10.0 * k as f64, self.place([10.0 * k as f64, 0.0])))
                .collect(),
            ReferenceKind::Chequer { pitch, columns } => (0..=*columns)
                .map(|k| {
                    (
                        k as f64 * pitch,
                        self.place([pitch * (k as f64 + 1.0), pitch * 2.0]),
                    )
                })
                .collect(),
        }
    }

    /// Linear colour at a plane point on it.
    pub fn colour(&self, p: P, fine: f64, seed: u64) -> [f64; 3] {
        let q = self.local(p);
        match &self.kind {
            ReferenceKind::Rule {
                half_mm,
                steel,
                length,
                first,
                in_cm,
                ..
            } => {
                let base = if *steel {
                    let marks = value(seed ^ 1, q[1] / 0.07, q[0] / 14.0) * 0.07
                        + value(seed ^ 2, q[1] / 0.35, q[0] / 25.0) * 0.05;
                    let gloss = 0.16 * value(seed ^ 3, q[0] / 35.0 + q[1] / 60.0, 0.3);
                    0.46 * (1.0 + marks + gloss)
                } else {
                    0.78 * (1.0 + 0.02 * value(seed ^ 4, q[0] / 8.0, q[1] / 8.0))
                };
                let ink = graduations(q, *half_mm, *length - 10.0, fine).max(numerals(
                    q,
                    *first,
                    *length - 10.0,
                    *in_cm,
                    fine,
                ));
                let rim = 0.25 * cover(self.distance(p).abs() - 0.12, fine.max(0.2));
                let worn = 0.95 - 0.10 * smooth(value(seed ^ 5, q[0] / 3.0, q[1] / 3.0));
                let v = base * (1.0 - rim) * (1.0 - ink * worn);
                [v, v * 1.0, v * 0.99]
            }
            ReferenceKind::Chequer { pitch, columns } => {
                let paper = 0.76 * (1.0 + 0.02 * value(seed ^ 6, q[0] / 3.0, q[1] / 3.0));
                // 5 × 5 places a pixel: the printed borders stay sharp and unbiased.
                let mut black = 0;
                for i in 0..25 {
                    let part = |k: usize| (k as f64 - 2.0) / 5.0 * fine;
                    let u = (q[0] + part(i % 5)) / pitch - 1.0;
                    let v = (q[1] + part(i / 5)) / pitch - 1.0;
                    let on = u > 0.0 && u < *columns as f64 && v > 0.0 && v < 2.0;
                    let dark = (u.floor() as i64 + v.floor() as i64).rem_euclid(2) == 0;
                    black += usize::from(on && dark);
                }
                let ink = black as f64 / 25.0;
                let v = paper * (1.0 - 0.94 * ink);
                [v, v * 0.995, v * 0.97]
            }
        }
    }

    /// Thickness of the object under the section plane's level, mm.
    pub fn thickness(&self) -> f64 {
        THICKNESS
    }
}

/// Ink of the graduations on the near edge.
fn graduations(q: P, half_mm: bool, last: f64, fine: f64) -> f64 {
    let step = if half_mm { 0.5 } else { 1.0 };
    let index = (q[0] / step).round();
    let at = index * step;
    if at < -1e-9 || at > last + 1e-9 {
        return 0.0;
    }
    let tenth = |unit: f64| (at / unit - (at / unit).round()).abs() < 1e-6;
    let reach = if tenth(10.0) {
        6.5
    } else if tenth(5.0) {
        5.0
    } else if tenth(1.0) {
        3.6
    } else {
        2.4
    };
    let across = (q[0] - at).abs() - 0.085;
    cover(across.max(q[1] - reach).max(0.25 - q[1]), fine)
}

/// Ink of the numerals under every tenth millimetre.
fn numerals(q: P, first: f64, last: f64, in_cm: bool, fine: f64) -> f64 {
    let index = (q[0] / 10.0).round();
    if index < 0.0 || 10.0 * index > last + 1e-9 {
        return 0.0;
    }
    let number = first + 10.0 * index;
    let number = if in_cm { number / 10.0 } else { number };
    let height = 2.6;
    let d = digits::distance(
        &format!("{}", number.round() as i64),
        [q[0] - 10.0 * index, q[1] - 7.2],
        height,
    );
    cover(d - 0.14, fine)
}

impl Reference {
    /// What a user types for `--scale`.
    pub fn argument(&self) -> String {
        match &self.kind {
            ReferenceKind::Rule { .. } => "rule-mm".to_owned(),
            ReferenceKind::Chequer { pitch, .. } => format!("chequer:{pitch}"),
        }
    }
}
