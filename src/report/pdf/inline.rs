//! What runs in lines.

use super::sheet::{Writer, classes, is, quoted};
use ego_tree::NodeRef;
use scraper::{ElementRef, Node};
use std::fmt::Write as _;

impl Writer {
    /// Everything in an element as one piece that runs in lines.
    pub fn inline(&mut self, parent: ElementRef<'_>) {
        self.out.push_str("{ []\n");
        for node in parent.children() {
            self.run(node);
        }
        self.out.push('}');
    }

    /// One text or element.
    pub fn run(&mut self, node: NodeRef<'_, Node>) {
        match node.value() {
            Node::Text(text) => {
                self.out.push_str(&quoted(text));
                self.out.push('\n');
            }
            Node::Element(_) => {
                if let Some(element) = ElementRef::wrap(node) {
                    self.element(element);
                }
            }
            _ => {}
        }
    }

    fn element(&mut self, element: ElementRef<'_>) {
        let value = element.value();
        let name = value.name();
        if name == "br" {
            self.out.push_str("linebreak()\n");
            return;
        }
        if name == "svg" {
            let (number, _) = self.keep_drawing(element);
            let tall = if is(value, "sign") { "1.25em" } else { "0.9em" };
            let _ = writeln!(self.out, "sign({number}, {tall})");
            return;
        }
        // Parts of a card stand on lines of their own.
        if ["asked", "meaning"].iter().any(|class| is(value, class)) {
            self.out.push_str("linebreak()\n");
        }
        let _ = write!(self.out, "classed({}, ", classes(value));
        match name {
            "a" => match element.attr("href") {
                Some(place) if !place.starts_with('#') => {
                    let _ = write!(self.out, "link({}, ", quoted(place));
                }
                _ => self.out.push('('),
            },
            "b" if is(value, "no") => self.out.push_str("boxed("),
            "b" | "strong" => self.out.push_str("strong("),
            "sub" => self.out.push_str("sub("),
            "sup" => self.out.push_str("super("),
            "code" => self.out.push_str("mono("),
            _ if is(value, "number") => self.out.push_str("number("),
            _ if is(value, "hash") => self.out.push_str("mono("),
            _ if ["small", "meaning", "soft"].iter().any(|c| is(value, c)) => {
                self.out.push_str("small(");
            }
            _ => self.out.push('('),
        }
        self.inline(element);
        self.out.push_str("))\n");
    }
}
