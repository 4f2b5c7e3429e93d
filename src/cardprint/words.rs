//! What the card says.

/// Heading or running text.
#[derive(Clone, Copy, Debug)]
pub enum Part {
    /// A heading.
    Heading(&'static str),
    /// A paragraph.
    Text(&'static str),
}

/// Beside the ring, below the code.
pub const BESIDE: [&str; 3] = ["Toeline", "scale card", "squares 5 mm"];
/// Before the coupon's name.
pub const COUPON: &str = "Coupon";
/// Below the control line.
pub const CONTROL: &str = "Control line: 100 mm, left edge to left edge of the end strokes";
/// Above the line for the measured length.
pub const MEASURED: &str = "measured";

/// Below the card.
pub const PARTS: &[Part] = &[
    Part::Heading("How to use the card"),
    Part::Text(
        "1. Print at 100 % (actual size), not fitted to the page, on matt paper. Cut it out at the \
         corner marks and glue it to something flat and stiff.",
    ),
    Part::Text(
        "2. Measure the control line once with a calliper, write the length on the card, and give \
         it with every photograph: --card-line 99.6",
    ),
    Part::Text(
        "3. Lay the card flat, level with the face to be measured, the specimen in the window or \
         across it. Going close, put the specimen into a corner of the window, so that two sides of \
         the ring are in the picture.",
    ),
    Part::Text(
        "4. Photograph straight from above, from 300 mm or more, in soft light without flash. Part \
         of the ring may be covered. Keep the square code clear if it is to name the coupon.",
    ),
    Part::Text("5. Measure:  toeline section PHOTO --scale card --card-line 99.6"),
    Part::Heading("Cautions"),
    Part::Text(
        "Cut edges are sharp, and a fresh cut is hot enough to burn: clamp the coupon, let it cool, \
         protect eyes and hands.",
    ),
    Part::Text(
        "Etchants burn skin and eyes: acid-proof gloves and goggles, good ventilation, water at \
         hand. Pour acid slowly into water or alcohol, never the other way round. Never keep nital \
         (nitric acid in alcohol) in a tightly closed bottle: pressure builds up and it can burst.",
    ),
    Part::Text(
        "Local rules, your workshop's instructions and the suppliers' data sheets come before \
         anything printed here. Toeline measures; it certifies nobody.",
    ),
];
