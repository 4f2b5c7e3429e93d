//! The picture of a scale reading: every mark used, numbered, and the figures
//! under it.

use super::pen::{At, Pen};
use super::resample::resample;
use super::view::View;
use super::{FRAME, MARK, REFERENCE, check_size, clip, jpeg, point_out, surface};
use crate::base::rounding::plain;
use crate::record::{Reason, ScaleFacts};
use crate::report::ReportError;
use tiny_skia::Pixmap;

/// Height of a mark's number and of the figures below, line units.
const NUMBER: f32 = 15.0;
const FIGURES: f32 = 17.0;
/// Room round the figures, px.
const MARGIN: f32 = 14.0;

/// Draws how a scale was read, or what speaks against reading one.
///
/// `photo_rgb` is interleaved 8-bit RGB, `width × height` px, upright. Returns a
/// JPEG file with the photograph (or the part about the reference, when that is
/// small in it) at no more than 1600 px, and the figures underneath.
///
/// # Errors
/// As [`annotate`](super::annotate).
pub fn scale_picture(
    photo_rgb: &[u8],
    width: usize,
    height: usize,
    read: Result<&ScaleFacts, &[Reason]>,
) -> Result<Vec<u8>, ReportError> {
    check_size(photo_rgb, width, height)?;
    let scale = read.ok();
    let reference = scale.iter().flat_map(|s| {
        let marks = s.evidence.numbered.iter().map(|m| &m.at_px);
        s.evidence.outline_px.iter().chain(marks)
    });
    let view = View::around(width, height, reference);
    let picture = resample(photo_rgb, width, view.part, view.width, view.height);
    let mut pen = Pen::new(surface(picture, view.width, view.height)?);
    match read {
        Ok(scale) => draw(&mut pen, &view, scale),
        Err(reasons) => point_out(&mut pen, &view, reasons),
    }
    jpeg(&with_figures(pen, &figures(read))?)
}

fn draw(pen: &mut Pen, view: &View, scale: &ScaleFacts) {
    let evidence = &scale.evidence;
    pen.line(&view.places(&evidence.outline_px), true, REFERENCE);
    for mark in view.places(&evidence.marks_px) {
        let r = 2.5 * pen.unit;
        pen.fill([mark[0] - r, mark[1] - r], [2.0 * r, 2.0 * r], [20, 20, 20]);
        let r = 1.5 * pen.unit;
        pen.fill(
            [mark[0] - r, mark[1] - r],
            [2.0 * r, 2.0 * r],
            REFERENCE.colour,
        );
    }
    // A number wherever there is room for one: they stay readable, and those
    // between are counted from them.
    let mut written: Vec<[At; 2]> = Vec::new();
    for mark in &evidence.numbered {
        let Some(at) = view.place(mark.at_px) else {
            continue;
        };
        let size = pen.text_size(&mark.place, NUMBER);
        let corner = [at[0] + 4.0 * pen.unit, at[1] + 4.0 * pen.unit];
        let free = written.iter().all(|[c, s]| {
            corner[0] > c[0] + s[0] + 6.0
                || c[0] > corner[0] + size[0] + 6.0
                || corner[1] > c[1] + s[1]
                || c[1] > corner[1] + size[1]
        });
        if free {
            pen.text(&mark.place, corner, NUMBER, MARK.colour, true);
            written.push([corner, size]);
        }
    }
}

/// The figures in words, a paragraph each.
fn figures(read: Result<&ScaleFacts, &[Reason]>) -> Vec<String> {
    match read {
        Ok(scale) => scale_paragraphs(scale),
        Err(reasons) => reasons
            .iter()
            .flat_map(|r| {
                [
                    format!("No scale: {}.", r.message),
                    format!("What to do: {}.", r.remedy),
                ]
            })
            .collect(),
    }
}

/// What a scale reading says, a paragraph each: the scale, the marks, the checks.
pub fn scale_paragraphs(scale: &ScaleFacts) -> Vec<String> {
    let evidence = &scale.evidence;
    let mut marks = Vec::new();
    marks.extend(evidence.ticks.map(|n| format!("{n} graduations")));
    marks.extend(evidence.corners.map(|n| format!("{n} corners")));
    marks.extend(
        evidence
            .residual_px
            .map(|r| format!("residual {} px", plain(r, 2))),
    );
    marks.extend(scale.tilt_deg.map(|t| format!("tilt {}°", plain(t, 1))));
    let mut all = vec![format!(
        "{}: {} px a millimetre at the middle of the picture, ± {} % (k = 2)",
        scale.source,
        plain(scale.px_per_mm, 3),
        plain(200.0 * scale.standard_uncertainty_rel, 2)
    )];
    if !marks.is_empty() {
        all.push(marks.join(", "));
    }
    all.extend(evidence.cross_checks.iter().cloned());
    all
}

/// The picture with the figures under it.
fn with_figures(pen: Pen, paragraphs: &[String]) -> Result<Pixmap, ReportError> {
    let unit = pen.unit;
    let line_height = pen.text_size("x", FIGURES)[1];
    let picture_width = pen.width();
    let lines: Vec<String> = paragraphs
        .iter()
        .flat_map(|text| wrapped(&pen, text, picture_width - 2.0 * MARGIN))
        .collect();
    let picture = pen.into_surface();
    let room = 2.0 * MARGIN + lines.len() as f32 * line_height;
    let (width, height) = (
        picture.width(),
        clip(picture.height() as usize + room.ceil() as usize),
    );
    let sheet = Pixmap::new(width, height).ok_or(ReportError::Surface { width, height })?;
    let mut pen = Pen::with_unit(sheet, unit);
    pen.fill([0.0, 0.0], [width as f32, height as f32], [255, 255, 255]);
    pen.paste(&picture, 0, 0);
    let top = picture.height() as f32 + MARGIN;
    for (i, line) in lines.iter().enumerate() {
        let corner = [MARGIN, top + i as f32 * line_height];
        pen.text(line, corner, FIGURES, FRAME.colour, false);
    }
    Ok(pen.into_surface())
}

/// The text in lines no wider than `room` px, broken between words.
fn wrapped(pen: &Pen, text: &str, room: f32) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let longer = if lines[last].is_empty() {
            word.to_owned()
        } else {
            format!("{} {word}", lines[last])
        };
        if lines[last].is_empty() || pen.text_size(&longer, FIGURES)[0] <= room {
            lines[last] = longer;
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Code, NumberedMark, ScaleEvidence};

    fn facts() -> ScaleFacts {
        ScaleFacts {
            source: "rule-mm".to_owned(),
            px_per_mm: 20.0,
            standard_uncertainty_rel: 0.002,
            tilt_deg: Some(3.0),
            at_px: None,
            evidence: ScaleEvidence {
                ticks: Some(11),
                residual_px: Some(0.2),
                cross_checks: vec!["the halves agree ".repeat(30)],
                numbered: (0..11)
                    .map(|i| NumberedMark {
                        at_px: [100.0 + 20.0 * f64::from(i), 300.0],
                        place: format!("{i} mm"),
                    })
                    .collect(),
                ..ScaleEvidence::default()
            },
        }
    }

    fn size_of(jpeg: &[u8]) -> (u32, u32) {
        let picture = image::load_from_memory(jpeg).unwrap();
        (picture.width(), picture.height())
    }

    #[test]
    fn the_figures_stand_under_the_photograph() {
        let grey = vec![128u8; 1200 * 900 * 3];
        let facts = facts();
        let (width, height) = size_of(&scale_picture(&grey, 1200, 900, Ok(&facts)).unwrap());
        assert!(width >= 1000, "{width}");
        // More than the photograph's own shape.
        assert!(
            height as f32 > 0.75 * width as f32 + 100.0,
            "{width} x {height}"
        );
        assert!(scale_picture(&grey, 1201, 900, Ok(&facts)).is_err());
    }

    #[test]
    fn long_paragraphs_are_broken_between_words_and_nothing_is_lost() {
        let pen = Pen::new(Pixmap::new(400, 100).unwrap());
        let text = "one two three ".repeat(20);
        let lines = wrapped(&pen, &text, 300.0);
        assert!(lines.len() > 3);
        assert!(lines.iter().all(|l| pen.text_size(l, FIGURES)[0] <= 300.0));
        let words: Vec<&str> = lines.iter().flat_map(|l| l.split_whitespace()).collect();
        assert_eq!(words, text.split_whitespace().collect::<Vec<_>>());
    }

    #[test]
    fn a_refusal_points_at_its_places() {
        let grey = vec![128u8; 1200 * 900 * 3];
        let plain = [Reason::new(Code::ScaleDoubtful, "no unit", "lay it flat")];
        let pointing = [plain[0]
            .clone()
            .pointing_at(vec![[200.0, 200.0], [900.0, 600.0]])];
        let without = scale_picture(&grey, 1200, 900, Err(&plain)).unwrap();
        let with = scale_picture(&grey, 1200, 900, Err(&pointing)).unwrap();
        let (without, with) = (
            image::load_from_memory(&without).unwrap().into_rgb8(),
            image::load_from_memory(&with).unwrap().into_rgb8(),
        );
        let changed = |x: u32, y: u32| {
            let (mut most, r) = (0u8, 14);
            for (i, j) in (x - r..x + r).flat_map(|i| (y - r..y + r).map(move |j| (i, j))) {
                most = most.max(with.get_pixel(i, j)[1].abs_diff(without.get_pixel(i, j)[1]));
            }
            most
        };
        assert!(changed(200, 200) > 60 && changed(900, 600) > 60);
        assert!(changed(600, 200) < 20);
    }
}
