//! Steel rules with two graduated edges and numerals, and things that look like
//! rules and are none, as tones of a plane. Knows nothing of the analysis code.

use super::references::View;
use toeline::base::raster::Gray;
use toeline::photo::Photo;

/// What one edge is graduated in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Divisions {
    Millimetre,
    HalfMillimetre,
    /// Fractions of an inch: the denominator of the smallest.
    Inch(i64),
}

impl Divisions {
    pub fn pitch_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::HalfMillimetre => 0.5,
            Self::Inch(n) => 25.4 / n as f64,
        }
    }

    /// Ticks from one numeral to the next.
    fn cycle(self) -> i64 {
        match self {
            Self::Millimetre => 10,
            Self::HalfMillimetre => 20,
            Self::Inch(n) => n,
        }
    }

    /// Length of tick `i`, mm; whole and half inches may be equally long.
    fn length_mm(self, i: i64, whole_as_half: bool) -> f64 {
        let k = i.rem_euclid(self.cycle());
        match self {
            Self::Millimetre => [4.0, 5.5, 7.0][usize::from(k == 0) + usize::from(k % 5 == 0)],
            Self::HalfMillimetre if k == 0 => 7.5,
            Self::HalfMillimetre if k == 10 => 6.0,
            Self::HalfMillimetre => {
                if k % 2 == 0 {
                    4.5
                } else {
                    3.0
                }
            }
            Self::Inch(n) => {
                // 1, 1/2, 1/4, … inch, each shorter by nearly the same.
                let halvings = if k == 0 {
                    i64::from(whole_as_half)
                } else {
                    i64::from(n.trailing_zeros()) - i64::from(k.trailing_zeros())
                };
                [7.4, 6.0, 4.8, 3.8, 3.0, 2.3, 1.7][halvings as usize]
            }
        }
    }
}

/// A steel rule along u: near edge at v = `edge_mm`, ticks of both edges inwards.
#[derive(Clone, Copy, Debug)]
pub struct SteelRule {
    pub edge_mm: f64,
    pub width_mm: f64,
    pub near: Divisions,
    pub far: Option<Divisions>,
    /// Whether the far edge has numerals too.
    pub far_numerals: bool,
    pub whole_as_half: bool,
    /// Share of ticks worn away.
    pub worn: f64,
    /// u where the rule begins, mm.
    pub begins_mm: f64,
    /// Shift of its zero, mm.
    pub zero_mm: f64,
    pub ground: f64,
    pub ink: f64,
    pub bench: f64,
}

impl SteelRule {
    pub fn new(near: Divisions, far: Option<Divisions>) -> Self {
        Self {
            edge_mm: -8.0,
            width_mm: 24.0,
            near,
            far,
            far_numerals: false,
            whole_as_half: false,
            worn: 0.0,
            begins_mm: -1000.0,
            zero_mm: 0.0,
            ground: 190.0,
            ink: 40.0,
            bench: 60.0,
        }
    }

    /// Brightness at (u, v) mm.
    pub fn tone(&self, u: f64, v: f64) -> f64 {
        let into = v - self.edge_mm;
        if !(0.0..=self.width_mm).contains(&into) || u < self.begins_mm {
            return self.bench;
        }
        let u = u - self.zero_mm;
        let near = self.inked(self.near, true, u, into);
        let far = self
            .far
            .is_some_and(|d| self.inked(d, self.far_numerals, u, self.width_mm - into));
        if near || far { self.ink } else { self.ground }
    }

    fn inked(&self, divisions: Divisions, numerals: bool, u: f64, into: f64) -> bool {
        let pitch = divisions.pitch_mm();
        let i = (u / pitch).round() as i64;
        let worn = hash(i) < self.worn;
        let stroke = (u - i as f64 * pitch).abs() < (0.13 * pitch).min(0.12);
        if stroke && !worn && into < divisions.length_mm(i, self.whole_as_half) {
            return true;
        }
        let cycle = divisions.cycle() as f64 * pitch;
        let whole = (u / cycle).round();
        numerals && figure(whole as i64, u - whole * cycle, into - 8.0)
    }
}

/// Deterministic noise in 0 … 1.
fn hash(i: i64) -> f64 {
    let mut x = (i as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    x ^= x >> 31;
    x = x.wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x ^= x >> 29;
    (x >> 40) as f64 / (1u64 << 24) as f64
}

/// Whether (u, v) mm is ink of the numeral, 3 mm high, centred on u = 0: seven
/// strokes a digit.
fn figure(number: i64, u: f64, v: f64) -> bool {
    const STROKES: [u8; 10] = [
        0b111_0111, 0b001_0010, 0b101_1101, 0b101_1011, 0b011_1010, 0b110_1011, 0b110_1111,
        0b101_0010, 0b111_1111, 0b111_1011,
    ];
    let text = number.unsigned_abs().to_string();
    let wide = 2.2 * text.len() as f64;
    let x = u + 0.5 * wide;
    if !(0.0..wide).contains(&x) || !(0.0..3.0).contains(&v) {
        return false;
    }
    let digit = text.as_bytes()[(x / 2.2) as usize] - b'0';
    let on = |bit: u32| STROKES[usize::from(digit)] >> bit & 1 == 1;
    let x = x % 2.2 - 0.2;
    let (left, right) = ((0.0..0.35).contains(&x), (1.45..1.8).contains(&x));
    let across = (0.0..1.8).contains(&x);
    let upper = v < 1.5;
    (on(6) && across && v < 0.35)
        || (on(5) && left && upper)
        || (on(4) && right && upper)
        || (on(3) && across && (1.32..1.68).contains(&v))
        || (on(2) && left && !upper)
        || (on(1) && right && !upper)
        || (on(0) && across && v > 2.65)
}

/// The photograph `view` takes of `tone`, blurred by a box of 2·`radius` + 1 px
/// run over it twice each way.
pub fn blurred(view: &View, radius: usize, tone: impl Fn(f64, f64) -> f64) -> Photo {
    let photo = view.photograph(tone);
    if radius == 0 {
        return photo;
    }
    let (w, h) = (photo.width, photo.height);
    let mut luma: Vec<f32> = photo.luma.samples().to_vec();
    for _ in 0..2 {
        for (stride, step, lines, length) in [(w, 1, h, w), (1, w, w, h)] {
            for line in 0..lines {
                let at = |i: usize| line * stride + i * step;
                let row: Vec<f32> = (0..length).map(|i| luma[at(i)]).collect();
                for i in 0..length {
                    let part = &row[i.saturating_sub(radius)..(i + radius + 1).min(length)];
                    luma[at(i)] = part.iter().sum::<f32>() / part.len() as f32;
                }
            }
        }
    }
    let rgb = luma.iter().flat_map(|v| [v.round() as u8; 3]).collect();
    Photo {
        focal_half_diagonals: None,
        width: w,
        height: h,
        rgb,
        luma: Gray::new(w, h, luma),
    }
}

/// A comb that is no rule: its name and its tone at (u, v) mm.
pub type Impostor = (&'static str, fn(f64, f64) -> f64);

/// Combs that are no rules.
pub const IMPOSTORS: &[Impostor] = &[
    ("saw blade", |u, v| {
        // Triangular teeth 3 mm apart, 2 mm deep, on a bright blade.
        let tooth = (u / 3.0).rem_euclid(1.0);
        let depth = 2.0 * (1.0 - 2.0 * (tooth - 0.5).abs());
        if (-2.0 + depth..15.0).contains(&v) {
            180.0
        } else {
            60.0
        }
    }),
    ("screw thread", |u, v| {
        let flank = (u / 1.25 + 0.12 * v).rem_euclid(1.0);
        if v.abs() < 5.0 {
            70.0 + 120.0 * (2.0 * (flank - 0.5).abs())
        } else {
            60.0
        }
    }),
    ("chequer board's edge", |u, v| {
        let inside = (-4.0..12.0).contains(&v);
        let dark = ((u / 2.0).floor() as i64 + (v / 2.0).floor() as i64).rem_euclid(2) == 0;
        if inside && dark { 40.0 } else { 200.0 }
    }),
    ("machining marks", |u, v| {
        let i = (u / 0.4).floor() as i64;
        let mark = hash(i) * 60.0;
        if (-9.0..9.0).contains(&v) {
            190.0 - mark
        } else {
            70.0
        }
    }),
    ("fence of equal ticks", |u, v| {
        let off = (u - u.round()).abs();
        if (-8.0..16.0).contains(&v) {
            if off < 0.1 && v < -4.0 { 40.0 } else { 190.0 }
        } else {
            60.0
        }
    }),
    ("ticks of random length", |u, v| {
        let i = u.round();
        let long = 2.0 + 5.0 * hash(i as i64);
        if (-8.0..16.0).contains(&v) {
            if (u - i).abs() < 0.1 && v + 8.0 < long {
                40.0
            } else {
                190.0
            }
        } else {
            60.0
        }
    }),
    ("every third tick longer", |u, v| {
        let i = u.round();
        let long = if (i as i64).rem_euclid(3) == 0 {
            6.0
        } else {
            4.0
        };
        if (-8.0..16.0).contains(&v) {
            if (u - i).abs() < 0.1 && v + 8.0 < long {
                40.0
            } else {
                190.0
            }
        } else {
            60.0
        }
    }),
    ("squared paper", |u, v| {
        let line = |t: f64| (t / 4.0 - (t / 4.0).round()).abs() < 0.03;
        if line(u) || line(v) { 90.0 } else { 230.0 }
    }),
];
