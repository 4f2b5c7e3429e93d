//! The annotated picture.
//!
//! Thin light lines with a dark halo, each kind with a pattern of its own so
//! that a black-and-white print still tells them apart; labels stand beside the
//! metal. A weld that is small in the photograph is shown in a closer view
//! with the whole photograph, small, underneath.

mod flaws;
pub(super) mod hatch;
mod labels;
mod passes;
pub(super) mod pen;
mod reference;
mod resample;
mod straight;
mod view;
pub(super) mod zones;

pub use straight::{Straightened, straightened};

pub use reference::{scale_paragraphs, scale_picture};

use super::ReportError;
use crate::base::rounding::stated;
use crate::record::{Finding, Kind, Measurement, Outlines, PlacePx, Reason, Record};
use image::ExtendedColorType;
use image::codecs::jpeg::JpegEncoder;
use labels::Labels;
use pen::{At, Pen, Style};
use resample::{Part, resample};
use tiny_skia::{IntSize, Pixmap};
use view::View;

const QUALITY: u8 = 88;
/// Height of the strip with the whole photograph, share of the closer view's.
const STRIP: f32 = 0.2;

pub(super) const WELD_METAL: Style = style([255, 214, 90], 2.0, &[]);
pub(super) const FACE: Style = style([255, 255, 255], 3.2, &[]);
pub(super) const FUSION: Style = style([120, 230, 255], 3.0, &[11.0, 5.0]);
pub(super) const SURFACE: Style = style([255, 255, 255], 1.4, &[9.0, 4.0, 2.0, 4.0]);
pub(super) const LEG: Style = style([255, 170, 90], 2.6, &[]);
pub(super) const THROAT: Style = style([150, 255, 150], 2.6, &[5.0, 3.0]);
pub(super) const PASS: Style = style([255, 214, 90], 1.4, &[2.0, 4.0]);
pub(super) const FLAW: Style = style([255, 130, 200], 1.6, &[]);
pub(super) const REFERENCE: Style = style([200, 200, 255], 1.4, &[3.0, 3.0]);
/// Height of a letter that a reason points with, line units.
const LETTER: f32 = 28.0;
pub(super) const FACE_STRIP: Style = style([255, 255, 255], 2.2, &[]);
pub(super) const ROOT_SIDE: Style = style([255, 255, 255], 3.6, &[14.0, 5.0]);
const MARK: Style = style([255, 255, 255], 2.0, &[]);
const FRAME: Style = style([20, 20, 20], 2.0, &[]);

const fn style(colour: [u8; 3], width: f32, dash: &'static [f32]) -> Style {
    Style {
        colour,
        width,
        dash,
    }
}

/// Draws what the record found into the photograph.
///
/// `photo_rgb` is interleaved 8-bit RGB, `width × height` px, upright (the
/// record's own frame). Returns a JPEG file with a longest side of at most
/// 1600 px, plus the strip under a closer view. A record without outlines gives the plain photograph.
///
/// # Errors
/// [`ReportError::SizeMismatch`] when the bytes do not fit the size;
/// [`ReportError::Surface`] and [`ReportError::Jpeg`] when there is no memory.
pub fn annotate(
    photo_rgb: &[u8],
    width: usize,
    height: usize,
    record: &Record,
) -> Result<Vec<u8>, ReportError> {
    check_size(photo_rgb, width, height)?;
    let view = View::choose(width, height, record);
    let picture = resample(photo_rgb, width, view.part, view.width, view.height);
    let mut pen = Pen::new(surface(picture, view.width, view.height)?);
    draw(&mut pen, &view, record);
    let finished = if view.close_up {
        with_strip(pen.into_surface(), &view, photo_rgb, width, height, record)?
    } else {
        pen.into_surface()
    };
    jpeg(&finished)
}

fn check_size(photo_rgb: &[u8], width: usize, height: usize) -> Result<(), ReportError> {
    let expected = width
        .checked_mul(height)
        .and_then(|pixels| pixels.checked_mul(3));
    if expected == Some(photo_rgb.len()) && !photo_rgb.is_empty() {
        return Ok(());
    }
    Err(ReportError::SizeMismatch {
        bytes: photo_rgb.len(),
        width,
        height,
    })
}

fn surface(rgba: Vec<u8>, width: usize, height: usize) -> Result<Pixmap, ReportError> {
    let (width, height) = (clip(width), clip(height));
    IntSize::from_wh(width, height)
        .and_then(|size| Pixmap::from_vec(rgba, size))
        .ok_or(ReportError::Surface { width, height })
}

fn clip(px: usize) -> u32 {
    u32::try_from(px).unwrap_or(u32::MAX)
}

fn jpeg(surface: &Pixmap) -> Result<Vec<u8>, ReportError> {
    // The surface is opaque everywhere, so premultiplied colour is colour.
    let rgba = surface.data();
    let mut rgb = vec![0u8; rgba.len() / 4 * 3];
    for (to, from) in rgb.chunks_exact_mut(3).zip(rgba.chunks_exact(4)) {
        to.copy_from_slice(&from[..3]);
    }
    let mut bytes = Vec::with_capacity(rgb.len() / 6);
    JpegEncoder::new_with_quality(&mut bytes, QUALITY).encode(
        &rgb,
        surface.width(),
        surface.height(),
        ExtendedColorType::Rgb8,
    )?;
    Ok(bytes)
}

/// All lines, then all labels.
fn draw(pen: &mut Pen, view: &View, record: &Record) {
    if let Some(scale) = &record.scale {
        pen.line(&view.places(&scale.evidence.outline_px), true, REFERENCE);
    }
    for other in &record.other_welds {
        pen.line(&view.places(&other.outlines_px.weld_metal), true, PASS);
    }
    let outlines = &record.outlines_px;
    passes::draw(pen, &passes::shown(&outlines.passes, view));
    for surface in &outlines.plates {
        pen.line(&view.places(surface), false, SURFACE);
    }
    surfaces_to_root(pen, view, outlines);
    pen.line(&view.places(&outlines.weld_metal), true, WELD_METAL);
    for boundary in [
        &outlines.fusion_boundary_butting,
        &outlines.fusion_boundary_nonbutting,
    ] {
        pen.line(&view.places(boundary), false, FUSION);
    }
    pen.line(&view.places(&outlines.face), false, FACE);
    pen.line(&view.places(&outlines.face_strip), true, FACE_STRIP);
    pen.line(&view.places(&outlines.root_side), false, ROOT_SIDE);
    for zone in &outlines.zones {
        if let Some(look) = zones::look(&zone.class) {
            zones::draw(pen, &view.places(&zone.outline), look);
        }
    }
    // On a fracture face every finding is a zone already.
    if record.kind == Kind::Section {
        flaws::draw(pen, view, &record.findings);
    }
    let dimensions = dimensions(record, view);
    for dimension in &dimensions {
        pen.dimension(dimension.from, dimension.to, dimension.style);
    }
    if let Some(root) = outlines.joint_root.and_then(|root| view.place(root)) {
        pen.cross(root, MARK);
    }
    for toe in outlines
        .toes
        .iter()
        .flat_map(|toes| [toes.butting, toes.nonbutting])
        .filter_map(|toe| view.place(toe))
    {
        pen.ring(toe, 7.0, MARK);
    }
    write_labels(pen, view, record, &dimensions);
    point_out(pen, view, &record.reasons);
}

/// The places that reasons name A, B …
fn point_out(pen: &mut Pen, view: &View, reasons: &[Reason]) {
    for reason in reasons {
        for (place, letter) in reason.at_px.iter().zip('A'..='Z') {
            let Some(at) = view.place(*place) else {
                continue;
            };
            pen.ring(at, 9.0, FLAW);
            // Beside the ring, and inside the picture.
            let size = pen.text_size(&letter.to_string(), LETTER);
            let room = [view.width as f32 - size[0], view.height as f32 - size[1]];
            let corner = [
                (at[0] + 12.0 * pen.unit).clamp(0.0, room[0].max(0.0)),
                (at[1] - 34.0 * pen.unit).clamp(0.0, room[1].max(0.0)),
            ];
            pen.text(&letter.to_string(), corner, LETTER, FLAW.colour, true);
        }
    }
}

/// The original surfaces between toe and joint root, where weld metal has
/// replaced them.
fn surfaces_to_root(pen: &mut Pen, view: &View, outlines: &Outlines) {
    let (Some(root), Some(toes)) = (outlines.joint_root, outlines.toes) else {
        return;
    };
    for toe in [toes.butting, toes.nonbutting] {
        pen.line(&view.places(&[root, toe]), false, SURFACE);
    }
}

/// A dimension line and its label.
struct Dimension {
    from: At,
    to: At,
    style: Style,
    label: String,
}

/// Legs and throat, from where the record says they are drawn.
fn dimensions(record: &Record, view: &View) -> Vec<Dimension> {
    let throat = ["inscribed_throat_mm", "actual_throat_mm"]
        .into_iter()
        .find(|name| drawn(record, name).is_some());
    [
        (Some("leg_butting_mm"), "leg", LEG),
        (Some("leg_nonbutting_mm"), "leg", LEG),
        (throat, "throat", THROAT),
    ]
    .into_iter()
    .filter_map(|(name, word, style)| {
        let (measurement, [from, to]) = drawn(record, name?)?;
        let (value, _) = stated(
            measurement.value?,
            measurement.expanded_uncertainty.unwrap_or(0.0),
            1,
        );
        Some(Dimension {
            from: view.place(from)?,
            to: view.place(to)?,
            style,
            label: format!("{word} {value} mm"),
        })
    })
    .collect()
}

fn drawn<'a>(record: &'a Record, name: &str) -> Option<(&'a Measurement, [PlacePx; 2])> {
    let measurement = record.measurements.get(name)?;
    measurement.value?;
    match measurement.drawn_px.as_slice() {
        [from, .., to] => Some((measurement, [*from, *to])),
        _ => None,
    }
}

fn write_labels(pen: &mut Pen, view: &View, record: &Record, dimensions: &[Dimension]) {
    let outlines = &record.outlines_px;
    let weld = view.places(&outlines.weld_metal);
    let face = view.places(&outlines.face_strip);
    let mut labels = Labels::new([view.width as f32, view.height as f32], vec![weld, face]);
    for line in outlines.plates.iter().chain([&outlines.face]) {
        labels.reserve(&view.places(line), 4.0 * pen.unit);
    }
    let root = outlines.joint_root.and_then(|root| view.place(root));
    // Out of the corner, through the middle between the toes: the air.
    let into_air = match (root, outlines.toes) {
        (Some(root), Some(toes)) => view
            .place([
                (toes.butting[0] + toes.nonbutting[0]) / 2.0,
                (toes.butting[1] + toes.nonbutting[1]) / 2.0,
            ])
            .map(|middle| unit([middle[0] - root[0], middle[1] - root[1]])),
        _ => None,
    };
    for dimension in dimensions {
        let Dimension { from, to, .. } = dimension;
        let along = unit([to[0] - from[0], to[1] - from[1]]);
        // Leg labels: beyond the toe and away from the plate. The throat's
        // label: straight on, beyond the face.
        let direction = match into_air {
            Some(air) => [along[0] + 1.4 * air[0], along[1] + 1.4 * air[1]],
            None => along,
        };
        labels.write(pen, &dimension.label, *to, direction);
    }
    passes::label(pen, &mut labels, &passes::shown(&outlines.passes, view));
    match record.kind {
        Kind::Section => flaws::label(pen, view, &record.findings, &mut labels, into_air),
        Kind::Fracture => number_zones(pen, view, &record.findings, &mut labels),
    }
    if let [first, .., last] = view.places(&outlines.root_side)[..] {
        let middle = [(first[0] + last[0]) / 2.0, (first[1] + last[1]) / 2.0];
        labels.write(
            pen,
            "root side",
            middle,
            away(middle, &view.places(&outlines.face_strip)),
        );
    }
    if let Some(scale) = &record.scale {
        let corners = view.places(&scale.evidence.outline_px);
        let inside = |p: &&At| {
            (0.0..view.width as f32).contains(&p[0]) && (0.0..view.height as f32).contains(&p[1])
        };
        if let Some(&corner) = corners.iter().find(inside) {
            labels.write(pen, "scale", corner, [0.0, -1.0]);
        }
    }
}

/// The numbers under which the page lists what a fracture face shows.
fn number_zones(pen: &mut Pen, view: &View, findings: &[Finding], labels: &mut Labels) {
    for (number, finding) in (1..).zip(findings) {
        let places = view.places(if finding.outline_px.is_empty() {
            &finding.polyline_px
        } else {
            &finding.outline_px
        });
        if let Some(&first) = places.first() {
            labels.write(pen, &number.to_string(), first, [0.0, -1.0]);
        }
    }
}

/// From the middle of an outline through a point of it: outwards.
fn away(from: At, outline: &[At]) -> At {
    let n = (outline.len() as f32).max(1.0);
    let [x, y] = outline
        .iter()
        .fold([0.0, 0.0], |[x, y], p| [x + p[0] / n, y + p[1] / n]);
    unit([from[0] - x, from[1] - y])
}

fn unit([x, y]: At) -> At {
    let length = x.hypot(y);
    if length > f32::EPSILON {
        [x / length, y / length]
    } else {
        [0.0, -1.0]
    }
}

/// The closer view with the whole photograph underneath, a frame showing
/// which part is above.
fn with_strip(
    close: Pixmap,
    view: &View,
    photo_rgb: &[u8],
    width: usize,
    height: usize,
    record: &Record,
) -> Result<Pixmap, ReportError> {
    let margin = 12usize;
    let room = (view.height as f32 * STRIP).max(120.0) as usize;
    let scale = (room as f64 / height as f64).min(view.width as f64 * 0.5 / width as f64);
    let small = View {
        part: Part {
            x: 0,
            y: 0,
            width,
            height,
        },
        width: ((width as f64 * scale) as usize).max(1),
        height: ((height as f64 * scale) as usize).max(1),
        close_up: false,
    };
    let whole = surface(
        resample(photo_rgb, width, small.part, small.width, small.height),
        small.width,
        small.height,
    )?;
    let (out_width, out_height) = (
        clip(view.width),
        clip(view.height + small.height + 2 * margin),
    );
    let mut pen = Pen::new(
        Pixmap::new(out_width, out_height).ok_or(ReportError::Surface {
            width: out_width,
            height: out_height,
        })?,
    );
    pen.fill(
        [0.0, 0.0],
        [out_width as f32, out_height as f32],
        [255, 255, 255],
    );
    pen.paste(&close, 0, 0);
    let corner = [margin as f32, (view.height + margin) as f32];
    pen.paste(&whole, corner[0] as i32, corner[1] as i32);
    let shift = |px: &[PlacePx]| -> Vec<At> {
        small
            .places(px)
            .into_iter()
            .map(|[x, y]| [x + corner[0], y + corner[1]])
            .collect()
    };
    let part = view.part;
    let (left, upper) = (part.x as f64, part.y as f64);
    let (right, lower) = (left + part.width as f64, upper + part.height as f64);
    let frame = [[left, upper], [right, upper], [right, lower], [left, lower]];
    pen.line(&shift(&frame), true, MARK);
    if let Some(scale) = &record.scale {
        pen.line(&shift(&scale.evidence.outline_px), true, REFERENCE);
    }
    let text_x = corner[0] + small.width as f32 + 2.0 * margin as f32;
    let size = 20.0;
    let line_height = pen.text_size("x", size)[1];
    for (i, text) in ["The whole photograph.", "The frame is the part above."]
        .into_iter()
        .enumerate()
    {
        let at = [text_x, corner[1] + i as f32 * line_height];
        pen.text(text, at, size, FRAME.colour, false);
    }
    Ok(pen.into_surface())
}
