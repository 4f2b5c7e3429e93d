//! Lines and letters that stay readable on any metal: light, with a dark halo.

use ab_glyph::{Font, FontRef, OutlineCurve, PxScale, ScaleFont};
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Mask, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash,
    Transform,
};

static FONT: &[u8] = include_bytes!("../assets/DejaVuSans-Bold.ttf");

/// A point of the drawing surface, px.
pub type At = [f32; 2];

/// How a line looks. The pattern, not only the colour, tells lines apart.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// Red, green, blue.
    pub colour: [u8; 3],
    /// Width in line units.
    pub width: f32,
    /// Drawn and left out, in turn, in line units; empty for a solid line.
    pub dash: &'static [f32],
}

/// A drawing surface with a unit that grows with it.
pub struct Pen {
    surface: Pixmap,
    /// Px a line unit: 1 at a surface of about 1200 px.
    pub unit: f32,
    mask: Option<Mask>,
    font: Option<FontRef<'static>>,
}

impl Pen {
    /// Draws on `surface`.
    pub fn new(surface: Pixmap) -> Self {
        let longest = surface.width().max(surface.height()) as f32;
        Self::with_unit(surface, (longest / 1200.0).clamp(0.7, 2.2))
    }

    /// Draws on `surface` with lines and letters as large as `unit` says.
    pub fn with_unit(surface: Pixmap, unit: f32) -> Self {
        Self {
            surface,
            unit,
            mask: None,
            font: FontRef::try_from_slice(FONT).ok(),
        }
    }

    /// The finished surface.
    pub fn into_surface(self) -> Pixmap {
        self.surface
    }

    /// Width of the surface, px.
    pub fn width(&self) -> f32 {
        self.surface.width() as f32
    }

    /// A line through points.
    pub fn line(&mut self, points: &[At], closed: bool, style: Style) {
        let Some(path) = polyline(points, closed) else {
            return;
        };
        let width = style.width * self.unit;
        self.stroke(&path, [0, 0, 0], 0.55, width + 2.4 * self.unit, &[]);
        self.stroke(&path, style.colour, 1.0, width, style.dash);
    }

    /// Many short lines at once, none dashed: drawn as one, all halos below
    /// all lines.
    pub fn lines(&mut self, lines: &[[At; 2]], style: Style) {
        let Some(path) = segments(lines) else {
            return;
        };
        let width = style.width * self.unit;
        self.stroke(&path, [0, 0, 0], 0.55, width + 2.4 * self.unit, &[]);
        self.stroke(&path, style.colour, 1.0, width, &[]);
    }

    /// Many short lines on paper.
    pub fn plain_lines(&mut self, lines: &[[At; 2]], width: f32, colour: [u8; 3]) {
        if let Some(path) = segments(lines) {
            self.stroke(&path, colour, 1.0, width * self.unit, &[]);
        }
    }

    /// A line on paper: no halo; `width` in line units.
    pub fn plain_line(&mut self, points: &[At], closed: bool, width: f32, colour: [u8; 3]) {
        if let Some(path) = polyline(points, closed) {
            self.stroke(&path, colour, 1.0, width * self.unit, &[]);
        }
    }

    /// Until [`unclip`](Self::unclip), lines are drawn inside this area only:
    /// left, upper, right, lower edge.
    pub fn clip(&mut self, [left, upper, right, lower]: [f32; 4]) {
        let mut mask = Mask::new(self.surface.width(), self.surface.height());
        let area = tiny_skia::Rect::from_ltrb(left, upper, right, lower);
        if let (Some(mask), Some(area)) = (&mut mask, area) {
            let path = PathBuilder::from_rect(area);
            mask.fill_path(&path, FillRule::Winding, false, Transform::identity());
        }
        self.mask = mask;
    }

    /// Lines are drawn everywhere again.
    pub fn unclip(&mut self) {
        self.mask = None;
    }

    /// A filled rectangle that lets what is under it shine through.
    pub fn veil(&mut self, corner: At, size: At, colour: [u8; 3], alpha: f32) {
        if let Some(area) = tiny_skia::Rect::from_xywh(corner[0], corner[1], size[0], size[1]) {
            self.surface
                .fill_rect(area, &paint(colour, alpha), Transform::identity(), None);
        }
    }

    /// A dimension line: with a bar across either end.
    pub fn dimension(&mut self, from: At, to: At, style: Style) {
        self.line(&[from, to], false, style);
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = dx.hypot(dy);
        if length <= f32::EPSILON {
            return;
        }
        let half = 6.0 * self.unit / length;
        let bar = [-dy * half, dx * half];
        let solid = Style { dash: &[], ..style };
        for end in [from, to] {
            self.line(
                &[
                    [end[0] - bar[0], end[1] - bar[1]],
                    [end[0] + bar[0], end[1] + bar[1]],
                ],
                false,
                solid,
            );
        }
    }

    /// A ring about a point that leaves the point itself visible.
    pub fn ring(&mut self, centre: At, radius: f32, style: Style) {
        let circle: Vec<At> = (0..24)
            .map(|i| {
                let angle = i as f32 * std::f32::consts::TAU / 24.0;
                let r = radius * self.unit;
                [centre[0] + r * angle.cos(), centre[1] + r * angle.sin()]
            })
            .collect();
        self.line(&circle, true, style);
    }

    /// A cross with an open middle.
    pub fn cross(&mut self, centre: At, style: Style) {
        let (inner, outer) = (3.0 * self.unit, 10.0 * self.unit);
        for [x, y] in [[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0f32]] {
            let at = |r: f32| [centre[0] + x * r * 0.71, centre[1] + y * r * 0.71];
            self.line(&[at(inner), at(outer)], false, style);
        }
    }

    /// A filled rectangle.
    pub fn fill(&mut self, corner: At, size: At, colour: [u8; 3]) {
        if let Some(area) = tiny_skia::Rect::from_xywh(corner[0], corner[1], size[0], size[1]) {
            self.surface
                .fill_rect(area, &paint(colour, 1.0), Transform::identity(), None);
        }
    }

    /// Another picture, its upper left corner at `x`, `y`.
    pub fn paste(&mut self, picture: &Pixmap, x: i32, y: i32) {
        self.surface.draw_pixmap(
            x,
            y,
            picture.as_ref(),
            &tiny_skia::PixmapPaint::default(),
            Transform::identity(),
            None,
        );
    }

    /// Width and height of a text, px, `size` in line units.
    pub fn text_size(&self, text: &str, size: f32) -> At {
        let Some(font) = &self.font else {
            return [0.0, 0.0];
        };
        let scaled = font.as_scaled(PxScale::from(size * self.unit));
        let width = text
            .chars()
            .map(|c| scaled.h_advance(font.glyph_id(c)))
            .sum();
        [width, scaled.ascent() - scaled.descent()]
    }

    /// A text whose upper left corner lies at `corner`; with a dark halo when
    /// `on_metal`.
    pub fn text(&mut self, text: &str, corner: At, size: f32, colour: [u8; 3], on_metal: bool) {
        let Some(path) = self.text_path(text, corner, size) else {
            return;
        };
        if on_metal {
            self.stroke(&path, [0, 0, 0], 0.8, 4.5 * self.unit, &[]);
        }
        self.surface.fill_path(
            &path,
            &paint(colour, 1.0),
            FillRule::Winding,
            Transform::identity(),
            None,
        );
    }

    fn text_path(&self, text: &str, corner: At, size: f32) -> Option<Path> {
        let font = self.font.as_ref()?;
        let scale = PxScale::from(size * self.unit);
        let scaled = font.as_scaled(scale);
        let factor = scaled.scale_factor();
        let baseline = corner[1] + scaled.ascent();
        let mut pen_x = corner[0];
        let mut path = PathBuilder::new();
        for character in text.chars() {
            let id = font.glyph_id(character);
            if let Some(outline) = font.outline(id) {
                trace(&mut path, &outline.curves, |x, y| {
                    (
                        pen_x + x * factor.horizontal,
                        baseline - y * factor.vertical,
                    )
                });
            }
            pen_x += scaled.h_advance(id);
        }
        path.finish()
    }

    fn stroke(&mut self, path: &Path, colour: [u8; 3], alpha: f32, width: f32, dash: &[f32]) {
        let stroke = Stroke {
            width,
            line_cap: if dash.is_empty() {
                LineCap::Round
            } else {
                LineCap::Butt
            },
            line_join: LineJoin::Round,
            dash: StrokeDash::new(dash.iter().map(|part| part * self.unit).collect(), 0.0),
            ..Stroke::default()
        };
        self.surface.stroke_path(
            path,
            &paint(colour, alpha),
            &stroke,
            Transform::identity(),
            self.mask.as_ref(),
        );
    }
}

fn paint([r, g, b]: [u8; 3], alpha: f32) -> Paint<'static> {
    let mut paint = Paint {
        anti_alias: true,
        ..Paint::default()
    };
    let mut colour = Color::from_rgba8(r, g, b, 255);
    colour.set_alpha(alpha);
    paint.set_color(colour);
    paint
}

fn segments(lines: &[[At; 2]]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for [from, to] in lines {
        path.move_to(from[0], from[1]);
        path.line_to(to[0], to[1]);
    }
    path.finish()
}

fn polyline(points: &[At], closed: bool) -> Option<Path> {
    let (first, rest) = points.split_first()?;
    if rest.is_empty() {
        return None;
    }
    let mut path = PathBuilder::new();
    path.move_to(first[0], first[1]);
    for point in rest {
        path.line_to(point[0], point[1]);
    }
    if closed {
        path.close();
    }
    path.finish()
}

/// Adds a glyph's curves; a curve that does not start where the last one
/// ended opens a new contour.
fn trace(path: &mut PathBuilder, curves: &[OutlineCurve], place: impl Fn(f32, f32) -> (f32, f32)) {
    let mut end: Option<ab_glyph::Point> = None;
    for curve in curves {
        let (start, stop) = match curve {
            OutlineCurve::Line(a, b) => (*a, *b),
            OutlineCurve::Quad(a, _, b) => (*a, *b),
            OutlineCurve::Cubic(a, _, _, b) => (*a, *b),
        };
        if end != Some(start) {
            if end.is_some() {
                path.close();
            }
            let (x, y) = place(start.x, start.y);
            path.move_to(x, y);
        }
        let (x, y) = place(stop.x, stop.y);
        match curve {
            OutlineCurve::Line(..) => path.line_to(x, y),
            OutlineCurve::Quad(_, c, _) => {
                let (cx, cy) = place(c.x, c.y);
                path.quad_to(cx, cy, x, y);
            }
            OutlineCurve::Cubic(_, c, d, _) => {
                let (cx, cy) = place(c.x, c.y);
                let (dx, dy) = place(d.x, d.y);
                path.cubic_to(cx, cy, dx, dy, x, y);
            }
        }
        end = Some(stop);
    }
    if end.is_some() {
        path.close();
    }
}
