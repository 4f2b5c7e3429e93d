//! What the two long edges of a face have in common: a row for each column of
//! the band, on the changes of tone that corners of relief bring.

use super::band::Band;
use super::roughness::DARK;
use crate::base::numeric::quantile;
use crate::base::raster::Gray;

/// Columns to either side over which the tone is averaged before its change
/// across is taken: grains change from column to column, an edge does not.
const ALONG: usize = 3;
/// Rows on either side of which the tone is compared.
const ACROSS: usize = 2;

/// Rows at the band's borders where no change of tone is known.
const BORDER: f64 = 3.0;

/// An edge: one row a column of the band.
#[derive(Clone, Debug)]
pub(super) struct Edge {
    /// Row at each column of the band.
    pub rows: Vec<f64>,
}

/// Size of the change of ln(luma) across the rows of a band; sample (c, r) is
/// that at the border between rows r − 1 and r.
pub(super) struct Changes(Gray);

impl Changes {
    /// Of a band.
    pub fn of(band: &Band) -> Self {
        Self(tone_change(&band.luma))
    }

    /// The changes measured by the quantile `q` of those at `places` (column,
    /// row), which counts as clear; more than `enough` clear ones are worth no
    /// more.
    pub fn clear(
        &self,
        places: impl Iterator<Item = (usize, f64)>,
        q: f64,
        enough: f64,
    ) -> Clear<'_> {
        let values: Vec<f64> = places.map(|(c, r)| self.at(c, r)).collect();
        Clear {
            changes: self,
            clear: quantile(&values, q).max(1e-3),
            enough,
        }
    }

    fn at(&self, column: usize, row: f64) -> f64 {
        let r = row.round().clamp(0.0, (self.0.height() - 1) as f64) as usize;
        f64::from(self.0.at(column, r))
    }
}

/// Changes of tone against what counts as a clear one nearby.
pub(super) struct Clear<'a> {
    changes: &'a Changes,
    clear: f64,
    enough: f64,
}

impl Clear<'_> {
    /// Change at a place in clear ones; 0 at the band's borders.
    pub fn at(&self, column: usize, row: f64) -> f64 {
        if row < BORDER || row > self.changes.0.height() as f64 - BORDER {
            return 0.0;
        }
        (self.changes.at(column, row) / self.clear).min(self.enough)
    }
}

fn tone_change(luma: &Gray) -> Gray {
    let (w, h) = (luma.width(), luma.height());
    let mut sums = vec![0.0f32; (h + 1) * w];
    for r in 0..h {
        let mut along = vec![0.0f32; w + 1];
        for (c, v) in luma.row(r).iter().enumerate() {
            along[c + 1] = along[c] + (v + DARK).ln();
        }
        for c in 0..w {
            let (a, b) = (c.saturating_sub(ALONG), (c + ALONG + 1).min(w));
            sums[(r + 1) * w + c] = sums[r * w + c] + (along[b] - along[a]) / (b - a) as f32;
        }
    }
    Gray::from_fn(w, h, |c, r| {
        let (a, b) = (r.saturating_sub(ACROSS), (r + ACROSS).min(h));
        if a + 2 * ACROSS != b {
            return 0.0;
        }
        let sum = |from: usize, to: usize| sums[to * w + c] - sums[from * w + c];
        ((sum(r, b) - sum(a, r)) / ACROSS as f32).abs()
    })
}
