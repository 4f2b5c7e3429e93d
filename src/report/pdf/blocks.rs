//! Headings, paragraphs, lists, pictures: everything that stands on lines of its own.

use super::sheet::{Writer, classes, elements, is, is_blank, quoted};
use scraper::{ElementRef, Node};
use std::fmt::Write as _;

/// What a page holds for a screen only.
const NOT_ON_PAPER: [&str; 8] = [
    "head", "script", "style", "template", "input", "select", "button", "label",
];
const IN_LINE: [&str; 12] = [
    "a", "b", "br", "code", "em", "i", "small", "span", "strong", "sub", "sup", "time",
];

/// Lists whose items stand side by side.
const SIDE_BY_SIDE: [&str; 2] = ["key", "counts"];

impl Writer {
    /// Everything in an element, blocks as blocks, what runs in lines as paragraphs.
    pub fn blocks(&mut self, parent: ElementRef<'_>) {
        let mut line = Vec::new();
        for node in parent.children() {
            if in_line(node.value()) {
                line.push(node);
                continue;
            }
            self.paragraph(&mut line);
            if let Some(element) = ElementRef::wrap(node) {
                self.block(element);
            }
        }
        self.paragraph(&mut line);
    }

    /// Content of a cell or of a list's item: in lines if it can be.
    pub fn flow(&mut self, parent: ElementRef<'_>) {
        if parent.children().all(|node| in_line(node.value())) {
            self.inline(parent);
        } else {
            self.out.push_str("{ []\n");
            self.blocks(parent);
            self.out.push('}');
        }
    }

    fn paragraph(&mut self, line: &mut Vec<ego_tree::NodeRef<'_, Node>>) {
        if line.iter().any(|node| !is_blank(node.value())) {
            self.out.push_str("par({ []\n");
            for node in line.iter() {
                self.run(*node);
            }
            self.out.push_str("})\n");
        }
        line.clear();
    }

    fn block(&mut self, element: ElementRef<'_>) {
        let value = element.value();
        match value.name() {
            name if NOT_ON_PAPER.contains(&name) => {}
            "h1" | "h2" | "h3" => {
                let level = &value.name()[1..];
                let _ = write!(self.out, "heading(level: {level}, ");
                self.inline(element);
                self.out.push_str(")\n");
            }
            "p" if is(value, "headline") => self.headline(element),
            "p" | "summary" => {
                self.out.push_str(open(element));
                self.out.push_str("par(");
                self.inline(element);
                self.out.push_str(")})\n");
            }
            "ul" | "ol" => self.list(element),
            "dl" => self.pairs(element),
            "table" => self.table(element),
            "img" => self.photograph(element),
            "svg" => self.figure(element),
            _ => {
                self.out.push_str(open(element));
                self.blocks(element);
                self.out.push_str("})\n");
            }
        }
    }

    /// A sentence with its sign in a frame.
    fn headline(&mut self, element: ElementRef<'_>) {
        let _ = write!(self.out, "headline({}, ", classes(element.value()));
        let (signs, words): (Vec<_>, Vec<_>) = element
            .children()
            .partition(|node| matches!(node.value(), Node::Element(e) if e.name() == "svg"));
        for part in [signs, words] {
            self.out.push_str("{ []\n");
            for node in part {
                self.run(node);
            }
            self.out.push_str("}, ");
        }
        self.out.push_str(")\n");
    }

    fn list(&mut self, element: ElementRef<'_>) {
        let value = element.value();
        let call = match value.name() {
            _ if SIDE_BY_SIDE.iter().any(|class| is(value, class)) => "side-by-side(",
            "ol" => "enum(",
            _ => "list(",
        };
        self.out.push_str(open(element));
        self.out.push_str(call);
        for item in elements(element) {
            let _ = write!(self.out, "classed({}, ", classes(item.value()));
            self.flow(item);
            self.out.push_str("),\n");
        }
        self.out.push_str(")})\n");
    }

    /// A list of pairs of a name and what is said of it.
    fn pairs(&mut self, element: ElementRef<'_>) {
        self.out.push_str(if is(element.value(), "numbers") {
            "cards("
        } else {
            "facts("
        });
        let mut parts = element
            .descendants()
            .filter_map(ElementRef::wrap)
            .filter(|part| matches!(part.value().name(), "dt" | "dd"))
            .peekable();
        while let Some(part) = parts.next() {
            let said =
                parts.next_if(|next| part.value().name() == "dt" && next.value().name() == "dd");
            self.out.push('(');
            self.flow(part);
            self.out.push_str(", ");
            match said {
                Some(said) => self.flow(said),
                None => self.out.push_str("[]"),
            }
            self.out.push_str("),\n");
        }
        self.out.push_str(")\n");
    }

    /// A photograph, its text for those who do not see it beside.
    fn photograph(&mut self, element: ElementRef<'_>) {
        let source = element.attr("src").unwrap_or_default();
        let alt = element.attr("alt").unwrap_or_default();
        // A face laid straight is long and low and has its own scale: as wide as the paper.
        let face = element
            .ancestors()
            .filter_map(ElementRef::wrap)
            .any(|above| is(above.value(), "face"));
        let Some((number, ratio)) = self.keep_jpeg(source) else {
            return;
        };
        let tallest = if face { "240mm" } else { "105mm" };
        let _ = writeln!(
            self.out,
            "picture({number}, \"jpg\", {}, {ratio}, {tallest})",
            quoted(alt)
        );
    }

    /// A drawing that says something.
    fn figure(&mut self, element: ElementRef<'_>) {
        let alt = element.attr("aria-label").unwrap_or_default();
        let (number, ratio) = self.keep_drawing(element);
        let _ = writeln!(
            self.out,
            "picture({number}, \"svg\", {}, {ratio}, 240mm)",
            quoted(alt)
        );
    }
}

fn in_line(node: &Node) -> bool {
    match node {
        Node::Element(element) => {
            IN_LINE.contains(&element.name())
                || element.name() == "svg" && element.attr("aria-hidden").is_some()
        }
        _ => true,
    }
}

/// Start of the call that sets what stands in this element.
fn open(element: ElementRef<'_>) -> &'static str {
    let value = element.value();
    let small = ["small", "soft", "kind"];
    match value.name() {
        "figcaption" => "small({ []\n",
        "summary" => "strong({ []\n",
        _ if small.iter().any(|class| is(value, class)) => "small({ []\n",
        _ if is(value, "reason") => "reason({ []\n",
        _ if is(value, "found") => "lead({ []\n",
        _ => "({ []\n",
    }
}
