//! Floor 3: Toeline's scale card as a PDF page to print.
//!
//! What is printed is the design that the scale stage looks for
//! ([`CardDesign`]); here it gets its lettering, the coupon's name and the
//! instructions. Lines and letters are shapes, so that no reader or printer puts
//! another font or a picture in their place.

mod lettering;
mod name;
mod sheet;
mod words;

pub use name::NameError;

use crate::scale::CardDesign;
use lettering::Lettering;
use name::Name;
use qrcode::{EcLevel, QrCode, types::Color};
use sheet::Sheet;
use thiserror::Error;

/// Paper of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216 A4.
    A4,
    /// ANSI A, "Letter".
    Letter,
}

impl Paper {
    /// Width and height, mm.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            // ISO 216:2007; ANSI/ASME Y14.1 (8.5 in × 11 in).
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

/// Why there is no card.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CardError {
    /// The coupon's name cannot stand on a card.
    #[error(transparent)]
    Name(#[from] NameError),
    /// The font that is built in cannot be read: a fault of the program.
    #[error("the built-in font cannot be read; please report this")]
    Font,
}

/// Upper edge of the card on the page, mm.
const CARD_TOP_MM: f64 = 12.0;
/// From the card to the instructions, and their margins at the sides, mm.
const GAP_MM: f64 = 9.0;
const MARGIN_MM: f64 = 20.0;
/// Length of the cutting marks and their distance from the corner, mm.
const CUT_MM: f64 = 5.0;
const CUT_AWAY_MM: f64 = 1.0;

/// The card for `coupon` as a PDF file of one page.
///
/// # Errors
/// When the coupon's name is empty, too long, or has characters that cannot be
/// printed.
pub fn pdf(coupon: Option<&str>, paper: Paper) -> Result<Vec<u8>, CardError> {
    let lettering = Lettering::new().ok_or(CardError::Font)?;
    let name = coupon.map(|c| Name::new(c, &lettering)).transpose()?;
    let name = name.as_ref();
    let text = CardDesign::code_text(name.map(Name::text));
    let code = QrCode::with_error_correction_level(text, EcLevel::M)
        .ok()
        .filter(|code| code.width() <= CardDesign::MOST_MODULES)
        .ok_or(NameError::TooLong)?;

    let [width, height] = paper.size_mm();
    let [left, top, card_width, card_height] = CardDesign::SHEET;
    let mut sheet = Sheet::new(width, height);
    sheet.shifted(
        0.5 * (width - card_width) - left,
        CARD_TOP_MM - top,
        |sheet| {
            ring(sheet);
            qr(sheet, &code);
            foot(sheet, &lettering, name);
            cutting_marks(sheet);
        },
    );
    let mut y = CARD_TOP_MM + card_height + GAP_MM;
    for part in words::PARTS {
        y = lettering.paragraph(&mut sheet, part, [MARGIN_MM, y], width - 2.0 * MARGIN_MM);
    }
    let title = match name {
        Some(name) => format!("Toeline scale card {}", name.text()),
        None => "Toeline scale card".to_owned(),
    };
    Ok(sheet.finish(&title))
}

fn ring(sheet: &mut Sheet) {
    let side = CardDesign::SQUARE_MM;
    for dark in CardDesign::dark() {
        let (x, y) = (f64::from(dark.column) * side, f64::from(dark.row) * side);
        let square = [[x, y], [x + side, y], [x + side, y + side], [x, y + side]];
        if dark.keyed {
            let (cx, cy, r) = (x + 0.5 * side, y + 0.5 * side, CardDesign::DIAMOND_MM);
            // The other way round: a hole.
            let diamond = [[cx, cy - r], [cx - r, cy], [cx, cy + r], [cx + r, cy]];
            sheet.polygons(&[&square, &diamond]);
        } else {
            sheet.polygons(&[&square]);
        }
    }
}

fn qr(sheet: &mut Sheet, code: &QrCode) {
    let [left, top, side, _] = CardDesign::CODE;
    let modules = code.width();
    let module = side / modules as f64;
    let colours = code.to_colors();
    for row in 0..modules {
        // Neighbours in one piece, so that no hairline shows between them.
        let mut column = 0;
        while column < modules {
            let dark = |c: usize| c < modules && colours[row * modules + c] == Color::Dark;
            let from = column;
            while dark(column) {
                column += 1;
            }
            if column > from {
                sheet.rectangle([
                    left + from as f64 * module,
                    top + row as f64 * module,
                    (column - from) as f64 * module,
                    module,
                ]);
            }
            column += 1;
        }
    }
}

/// The lettering of the card itself and the control line.
fn foot(sheet: &mut Sheet, lettering: &Lettering, name: Option<&Name>) {
    let [left, top, side, _] = CardDesign::CODE;
    for (line, text) in words::BESIDE.iter().enumerate() {
        let y = top + side + 5.5 + 3.4 * line as f64;
        lettering.line(sheet, text, [left, y], lettering.fitting(text, 2.6, side));
    }
    lettering.line(sheet, words::COUPON, [0.0, 89.0], 3.0);
    let start = lettering.width(words::COUPON, 3.0) + 3.0;
    match name {
        Some(name) => {
            let size = lettering.fitting(name.text(), 6.5, left + side - start);
            lettering.line(sheet, name.text(), [start, 89.0], size);
        }
        // A line to write on.
        None => sheet.rectangle([start, 89.3, 60.0, 0.2]),
    }
    // Both strokes have their left edge at the measured place: ink that spreads
    // moves both alike.
    let from = 5.0;
    for x in [from, from + CardDesign::CONTROL_MM] {
        sheet.rectangle([x, 93.5, 0.4, 5.0]);
    }
    sheet.rectangle([from, 95.9, CardDesign::CONTROL_MM, 0.2]);
    lettering.line(sheet, words::CONTROL, [from, 102.5], 2.4);
    lettering.line(sheet, words::MEASURED, [108.5, 97.0], 2.4);
    sheet.rectangle([108.5, 102.5, 19.0, 0.2]);
    lettering.line(sheet, "mm", [128.5, 102.5], 2.4);
}

fn cutting_marks(sheet: &mut Sheet) {
    let [left, top, width, height] = CardDesign::SHEET;
    let thick = 0.1;
    for x in [left, left + width] {
        for (y, away) in [(top, -1.0), (top + height, 1.0)] {
            let from = y + away * CUT_AWAY_MM;
            let start = from.min(from + away * CUT_MM);
            sheet.rectangle([x - 0.5 * thick, start, thick, CUT_MM]);
        }
    }
    for y in [top, top + height] {
        for (x, away) in [(left, -1.0), (left + width, 1.0)] {
            let from = x + away * CUT_AWAY_MM;
            let start = from.min(from + away * CUT_MM);
            sheet.rectangle([start, y - 0.5 * thick, CUT_MM, thick]);
        }
    }
}
