//! From a page to what the typesetting library is to set: a text of calls, and the
//! pictures they name by number.

use scraper::{ElementRef, Html, Node, node::Element};
use std::fmt::Write as _;

/// What is to be set.
pub struct Sheet {
    /// Calls of the functions in `style.typ`.
    pub source: String,
    /// The pictures: `source` reads number `n` as the file `n`.
    pub files: Vec<Vec<u8>>,
}

/// A sheet in the making.
pub struct Writer {
    pub out: String,
    pub files: Vec<Vec<u8>>,
    /// The page's own style sheet, which its drawings need.
    pub css: String,
    /// Whether the paper lies across.
    pub landscape: bool,
}

/// Reads a page.
pub fn read(html: &str) -> Sheet {
    let page = Html::parse_document(html);
    let root = page.root_element();
    let of = |name: &str| find(root, name);
    let title = of("title").map(text).unwrap_or_default();
    let css = of("style").map(text).unwrap_or_default();
    // The page says by itself which way its paper lies.
    let landscape = css.contains("A4 landscape");
    let mut writer = Writer {
        out: String::new(),
        files: Vec::new(),
        css,
        landscape,
    };
    let _ = writeln!(
        writer.out,
        "#import \"/style.typ\": *\n#show: sheet.with(title: {}, landscape: {landscape})\n#{{",
        quoted(&title)
    );
    if let Some(body) = of("body") {
        writer.blocks(body);
    }
    writer.out.push_str("}\n");
    Sheet {
        source: writer.out,
        files: writer.files,
    }
}

/// The first element of this name.
fn find<'a>(root: ElementRef<'a>, name: &str) -> Option<ElementRef<'a>> {
    root.descendants()
        .filter_map(ElementRef::wrap)
        .find(|element| element.value().name() == name)
}

/// All text in an element.
pub fn text(element: ElementRef<'_>) -> String {
    element.text().collect()
}

/// Whether the element is of this class.
pub fn is(element: &Element, class: &str) -> bool {
    element.classes().any(|own| own == class)
}

/// The elements right inside another.
pub fn elements(parent: ElementRef<'_>) -> impl Iterator<Item = ElementRef<'_>> {
    parent.children().filter_map(ElementRef::wrap)
}

/// Whether there is nothing to be read in this text or comment.
pub fn is_blank(node: &Node) -> bool {
    match node {
        Node::Text(text) => text.trim().is_empty(),
        Node::Element(_) => false,
        _ => true,
    }
}

/// A text as a literal of the typesetting language, runs of white space as one blank.
pub fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    let mut blank = false;
    for c in text.chars() {
        // No-break spaces stay what they are.
        if matches!(c, ' ' | '\t' | '\n' | '\r') {
            if !blank {
                out.push(' ');
            }
            blank = true;
            continue;
        }
        blank = false;
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// The classes of an element as a list of the typesetting language.
pub fn classes(element: &Element) -> String {
    let list: String = element
        .classes()
        .map(|class| format!("{}, ", quoted(class)))
        .collect();
    format!("({list})")
}
