//! Pages as PDF files, read back with programs that had no part in making them
//! (Poppler's `pdftotext` and `pdfinfo`).

use crate::support::class::Class;
use crate::support::tools::says;
use scraper::{ElementRef, Html, Node, Selector};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// How often every word or figure stands in a text; marks between them depend on how a
/// text was taken out of its page.
fn words(text: &str) -> BTreeMap<String, usize> {
    let mut count = BTreeMap::new();
    for word in text
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
    {
        *count.entry(word.to_owned()).or_default() += 1;
    }
    count
}

/// All that a page says to a reader.
fn said(html: &str) -> String {
    let page = Html::parse_document(html);
    let body = page
        .select(&Selector::parse("body").unwrap())
        .next()
        .unwrap();
    let unseen = |above: ElementRef<'_>| {
        ["script", "style", "svg", "button"].contains(&above.value().name())
    };
    body.descendants()
        .filter(|node| !node.ancestors().filter_map(ElementRef::wrap).any(unseen))
        .filter_map(|node| match node.value() {
            Node::Text(own) => Some(format!("{} ", &**own)),
            _ => None,
        })
        .collect()
}

/// Every word of the page is in the PDF at least as often, and the PDF is marked as what
/// it is. Gives what `pdfinfo` says of its structure.
fn same(folder: &Class, html: &str, pdf: &str) -> Option<String> {
    let page = fs::read_to_string(folder.path(html)).unwrap();
    let path = folder.path(pdf);
    let path = path.to_str().unwrap();
    let bytes = fs::read(path).unwrap();
    // ISO 19005-2, 6.6.4: the description says which part and level is kept to.
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.contains("<pdfaid:part>2</pdfaid:part>"), "{pdf}");

    let paper = words(&says("pdftotext", &["-raw", path, "-"])?);
    let missing: Vec<String> = words(&said(&page))
        .into_iter()
        .filter(|(word, count)| paper.get(word).is_none_or(|there| there < count))
        .map(|(word, count)| format!("{word} ({count}, {:?})", paper.get(&word)))
        .collect();
    assert!(missing.is_empty(), "{pdf} lacks {missing:?}");

    let info = says("pdfinfo", &[path])?;
    assert!(info.contains("Tagged:          yes"), "{info}");
    says("pdfinfo", &["-struct", path])
}

#[test]
fn a_section_s_report_says_the_same_on_paper() {
    let class = Class::new();
    class.section("HR-07.jpg");
    let answer = class.run(&[
        "section",
        "photos/HR-07.jpg",
        "--scale",
        "rule-mm",
        "--thickness",
        "8,10",
        "--coupon",
        "HR-07",
        "--limits",
        "iso5817-c",
        "--pdf",
    ]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("HR-07.report.pdf"), "{}", answer.out);
    let Some(structure) = same(&class, "HR-07.report.html", "HR-07.report.pdf") else {
        return;
    };
    // ISO 32000-1, 14.8.4: standard structure types.
    let kinds: BTreeSet<&str> = structure
        .lines()
        .filter_map(|line| line.trim().split([' ', ':']).next())
        .collect();
    for kind in ["H1", "H2", "Table", "TH", "TD", "Figure", "L", "LI"] {
        assert!(kinds.contains(kind), "{kind} is not among {kinds:?}");
    }

    // Measured again without a PDF, the old one would be taken for the new report's.
    let again = class.run(&["section", "photos/HR-07.jpg", "--scale", "rule-mm"]);
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(!class.path("HR-07.report.pdf").exists());
}

#[test]
fn a_class_its_reports_and_a_study_say_the_same_on_paper() {
    let class = Class::new();
    class.section("HR-07.jpg");
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fractures");
    fs::copy(shipped.join("HR-21.jpg"), class.path("photos/HR-21.jpg")).unwrap();
    class.sheet(
        "coupon,welder,process,notes,scale,limits,section,fracture\n\
         HR-07,Zoë,135,\"a #note of \"\"mine\"\" \\ {x} $y$\",rule-mm,iso5817-c,HR-07.jpg,\n\
         HR-21,W-02,135,,rule-mm,harbour-row-contest,,HR-21.jpg\n",
    );
    assert_eq!(class.batch().code, 0);
    let page = class.run(&[
        "class",
        "--archive",
        "archive",
        "--out",
        "class.html",
        "--pdf",
    ]);
    assert_eq!(page.code, 0, "{}", page.err);
    same(&class, "class.html", "class.pdf");

    let export = class.archive(&["export", "--out", "all", "--pdf"]);
    assert_eq!(export.code, 0, "{}", export.err);
    let sums = fs::read_to_string(class.path("all/SHA256SUMS")).unwrap();
    for (coupon, name) in [("HR-07", "HR-07"), ("HR-21", "HR-21")] {
        let place = |ending: &str| format!("all/{coupon}/{name}.report.{ending}");
        same(&class, &place("html"), &place("pdf"));
        assert!(
            sums.contains(&format!("{coupon}/{name}.report.pdf")),
            "{sums}"
        );
    }

    assert_eq!(class.run(&["study", "--new", "study.csv"]).code, 0);
    let study = class.run(&["study", "study.csv", "--out", "study.html", "--pdf"]);
    assert_eq!(study.code, 0, "{}", study.err);
    same(&class, "study.html", "study.pdf");
}

#[test]
fn a_page_that_cannot_be_set_is_said_and_the_page_is_there() {
    let class = Class::new();
    class.photo("1.png", 1);
    class.sheet("coupon,welder,scale,section\nHR-01,\u{10348},declared:20,1.png\n");
    class.batch();
    let page = class.run(&[
        "class",
        "--archive",
        "archive",
        "--out",
        "class.html",
        "--pdf",
    ]);
    assert_eq!(page.code, 1, "{}", page.err);
    assert!(page.err.contains("prints from a browser"), "{}", page.err);
    assert!(class.path("class.html").exists() && !class.path("class.pdf").exists());
}
