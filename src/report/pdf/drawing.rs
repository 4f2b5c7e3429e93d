//! Pictures and drawings as files of their own.

use super::sheet::Writer;
use base64::{Engine as _, engine::general_purpose::STANDARD};
use scraper::ElementRef;
use std::io::Cursor;

impl Writer {
    /// Keeps the JPEG of a `data:` address: its number, and height over width.
    pub fn keep_jpeg(&mut self, address: &str) -> Option<(usize, f64)> {
        let coded = address.strip_prefix("data:image/jpeg;base64,")?;
        let jpeg = STANDARD.decode(coded).ok()?;
        let reader = image::ImageReader::with_format(Cursor::new(&jpeg), image::ImageFormat::Jpeg);
        let (width, height) = reader.into_dimensions().ok()?;
        self.files.push(jpeg);
        let ratio = f64::from(height) / f64::from(width.max(1));
        Some((self.files.len() - 1, ratio))
    }

    /// Keeps a drawing with all that its look needs: the page's style sheet and the
    /// classes of what it stands in. Gives its number, and height over width.
    pub fn keep_drawing(&mut self, drawing: ElementRef<'_>) -> (usize, f64) {
        let view = drawing.attr("viewBox").unwrap_or("0 0 24 24");
        let sides: Vec<f64> = view
            .split_whitespace()
            .filter_map(|side| side.parse().ok())
            .collect();
        let (width, height) = match sides[..] {
            [_, _, width, height] if width > 0.0 && height > 0.0 => (width, height),
            _ => (24.0, 24.0),
        };
        let around = drawing.ancestors().filter_map(ElementRef::wrap);
        let classes: Vec<&str> = around
            .flat_map(|element| element.value().classes())
            .collect();
        let own = drawing.attr("class").unwrap_or_default();
        // The page's way of writing a no-break space is not one of a drawing's.
        let inside = drawing.inner_html().replace("&nbsp;", "\u{a0}");
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{view}\" width=\"{width}\" \
             height=\"{height}\"><style>{}</style><g class=\"{} {own}\" color=\"#1a1a1a\">{inside}</g></svg>",
            plain_css(&self.css),
            classes.join(" "),
        );
        self.files.push(svg.into_bytes());
        (self.files.len() - 1, height / width)
    }
}

/// The style sheet without what a drawing's reader does not know: names for values,
/// rules for other media, and the screen's own font.
fn plain_css(css: &str) -> String {
    let mut css = css.to_owned();
    if let Some(at) = css.find("@media") {
        css.truncate(at);
    }
    let named: Vec<(String, String)> = css
        .split_once(":root {")
        .and_then(|(_, rest)| rest.split_once('}'))
        .map(|(root, _)| {
            root.split(';')
                .filter_map(|line| line.split_once(':'))
                .filter(|(name, _)| name.trim().starts_with("--"))
                .map(|(name, value)| (format!("var({})", name.trim()), value.trim().to_owned()))
                .collect()
        })
        .unwrap_or_default();
    for (name, value) in named {
        css = css.replace(&name, &value);
    }
    css.replace("system-ui, ", "").replace('<', "")
}
