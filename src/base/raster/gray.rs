//! One-channel raster of `f32` samples.

/// A `width × height` raster, row by row.
#[derive(Clone, Debug)]
pub struct Gray {
    width: usize,
    height: usize,
    samples: Vec<f32>,
}

impl Gray {
    /// From its samples, row by row.
    ///
    /// # Panics
    /// When `samples.len() != width * height` or a side is zero.
    pub fn new(width: usize, height: usize, samples: Vec<f32>) -> Self {
        assert!(width > 0 && height > 0, "a raster has at least one sample");
        assert_eq!(samples.len(), width * height, "one sample per place");
        Self {
            width,
            height,
            samples,
        }
    }

    /// A raster whose sample at column `x`, row `y` is `f(x, y)`.
    pub fn from_fn(width: usize, height: usize, mut f: impl FnMut(usize, usize) -> f32) -> Self {
        let mut samples = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                samples.push(f(x, y));
            }
        }
        Self::new(width, height, samples)
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.height
    }

    /// All samples, row by row.
    pub fn samples(&self) -> &[f32] {
        &self.samples
    }

    /// All samples, row by row, to change.
    pub fn samples_mut(&mut self) -> &mut [f32] {
        &mut self.samples
    }

    /// The samples of row `y`.
    pub fn row(&self, y: usize) -> &[f32] {
        &self.samples[y * self.width..(y + 1) * self.width]
    }

    /// The sample at column `x`, row `y`.
    ///
    /// # Panics
    /// Outside the raster.
    pub fn at(&self, x: usize, y: usize) -> f32 {
        self.samples[y * self.width + x]
    }

    /// Whether (x, y) lies on the raster.
    pub fn covers(&self, x: f64, y: f64) -> bool {
        x >= 0.0 && y >= 0.0 && x <= self.width as f64 && y <= self.height as f64
    }

    /// Bilinear sample at (x, y); outside, the nearest border sample.
    #[inline]
    pub fn sample(&self, x: f64, y: f64) -> f32 {
        let place = |v: f64, n: usize| {
            let v = (v - 0.5).clamp(0.0, (n - 1) as f64);
            let low = (v as usize).min(n.saturating_sub(2));
            (low, (low + 1).min(n - 1), (v - low as f64) as f32)
        };
        let (x0, x1, fx) = place(x, self.width);
        let (y0, y1, fy) = place(y, self.height);
        let top = self.at(x0, y0) * (1.0 - fx) + self.at(x1, y0) * fx;
        let bottom = self.at(x0, y1) * (1.0 - fx) + self.at(x1, y1) * fx;
        top * (1.0 - fy) + bottom * fy
    }
}
