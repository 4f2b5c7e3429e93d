//! The words of the record's choices.

use serde::Serialize;

/// The word the record writes for one of its choices, e.g. `partly-measured`; empty
/// for what is no choice.
pub fn word(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Status;

    #[test]
    fn it_is_the_word_of_the_json() {
        assert_eq!(word(&Status::PartlyMeasured), "partly-measured");
        assert_eq!(word(&1), "");
    }
}
