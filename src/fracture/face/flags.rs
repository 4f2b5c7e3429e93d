//! What speaks against a photograph of a fracture face.

use super::{Face, LEAST_ASPECT};
use crate::base::geometry::{Point, Px, contains, length, nearest};
use crate::base::numeric::median;
use crate::photo::{Photo, check};
use crate::record::{Code, Reason};

/// Least confidence in the root side at which numbers are stated without a
/// reason: a face read upside down gets every number wrong.
/// Four to one for the least sure: most faces are far surer, so that by the odds
/// they are given (left out one at a time) one stated side in thirty is wrong.
pub const SURE: f64 = 0.8;

/// Distance from the picture's border, in face widths, below which a face goes
/// on outside: its edges are not found closer to a border than this.
const AT_BORDER: f64 = 0.12;

/// Share of the face that may be washed out, or black.
const LOST: f64 = 0.1;

/// Luma from which a sample is washed out.
const WASHED_OUT: f32 = 250.0;

/// Mean luma below which too few grey levels are left to tell zones apart: the
/// facets of a face scatter by about a third of its mean.
const DARK: f64 = 45.0;

/// A face's width when no scale is known, mm: half way in the usual 3 to 10.
const USUAL_WIDTH_MM: f64 = 6.0;

/// Widest face of a fillet weld, mm, and shortest and longest coupon.
const WIDEST_MM: f64 = 25.0;
const COUPON_MM: [f64; 2] = [20.0, 400.0];

/// Shortest face, px: 40 mm at 10 px/mm. The shortest coupons are hardly
/// shorter, and with fewer pixels a millimetre nothing is measured.
const SHORTEST_PX: f64 = 400.0;

/// Closed outline of a face.
pub(super) fn outline(face: &Face) -> Vec<Point<Px>> {
    face.root_px
        .iter()
        .chain(face.far_px.iter().rev())
        .copied()
        .collect()
}

/// Mean width of a face, px.
pub(super) fn width_px(face: &Face) -> f64 {
    crate::base::geometry::area(&outline(face)) / length(&face.root_px).max(1.0)
}

/// Whether the face runs into the picture's border.
pub(super) fn cropped(photo: &Photo, face: &Face) -> bool {
    let margin = AT_BORDER * width_px(face);
    face.root_px.iter().chain(&face.far_px).any(|p| {
        p.x.min(p.y) < margin
            || p.x > photo.width as f64 - margin
            || p.y > photo.height as f64 - margin
    })
}

/// Whether the sizes cannot be those of a broken fillet weld.
pub(super) fn impossible(face: &Face, px_per_mm: Option<f64>) -> bool {
    if length(&face.root_px) < SHORTEST_PX {
        return true;
    }
    if length(&face.root_px) < LEAST_ASPECT * width_px(face) {
        return true;
    }
    px_per_mm.is_some_and(|k| {
        let (width, length) = (width_px(face) / k, length(&face.root_px) / k);
        width > WIDEST_MM || !(COUPON_MM[0]..=COUPON_MM[1]).contains(&length)
    })
}

/// Distance from a scale reference, in face widths, at which an edge runs along it.
const ALONG_REFERENCE: f64 = 0.1;

/// Whether half of a long edge runs along a scale reference: that is bench between
/// coupon and reference. Beside a face lies a plate, or cap and plate.
pub(super) fn beside_reference(face: &Face, occupied: &[Vec<Point<Px>>]) -> bool {
    let reach = ALONG_REFERENCE * width_px(face);
    let at = |outline: &Vec<Point<Px>>, p: Point<Px>| {
        let closed: Vec<_> = outline.iter().chain(outline.first()).copied().collect();
        contains(outline, p) || nearest(&closed, p).is_some_and(|n| n.distance < reach)
    };
    [&face.root_px, &face.far_px].into_iter().any(|line| {
        let points = line.iter().step_by((line.len() / 50).max(1));
        let (n, near) = points.fold((0, 0), |(n, near), p| {
            (
                n + 1,
                near + usize::from(occupied.iter().any(|o| at(o, *p))),
            )
        });
        2 * near > n
    })
}

/// Whether too few grey levels are left on the face.
pub(super) fn too_dark(photo: &Photo, face: &Face) -> bool {
    light(photo, &outline(face)).0 < DARK
}

/// The reasons against numbers from this face.
pub(super) fn reasons(photo: &Photo, face: &Face, px_per_mm: Option<f64>) -> Vec<Reason> {
    let outline = outline(face);
    let scale = px_per_mm.unwrap_or(width_px(face) / USUAL_WIDTH_MM);
    let mut reasons: Vec<Reason> = check(photo, &outline, scale)
        .reasons
        .into_iter()
        .filter(|r| matches!(r.code, Code::OutOfFocus | Code::MotionBlur))
        .collect();
    if cropped(photo, face) {
        reasons.push(Reason::new(
            Code::Cropped,
            "the fracture face runs into the picture's edge",
            "take the photograph again with the whole coupon and a little background on every side",
        ));
    }
    if let Some(reason) = runs_into_glare(photo, face) {
        reasons.push(reason);
    }
    let (mean, washed_out) = light(photo, &outline);
    if washed_out > LOST && reasons.iter().all(|r| r.code != Code::Glare) {
        reasons.push(Reason::new(
            Code::Glare,
            format!("{:.0} % of the fracture face is washed out", 100.0 * washed_out),
            "light the face from two sides through paper, without flash, and take the photograph again",
        ));
    }
    if mean < DARK {
        reasons.push(underexposed(mean));
    }
    if !face.side_is_sure() {
        reasons.push(Reason::new(
            Code::Ambiguous,
            "it is not clear which long edge of the fracture face is the root",
            "say towards which border of the picture the root side lies, for example --root-side bottom; or take the photograph with more of both plates in the picture",
        ));
    }
    reasons
}

/// How far beyond an end of the face a washed-out place is looked for, widths …
const BEYOND: f64 = 3.0;
/// … in steps of this.
const STEP: f64 = 0.05;
/// Steps within which the border of a bright bench lies.
const SHARP: usize = 4;

/// A reason when the light rises from an end of the face gradually until it is
/// washed out: the face goes on there unseen. A bright bench begins at once.
pub(super) fn runs_into_glare(photo: &Photo, face: &Face) -> Option<Reason> {
    let n = face.root_px.len().min(face.far_px.len());
    let width = width_px(face);
    let at_end = |end: usize, inner: usize| {
        let (root, far) = (
            face.root_px[end],
            face.far_px[end.min(face.far_px.len() - 1)],
        );
        let out = (root - face.root_px[inner]).unit();
        let tones: Vec<f64> = (0..(BEYOND / STEP) as usize)
            .map(|i| {
                let shift = out * (i as f64 * STEP * width);
                let row: Vec<f64> = (0..=20)
                    .map(|k| root.lerp(far, f64::from(k) / 20.0) + shift)
                    .filter(|p| photo.luma.covers(p.x, p.y))
                    .map(|p| f64::from(photo.luma.sample(p.x, p.y)))
                    .collect();
                if row.is_empty() { 0.0 } else { median(&row) }
            })
            .collect();
        let white = tones
            .iter()
            .position(|t| *t >= f64::from(WASHED_OUT) - 5.0)?;
        let rise = tones[white] - tones[0];
        let steepest = (0..white)
            .map(|i| tones[(i + SHARP).min(white)] - tones[i])
            .fold(0.0, f64::max);
        (steepest < 0.5 * rise).then_some(())
    };
    let quarter = n / 4;
    (n > 8 && (at_end(0, quarter).is_some() || at_end(face.root_px.len() - 1, face.root_px.len() - 1 - quarter).is_some()))
        .then(|| {
            Reason::new(
                Code::Glare,
                "the fracture face runs into a washed-out place, where it cannot be seen how far it goes on",
                "light the face from two sides through paper, without flash, and take the photograph again",
            )
        })
}

/// Why nothing was found.
pub(super) fn nothing(photo: &Photo) -> Vec<Reason> {
    let samples = photo.luma.samples();
    let n = samples.len() as f64;
    let mean = samples.iter().map(|v| f64::from(*v)).sum::<f64>() / n;
    if mean < DARK {
        return vec![underexposed(mean)];
    }
    vec![Reason::new(
        Code::NotAFracture,
        "no fracture face of a fillet weld stands out in the picture",
        "photograph the broken coupon with its fracture face towards the camera, filling most of the picture's width; an unbroken weld has to be broken first",
    )]
}

fn underexposed(mean: f64) -> Reason {
    Reason::new(
        Code::Underexposed,
        format!("the fracture face is too dark: mean grey level {mean:.0} of 255"),
        "take the photograph again with more light or a longer exposure",
    )
}

/// Mean luma inside an outline, and the share that is washed out.
fn light(photo: &Photo, outline: &[Point<Px>]) -> (f64, f64) {
    let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (0.0f64, 0.0f64));
    for p in outline {
        low = (low.0.min(p.x), low.1.min(p.y));
        high = (high.0.max(p.x), high.1.max(p.y));
    }
    // A coarse outline and a grid of some ten thousand places are enough.
    let coarse: Vec<_> = outline
        .iter()
        .step_by((outline.len() / 120).max(1))
        .copied()
        .collect();
    let step = (((high.0 - low.0) * (high.1 - low.1)).max(1.0).sqrt() / 150.0).max(1.0);
    let (mut n, mut sum, mut white) = (0.0, 0.0, 0.0);
    let mut y = low.1;
    while y < high.1 {
        let mut x = low.0;
        while x < high.0 {
            if photo.luma.covers(x, y) && contains(&coarse, Point::new(x, y)) {
                let v = photo.luma.sample(x, y);
                n += 1.0;
                sum += f64::from(v);
                white += f64::from(u8::from(v >= WASHED_OUT));
            }
            x += step;
        }
        y += step;
    }
    if n > 0.0 {
        (sum / n, white / n)
    } else {
        (0.0, 0.0)
    }
}
