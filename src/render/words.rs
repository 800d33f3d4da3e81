//! An author's Markdown as HTML that can't run as script.
//!
//! In: [`Words`] with every destination decided. Out: HTML: raw HTML is dropped, headings stand below the page's own, values
//! are filled in.

use pulldown_cmark::{Alignment, CowStr, Event, HeadingLevel, Options, Parser, Tag, TagEnd, html};

use super::filters::href;
use crate::plan::{Link, Target, Words, destination};

/// The words as HTML; the highest heading in them is one below `below`.
pub fn html(words: &Words, root: &str, below: u8) -> String {
    let mut out = String::with_capacity(words.text.len() * 2);
    let mut writer = Writer { words, root, below, open: Vec::new(), table: Cells::default(), events: Vec::new() };
    for event in Parser::new_ext(&words.text, Options::ENABLE_TABLES | Options::ENABLE_HEADING_ATTRIBUTES) {
        writer.event(event);
    }
    html::push_html(&mut out, writer.events.into_iter());
    out
}

/// What a link's end closes.
enum Open {
    /// An `a` of its own.
    Anchor,
    /// Nothing: only its text stands.
    Text,
    /// A filled-in value follows if nothing stood between the brackets.
    Filled(String, usize),
}

/// Where in a table the writer is. Alignment is a class here: the page's policy lets no style stand in a tag.
#[derive(Default)]
struct Cells {
    alignments: Vec<Alignment>,
    column: usize,
    head: bool,
}

struct Writer<'w> {
    words: &'w Words,
    root: &'w str,
    below: u8,
    open: Vec<Open>,
    table: Cells,
    events: Vec<Event<'w>>,
}

impl<'w> Writer<'w> {
    fn raw(&mut self, html: impl Into<CowStr<'w>>) {
        self.events.push(Event::InlineHtml(html.into()));
    }

    fn event(&mut self, event: Event<'w>) {
        match event {
            Event::Html(_) | Event::InlineHtml(_) => {}
            Event::Start(tag @ Tag::Link { .. }) => self.link(tag),
            Event::End(TagEnd::Link) => match self.open.pop() {
                Some(Open::Anchor) => self.events.push(Event::End(TagEnd::Link)),
                Some(Open::Filled(html, at)) => {
                    if self.events.len() == at {
                        self.raw(html);
                    }
                    self.raw("</a>");
                }
                Some(Open::Text) | None => {}
            },
            Event::Start(Tag::Image { dest_url, title, id, link_type }) => {
                let dest_url = match self.words.links.get(&*dest_url) {
                    Some(Target::Figure { to }) => CowStr::from(href(to, self.root)),
                    Some(Target::Outside | Target::Nowhere | Target::Page { .. } | Target::Value { .. }) | None => {
                        // A picture that is not ours is not fetched: its alternative text stands.
                        self.open.push(Open::Text);
                        return;
                    }
                };
                self.open.push(Open::Anchor);
                self.events.push(Event::Start(Tag::Image { link_type, dest_url, title, id }));
            }
            Event::End(TagEnd::Image) => {
                if let Some(Open::Anchor) = self.open.pop() {
                    self.events.push(Event::End(TagEnd::Image));
                }
            }
            Event::Start(Tag::Heading { level, id, .. }) => {
                let level = self.level(level);
                let id = id.filter(|id| self.words.anchors && is_id(id));
                self.events.push(Event::Start(Tag::Heading { level, id, classes: Vec::new(), attrs: Vec::new() }));
            }
            Event::End(TagEnd::Heading(level)) => {
                let level = self.level(level);
                self.events.push(Event::End(TagEnd::Heading(level)));
            }
            Event::Start(Tag::Table(alignments)) => {
                self.table = Cells { alignments, ..Cells::default() };
                self.raw("<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"Table\">");
                self.events.push(Event::Start(Tag::Table(Vec::new())));
            }
            Event::End(TagEnd::Table) => {
                self.events.push(Event::End(TagEnd::Table));
                self.raw("</div>");
            }
            Event::Start(tag @ (Tag::TableHead | Tag::TableRow)) => {
                self.table.head = matches!(tag, Tag::TableHead);
                self.table.column = 0;
                self.events.push(Event::Start(tag));
            }
            Event::Start(Tag::TableCell) => self.cell(),
            Event::End(TagEnd::TableCell) => self.raw(if self.table.head { "</th>" } else { "</td>" }),
            // Wide code scrolls, so it can have the focus.
            Event::Start(Tag::CodeBlock(_)) => self.raw("<pre tabindex=\"0\"><code>"),
            Event::End(TagEnd::CodeBlock) => self.raw("</code></pre>"),
            other => self.events.push(other),
        }
    }

    /// Authors count from `##`; the page has headings of its own above.
    fn level(&self, level: HeadingLevel) -> HeadingLevel {
        let highest = if self.below == 1 { 2 } else { 3 };
        let deeper = (level as u8).saturating_sub(highest);
        HeadingLevel::try_from(usize::from((self.below + 1 + deeper).min(6))).unwrap_or(HeadingLevel::H6)
    }

    fn cell(&mut self) {
        let class = match self.table.alignments.get(self.table.column) {
            Some(Alignment::Right) => " class=\"right\"",
            Some(Alignment::Center) => " class=\"centre\"",
            _ => "",
        };
        self.table.column += 1;
        self.raw(if self.table.head { format!("<th scope=\"col\"{class}>") } else { format!("<td{class}>") });
    }

    fn link(&mut self, tag: Tag<'w>) {
        let Tag::Link { dest_url, link_type, title, .. } = &tag else { return };
        let words = self.words;
        let dest = destination(dest_url, *link_type);
        let said = if title.is_empty() { String::new() } else { format!(" title=\"{}\"", escape(title)) };
        match words.links.get(&dest) {
            Some(Target::Page { to, title }) => {
                self.raw(format!("<a href=\"{}\"{said}>", escape(&href(to, self.root))));
                self.open.push(Open::Filled(escape(title), self.events.len()));
            }
            Some(Target::Value { to, values }) => {
                self.raw(format!("<a class=\"value\" href=\"{}\"{said}>", escape(&href(to, self.root))));
                self.open.push(Open::Filled(filled(values), self.events.len()));
            }
            Some(Target::Outside) => {
                self.events.push(Event::Start(tag));
                self.open.push(Open::Anchor);
            }
            Some(Target::Figure { .. } | Target::Nowhere) | None => self.open.push(Open::Text),
        }
    }
}

/// Ids of the language hold no more than these letters; the page's own end in `_`.
fn is_id(id: &str) -> bool {
    !id.is_empty() && id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

/// A spec's value, on each group of vehicles where they differ.
fn filled(values: &[Link]) -> String {
    let one = |value: &Link| match (&value.on, &value.more) {
        (Some(on), Some(more)) => format!(
            "<span data-for=\"{}\">{}<span class=\"more\"> ({})</span></span>",
            escape(on),
            escape(&value.text),
            escape(more)
        ),
        _ => escape(&value.text),
    };
    values.iter().map(one).collect::<Vec<_>>().join("<span class=\"between\">; </span>")
}

/// Text as HTML text or as an attribute's value.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
#[path = "words_tests.rs"]
mod tests;
