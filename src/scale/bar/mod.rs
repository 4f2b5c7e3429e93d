//! A drawn scale bar, burnt into the picture or printed on a label: a straight
//! solid stroke, plain or with caps at its ends, with its length written beside
//! it.
//!
//! The bar's length is never guessed: the person says it (`bar:5`). A stroke
//! counts as a bar only with small marks of the same tone in a row beside it,
//! as the letters of "5 mm" are; a plate edge, a scratch or a rule's tick has
//! none. Two equally good strokes of different length are `scale-doubtful`.
//!
//! The length of a bar with caps is taken from outer edge to outer edge (common
//! practice, no source); that some mean the middles of the caps is carried in the
//! uncertainty.

mod ends;
mod label;
mod patches;
mod tone;

use super::viewing::Focal;
use super::{PlaneMap, Scale, budget};
use crate::base::geometry::{Point, Px};
use crate::base::raster::{Gray, gaussian_blur, reduced};
use crate::photo::Photo;
use crate::record::{Code, NumberedMark, Reason, ScaleEvidence, ScaleFacts};
use ends::Cut;
use label::Label;
use patches::{Patch, patches};
use std::borrow::Cow;
use tone::Ink;

/// Samples the search works on at most; the ends are located at full size.
const SEARCH_SAMPLES: usize = 1_600_000;
/// Grey levels by which a stroke stands out of its ground.
const CONTRAST: f32 = 45.0;
/// Width over which the ground is blurred, as a share of the picture's, and at
/// least, samples: several times the stroke of a bar.
const GROUND: f64 = 0.012;
const LEAST_GROUND: f64 = 8.0;
/// Length against width of a bar, at least.
const SLENDER: f64 = 5.0;
/// Share of its own rectangle a bar fills, at least.
const SOLID: f64 = 0.85;
/// A sample this near to black or white counts as drawn there, grey levels: what
/// compression leaves of a drawing.
const PURE: f32 = 3.0;
/// Caps thicker than this share of the bar's length leave too much doubt where
/// its length is counted from.
const THICKEST_CAP: f64 = 0.1;

/// A stroke with letters beside it.
struct Candidate {
    ends: [Point<Px>; 2],
    /// How unsure an end is, px.
    residual_px: f64,
    cap_px: f64,
    outline: Vec<Point<Px>>,
    ink: Ink,
    letters: usize,
}

impl Candidate {
    fn middle(&self) -> Point<Px> {
        self.ends[0].lerp(self.ends[1], 0.5)
    }

    fn length_px(&self) -> f64 {
        self.ends[0].distance(self.ends[1])
    }
}

/// Reads a bar whose length is `length_mm`.
///
/// # Errors
/// `no-scale` when no bar with a label is found, `scale-doubtful` when several
/// of different length are.
pub fn find(photo: &Photo, length_mm: f64, offset_mm: Option<f64>) -> Result<Scale, Reason> {
    let mut candidates = search(photo);
    candidates.sort_by_key(|c| std::cmp::Reverse(c.letters));
    let Some(best) = candidates.first() else {
        return Err(Reason::new(
            Code::NoScale,
            "no drawn scale bar with its label beside it was found in the picture",
            "use a picture whose scale bar is straight, of one tone and labelled, or lay a steel rule in the plane of the section and use --scale rule-mm",
        ));
    };
    if let Some(other) = candidates[1..]
        .iter()
        .find(|c| (c.length_px() / best.length_px() - 1.0).abs() > 0.01)
    {
        return Err(Reason::new(
            Code::ScaleDoubtful,
            format!(
                "two strokes look like a scale bar: {:.0} px long near ({:.0}, {:.0}) px and {:.0} px long near ({:.0}, {:.0}) px",
                best.length_px(),
                best.ends[0].x,
                best.ends[0].y,
                other.length_px(),
                other.ends[0].x,
                other.ends[0].y
            ),
            "crop the picture so that one bar is left, or declare the pixels per millimetre: --scale declared:…",
        ));
    }
    build(photo, best, length_mm, offset_mm)
}

/// Where a labelled bar lies, when one alone was found: its middle.
pub fn seen(photo: &Photo) -> Option<Point<Px>> {
    match search(photo).as_slice() {
        [only] => Some(only.middle()),
        _ => None,
    }
}

fn build(
    photo: &Photo,
    bar: &Candidate,
    length_mm: f64,
    offset_mm: Option<f64>,
) -> Result<Scale, Reason> {
    let long_px = bar.length_px();
    let raw = long_px / length_mm;
    let half_diagonal_px = (photo.width as f64).hypot(photo.height as f64) / 2.0;
    let distance = Focal::of(photo).distance(half_diagonal_px / raw);
    let (factor, height) = budget::height(offset_mm, &distance);
    let px_per_mm = raw * factor;
    let map = PlaneMap::uniform(px_per_mm).ok_or_else(|| {
        Reason::new(
            Code::ScaleDoubtful,
            format!("a bar of {length_mm} mm gives no usable scale"),
            "give the bar's length in millimetres, for example --scale bar:5",
        )
    })?;
    let budget = budget::Budget {
        // Where the caps' thickness is counted, a rectangle; nothing without.
        fit: bar.residual_px.max(0.5).hypot(bar.cap_px / 12f64.sqrt()) / long_px,
        reference: budget::printed(length_mm).hypot(budget::unseen_tilt()),
        height,
    };
    let standard_uncertainty_rel = budget.combined();
    let middle = bar.middle();
    Ok(Scale {
        map,
        standard_uncertainty_rel,
        occupied: vec![bar.outline.clone()],
        coupon_id: None,
        facts: ScaleFacts {
            source: format!("bar:{length_mm}"),
            px_per_mm,
            standard_uncertainty_rel,
            tilt_deg: None,
            at_px: Some(middle.to_array()),
            evidence: ScaleEvidence {
                residual_px: Some(bar.residual_px),
                cross_checks: cross_checks(bar, length_mm),
                outline_px: bar.outline.iter().map(|p| p.to_array()).collect(),
                marks_px: bar.ends.iter().map(|p| p.to_array()).collect(),
                numbered: bar
                    .ends
                    .iter()
                    .zip([0.0, length_mm])
                    .map(|(end, mm)| NumberedMark {
                        at_px: end.to_array(),
                        place: format!("{mm} mm"),
                    })
                    .collect(),
                ..ScaleEvidence::default()
            },
        },
    })
}

/// What was taken for what, for the record.
fn cross_checks(bar: &Candidate, length_mm: f64) -> Vec<String> {
    let label = match bar.letters {
        1 => "a label too small to resolve".to_owned(),
        n => format!("{n} marks of a label"),
    };
    let mut lines = vec![
        format!(
            "A {} bar {:.1} px long with {label} beside it was taken as {length_mm} mm; the label was not read.",
            bar.ink.name(),
            bar.length_px(),
        ),
        "One bar shows neither tilt nor height; both are in the uncertainty.".to_owned(),
    ];
    if bar.cap_px > 0.0 {
        lines.push(format!(
            "The bar has end caps {:.1} px thick; its length was taken between their outer edges, and that it may be meant between their middles is in the uncertainty.",
            bar.cap_px
        ));
    }
    lines
}

/// How a raster stands out of its own ground, reduced.
struct Relief<'a> {
    raster: Cow<'a, Gray>,
    /// The samples, reduced.
    samples: Vec<f32>,
    /// Samples less the ground around them.
    heights: Vec<f32>,
    width: usize,
    factor: f64,
}

impl<'a> Relief<'a> {
    fn new(raster: Cow<'a, Gray>) -> Self {
        let (view, factor) = reduced(&raster, SEARCH_SAMPLES);
        let width = view.width();
        let (least, most) = view
            .samples()
            .iter()
            .fold((f32::MAX, f32::MIN), |(l, m), v| (l.min(*v), m.max(*v)));
        // A ground lies between the least and the largest sample.
        let heights = if most - least < CONTRAST {
            Vec::new()
        } else {
            let ground = gaussian_blur(&view, (GROUND * width as f64).max(LEAST_GROUND));
            let pairs = view.samples().iter().zip(ground.samples());
            pairs.map(|(v, g)| v - g).collect()
        };
        let samples = view.samples().to_vec();
        Self {
            raster,
            samples,
            heights,
            width,
            factor,
        }
    }

    fn patches(&self, ink: Ink) -> Vec<Patch> {
        let stands_out = |height: &f32| ink.sign() * height > CONTRAST;
        let mask: Vec<bool> = self.heights.iter().map(stands_out).collect();
        patches(&mask, self.width, self.factor)
    }

    /// Patches of samples that no lens and sensor gives: drawn into the picture
    /// they are told from any ground, also one almost as dark or bright.
    fn pure_patches(&self, ink: Ink) -> Vec<Patch> {
        let pure = |sample: &f32| match ink {
            Ink::Bright => *sample >= 255.0 - PURE,
            Ink::Dark => *sample <= PURE,
            Ink::Coloured => false,
        };
        let mask: Vec<bool> = self.samples.iter().map(pure).collect();
        patches(&mask, self.width, self.factor)
    }
}

fn search(photo: &Photo) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = Vec::new();
    let bright = Relief::new(Ink::Bright.raster(photo));
    for ink in Ink::ALL {
        // Dark strokes are the same relief's hollows.
        let coloured;
        let relief = match ink {
            Ink::Bright | Ink::Dark => &bright,
            Ink::Coloured => {
                coloured = Relief::new(ink.raster(photo));
                &coloured
            }
        };
        let raster = relief.raster.as_ref();
        let cuts = [
            (Cut::OffGround, relief.patches(ink)),
            (Cut::Pure, relief.pure_patches(ink)),
        ];
        for (cut, patches) in &cuts {
            for bar in patches.iter().filter(|p| is_slender(p, relief.factor)) {
                if in_a_comb(bar, patches) {
                    continue;
                }
                let label = label::beside(bar, patches).or_else(|| {
                    (ink == Ink::Coloured)
                        .then(|| label::unresolved(bar, patches))
                        .flatten()
                });
                let Some(candidate) = label.and_then(|l| candidate(raster, bar, l, ink, *cut))
                else {
                    continue;
                };
                // A yellow bar is both bright and coloured.
                let again = |c: &Candidate| {
                    c.middle().distance(candidate.middle()) < 0.25 * candidate.length_px()
                        && (c.length_px() / candidate.length_px() - 1.0).abs() < 0.1
                };
                if !found.iter().any(again) {
                    found.push(candidate);
                }
            }
        }
    }
    found
}

/// Whether a patch is as long and even as a bar.
fn is_slender(patch: &Patch, factor: f64) -> bool {
    patch.length >= 20.0 * factor
        && patch.length >= SLENDER * patch.width
        && patch.solid >= SOLID
        && patch.cap <= THICKEST_CAP * patch.length
}

/// Whether `bar` is one of several like strokes side by side, as the graduations
/// of a rule and the strokes of hatching are.
fn in_a_comb(bar: &Patch, patches: &[Patch]) -> bool {
    let like = |p: &&Patch| {
        let d = p.centre - bar.centre;
        (0.5..2.0).contains(&(p.width / bar.width))
            && (0.25..4.0).contains(&(p.length / bar.length))
            && p.length > SLENDER * p.width.min(bar.width)
            && p.axis.cross(bar.axis).abs() < 0.1
            && d.dot(d) > 0.0
            && d.dot(d) < (1.5 * bar.length).powi(2)
    };
    patches.iter().filter(like).take(3).count() == 3
}

/// The labelled stroke `bar` as a bar, when it is evenly drawn and ends clearly.
fn candidate(raster: &Gray, bar: &Patch, label: Label, ink: Ink, cut: Cut) -> Option<Candidate> {
    if !ends::is_drawn(raster, bar, &label, cut) {
        return None;
    }
    let (first, first_off) = ends::end(raster, bar, -1.0, ink, cut)?;
    let (last, last_off) = ends::end(raster, bar, 1.0, ink, cut)?;
    let across = bar.axis.turned();
    let half = (0.65 * bar.length).max(label.half_width + 0.1 * bar.length);
    let below = -(2.0 * bar.width).max(0.25 * label.reach);
    let corner = |a: f64, b: f64| bar.centre + bar.axis * (a * half) + across * (label.side * b);
    Some(Candidate {
        ends: [first, last],
        residual_px: 0.5 * first_off.hypot(last_off),
        cap_px: bar.cap,
        outline: vec![
            corner(-1.0, below),
            corner(1.0, below),
            corner(1.0, label.reach),
            corner(-1.0, label.reach),
        ],
        ink,
        letters: label.letters,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grey picture with a bar 240.5 px long and `letters` blocks over it.
    fn drawn(letters: usize, bar: u8, ground: u8) -> Photo {
        let (width, height) = (900, 600);
        let mut rgb = vec![ground; 3 * width * height];
        let mut fill = |x0: usize, x1: usize, y0: usize, y1: usize, tone: u8| {
            for y in y0..y1 {
                rgb[3 * (y * width + x0)..3 * (y * width + x1)].fill(tone);
            }
        };
        fill(500, 740, 400, 408, bar);
        // Half a pixel more at the right end.
        let part = ((u16::from(bar) + u16::from(ground)) / 2) as u8;
        fill(740, 741, 400, 408, part);
        for i in 0..letters {
            let x = 620 + 40 * i - 20 * letters + 8;
            fill(x, x + 24, 360, 384, bar);
        }
        Photo::from_rgb(width, height, rgb).expect("a photo")
    }

    #[test]
    fn a_labelled_bar_gives_its_length_to_a_fraction_of_a_pixel() {
        for (bar, ground) in [(250, 10), (10, 240), (245, 120), (0, 110)] {
            let scale = find(&drawn(3, bar, ground), 5.0, None).expect("a scale");
            assert!(
                (scale.facts.px_per_mm * 5.0 - 240.5).abs() < 0.4,
                "{}",
                scale.facts.px_per_mm
            );
        }
    }

    #[test]
    fn a_stroke_without_a_label_is_no_bar() {
        for letters in [0, 1, 2] {
            let reason = find(&drawn(letters, 250, 10), 5.0, None).expect_err("no bar");
            assert_eq!(reason.code, Code::NoScale);
        }
    }

    #[test]
    fn a_bar_nobody_told_the_length_of_is_pointed_out_not_guessed() {
        let asked = super::super::Request::of(super::super::Source::Auto);
        let reason = super::super::find(&drawn(3, 250, 10), &asked).expect_err("no length");
        assert_eq!(reason.code, Code::NoScale);
        assert!(
            reason.message.contains("(620, 404) px"),
            "{}",
            reason.message
        );
        assert!(reason.remedy.contains("--scale bar:"), "{}", reason.remedy);
        assert!(seen(&drawn(0, 250, 10)).is_none());
    }

    #[test]
    fn a_drawn_bar_that_runs_onto_a_ground_almost_its_own_is_read_to_its_end() {
        let mut photo = drawn(3, 0, 180);
        // The plate ends at x = 690; beyond it a bench of 18 ± 6 grey levels.
        for (i, v) in photo.rgb.chunks_exact_mut(3).enumerate() {
            let (x, y) = (i % 900, i / 900);
            let bar = (400..408).contains(&y) && x < 741;
            if x >= 690 && !bar {
                v.fill(12 + ((x * 7 + y * 13) % 13) as u8);
            }
        }
        let photo = Photo::from_rgb(900, 600, photo.rgb).expect("a photo");
        let scale = find(&photo, 5.0, None).expect("a scale");
        let length_px = scale.facts.px_per_mm * 5.0;
        assert!((length_px - 240.5).abs() < 1.0, "{length_px}");
    }

    #[test]
    fn a_faint_stroke_is_no_bar() {
        assert!(find(&drawn(3, 140, 110), 5.0, None).is_err());
    }

    #[test]
    fn a_bar_on_an_uneven_ground_is_no_bar() {
        let mut photo = drawn(3, 250, 10);
        for (i, v) in photo.rgb.chunks_exact_mut(3).enumerate() {
            // Broad stripes across the bar, as a bench or a rule would show.
            if v[0] < 100 && (i % 900) / 30 % 2 == 0 {
                v.fill(60);
            }
        }
        let photo = Photo::from_rgb(900, 600, photo.rgb).expect("a photo");
        assert!(find(&photo, 5.0, None).is_err());
    }
}
