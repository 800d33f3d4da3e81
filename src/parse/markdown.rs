//! The words of a file: sections, links, pictures, raw HTML.
//!
//! In: Markdown on some bytes of a file. Out: a [`Body`] whose spans count from the start of the file. It judges nothing.

use std::ops::Range;

use pulldown_cmark::{Event, LinkType, Options, Parser, Tag, TagEnd};

use crate::model::Section;
use crate::source::{FileId, Span, Spanned};

/// A link or picture.
#[derive(Clone, Debug)]
pub struct Link {
    /// Where it leads, and where that is written: behind the brackets, or in the definition that the link refers to. The
    /// whole link where it is written with escapes.
    pub to: Spanned<String>,
    /// Its text, or a picture's alternative text.
    pub text: String,
    /// The whole link.
    pub span: Span,
    /// Whether it is a picture.
    pub is_image: bool,
}

/// What stands in a file's words.
#[derive(Clone, Debug)]
pub struct Body {
    /// All of it.
    pub range: Span,
    /// The text of the first `#` heading.
    pub title: Option<String>,
    /// What stands before the first `##` (or deeper) heading.
    pub intro: Span,
    /// The headings that stand for themselves, in order, each with what stands under it.
    pub sections: Vec<Section>,
    /// Links and pictures, in the order of their ends.
    pub links: Vec<Link>,
    /// Each piece of raw HTML: a tag, or a block.
    pub raw_html: Vec<Span>,
}

impl Body {
    /// The words of a file that could not be read.
    pub fn empty(file: FileId) -> Self {
        let none = Span::new(file, 0, 0);
        Self { range: none, title: None, intro: none, sections: vec![], links: vec![], raw_html: vec![] }
    }
}

/// Reads the Markdown that stands on these bytes of a file's text. Every span counts from the start of the file.
///
/// Only headings that stand for themselves begin sections: one in a quotation or a list is part of its words.
pub fn parse(file: FileId, text: &str, range: Range<usize>) -> Body {
    let options = Options::ENABLE_TABLES | Options::ENABLE_HEADING_ATTRIBUTES;
    let mut events = Parser::new_ext(&text[range.clone()], options).into_offset_iter();
    let mut reader = Reader {
        file,
        text: &text[range.clone()],
        base: range.start,
        body: Body { range: Span::new(file, range.start, range.end), ..Body::empty(file) },
        heading: None,
        links: Vec::new(),
        inside: 0,
    };
    while let Some((event, at)) = events.next() {
        let definition = match &event {
            Event::Start(Tag::Link { link_type, id, .. } | Tag::Image { link_type, id, .. })
                if is_reference(*link_type) =>
            {
                events.reference_definitions().get(id).map(|d| d.span.clone())
            }
            _ => None,
        };
        reader.event(event, at, definition);
    }
    let Reader { mut body, .. } = reader;
    let first = body.sections.iter().find(|s| s.level > 1);
    body.intro = Span::new(file, range.start, first.map_or(range.end, |s| s.heading.start as usize));
    end_sections(&mut body.sections, range.end);
    body
}

/// A `##` section ends at the next `##` or `#`, a deeper one at the next of its own level or a higher one.
fn end_sections(sections: &mut [Section], end: usize) {
    for i in 0..sections.len() {
        let level = sections[i].level.max(2);
        let next = sections[i + 1..].iter().find(|s| s.level <= level);
        sections[i].content.end = next.map_or(end as u32, |s| s.heading.start);
    }
}

fn is_reference(kind: LinkType) -> bool {
    matches!(kind, LinkType::Reference | LinkType::Collapsed | LinkType::Shortcut)
}

/// How many pictures in links in pictures are read: a picture in a link is one.
const DEEPEST: usize = 4;

/// What is open while the events go by. Ranges count from the start of `text`.
struct Reader<'t> {
    file: FileId,
    text: &'t str,
    base: usize,
    body: Body,
    heading: Option<Section>,
    /// Open links and pictures, each with where its own text ends so far.
    links: Vec<(Link, usize)>,
    /// Quotations and lists around.
    inside: usize,
}

impl Reader<'_> {
    fn span(&self, at: &Range<usize>) -> Span {
        Span::new(self.file, self.base + at.start, self.base + at.end)
    }

    fn event(&mut self, event: Event<'_>, at: Range<usize>, definition: Option<Range<usize>>) {
        // A link's own end spans the whole of it.
        let closes = matches!(event, Event::End(TagEnd::Link | TagEnd::Image));
        if let Some((_, end)) = self.links.last_mut().filter(|_| !closes) {
            *end = at.end.max(*end);
        }
        match event {
            Event::Start(Tag::BlockQuote(_) | Tag::List(_)) => self.inside += 1,
            Event::End(TagEnd::BlockQuote(_) | TagEnd::List(_)) => self.inside = self.inside.saturating_sub(1),
            Event::Start(Tag::Heading { level, id, .. }) if self.inside == 0 => {
                self.heading = Some(self.heading(level as u8, id.as_deref(), &at));
            }
            Event::End(TagEnd::Heading(_)) => {
                if let Some(section) = self.heading.take() {
                    if section.level == 1 && self.body.title.is_none() {
                        self.body.title = Some(section.title.clone());
                    }
                    self.body.sections.push(section);
                }
            }
            Event::Text(text) | Event::Code(text) => self.words(&text),
            Event::SoftBreak | Event::HardBreak => self.words(" "),
            Event::Start(Tag::Link { link_type, dest_url, .. }) => {
                self.open(&dest_url, link_type, &at, definition, false);
            }
            Event::Start(Tag::Image { link_type, dest_url, .. }) => {
                self.open(&dest_url, link_type, &at, definition, true);
            }
            Event::End(TagEnd::Link | TagEnd::Image) => self.close(),
            Event::InlineHtml(_) => self.body.raw_html.push(self.span(&at)),
            Event::Start(Tag::HtmlBlock) => {
                let end = at.start + self.text[at.clone()].trim_end().len();
                self.body.raw_html.push(self.span(&(at.start..end)));
            }
            _ => {}
        }
    }

    fn words(&mut self, words: &str) {
        if let Some(heading) = &mut self.heading {
            heading.title.push_str(words);
        }
        for (link, _) in self.links.iter_mut().take(DEEPEST) {
            link.text.push_str(words);
        }
    }

    /// A heading without the line end behind it; its content begins there.
    fn heading(&self, level: u8, id: Option<&str>, at: &Range<usize>) -> Section {
        let written = &self.text[at.clone()];
        let end = at.start + written.trim_end().len();
        let id = id.map(|id| {
            let brace = written.rfind('{').unwrap_or(0);
            let from = written[brace..].find(&format!("#{id}")).map_or(0, |i| brace + i + 1);
            let place = at.start + from..at.start + from + id.len();
            Spanned::new(id.to_owned(), self.span(if from > 0 { &place } else { at }))
        });
        let content = self.span(&(at.end..at.end));
        Section { id, title: String::new(), level, heading: self.span(&(at.start..end)), content }
    }

    fn open(&mut self, to: &str, kind: LinkType, at: &Range<usize>, definition: Option<Range<usize>>, is_image: bool) {
        let span = self.span(at);
        let place = match kind {
            LinkType::Autolink | LinkType::Email => Some(at.start + 1..at.end.saturating_sub(1)),
            _ => definition.and_then(|d| {
                let label = self.text[d.clone()].find("]:")? + 2;
                self.destination(to, d.start + label)
            }),
        };
        let mail = if kind == LinkType::Email { "mailto:" } else { "" };
        let to = Spanned::new(format!("{mail}{to}"), place.map_or(span, |p| self.span(&p)));
        let inner = at.start + if is_image { 2 } else { 1 };
        self.links.push((Link { to, text: String::new(), span, is_image }, inner));
    }

    /// An inline link's destination stands behind what is between its brackets.
    fn close(&mut self) {
        let Some((mut link, inner)) = self.links.pop() else { return };
        let end = link.span.end as usize - self.base;
        if link.to.span == link.span {
            let behind = self.text.get(inner..end).and_then(|rest| rest.find("](")).map(|i| inner + i + 2);
            if let Some(place) = behind.and_then(|from| self.destination(&link.to.value, from)) {
                link.to.span = self.span(&place);
            }
        }
        if let Some((_, outer)) = self.links.last_mut() {
            *outer = end.max(*outer);
        }
        self.body.links.push(link);
    }

    /// Where a destination stands from here, behind spaces and an angle bracket; nothing where it is written otherwise
    /// (with escapes).
    fn destination(&self, to: &str, from: usize) -> Option<Range<usize>> {
        let rest = self.text.get(from..)?;
        let start = from + (rest.len() - rest.trim_start().trim_start_matches('<').len());
        (!to.is_empty() && self.text[start..].starts_with(to)).then(|| start..start + to.len())
    }
}
