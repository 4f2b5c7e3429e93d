//! A PDF page drawn on in millimetres, y down from the upper left corner.

use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, TextStr};

/// Points in a millimetre: 72 to the inch of 25.4 mm (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0 / 25.4;

/// A piece of a shape's outline, mm.
#[derive(Clone, Copy, Debug)]
pub enum Piece {
    /// Start of a contour.
    Move([f64; 2]),
    /// Straight to here.
    Line([f64; 2]),
    /// Cubic curve: two handles and the end.
    Curve([f64; 2], [f64; 2], [f64; 2]),
    /// Back to the start.
    Close,
}

/// A page in the making.
pub struct Sheet {
    content: Content,
    size_mm: [f64; 2],
}

impl Sheet {
    /// An empty page.
    pub fn new(width_mm: f64, height_mm: f64) -> Self {
        let mut content = Content::new();
        // From here on one unit is a millimetre, so that what is a round number
        // in the design is one in the file.
        content.transform([
            POINTS as f32,
            0.0,
            0.0,
            -POINTS as f32,
            0.0,
            (height_mm * POINTS) as f32,
        ]);
        content.set_fill_gray(0.0);
        Self {
            content,
            size_mm: [width_mm, height_mm],
        }
    }

    /// Draws with the origin at (x, y).
    pub fn shifted(&mut self, x: f64, y: f64, draw: impl FnOnce(&mut Self)) {
        self.content
            .save_state()
            .transform([1.0, 0.0, 0.0, 1.0, x as f32, y as f32]);
        draw(self);
        self.content.restore_state();
    }

    /// A black rectangle: left, top, width, height.
    pub fn rectangle(&mut self, [left, top, width, height]: [f64; 4]) {
        self.content
            .rect(left as f32, top as f32, width as f32, height as f32)
            .fill_nonzero();
    }

    /// Black polygons as one shape; one that runs the other way is a hole.
    pub fn polygons(&mut self, polygons: &[&[[f64; 2]]]) {
        let pieces: Vec<Piece> = polygons
            .iter()
            .flat_map(|polygon| {
                polygon
                    .iter()
                    .enumerate()
                    .map(|(k, p)| {
                        if k == 0 {
                            Piece::Move(*p)
                        } else {
                            Piece::Line(*p)
                        }
                    })
                    .chain([Piece::Close])
            })
            .collect();
        self.shape(&pieces);
    }

    /// A black shape.
    pub fn shape(&mut self, pieces: &[Piece]) {
        let single = |p: [f64; 2]| p.map(|v| v as f32);
        for piece in pieces {
            match *piece {
                Piece::Move(p) => {
                    let [x, y] = single(p);
                    self.content.move_to(x, y);
                }
                Piece::Line(p) => {
                    let [x, y] = single(p);
                    self.content.line_to(x, y);
                }
                Piece::Curve(p, q, r) => {
                    let ([a, b], [c, d], [x, y]) = (single(p), single(q), single(r));
                    self.content.cubic_to(a, b, c, d, x, y);
                }
                Piece::Close => {
                    self.content.close_path();
                }
            }
        }
        self.content.fill_nonzero();
    }

    /// The file.
    pub fn finish(self, title: &str) -> Vec<u8> {
        let [catalog, pages, page, content, info] = [1, 2, 3, 4, 5].map(Ref::new);
        let mut pdf = Pdf::new();
        let mut root = pdf.catalog(catalog);
        root.pages(pages);
        // A viewer that heeds it does not fit the page to the paper.
        root.viewer_preferences()
            .pair(Name(b"PrintScaling"), Name(b"None"));
        root.finish();
        pdf.pages(pages).kids([page]).count(1);
        let [width, height] = self.size_mm.map(|mm| (mm * POINTS) as f32);
        pdf.page(page)
            .media_box(Rect::new(0.0, 0.0, width, height))
            .parent(pages)
            .contents(content)
            .resources();
        pdf.stream(content, &self.content.finish());
        pdf.document_info(info)
            .title(TextStr(title))
            .creator(TextStr(concat!("toeline ", env!("CARGO_PKG_VERSION"))));
        pdf.finish()
    }
}
