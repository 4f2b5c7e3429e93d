//! A picture inside the page.

use base64::{Engine as _, engine::general_purpose::STANDARD};

/// A JPEG file as a `data:` address (base64 of RFC 4648, with padding).
pub fn jpeg(bytes: &[u8]) -> String {
    format!("data:image/jpeg;base64,{}", STANDARD.encode(bytes))
}
