use super::pdf;
use super::sheet::{quoted, read};

const NOW: &str = "2026-03-14T09:26:53Z";

fn page(body: &str) -> String {
    format!(
        "<!DOCTYPE html><html lang=\"en\"><head><title>HR-07 – a \"test\"</title>\
         <style>:root {{ --ink: #123456; }} .grid {{ stroke: var(--ink); }}</style></head>\
         <body>{body}</body></html>"
    )
}

#[test]
fn text_is_never_read_as_markup() {
    assert_eq!(quoted("a \"b\" \\ c\n  d"), r#""a \"b\" \\ c d""#);
    let sheet = read(&page("<p>#panic() $x$ *a* <b>[b]</b> \"}; { @ref</p>"));
    // Everything a person wrote stands between quotation marks.
    assert!(
        sheet.source.contains(r##""#panic() $x$ *a* ""##),
        "{}",
        sheet.source
    );
    assert!(pdf(&page("<p>#panic() $x$ \"}); panic(\"</p>"), NOW).is_ok());
}

#[test]
fn a_table_keeps_its_titles_its_row_names_and_short_rows() {
    let sheet = read(&page(
        "<table><caption>Sizes</caption><thead><tr><th>a</th><th>b</th></tr></thead>\
         <tbody><tr><th scope=\"row\">leg</th><td>6.0</td></tr><tr><td>only</td></tr></tbody></table>",
    ));
    let source = &sheet.source;
    assert_eq!(source.matches("table.header(").count(), 1);
    assert_eq!(source.matches("pdf.header-cell(scope: \"row\"").count(), 1);
    assert_eq!(source.matches("[],").count(), 1, "{source}");
    assert!(
        pdf(
            &page("<table></table><table><tbody><tr></tr></tbody></table>"),
            NOW
        )
        .is_ok()
    );
}

#[test]
fn what_is_for_the_screen_only_is_left_out() {
    let sheet = read(&page(
        "<script>let a = 1;</script><p>seen</p><button>Sort</button>",
    ));
    assert!(sheet.source.contains("seen"));
    assert!(!sheet.source.contains("let a") && !sheet.source.contains("Sort"));
}

#[test]
fn a_drawing_takes_the_pages_style_with_it() {
    let sheet = read(&page(
        "<figure class=\"drawn\"><svg viewBox=\"0 0 90 30\" role=\"img\" aria-label=\"lines\">\
         <line class=\"grid\" x1=\"0\" x2=\"90\" y1=\"5\" y2=\"5\"></line><text x=\"1\" y=\"9\">a&nbsp;b</text>\
         </svg></figure>",
    ));
    let svg = String::from_utf8(sheet.files[0].clone()).unwrap();
    assert!(
        svg.contains("stroke: #123456") && svg.contains("class=\"drawn"),
        "{svg}"
    );
    assert!(svg.contains("a\u{a0}b") && !svg.contains("&nbsp;"), "{svg}");
    assert!(
        sheet.source.contains("\"lines\", 0.333"),
        "{}",
        sheet.source
    );
}

#[test]
fn it_is_marked_as_made_for_keeping_and_for_everybody() {
    let made = pdf(&page("<h1>HR-07</h1><p>Throat 4.7 mm ± 0.1 mm</p>"), NOW).unwrap();
    // The description of the file (XMP, ISO 16684-1) is kept uncompressed by ISO 19005-2.
    let text = String::from_utf8_lossy(&made);
    assert!(text.contains("<pdfaid:part>2</pdfaid:part>"));
    assert!(text.contains("<pdfaid:conformance>A</pdfaid:conformance>"));
    assert!(text.contains("<pdfuaid:part>1</pdfuaid:part>"));
    assert!(text.contains("2026-03-14T09:26:53"));
    // The same page at the same time is the same file.
    assert_eq!(
        made,
        pdf(&page("<h1>HR-07</h1><p>Throat 4.7 mm ± 0.1 mm</p>"), NOW).unwrap()
    );
}

#[test]
fn letters_that_no_font_has_and_a_bad_time_are_said() {
    let error = pdf(&page("<p>\u{10348}</p>"), NOW).unwrap_err();
    assert!(
        error.to_string().contains("could not be set as PDF"),
        "{error}"
    );
    assert!(pdf(&page("<p>a</p>"), "yesterday").is_err());
}
