//! The article of a page as blocks. What stands on the screen only is left out.

use scraper::{ElementRef, Html, Node, Selector, node::Element};

use super::block::{Block, Cell, Hand, Heads, Item, Mark, Picture, Shade, Span, Table, Text};

/// A paper as its page says it.
pub(super) struct Read {
    /// The title of the page, without the practice.
    pub title: String,
    pub practice: String,
    pub blocks: Vec<Block>,
}

/// Parts of a page that nobody can press on paper.
const SCREEN: [&str; 9] =
    ["form", "button", "script", "style", "template", "nav", "input", "select", "textarea"];

/// Reads the first `article.report` of a page; `None` where there is none.
pub(super) fn page(html: &str) -> Option<Read> {
    let page = Html::parse_document(html);
    let first = |selector: &str| Selector::parse(selector).ok().and_then(|s| page.select(&s).next());
    let article = first("article.report")?;
    let whole = first("title").map(|t| t.text().collect::<String>()).unwrap_or_default();
    let (title, practice) = whole.rsplit_once(" · ").unwrap_or((&whole, ""));
    Some(Read {
        title: title.trim().to_owned(),
        practice: practice.trim().to_owned(),
        blocks: blocks(article, Hand::default()),
    })
}

fn has(element: &Element, class: &str) -> bool {
    element.classes().any(|c| c == class)
}

fn on_paper(element: &Element) -> bool {
    !SCREEN.contains(&element.name()) && !has(element, "no-print") && element.attr("hidden").is_none()
}

fn is_inline(element: &Element) -> bool {
    matches!(
        element.name(),
        "a" | "abbr"
            | "b"
            | "br"
            | "cite"
            | "code"
            | "em"
            | "i"
            | "q"
            | "small"
            | "span"
            | "strong"
            | "time"
            | "sub"
            | "sup"
    )
}

/// How words inside an element are set.
fn within(element: &Element, hand: Hand) -> Hand {
    let name = element.name();
    Hand {
        bold: hand.bold
            || matches!(name, "b" | "strong" | "dt")
            || (name == "th" && element.attr("scope") != Some("row")),
        italic: hand.italic || matches!(name, "i" | "em" | "cite"),
        shade: if has(element, "soft") { Shade::Soft } else { hand.shade },
        small: hand.small || name == "small" || has(element, "small"),
    }
}

/// What stands in an element, words in a row gathered to paragraphs.
fn blocks(element: ElementRef<'_>, hand: Hand) -> Vec<Block> {
    let mut made = Vec::new();
    let mut text = Text::new();
    let typed = has(element.value(), "as-typed");
    for child in element.children() {
        match child.value() {
            Node::Text(words) => push(&mut text, words, hand, typed),
            Node::Element(inner) if !on_paper(inner) => {}
            Node::Element(inner) => {
                let Some(inner_ref) = ElementRef::wrap(child) else { continue };
                if is_inline(inner) {
                    inline(inner_ref, hand, typed, &mut text);
                } else {
                    flush(&mut text, &mut made);
                    made.extend(block(inner_ref, within(inner, hand)));
                }
            }
            _ => {}
        }
    }
    flush(&mut text, &mut made);
    made
}

fn block(element: ElementRef<'_>, hand: Hand) -> Vec<Block> {
    let inside = element.value();
    match inside.name() {
        name @ ("h1" | "h2" | "h3" | "h4" | "h5" | "h6") => {
            let level = name.bytes().last().map_or(1, |digit| u16::from(digit - b'0'));
            Vec::from_iter(some(words(element, hand)).map(|text| Block::Heading(level, text)))
        }
        "ul" | "ol" => list(element, hand),
        "dl" => pairs(element, hand),
        "table" => vec![Block::Table(table(element, hand))],
        "svg" => picture(element).into_iter().collect(),
        "caption" => Vec::new(),
        _ if ["caution", "stop-strip", "draft"].iter().any(|class| has(inside, class)) => {
            vec![Block::Apart(blocks(element, hand))]
        }
        _ => blocks(element, hand),
    }
}

fn some(text: Text) -> Option<Text> {
    (!text.is_empty()).then_some(text)
}

fn flush(text: &mut Text, made: &mut Vec<Block>) {
    trim(text);
    made.extend(some(std::mem::take(text)).map(Block::Paragraph));
}

/// The words of an element and of all in it.
fn words(element: ElementRef<'_>, hand: Hand) -> Text {
    let mut text = Text::new();
    inline(element, hand, false, &mut text);
    trim(&mut text);
    text
}

fn inline(element: ElementRef<'_>, hand: Hand, typed: bool, text: &mut Text) {
    let inside = element.value();
    if !on_paper(inside) {
        return;
    }
    if inside.name() == "br" {
        return push(text, "\n", hand, true);
    }
    let (hand, typed) = (within(inside, hand), typed || has(inside, "as-typed"));
    for child in element.children() {
        match (child.value(), ElementRef::wrap(child)) {
            (Node::Text(words), _) => push(text, words, hand, typed),
            (_, Some(inner)) => inline(inner, hand, typed, text),
            _ => {}
        }
    }
}

/// Adds words, white space drawn together as a browser does; lines as they were typed where that is asked for.
fn push(text: &mut Text, words: &str, hand: Hand, typed: bool) {
    let mut open = text.last().is_none_or(|span| span.words.ends_with([' ', '\n']));
    let mut said = String::new();
    for letter in words.chars() {
        if letter == '\n' && typed {
            said.push('\n');
            open = true;
        } else if !letter.is_whitespace() || letter == '\u{a0}' {
            said.push(letter);
            open = false;
        } else if !open {
            said.push(' ');
            open = true;
        }
    }
    if said.is_empty() {
        return;
    }
    match text.last_mut() {
        Some(last) if last.hand == hand => last.words.push_str(&said),
        _ => text.push(Span { words: said, hand }),
    }
}

fn trim(text: &mut Text) {
    while let Some(last) = text.last_mut() {
        last.words.truncate(last.words.trim_end().len());
        if !last.words.is_empty() {
            return;
        }
        text.pop();
    }
}

/// The children of an element by their name.
fn children<'a>(
    element: ElementRef<'a>,
    names: &'static [&'static str],
) -> impl Iterator<Item = ElementRef<'a>> {
    element.child_elements().filter(|child| on_paper(child.value()) && names.contains(&child.value().name()))
}

fn list(element: ElementRef<'_>, hand: Hand) -> Vec<Block> {
    let ordered = element.value().name() == "ol";
    let item = |(n, child): (usize, ElementRef<'_>)| Item {
        mark: if ordered { Mark::Number(n + 1) } else { Mark::Dot },
        blocks: blocks(child, within(child.value(), hand)),
    };
    let items: Vec<Item> =
        children(element, &["li"]).enumerate().map(item).filter(|item| !item.blocks.is_empty()).collect();
    if items.is_empty() { Vec::new() } else { vec![Block::List(items)] }
}

/// Terms, each with all that is said of it.
fn pairs(element: ElementRef<'_>, hand: Hand) -> Vec<Block> {
    let mut items: Vec<Item> = Vec::new();
    let inside: Vec<ElementRef<'_>> = children(element, &["dt", "dd", "div"])
        .flat_map(|child| match child.value().name() {
            "div" => children(child, &["dt", "dd"]).collect(),
            _ => vec![child],
        })
        .collect();
    for child in inside {
        match (child.value().name(), items.last_mut()) {
            ("dd", Some(item)) => item.blocks.extend(blocks(child, hand)),
            _ => items.push(Item { mark: Mark::Term(words(child, hand)), blocks: Vec::new() }),
        }
    }
    if items.is_empty() { Vec::new() } else { vec![Block::List(items)] }
}

fn table(element: ElementRef<'_>, hand: Hand) -> Table {
    let mut made = Table::default();
    if let Some(caption) = children(element, &["caption"]).next() {
        made.caption = words(caption, Hand { bold: true, ..hand });
    }
    for part in children(element, &["thead", "tbody", "tfoot"]) {
        for row in children(part, &["tr"]) {
            let cells: Vec<Cell> = children(row, &["th", "td"]).map(|cell| self::cell(cell, hand)).collect();
            if part.value().name() == "thead" { made.head.push(cells) } else { made.body.push(cells) }
        }
    }
    made
}

fn cell(element: ElementRef<'_>, hand: Hand) -> Cell {
    let inside = element.value();
    let heads = match (inside.name(), inside.attr("scope")) {
        ("th", Some("row")) => Heads::Row,
        ("th", _) => Heads::Column,
        _ => Heads::Nothing,
    };
    let across = inside.attr("colspan").and_then(|n| n.parse().ok()).unwrap_or(1).max(1);
    Cell { heads, across, blocks: blocks(element, within(inside, hand)) }
}

/// A drawing that says what it shows; one that does not is an ornament. A mark stands beside words that say the same.
fn picture(element: ElementRef<'_>) -> Option<Block> {
    if has(element.value(), "mark") {
        return None;
    }
    let alt = element.value().attr("aria-label")?.to_owned();
    Some(Block::Picture(Picture { svg: element.html(), alt }))
}
