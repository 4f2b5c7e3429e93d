//! Seeded value noise: the same numbers on every run and every thread.

/// A well-mixed 64-bit hash (the finaliser of SplitMix64; Steele, Lea and
/// Flood, 2014).
pub fn hash(mut z: u64) -> u64 {
    z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn lattice(seed: u64, x: i64, y: i64) -> f64 {
    let h = hash(
        seed ^ (x as u64).wrapping_mul(0x8da6_b343_d816_3841)
            ^ (y as u64).wrapping_mul(0xd816_3841_8da6_b343),
    );
    (h >> 40) as f64 / (1u64 << 23) as f64 - 1.0
}

/// Smooth noise in −1 … 1 with lattice spacing 1.
pub fn value(seed: u64, x: f64, y: f64) -> f64 {
    let (fx, fy) = (x.floor(), y.floor());
    let (tx, ty) = (x - fx, y - fy);
    let (ux, uy) = (tx * tx * (3.0 - 2.0 * tx), ty * ty * (3.0 - 2.0 * ty));
    let (ix, iy) = (fx as i64, fy as i64);
    let top = lattice(seed, ix, iy) * (1.0 - ux) + lattice(seed, ix + 1, iy) * ux;
    let low = lattice(seed, ix, iy + 1) * (1.0 - ux) + lattice(seed, ix + 1, iy + 1) * ux;
    top * (1.0 - uy) + low * uy
}

/// A stream of uniform numbers.
pub struct Stream(u64);

impl Stream {
    pub fn new(seed: u64) -> Self {
        Self(hash(seed))
    }

    /// Uniform in 0 … 1.
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        (hash(self.0) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform in `low … high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// One of `n`, 0 … n − 1.
    pub fn pick(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n - 1)
    }
}

/// Nearly normal noise of standard deviation 1 from a hash (sum of four
/// uniforms).
pub fn grain(h: u64) -> f64 {
    let sum: u64 = (0..4).map(|k| (h >> (16 * k)) & 0xffff).sum();
    (sum as f64 / 65535.0 - 2.0) * 1.732
}
