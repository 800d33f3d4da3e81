//! Markdown sections.

use std::ops::Range;

use crate::model::Section;
use crate::source::{FileId, Span, Spanned};

/// A link or picture.
#[derive(Clone, Debug)]
pub struct Link {
    /// Where it leads.
    pub to: Spanned<String>,
    /// Its text, or a picture's alternative text.
    pub text: String,
    /// The whole.
    pub span: Span,
    /// A picture.
    pub is_image: bool,
}

/// A body.
#[derive(Clone, Debug)]
pub struct Body {
    /// The whole.
    pub range: Span,
    /// First `#`.
    pub title: Option<String>,
    /// Before the first section.
    pub intro: Span,
    /// Headings.
    pub sections: Vec<Section>,
    /// Links and pictures.
    pub links: Vec<Link>,
    /// Raw HTML.
    pub raw_html: Vec<Span>,
}

impl Body {
    /// Nothing.
    pub fn empty(file: FileId) -> Self {
        let none = Span::new(file, 0, 0);
        Self { range: none, title: None, intro: none, sections: vec![], links: vec![], raw_html: vec![] }
    }
}

/// Reads.
pub fn parse(file: FileId, text: &str, range: Range<usize>) -> Body {
    use pulldown_cmark::{Event, LinkType, Options, Parser, Tag, TagEnd};
    let mut body = Body { range: Span::new(file, range.start, range.end), ..Body::empty(file) };
    let parser = Parser::new_ext(&text[range.clone()], Options::ENABLE_TABLES | Options::ENABLE_HEADING_ATTRIBUTES)
        .into_offset_iter();
    let mut open: Option<Section> = None;
    let mut links: Vec<Link> = Vec::new();
    for (event, at) in parser {
        let span = Span::new(file, range.start + at.start, range.start + at.end);
        match event {
            Event::Start(Tag::Heading { level, id, .. }) => {
                let id = id.map(|i| {
                    let from = text[span.start as usize..span.end as usize].rfind(&format!("{{#{i}")).unwrap_or(0) + 2;
                    Spanned::new(
                        i.to_string(),
                        Span::new(file, span.start as usize + from, span.start as usize + from + i.len()),
                    )
                });
                open = Some(Section { id, title: String::new(), level: level as u8, heading: span, content: span });
            }
            Event::Text(t) | Event::Code(t) => {
                if let Some(open) = &mut open {
                    open.title.push_str(&t);
                }
                for link in &mut links {
                    link.text.push_str(&t);
                }
            }
            Event::Start(Tag::Link { link_type, dest_url, .. } | Tag::Image { link_type, dest_url, .. }) => {
                let whole = &text[span.start as usize..span.end as usize];
                let from = whole.rfind(dest_url.as_ref()).filter(|_| !dest_url.is_empty());
                let to = from.map_or(span, |from| span.part(from, from + dest_url.len()));
                let is_image = whole.starts_with('!');
                let mail = if link_type == LinkType::Email { "mailto:" } else { "" };
                links.push(Link {
                    to: Spanned::new(format!("{mail}{dest_url}"), to),
                    text: String::new(),
                    span,
                    is_image,
                });
            }
            Event::End(TagEnd::Link | TagEnd::Image) => body.links.extend(links.pop()),
            Event::InlineHtml(_) => body.raw_html.push(span),
            Event::Start(Tag::HtmlBlock) => {
                let block = text[span.start as usize..span.end as usize].trim_end();
                body.raw_html.push(span.part(0, block.len()));
            }
            Event::End(TagEnd::Heading(_)) => {
                if let Some(section) = open.take() {
                    if section.level == 1 && body.title.is_none() {
                        body.title = Some(section.title.clone());
                    }
                    body.sections.push(section);
                }
            }
            _ => {}
        }
    }
    body.intro = Span::new(
        file,
        range.start,
        body.sections.iter().find(|s| s.level > 1).map_or(range.end, |s| s.heading.start as usize),
    );
    let end = range.end;
    for i in 0..body.sections.len() {
        let next = body.sections[i + 1..]
            .iter()
            .find(|s| s.level <= body.sections[i].level.max(2))
            .map_or(end, |s| s.heading.start as usize);
        body.sections[i].content = Span::new(file, body.sections[i].heading.end as usize, next);
    }
    body
}
