//! The name of an embedded colour profile (ISO 15076-1), to say so when it is
//! not sRGB. Nothing is converted.

/// The profile's description, e.g. `sRGB IEC61966-2.1`; `None` when the block
/// is no profile or says nothing.
pub(super) fn description(profile: &[u8]) -> Option<String> {
    // Header of 128 bytes with the signature `acsp` at 36, then the tag table.
    if profile.get(36..40)? != b"acsp" {
        return None;
    }
    let count = be32(profile, 128)?.min(200);
    let entry = (0..count)
        .map(|i| 132 + 12 * i)
        .find(|at| profile.get(*at..at + 4) == Some(b"desc"))?;
    let start = be32(profile, entry + 4)?;
    let tag = profile.get(start..start.checked_add(be32(profile, entry + 8)?)?)?;
    let text = match tag.get(..4)? {
        b"desc" => {
            let length = be32(tag, 8)?;
            String::from_utf8_lossy(tag.get(12..12usize.checked_add(length)?)?).into_owned()
        }
        b"mluc" => {
            let (length, offset) = (be32(tag, 20)?, be32(tag, 24)?);
            let units: Vec<u16> = tag
                .get(offset..offset.checked_add(length)?)?
                .as_chunks::<2>()
                .0
                .iter()
                .map(|pair| u16::from_be_bytes(*pair))
                .collect();
            String::from_utf16_lossy(&units)
        }
        _ => return None,
    };
    let text: String = text.chars().filter(|c| !c.is_control()).take(80).collect();
    let text = text.trim().to_owned();
    (!text.is_empty()).then_some(text)
}

/// Whether the profile's name says that its values can be read as sRGB.
pub(super) fn is_srgb(description: &str) -> bool {
    description.to_ascii_lowercase().contains("srgb")
}

fn be32(bytes: &[u8], at: usize) -> Option<usize> {
    let four: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
    usize::try_from(u32::from_be_bytes(four)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profile(tag: &[u8]) -> Vec<u8> {
        let mut bytes = vec![0; 128];
        bytes[36..40].copy_from_slice(b"acsp");
        bytes.extend(1u32.to_be_bytes());
        bytes.extend(b"desc");
        bytes.extend(144u32.to_be_bytes());
        bytes.extend((tag.len() as u32).to_be_bytes());
        bytes.extend(tag);
        bytes
    }

    #[test]
    fn both_ways_to_store_the_name_are_read() {
        let old = profile(b"desc\0\0\0\0\0\0\0\x0asRGB test\0");
        assert_eq!(description(&old).as_deref(), Some("sRGB test"));
        let mut tag = b"mluc\0\0\0\0\0\0\0\x01\0\0\0\x0cenUS\0\0\0\x14\0\0\0\x1c".to_vec();
        tag.extend("Wide gamut".encode_utf16().flat_map(u16::to_be_bytes));
        let new = profile(&tag);
        assert_eq!(description(&new).as_deref(), Some("Wide gamut"));
        assert!(is_srgb("sRGB IEC61966-2.1") && !is_srgb("Wide gamut"));
    }

    #[test]
    fn every_cut_of_a_profile_is_survived() {
        let whole = profile(b"desc\0\0\0\0\0\0\0\x0asRGB test\0");
        for cut in 0..whole.len() {
            assert_eq!(description(&whole[..cut]), None, "cut at {cut}");
        }
    }
}
