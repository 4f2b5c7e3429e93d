//! A picture inside the page.

const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// A JPEG file as a `data:` address (base64 of RFC 4648, with padding).
pub fn jpeg(bytes: &[u8]) -> String {
    let mut uri = String::with_capacity(24 + bytes.len() * 4 / 3 + 4);
    uri.push_str("data:image/jpeg;base64,");
    for group in bytes.chunks(3) {
        let byte = |i: usize| u32::from(group.get(i).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            uri.push(if place <= group.len() {
                char::from(DIGITS[(bits >> (18 - 6 * place)) as usize & 63])
            } else {
                '='
            });
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    /// Test vectors of RFC 4648, section 10.
    #[test]
    fn base64_of_the_standard() {
        for (text, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            let uri = super::jpeg(text.as_bytes());
            assert_eq!(uri.strip_prefix("data:image/jpeg;base64,"), Some(coded));
        }
    }
}
