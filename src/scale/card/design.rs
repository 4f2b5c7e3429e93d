//! The card's design: what is printed, and therefore what may be looked for.
//!
//! A ring of chequer squares, two deep, round an open window. Some dark squares
//! carry a light diamond ("keyed"), and the order of plain and keyed squares
//! round the ring tells which part of the ring one looks at, which way round,
//! and whether the picture is mirrored. Beside the ring stands a QR code with
//! the coupon's identity.
//!
//! All places are mm on the card as designed: origin at the upper left corner of
//! the ring, x right, y down.

/// The ring, a character a cell: `#` a plain dark square, `o` a keyed one, `.`
/// light. The keys were chosen by search so that any twelve dark squares that
/// follow each other round the ring, turned or mirrored, differ in at least two
/// from any other place of the ring.
const RING: [&str; 16] = [
    "#.#.#.#.o.#.#.o.o.#.o.",
    ".#.#.#.#.o.o.#.o.#.#.#",
    "o...................#.",
    ".#...................o",
    "o...................o.",
    ".o...................#",
    "#...................#.",
    ".#...................o",
    "o...................o.",
    ".o...................#",
    "o...................#.",
    ".o...................o",
    "o...................o.",
    ".o...................o",
    "#.o.#.#.o.o.o.o.#.o.o.",
    ".o.#.#.#.#.#.#.o.o.#.o",
];

/// A dark square of the ring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dark {
    /// Cell from the left, 0 first.
    pub column: i32,
    /// Cell from the top, 0 first.
    pub row: i32,
    /// Whether it carries a light diamond.
    pub keyed: bool,
}

/// An upright rectangle on the card, mm: left, top, width, height.
pub type Area = [f64; 4];

/// The card's fixed sizes and what stands in its QR code.
#[derive(Clone, Copy, Debug)]
pub struct Design;

impl Design {
    /// Side of a square, mm.
    pub const SQUARE_MM: f64 = 5.0;
    /// From the centre of a keyed square to each corner of its diamond, mm.
    pub const DIAMOND_MM: f64 = 1.0;
    /// Cells of the ring along x and y.
    pub const CELLS: [i32; 2] = [22, 16];
    /// Depth of the ring, cells.
    pub const DEPTH: i32 = 2;
    /// The ring's outline.
    pub const RING: Area = [0.0, 0.0, 110.0, 80.0];
    /// The QR code without its light border, whatever its number of modules.
    pub const CODE: Area = [115.0, 0.0, 20.0, 20.0];
    /// The whole card, to be cut out.
    pub const SHEET: Area = [-8.0, -8.0, 151.0, 113.0];
    /// Nominal length of the control line, mm.
    pub const CONTROL_MM: f64 = 100.0;
    /// Measured lengths of the control line that are still worth scaling by;
    /// beyond them the card was printed at another size on purpose or by a
    /// wrong setting.
    pub const CONTROL_ACCEPTED_MM: std::ops::RangeInclusive<f64> = 90.0..=110.0;

    /// Most modules of the QR code along a side (version 6).
    pub const MOST_MODULES: usize = 41;
    /// What the code says before the coupon's name. The number is that of this
    /// design: a card of another size must have another.
    const MARK: &str = "TOELINE:CARD1:";

    /// All dark squares, row by row.
    pub fn dark() -> impl Iterator<Item = Dark> {
        (0i32..).zip(RING).flat_map(|(row, line)| {
            (0i32..)
                .zip(line.bytes())
                .filter_map(move |(column, cell)| {
                    matches!(cell, b'#' | b'o').then_some(Dark {
                        column,
                        row,
                        keyed: cell == b'o',
                    })
                })
        })
    }

    /// The dark square at a cell; `None` where the card is light or open.
    pub fn dark_at(column: i32, row: i32) -> Option<Dark> {
        let line = RING.get(usize::try_from(row).ok()?)?;
        match line.as_bytes().get(usize::try_from(column).ok()?)? {
            b'#' => Some(false),
            b'o' => Some(true),
            _ => None,
        }
        .map(|keyed| Dark { column, row, keyed })
    }

    /// What the QR code of the card for `coupon` says.
    pub fn code_text(coupon: Option<&str>) -> String {
        format!("{}{}", Self::MARK, coupon.unwrap_or_default())
    }

    /// The coupon's name in a QR code's text: `None` when the code is not one
    /// of this card, `Some(None)` when the card was printed without a name.
    pub fn coupon_in(text: &str) -> Option<Option<String>> {
        let name = text.strip_prefix(Self::MARK)?.trim();
        let printable = !name.is_empty() && !name.chars().any(char::is_control);
        Some(printable.then(|| name.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ring_is_as_large_as_it_says() {
        let [columns, rows] = Design::CELLS;
        assert_eq!(RING.len() as i32, rows);
        assert!(RING.iter().all(|line| line.len() as i32 == columns));
        assert_eq!(Design::RING[2], f64::from(columns) * Design::SQUARE_MM);
        assert_eq!(Design::RING[3], f64::from(rows) * Design::SQUARE_MM);
    }

    #[test]
    fn every_second_cell_of_the_ring_is_dark_and_the_window_is_open() {
        let [columns, rows] = Design::CELLS;
        let near = |at: i32, of: i32| at < Design::DEPTH || at >= of - Design::DEPTH;
        for row in 0..rows {
            for column in 0..columns {
                let ring = near(column, columns) || near(row, rows);
                let dark = ring && (column + row) % 2 == 0;
                assert_eq!(
                    Design::dark_at(column, row).is_some(),
                    dark,
                    "{column} {row}"
                );
            }
        }
        assert_eq!(Design::dark().count(), 68);
        assert_eq!(Design::dark_at(-1, 0), None);
        assert_eq!(Design::dark_at(0, 16), None);
    }

    #[test]
    fn a_code_is_read_back_and_a_stranger_s_is_not() {
        for name in [Some("HR-07"), Some("Шов 3"), None] {
            let text = Design::code_text(name);
            assert_eq!(Design::coupon_in(&text), Some(name.map(str::to_owned)));
        }
        for stranger in ["", "HR-07", "TOELINE:CARD2:HR-07", "https://example.org"] {
            assert_eq!(Design::coupon_in(stranger), None);
        }
        assert_eq!(Design::coupon_in("TOELINE:CARD1:a\u{7}b"), Some(None));
    }
}
