//! A coupon's name that can stand on a card: in the code and in words.

use super::lettering::Lettering;
use thiserror::Error;

/// Longest name, characters: at the width of the card still legible.
const MOST_CHARACTERS: usize = 60;

/// Why a name cannot stand on a card. The messages say what to do.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum NameError {
    /// Nothing, or only blanks.
    #[error(
        "the coupon's name is empty; give one, for example HR-07, or leave --coupon out for a card with a line to write on"
    )]
    Empty,
    /// Longer than code and line can take.
    #[error(
        "the coupon's name is too long for the card; shorten it to {MOST_CHARACTERS} characters (fewer in other scripts than Latin, whose characters take more room in the code)"
    )]
    TooLong,
    /// A line break, tab or the like.
    #[error(
        "the coupon's name contains a line break or another character that is no letter; leave it out"
    )]
    Control,
    /// No shape for a character, or one that needs more than its shape.
    #[error(
        "the character '{0}' of the coupon's name cannot be printed in words: Latin, Greek and Cyrillic letters, digits and common signs can; write the name with those"
    )]
    Character(char),
}

/// A name as printed, without blanks at its ends.
#[derive(Clone, Debug)]
pub struct Name(String);

impl Name {
    /// Checks a name.
    pub fn new(text: &str, lettering: &Lettering) -> Result<Self, NameError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(NameError::Empty);
        }
        if text.chars().any(char::is_control) {
            return Err(NameError::Control);
        }
        if text.chars().count() > MOST_CHARACTERS {
            return Err(NameError::TooLong);
        }
        match text
            .chars()
            .find(|c| !stands_alone(*c) || !lettering.knows(*c))
        {
            Some(c) => Err(NameError::Character(c)),
            None => Ok(Self(text.to_owned())),
        }
    }

    /// The name.
    pub fn text(&self) -> &str {
        &self.0
    }
}

/// Whether a character is set by its own shape from left to right. Scripts that
/// join or run the other way, and marks that are set over their neighbour, need
/// a shaping engine.
fn stands_alone(c: char) -> bool {
    !matches!(c,
        '\u{0300}'..='\u{036F}'      // combining marks
        | '\u{0483}'..='\u{0489}'    // combining Cyrillic marks
        | '\u{0590}'..='\u{10FF}'    // Hebrew, Arabic, South Asian and others
        | '\u{1780}'..='\u{1AFF}'
        | '\u{1DC0}'..='\u{1DFF}'    // combining marks
        | '\u{200B}'..='\u{200F}'    // invisible, direction marks
        | '\u{2028}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}'
        | '\u{20D0}'..='\u{20FF}'    // combining marks for symbols
        | '\u{FB1D}'..='\u{FEFF}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_can_be_printed_are_taken_and_others_say_why() {
        let lettering = Lettering::new().expect("the font");
        let name = |text: &str| Name::new(text, &lettering).map(|n| n.text().to_owned());
        for (text, want) in [
            (" HR-07 ", "HR-07"),
            ("Übung 3/b", "Übung 3/b"),
            ("Шов-3 Ω", "Шов-3 Ω"),
        ] {
            assert_eq!(name(text), Ok(want.to_owned()));
        }
        assert_eq!(name(" \u{a0} "), Err(NameError::Empty));
        assert_eq!(name("a\nb"), Err(NameError::Control));
        assert_eq!(name(&"x".repeat(61)), Err(NameError::TooLong));
        for (text, at) in [
            ("焊缝", '焊'),
            ("ש1", 'ש'),
            ("e\u{301}1", '\u{301}'),
            ("a\u{200b}", '\u{200b}'),
        ] {
            assert_eq!(name(text), Err(NameError::Character(at)), "{text}");
        }
    }
}
