//! Capture checks: can this photograph carry the measurement?
//!
//! Figures come from the photograph around a region; every threshold below is
//! a value with its reason.

use super::Photo;
use super::sharpness::{self, Blur};
use crate::base::geometry::{Point, Px, centroid};
use crate::base::numeric::quantile;
use crate::base::raster::{Gray, halve};
use crate::record::{Code, Reason};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Fewest pixels a millimetre. The narrowest thing the acceptance rows ask for
/// is about 0.2 mm (an undercut of 0.05 t on thin plate, a short unfused line):
/// at 10 px/mm it is two pixels wide, the sampling limit.
pub const LEAST_PX_PER_MM: f64 = 10.0;

/// Widest blur (standard deviation) at which a weld is in focus, mm. Stripes of
/// 0.2 mm keep exp(−2π²σ²f²) of their contrast, f = 1/0.4 mm: 17 % at 0.12 mm.
pub const FOCUS_SIGMA_MM: f64 = 0.12;

/// A blur up to this, px, is what lenses, demosaicing and JPEG leave of a sharp
/// edge: with few pixels a millimetre the resolution is at fault, not the focus.
const SHARP_SIGMA_PX: f64 = 1.3;

/// Blur at which nothing is measured at all, mm: toes and fusion boundary would
/// be uncertain by more than the limits they are compared with (0.5 mm).
pub const HOPELESS_SIGMA_MM: f64 = 0.5;

/// Share of saturated pixels from which the weld counts as washed out.
pub const GLARE_FRACTION: f64 = 0.2;

/// Luma from which a pixel is saturated: nothing above can be told apart once
/// a camera's tone curve and JPEG have been at it.
const SATURATED: f32 = 250.0;

/// Mean luma below which the weld is too dark: fewer than some thirty grey
/// levels are left for all zones of the etch.
const DARK: f64 = 18.0;

/// Whole-picture blur that is hopeless at any useful framing, as a share of the
/// shorter side: a weld that fills a tenth of the picture would be blurred over
/// a quarter of its size.
const HOPELESS_SIDE_SHARE: f64 = 0.012;

/// Blur of a whole picture, px, at which a search may well fail for it. Of 47 rendered and
/// 19 real photographs that are sharp enough to be used, 2.8 px was the most.
const SOFT_SIGMA_PX: f64 = 3.5;

/// Grey level under which a picture that holds a scale and bare metal is hardly lit.
const UNLIT: f64 = 90.0;

/// What to do about a picture out of focus.
const FOCUS: &str = "focus on the metal's surface, use a smaller aperture if the camera has one, \
    and take the photograph again";

/// What the capture checks found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checks {
    /// Name with its unit → figure, for the record.
    pub figures: BTreeMap<String, f64>,
    /// What speaks against the photograph.
    pub reasons: Vec<Reason>,
    /// The blur is so wide that no number should be stated.
    pub hopeless: bool,
}

/// Checks the photograph around a region, usually the weld metal's outline
/// (closed, px), at `px_per_mm` there.
pub fn check(photo: &Photo, region: &[Point<Px>], px_per_mm: f64) -> Checks {
    let mut checks = Checks::default();
    let Some(patch) = Patch::around(photo, region, px_per_mm) else {
        return checks;
    };
    let mut note = |name: &str, value: f64| {
        if value.is_finite() {
            checks.figures.insert(name.to_owned(), value);
        }
    };
    note("px_per_mm", px_per_mm);
    note("saturated_fraction", patch.saturated);
    note("mean_luma", patch.mean);
    note("edge_distance_px", patch.edge_distance);
    let blur = patch.blur();
    note("blur_edges", blur.map_or(0.0, |b| b.edges as f64));
    if let Some(blur) = blur {
        note("blur_sigma_px", blur.sigma_px);
        note("blur_sigma_mm", blur.sigma_px / px_per_mm);
    }
    checks.reasons.extend(
        [
            cropped(&patch),
            glare(&patch),
            dark(&patch),
            coarse(px_per_mm),
        ]
        .into_iter()
        .flatten(),
    );
    match blur {
        Some(blur) => {
            checks.reasons.extend(unsharp(blur, px_per_mm));
            checks.hopeless = blur.sigma_px / px_per_mm > HOPELESS_SIGMA_MM;
        }
        // A washed-out or black weld has no edges either, and has its reason.
        None if checks.reasons.is_empty() => checks.reasons.push(Reason::new(
            Code::OutOfFocus,
            "no edge stands out at the weld: it is out of focus or hardly etched",
            "focus on the metal's surface, etch a section until its zones differ clearly, and take the photograph again",
        )),
        None => {}
    }
    checks
}

/// Checks the whole photograph before anything is known of it: reasons why
/// nothing can come of it. An empty list promises nothing.
pub fn precheck(photo: &Photo) -> Vec<Reason> {
    let samples = photo.luma.samples();
    let share = |holds: fn(f32) -> bool| {
        samples.par_iter().filter(|s| holds(**s)).count() as f64 / samples.len() as f64
    };
    let (white, black) = (share(|s| s >= SATURATED), share(|s| s <= 5.0));
    if white > 0.98 {
        return vec![Reason::new(
            Code::Glare,
            format!("the picture is white: {:.0} % is saturated", 100.0 * white),
            "take the photograph again with less light or a shorter exposure",
        )];
    }
    if black > 0.98 {
        return vec![Reason::new(
            Code::Underexposed,
            format!("the picture is black: {:.0} % holds nothing", 100.0 * black),
            "take the photograph again with more light or a longer exposure",
        )];
    }
    let quarter = halve(&halve(&photo.luma));
    let shorter = photo.width.min(photo.height) as f64;
    sharpness::blur(&quarter, 4, |_, _| true)
        .map(|blur| blur.sigma_px)
        .filter(|sigma| *sigma > HOPELESS_SIDE_SHARE * shorter)
        .map(|sigma| {
            Reason::new(
                Code::OutOfFocus,
                format!("nothing in the picture is in focus: the sharpest edges are blurred over {:.0} px", 2.0 * sigma),
                "focus on the metal's surface (hold the camera still, at least its closest focusing distance away) and take the photograph again",
            )
        })
        .into_iter()
        .collect()
}

/// What of the whole photograph may be why nothing was found in it: it moved, no edge is
/// sharp, hardly anything is lit. Meant for when a search has failed: a good photograph of
/// something soft or dark would get such a reason, too.
pub fn faults(photo: &Photo) -> Vec<Reason> {
    let half = halve(&photo.luma);
    let blur = sharpness::blur(&half, 2, |_, _| true);
    let unsharp = blur.and_then(|blur| {
        if blur.sigma_px > SOFT_SIGMA_PX {
            return Some(Reason::new(
                Code::OutOfFocus,
                format!(
                    "nothing in the picture is sharp: edges are blurred over {:.0} px",
                    2.0 * blur.sigma_px
                ),
                FOCUS,
            ));
        }
        let by = blur.directions?;
        (by.widest_px > SOFT_SIGMA_PX && by.is_smear())
            .then(|| smeared(by.widest_px, "the picture"))
    });
    let samples = half.samples().iter().step_by(7);
    let samples: Vec<f64> = samples.map(|s| f64::from(*s)).collect();
    let brightest = quantile(&samples, 0.98);
    let dark = (brightest < UNLIT).then(|| {
        Reason::new(
            Code::Underexposed,
            format!(
                "the picture is dark: all but 2 % of it lies under grey level {brightest:.0} of 255"
            ),
            "take the photograph again with more light or a longer exposure, the camera on a stand",
        )
    });
    unsharp.into_iter().chain(dark).collect()
}

fn smeared(sigma_px: f64, what: &str) -> Reason {
    Reason::new(
        Code::MotionBlur,
        // A box has the standard deviation of its width by √12.
        format!(
            "{what} is smeared over about {:.0} px one way and sharp at right angles to it: the \
             camera or the coupon moved",
            12f64.sqrt() * sigma_px
        ),
        "put the camera on a stand, use its self-timer and more light, and take the photograph again",
    )
}

/// The photograph around a region.
struct Patch {
    luma: Gray,
    /// Pixels of the photograph a sample of `luma`.
    step: usize,
    /// Samples in and close around the region, so that the edges of its
    /// outline belong to it.
    near: Vec<bool>,
    saturated: f64,
    mean: f64,
    /// Least distance of the region from the picture's edge, px.
    edge_distance: f64,
}

impl Patch {
    /// `None` for a region without area inside the photograph.
    fn around(photo: &Photo, region: &[Point<Px>], px_per_mm: f64) -> Option<Self> {
        const GROWN: f64 = 1.15;
        /// Finer than this adds time, not knowledge: see [`FOCUS_SIGMA_MM`].
        const ENOUGH_PX_PER_MM: f64 = 50.0;
        if region.len() < 3 || !region.iter().all(|p| p.x.is_finite() && p.y.is_finite()) {
            return None;
        }
        let centre = centroid(region)?;
        let (w, h) = (photo.width as f64, photo.height as f64);
        let edge_distance = region
            .iter()
            .map(|p| p.x.min(p.y).min(w - p.x).min(h - p.y))
            .fold(f64::INFINITY, f64::min);
        let grown: Vec<Point<Px>> = region
            .iter()
            .map(|p| centre + (*p - centre) * GROWN)
            .collect();
        let range = |values: &dyn Fn(&Point<Px>) -> f64, end: f64| {
            let (low, high) = grown
                .iter()
                .map(values)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                    (low.min(v), high.max(v))
                });
            // A margin, so that blurring sees real neighbours on coarse levels too.
            let margin = 8.0 + 0.25 * (high - low);
            let low = (low - margin).clamp(0.0, end) as usize;
            let high = (high + margin).clamp(0.0, end) as usize;
            (high > low).then_some((low, high))
        };
        let (x0, x1) = range(&|p| p.x, w)?;
        let (y0, y1) = range(&|p| p.y, h)?;
        let rows: Vec<f32> = (y0..y1)
            .flat_map(|y| &photo.luma.row(y)[x0..x1])
            .copied()
            .collect();
        let mut luma = Gray::new(x1 - x0, y1 - y0, rows);
        let place = |polygon: &[Point<Px>], step: usize| -> Vec<Point<Px>> {
            let place = |v: f64, origin: usize| (v - origin as f64) / step as f64;
            polygon
                .iter()
                .map(|p| Point::new(place(p.x, x0), place(p.y, y0)))
                .collect()
        };

        let own = mask(&place(region, 1), luma.width(), luma.height());
        let (mut count, mut saturated, mut sum) = (0u64, 0u64, 0.0);
        for (value, _) in luma.samples().iter().zip(&own).filter(|(_, own)| **own) {
            count += 1;
            saturated += u64::from(*value >= SATURATED);
            sum += f64::from(*value);
        }
        if count == 0 {
            return None;
        }

        let mut step = 1;
        while px_per_mm / step as f64 >= 2.0 * ENOUGH_PX_PER_MM {
            luma = halve(&luma);
            step *= 2;
        }
        Some(Self {
            near: mask(&place(&grown, step), luma.width(), luma.height()),
            luma,
            step,
            saturated: saturated as f64 / count as f64,
            mean: sum / count as f64,
            edge_distance,
        })
    }

    /// Blur in and close around the region, in px of the photograph.
    fn blur(&self) -> Option<Blur> {
        let (w, h) = (self.luma.width(), self.luma.height());
        let near = |x: f64, y: f64| {
            let (x, y) = (x as usize, y as usize);
            x < w && y < h && self.near[y * w + x]
        };
        sharpness::blur(&self.luma, self.step, near)
    }
}

/// Samples whose centres lie in the polygon (even-odd rule), row by row.
fn mask(polygon: &[Point<Px>], width: usize, height: usize) -> Vec<bool> {
    let mut inside = vec![false; width * height];
    inside
        .par_chunks_mut(width)
        .enumerate()
        .for_each(|(row, out)| {
            let y = row as f64 + 0.5;
            let mut crossings: Vec<f64> = polygon
                .iter()
                .zip(polygon.iter().cycle().skip(1))
                .filter(|(a, b)| (a.y > y) != (b.y > y))
                .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
                .collect();
            crossings.sort_by(f64::total_cmp);
            let sample = |x: f64| (x - 0.5).ceil().clamp(0.0, width as f64) as usize;
            for pair in crossings.as_chunks::<2>().0 {
                out[sample(pair[0])..sample(pair[1])].fill(true);
            }
        });
    inside
}

fn cropped(patch: &Patch) -> Option<Reason> {
    // An outline that follows the edge runs within a pixel or two of it.
    (patch.edge_distance < 2.0).then(|| {
        Reason::new(
            Code::Cropped,
            "the weld touches the edge of the picture, so a part of it is missing",
            "take the photograph again with a hand's breadth of margin: both members and the whole weld inside the picture",
        )
    })
}

fn glare(patch: &Patch) -> Option<Reason> {
    (patch.saturated > GLARE_FRACTION).then(|| {
        Reason::new(
            Code::Glare,
            format!(
                "{:.0} % of the weld is washed out (saturated); what the etch shows is lost there",
                100.0 * patch.saturated
            ),
            "light the face flat from the side or through tracing paper, tilt the coupon or the lamp until the reflection is gone, and expose less",
        )
    })
}

fn dark(patch: &Patch) -> Option<Reason> {
    (patch.mean < DARK).then(|| {
        Reason::new(
            Code::Underexposed,
            format!(
                "the weld is too dark (mean grey level {:.0} of 255)",
                patch.mean
            ),
            "use more light or a longer exposure with the camera on a stand",
        )
    })
}

fn coarse(px_per_mm: f64) -> Option<Reason> {
    (px_per_mm < LEAST_PX_PER_MM).then(|| {
        Reason::new(
            Code::ResolutionTooLow,
            format!("a millimetre is only {px_per_mm:.1} px at the weld; at least {LEAST_PX_PER_MM:.0} are needed to see flaws of 0.2 mm"),
            "go closer, use a macro lens, or crop less, so that the joint fills most of the picture",
        )
    })
}

fn unsharp(blur: Blur, px_per_mm: f64) -> Option<Reason> {
    let wide = |sigma_px: f64| sigma_px / px_per_mm > FOCUS_SIGMA_MM && sigma_px > SHARP_SIGMA_PX;
    if let Some(by) = blur.directions
        && by.is_smear()
        && wide(by.widest_px)
    {
        return Some(smeared(by.widest_px, "the weld"));
    }
    wide(blur.sigma_px).then(|| {
        let sigma_mm = blur.sigma_px / px_per_mm;
        Reason::new(
            Code::OutOfFocus,
            format!("the weld is not in focus: edges are blurred by {sigma_mm:.2} mm (standard deviation), so that details of 0.2 mm are lost"),
            FOCUS,
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::raster::gaussian_blur;

    /// A grey disc of radius 60 at `centre`, on a ground, blurred by `sigma`.
    fn photo(centre: (f64, f64), disc: f32, sigma: f64) -> (Photo, Vec<Point<Px>>) {
        let (w, h) = (320, 240);
        let sharp = Gray::from_fn(w, h, |x, y| {
            let far = (x as f64 + 0.5 - centre.0).hypot(y as f64 + 0.5 - centre.1);
            if far < 60.0 { disc } else { 100.0 }
        });
        let rgb = gaussian_blur(&sharp, sigma)
            .samples()
            .iter()
            .flat_map(|v| [v.round() as u8; 3])
            .collect();
        let outline = (0..90)
            .map(|i| {
                let (s, c) = (f64::from(i) * std::f64::consts::TAU / 90.0).sin_cos();
                Point::new(
                    (centre.0 + 60.0 * c).clamp(0.0, w as f64),
                    (centre.1 + 60.0 * s).clamp(0.0, h as f64),
                )
            })
            .collect();
        (Photo::from_rgb(w, h, rgb).unwrap(), outline)
    }

    fn codes(checks: &Checks) -> Vec<Code> {
        checks.reasons.iter().map(|r| r.code).collect()
    }

    #[test]
    fn a_good_photograph_passes() {
        let (photo, outline) = photo((160.0, 120.0), 170.0, 1.0);
        let checks = check(&photo, &outline, 20.0);
        assert_eq!(codes(&checks), []);
        assert!((checks.figures["blur_sigma_px"] - 1.0).abs() < 0.3);
        assert!((checks.figures["edge_distance_px"] - 60.0).abs() < 1.0);
        assert!((checks.figures["mean_luma"] - 169.0).abs() < 3.0);
        assert_eq!(precheck(&photo), []);
    }

    #[test]
    fn every_fault_gets_its_own_reason() {
        let cases = [
            ((160.0, 120.0), 170.0, 5.0, 20.0, Code::OutOfFocus),
            ((160.0, 120.0), 255.0, 1.0, 20.0, Code::Glare),
            ((160.0, 120.0), 4.0, 1.0, 20.0, Code::Underexposed),
            ((160.0, 120.0), 170.0, 1.0, 8.0, Code::ResolutionTooLow),
            ((40.0, 120.0), 170.0, 1.0, 20.0, Code::Cropped),
        ];
        for (centre, disc, sigma, px_per_mm, code) in cases {
            let (photo, outline) = photo(centre, disc, sigma);
            let checks = check(&photo, &outline, px_per_mm);
            assert!(codes(&checks).contains(&code), "{code:?}: {checks:?}");
            assert_eq!(checks.reasons.len(), 1, "{checks:?}");
            assert!(!checks.hopeless);
        }
        let (photo, outline) = photo((160.0, 120.0), 170.0, 12.0);
        let checks = check(&photo, &outline, 20.0);
        assert!(checks.hopeless, "{checks:?}");
    }

    #[test]
    fn what_holds_nothing_is_told_before_anything_is_searched() {
        let plain = |v: u8| Photo::from_rgb(64, 64, vec![v; 3 * 64 * 64]).unwrap();
        assert_eq!(precheck(&plain(255))[0].code, Code::Glare);
        assert_eq!(precheck(&plain(0))[0].code, Code::Underexposed);
        let (blurred, _) = photo((160.0, 120.0), 200.0, 14.0);
        assert_eq!(precheck(&blurred)[0].code, Code::OutOfFocus);
    }

    #[test]
    fn odd_regions_are_survived() {
        let (photo, _) = photo((160.0, 120.0), 170.0, 1.0);
        let far = [(-900.0, -900.0), (-800.0, -900.0), (-800.0, -800.0)];
        let odd = [(f64::NAN, 0.0), (1.0, 1.0), (2.0, 0.0)];
        let huge = [(-1e9, -1e9), (1e9, -1e9), (0.0, 1e9)];
        for region in [&[][..], &far[..1], &far, &odd, &huge] {
            let region: Vec<Point<Px>> = region.iter().map(|p| Point::new(p.0, p.1)).collect();
            check(&photo, &region, 20.0);
        }
    }
}
