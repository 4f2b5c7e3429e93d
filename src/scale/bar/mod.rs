//! A drawn scale bar, burnt into the picture or printed on a label: a straight
//! solid stroke with its length written beside it.
//!
//! The bar's length is never guessed: the person says it (`bar:5`). A stroke
//! counts as a bar only with small marks of the same tone in a row beside it,
//! as the letters of "5 mm" are; a plate edge, a scratch or a rule's tick has
//! none. Two equally good strokes of different length are `scale-doubtful`.

use super::{PlaneMap, Scale, budget};
use crate::base::geometry::{Point, Px, Vector};
use crate::base::numeric::quantile;
use crate::base::raster::{gaussian_blur, reduced};
use crate::photo::Photo;
use crate::record::{Code, Reason, ScaleEvidence, ScaleFacts};

/// Samples the search works on at most; the ends are located at full size.
const SEARCH_SAMPLES: usize = 1_600_000;
/// Grey levels by which a stroke stands out of its ground.
const CONTRAST: f32 = 45.0;
/// Length against width of a bar, at least.
const SLENDER: f64 = 5.0;
/// Share of its own rectangle a bar fills, at least.
const SOLID: f64 = 0.85;
/// Largest spread of tone along a bar, and along the ground at both its sides,
/// grey levels: a drawing is even, a bench or a plate is not.
const EVEN: f64 = 12.0;
/// How far from the bar's middle its label may sit, as a share of its length.
const CENTRED: f64 = 0.12;
/// Size of a letter against the bar's width.
const LETTER_OF_WIDTH: (f64, f64) = (1.0, 12.0);
/// Letters beside a bar, at least ("5 mm" has three). Two would let a rule's
/// tick with its numeral pass.
const LETTERS: usize = 3;
/// Focal length as a multiple of the picture's diagonal, for the usual camera.
const FOCAL_DIAGONALS: f64 = 1.6;
/// Tilt of the picture plane a drawn bar cannot show, degrees: its cosine
/// widens the uncertainty.
const UNSEEN_TILT_DEG: f64 = 6.0;

/// A connected patch of one tone.
struct Patch {
    area: f64,
    centre: Point<Px>,
    /// Unit direction of its longer axis.
    axis: Vector<Px>,
    length: f64,
    width: f64,
}

/// A stroke with letters beside it.
struct Candidate {
    ends: [Point<Px>; 2],
    outline: Vec<Point<Px>>,
    bright: bool,
    letters: usize,
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
    let long = |c: &Candidate| c.ends[0].distance(c.ends[1]);
    if let Some(other) = candidates[1..]
        .iter()
        .find(|c| (long(c) / long(best) - 1.0).abs() > 0.01)
    {
        return Err(Reason::new(
            Code::ScaleDoubtful,
            format!(
                "two strokes look like a scale bar: {:.0} px long near ({:.0}, {:.0}) px and {:.0} px long near ({:.0}, {:.0}) px",
                long(best),
                best.ends[0].x,
                best.ends[0].y,
                long(other),
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
        [only] => Some(only.ends[0].lerp(only.ends[1], 0.5)),
        _ => None,
    }
}

fn build(
    photo: &Photo,
    bar: &Candidate,
    length_mm: f64,
    offset_mm: Option<f64>,
) -> Result<Scale, Reason> {
    let long_px = bar.ends[0].distance(bar.ends[1]);
    let raw = long_px / length_mm;
    let focal_px = FOCAL_DIAGONALS * (photo.width as f64).hypot(photo.height as f64);
    let (factor, height) = budget::height(offset_mm, focal_px / raw);
    let px_per_mm = raw * factor;
    let map = PlaneMap::uniform(px_per_mm).ok_or_else(|| {
        Reason::new(
            Code::ScaleDoubtful,
            format!("a bar of {length_mm} mm gives no usable scale"),
            "give the bar's length in millimetres, for example --scale bar:5",
        )
    })?;
    let tilt = (1.0 - UNSEEN_TILT_DEG.to_radians().cos()) / 3f64.sqrt();
    let budget = budget::Budget {
        fit: 0.5 / long_px,
        reference: budget::printed(length_mm).hypot(tilt),
        height,
    };
    let standard_uncertainty_rel = budget.combined();
    let middle = bar.ends[0].lerp(bar.ends[1], 0.5);
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
                cross_checks: vec![
                    format!(
                        "A {} bar {long_px:.1} px long with {} marks of a label beside it was taken as {length_mm} mm; the label was not read.",
                        if bar.bright { "bright" } else { "dark" },
                        bar.letters
                    ),
                    "One bar shows neither tilt nor height; both are in the uncertainty."
                        .to_owned(),
                ],
                outline_px: bar.outline.iter().map(|p| p.to_array()).collect(),
                marks_px: bar.ends.iter().map(|p| p.to_array()).collect(),
                ..ScaleEvidence::default()
            },
        },
    })
}

fn search(photo: &Photo) -> Vec<Candidate> {
    let (view, factor) = reduced(&photo.luma, SEARCH_SAMPLES);
    let ground = gaussian_blur(&view, 0.012 * view.width() as f64);
    let mut found = Vec::new();
    for bright in [true, false] {
        let sign = if bright { 1.0 } else { -1.0 };
        let mask: Vec<bool> = view
            .samples()
            .iter()
            .zip(ground.samples())
            .map(|(v, g)| sign * (v - g) > CONTRAST)
            .collect();
        let patches = patches(&mask, view.width(), factor);
        for bar in &patches {
            let solid = bar.area / (bar.length * bar.width);
            if bar.length < 20.0 * factor || bar.length < SLENDER * bar.width || solid < SOLID {
                continue;
            }
            if let Some(candidate) = with_label(photo, bar, &patches, bright) {
                found.push(candidate);
            }
        }
    }
    found
}

/// Connected patches (eight neighbours) with their moments.
fn patches(mask: &[bool], width: usize, factor: f64) -> Vec<Patch> {
    let height = mask.len() / width;
    let mut seen = vec![false; mask.len()];
    let mut found = Vec::new();
    for start in 0..mask.len() {
        if !mask[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        let mut stack = vec![start];
        let (mut n, mut sx, mut sy, mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        while let Some(i) = stack.pop() {
            let (col, row) = (i % width, i / width);
            let (x, y) = (col as f64 + 0.5, row as f64 + 0.5);
            n += 1.0;
            sx += x;
            sy += y;
            sxx += x * x;
            sxy += x * y;
            syy += y * y;
            for r in row.saturating_sub(1)..=(row + 1).min(height - 1) {
                for c in col.saturating_sub(1)..=(col + 1).min(width - 1) {
                    let j = r * width + c;
                    if mask[j] && !seen[j] {
                        seen[j] = true;
                        stack.push(j);
                    }
                }
            }
        }
        if n < 4.0 {
            continue;
        }
        let (mx, my) = (sx / n, sy / n);
        // A sample is a square: its own second moment is 1/12.
        let (xx, yy, xy) = (
            sxx / n - mx * mx + 1.0 / 12.0,
            syy / n - my * my + 1.0 / 12.0,
            sxy / n - mx * my,
        );
        let (half, root) = (0.5 * (xx + yy), (0.25 * (xx - yy).powi(2) + xy * xy).sqrt());
        found.push(Patch {
            area: n * factor * factor,
            centre: Point::new(mx * factor, my * factor),
            axis: Vector::from_angle(0.5 * (2.0 * xy).atan2(xx - yy)),
            length: (12.0 * (half + root)).sqrt() * factor,
            width: (12.0 * (half - root).max(0.0)).sqrt() * factor,
        });
    }
    found
}

/// The bar with the row of letters beside it, when there is one.
fn with_label(photo: &Photo, bar: &Patch, patches: &[Patch], bright: bool) -> Option<Candidate> {
    let across = bar.axis.turned();
    let mut best: Option<(usize, f64, f64)> = None;
    for side in [1.0, -1.0] {
        // Letters: smaller than the bar, off it by up to half its length, over it.
        let letters: Vec<(f64, f64, f64)> = patches
            .iter()
            .filter_map(|p| {
                let d = p.centre - bar.centre;
                let (along, off) = (d.dot(bar.axis), side * d.dot(across));
                let size = p.length.max(p.width);
                let fits = along.abs() < 0.6 * bar.length
                    && off > bar.width
                    && off < (0.75 * bar.length).max(6.0 * bar.width)
                    && size < 0.6 * bar.length
                    && size >= LETTER_OF_WIDTH.0 * bar.width
                    && size <= LETTER_OF_WIDTH.1 * bar.width;
                fits.then_some((off, size, along))
            })
            .collect();
        if letters.len() < LETTERS {
            continue;
        }
        let low = letters.iter().map(|l| l.0).fold(f64::INFINITY, f64::min);
        let high = letters.iter().map(|l| l.0).fold(0.0, f64::max);
        let tallest = letters.iter().map(|l| l.1).fold(0.0, f64::max);
        // One row, and few enough to be a label.
        if high - low > tallest || letters.len() > 12 {
            continue;
        }
        let from = letters
            .iter()
            .map(|l| l.2 - 0.5 * l.1)
            .fold(f64::INFINITY, f64::min);
        let to = letters
            .iter()
            .map(|l| l.2 + 0.5 * l.1)
            .fold(f64::NEG_INFINITY, f64::max);
        if (0.5 * (from + to)).abs() > CENTRED * bar.length || to - from > bar.length {
            continue;
        }
        if best.is_none_or(|b| letters.len() > b.0) {
            best = Some((letters.len(), side, high + 0.6 * tallest));
        }
    }
    let (letters, side, reach) = best?;
    // Even along the bar, and along the ground on both its sides.
    let spread = |off: f64, share: f64| {
        let tones: Vec<f64> = (0..=60)
            .map(|i| {
                let t = 0.5 * bar.length * share * (f64::from(i) / 30.0 - 1.0);
                // Sensor noise is no unevenness: means over a few pixels.
                let near = (-4..=4).map(|k| {
                    let p = bar.centre + bar.axis * (t + f64::from(k)) + across * off;
                    f64::from(photo.luma.sample(p.x, p.y))
                });
                near.sum::<f64>() / 9.0
            })
            .collect();
        quantile(&tones, 0.9) - quantile(&tones, 0.1)
    };
    let beside = 0.5 * bar.width + 0.5 * bar.width.clamp(4.0, 12.0);
    if spread(0.0, 0.9) > EVEN
        || spread(side * beside, 0.9) > EVEN
        || spread(-side * beside, 0.9) > EVEN
    {
        return None;
    }
    let ends = [-1.0, 1.0].map(|s| end(photo, bar, s, bright));
    let ends = [ends[0]?, ends[1]?];
    let half = 0.65 * bar.length;
    let corner = |a: f64, b: f64| bar.centre + bar.axis * (a * half) + across * (side * b);
    let below = -(2.0 * bar.width).max(0.25 * reach);
    Some(Candidate {
        ends,
        outline: vec![
            corner(-1.0, below),
            corner(1.0, below),
            corner(1.0, reach),
            corner(-1.0, reach),
        ],
        bright,
        letters,
    })
}

/// One end of the bar: where the mean tone across the bar's middle half falls
/// to half way between bar and ground.
fn end(photo: &Photo, bar: &Patch, sign: f64, bright: bool) -> Option<Point<Px>> {
    let across = bar.axis.turned();
    let tone = |t: f64| {
        let rows = 5;
        let sum: f32 = (0..rows)
            .map(|i| {
                let off = bar.width * 0.5 * (f64::from(i) / f64::from(rows - 1) - 0.5);
                let p = bar.centre + bar.axis * (sign * t) + across * off;
                photo.luma.sample(p.x, p.y)
            })
            .sum();
        sum / rows as f32
    };
    let mean = |from: f64, to: f64| {
        (0..12)
            .map(|i| tone(from + (to - from) * f64::from(i) / 11.0))
            .sum::<f32>()
            / 12.0
    };
    let reach = 0.5 * bar.length;
    let margin = (0.6 * bar.width).clamp(3.0, 0.15 * bar.length);
    let inside = mean(0.5 * reach, reach - margin);
    let outside = mean(reach + margin, reach + 1.5 * margin + 1.0);
    let contrast = inside - outside;
    if contrast.abs() < CONTRAST || (contrast > 0.0) != bright {
        return None;
    }
    let half = 0.5 * (inside + outside);
    let mut t = reach - margin;
    let step = 0.25;
    while t < reach + margin {
        let (a, b) = (tone(t) - half, tone(t + step) - half);
        if a * contrast >= 0.0 && b * contrast < 0.0 {
            let at = t + step * f64::from(a / (a - b));
            return Some(bar.centre + bar.axis * (sign * at));
        }
        t += step;
    }
    None
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
