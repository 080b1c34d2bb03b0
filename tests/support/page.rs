//! A page of HTML, read back as XML: what every page keeps to, and the cells of its tables.

use std::collections::{BTreeMap, HashSet};

use barwise::report::html::palette;
use roxmltree::{Document, Node, ParsingOptions};

/// What no page of ours has.
const ABSENT: [&str; 14] = [
    "script",
    "link",
    "img",
    "iframe",
    "object",
    "embed",
    "base",
    "form",
    "input",
    "audio",
    "video",
    "source",
    "use",
    "foreignObject",
];

/// The page as a tree.
pub fn parsed(html: &str) -> Document<'_> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(html, options).expect("a page that is well-formed XML")
}

/// Checks what every page keeps to.
pub fn check(html: &str) {
    let page = parsed(html);
    let elements = || page.descendants().filter(Node::is_element);
    assert!(html.starts_with("<!DOCTYPE html>"));
    assert_eq!(page.root_element().attribute("lang"), Some("en"));
    nothing_is_fetched(html, &page);
    let ids: Vec<&str> = elements().filter_map(|element| element.attribute("id")).collect();
    assert_eq!(ids.iter().collect::<HashSet<_>>().len(), ids.len(), "every id once");
    headings_come_in_order(&page);
    for svg in elements().filter(|element| element.has_tag_name("svg")) {
        is_described(svg, &ids);
    }
    for figure in elements().filter(|element| element.has_tag_name("figure")) {
        let table = figure
            .next_siblings()
            .flat_map(|below| below.descendants())
            .any(|node| node.has_tag_name("table"));
        assert!(table, "a table below {:?}", figure.attribute("aria-label"));
    }
    for table in elements().filter(|element| element.has_tag_name("table")) {
        has_headings(table);
    }
    every_colour_is_of_the_palette(html);
}

fn nothing_is_fetched(html: &str, page: &Document<'_>) {
    for element in page.descendants().filter(Node::is_element) {
        let name = element.tag_name().name();
        assert!(!ABSENT.contains(&name), "{name}");
        for attribute in element.attributes() {
            let name = attribute.name();
            assert!(!name.starts_with("on") && !["style", "src", "href", "srcset"].contains(&name), "{name}");
        }
    }
    assert!(!html.contains("http://") && !html.contains("https://") && !html.contains("@import"));
    let policy =
        page.descendants().find(|node| node.attribute("http-equiv") == Some("Content-Security-Policy"));
    let policy = policy.and_then(|node| node.attribute("content")).expect("a policy");
    assert!(policy.starts_with("default-src 'none'; style-src 'sha256-"), "{policy}");
    assert!(!policy.contains("unsafe"), "{policy}");
}

/// One h1, first; no level is jumped over on the way down.
fn headings_come_in_order(page: &Document<'_>) {
    let level = |node: Node<'_, '_>| {
        let name = node.tag_name().name();
        name.strip_prefix('h').and_then(|level| level.parse::<u8>().ok())
    };
    let levels: Vec<u8> = page.descendants().filter_map(level).collect();
    assert_eq!(levels.first(), Some(&1));
    assert!(!levels[1..].contains(&1), "one h1: {levels:?}");
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
}

fn is_described(svg: Node<'_, '_>, ids: &[&str]) {
    if svg.attribute("aria-hidden") == Some("true") {
        return;
    }
    assert_eq!(svg.attribute("role"), Some("img"));
    for (element, attribute) in [("title", "aria-labelledby"), ("desc", "aria-describedby")] {
        let words = svg.children().find(|child| child.has_tag_name(element)).and_then(|child| child.text());
        assert!(words.is_some_and(|words| words.len() > 3), "{element}");
        assert!(svg.attribute(attribute).is_some_and(|id| ids.contains(&id)), "{attribute}");
    }
}

/// A caption, headings for columns and rows, and as many cells in each row as there are headings.
fn has_headings(table: Node<'_, '_>) {
    let caption =
        table.children().find(|child| child.has_tag_name("caption")).and_then(|caption| caption.text());
    assert!(caption.is_some_and(|caption| !caption.is_empty()));
    let headings = table.descendants().filter(|node| node.has_tag_name("th"));
    for heading in headings {
        assert!(matches!(heading.attribute("scope"), Some("col" | "row")));
    }
    let rows: Vec<usize> = table
        .descendants()
        .filter(|node| node.has_tag_name("tr"))
        .map(|row| row.children().filter(Node::is_element).count())
        .collect();
    assert!(rows.windows(2).all(|pair| pair[0] == pair[1]), "{caption:?}: {rows:?}");
}

fn every_colour_is_of_the_palette(html: &str) {
    let known: Vec<String> = palette::NAMED.iter().map(|(_, colour)| colour.to_string()).collect();
    let is_colour = |text: &&str| text.len() == 7 && text[1..].chars().all(|sign| sign.is_ascii_hexdigit());
    let found = html.match_indices('#').filter_map(|(at, _)| html.get(at..at + 7)).filter(is_colour);
    for colour in found {
        assert!(known.contains(&colour.to_owned()), "{colour} is in no palette");
    }
}

/// The rows of every table by its id, headings left out: the text of each cell.
pub fn tables(html: &str) -> BTreeMap<String, Vec<Vec<String>>> {
    let page = parsed(html);
    let text = |cell: Node<'_, '_>| {
        cell.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect::<String>()
    };
    let rows = |table: Node<'_, '_>| {
        let body = table.children().find(|child| child.has_tag_name("tbody")).expect("a body");
        let rows = body.children().filter(Node::is_element);
        rows.map(|row| row.children().filter(Node::is_element).map(text).collect()).collect()
    };
    let tables = page.descendants().filter(|node| node.has_tag_name("table"));
    tables.map(|table| (table.attribute("id").expect("an id").to_owned(), rows(table))).collect()
}
