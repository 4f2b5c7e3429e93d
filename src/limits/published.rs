//! The profiles that are built in, as they are written.

/// Name and text of each.
const TEXTS: &[(&str, &str)] = &[
    ("iso5817-b", include_str!("profiles/iso5817-b.toml")),
    ("iso5817-c", include_str!("profiles/iso5817-c.toml")),
    ("iso5817-d", include_str!("profiles/iso5817-d.toml")),
    ("iso9606-1", include_str!("profiles/iso9606-1.toml")),
    (
        "aws-d1.1-macroetch-inch",
        include_str!("profiles/aws-d1.1-macroetch-inch.toml"),
    ),
    (
        "aws-d1.1-macroetch-mm",
        include_str!("profiles/aws-d1.1-macroetch-mm.toml"),
    ),
    (
        "asme-ix-macro-inch",
        include_str!("profiles/asme-ix-macro-inch.toml"),
    ),
    (
        "asme-ix-macro-mm",
        include_str!("profiles/asme-ix-macro-mm.toml"),
    ),
    (
        "asme-ix-macro-procedure-inch",
        include_str!("profiles/asme-ix-macro-procedure-inch.toml"),
    ),
    (
        "asme-ix-macro-procedure-mm",
        include_str!("profiles/asme-ix-macro-procedure-mm.toml"),
    ),
    (
        "aws-d1.1-break-inch",
        include_str!("profiles/aws-d1.1-break-inch.toml"),
    ),
    (
        "aws-d1.1-break-mm",
        include_str!("profiles/aws-d1.1-break-mm.toml"),
    ),
    (
        "asme-ix-break-inch",
        include_str!("profiles/asme-ix-break-inch.toml"),
    ),
    (
        "asme-ix-break-mm",
        include_str!("profiles/asme-ix-break-mm.toml"),
    ),
    (
        "iso5817-b-break",
        include_str!("profiles/iso5817-b-break.toml"),
    ),
    (
        "iso5817-c-break",
        include_str!("profiles/iso5817-c-break.toml"),
    ),
    (
        "iso5817-d-break",
        include_str!("profiles/iso5817-d-break.toml"),
    ),
    (
        "iso9606-1-break",
        include_str!("profiles/iso9606-1-break.toml"),
    ),
    (
        "harbour-row-contest",
        include_str!("profiles/harbour-row-contest.toml"),
    ),
];

/// Their names.
pub fn names() -> Vec<&'static str> {
    TEXTS.iter().map(|(name, _)| *name).collect()
}

/// Name and TOML text of the one asked for; the case of letters does not matter.
pub fn find(name: &str) -> Option<(&'static str, &'static str)> {
    TEXTS
        .iter()
        .find(|(known, _)| known.eq_ignore_ascii_case(name.trim()))
        .copied()
}
