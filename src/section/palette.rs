//! Colours learned on this very picture: how much likelier a colour is in one
//! kind of region than in another.

/// Bin sizes, grey levels: lightness, red–green, yellow–blue.
const BIN: [f32; 3] = [8.0, 7.0, 7.0];
/// Bins on each axis; colours beyond the ends fall into the last bin.
const BINS: [usize; 3] = [32, 16, 16];
/// Largest log-likelihood ratio a single sample may claim.
const MOST: f32 = 1.5;
/// An eighth of a per mille of a region is too little to conclude from.
const FLOOR: f32 = 1e-3 / 8.0;

/// Log-likelihood ratios of colours, from samples of two regions.
pub struct Palette {
    ratio: Vec<f32>,
}

impl Palette {
    /// Learns from samples. Positive values speak for `first`; negative ones
    /// for the likeliest of the `others` (each group counts by itself, so that
    /// a small region's colours are not drowned by a large one's); colours
    /// seen nowhere give 0.
    pub fn learn(first: &[[f32; 3]], others: &[&[[f32; 3]]]) -> Self {
        Self::from_shares(&histogram(first), others)
    }

    fn from_shares(a: &[f32], others: &[&[[f32; 3]]]) -> Self {
        let mut b = vec![0.0f32; a.len()];
        for group in others {
            for (b, share) in b.iter_mut().zip(histogram(group)) {
                *b = b.max(share);
            }
        }
        let ratio = a
            .iter()
            .zip(&b)
            .map(|(a, b)| ((a + FLOOR) / (b + FLOOR)).ln().clamp(-MOST, MOST))
            .collect();
        Self { ratio }
    }

    /// As [`Palette::learn`] with surroundings as `first`, which may also lie
    /// in shadow: the same colours darkened count too, at a third of the weight.
    pub fn learn_surroundings(air: &[[f32; 3]], others: &[&[[f32; 3]]]) -> Self {
        let mut shaded = Vec::new();
        for factor in [0.85f32, 0.7, 0.55, 0.4, 0.25] {
            shaded.extend(air.iter().step_by(3).map(|c| c.map(|v| v * factor)));
        }
        let mut a = histogram(air);
        for (a, s) in a.iter_mut().zip(histogram(&shaded)) {
            *a = a.max(s / 3.0);
        }
        Self::from_shares(&a, others)
    }

    /// Log-likelihood ratio of one colour, first against second.
    pub fn ratio(&self, colour: [f32; 3]) -> f32 {
        self.ratio[index(bins(colour))]
    }
}

/// Log-likelihoods of colours in several kinds of region at once.
pub struct Kinds<const N: usize> {
    logs: Vec<[f32; N]>,
}

impl<const N: usize> Kinds<N> {
    /// Learns from samples of each kind.
    pub fn learn(groups: [&[[f32; 3]]; N]) -> Self {
        let shares = groups.map(histogram);
        let logs = (0..shares[0].len())
            .map(|i| {
                let logs: [f32; N] = std::array::from_fn(|k| (shares[k][i] + FLOOR).ln());
                let most = logs.iter().copied().fold(f32::NEG_INFINITY, f32::max);
                logs.map(|l| (l - most).max(-MOST))
            })
            .collect();
        Self { logs }
    }

    /// Log-likelihood of one colour in each kind: 0 in the likeliest, and no other so
    /// unlikely that a single sample could decide. Held against the likeliest and not
    /// against one kind alone, since what is far from that one says nothing of the others.
    pub fn of(&self, colour: [f32; 3]) -> [f32; N] {
        self.logs[index(bins(colour))]
    }
}

/// Share of colours two sets of samples have in common: 0 = none, 1 = all.
pub fn overlap(a: &[[f32; 3]], b: &[[f32; 3]]) -> f64 {
    let shared: f32 = histogram(a)
        .iter()
        .zip(histogram(b))
        .map(|(a, b)| a.min(b))
        .sum();
    f64::from(shared)
}

fn bins(colour: [f32; 3]) -> [usize; 3] {
    std::array::from_fn(|c| {
        let centred = if c == 0 {
            colour[0]
        } else {
            colour[c] + 0.5 * BIN[c] * BINS[c] as f32
        };
        ((centred / BIN[c]).max(0.0) as usize).min(BINS[c] - 1)
    })
}

fn index(b: [usize; 3]) -> usize {
    (b[0] * BINS[1] + b[1]) * BINS[2] + b[2]
}

/// Share of the samples in each bin, smoothed by (1 2 1) along each axis so
/// that neighbouring colours support each other.
fn histogram(samples: &[[f32; 3]]) -> Vec<f32> {
    let mut shares = vec![0.0f32; BINS[0] * BINS[1] * BINS[2]];
    let share = 1.0 / samples.len().max(1) as f32;
    for s in samples {
        shares[index(bins(*s))] += share;
    }
    for axis in 0..3 {
        let stride = [BINS[1] * BINS[2], BINS[2], 1][axis];
        let before = shares.clone();
        for (i, v) in shares.iter_mut().enumerate() {
            let place = (i / stride) % BINS[axis];
            let low = if place > 0 {
                before[i - stride]
            } else {
                before[i]
            };
            let high = if place + 1 < BINS[axis] {
                before[i + stride]
            } else {
                before[i]
            };
            *v = 0.25 * low + 0.5 * before[i] + 0.25 * high;
        }
    }
    shares
}
