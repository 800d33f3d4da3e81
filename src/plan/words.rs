//! An author's words: what each destination in them means.
//!
//! In: Markdown, the path of its file, and the vehicles of the page. Out: [`Words`].

use pulldown_cmark::{Event, LinkType, Options, Parser, Tag};
use std::borrow::Cow;
use std::collections::BTreeMap;

use super::address::PageKind;
use super::frame::Frame;
use super::limits::values_per_group;
use super::page::{Target, Words};
use crate::model::{Set, Vehicle};
use crate::parse::front_matter;
use crate::source::Span;

/// Addresses outside that may stand on a page.
const OUTSIDE: [&str; 4] = ["http://", "https://", "mailto:", "tel:"];

/// The words of a span, for the vehicles of its page. `page` is the address of the page they stand on.
pub fn words(frame: &Frame<'_>, span: Span, on: &Set<Vehicle>, page: &str) -> Words {
    let text = without_title(frame.sources.text(span));
    let file = frame.sources.file(span.file);
    let text = with_definitions(text, span, file.text());
    words_of(frame, &text, file.path(), on, page)
}

/// A piece of a file with the definitions of links, `[NAME]: PLACE`, that stand elsewhere in the file.
fn with_definitions<'t>(text: &'t str, span: Span, whole: &str) -> Cow<'t, str> {
    if !text.contains('[') || !whole.contains("]:") {
        return Cow::Borrowed(text);
    }
    let start = front_matter::split(span.file, whole).body.start;
    let body = &whole[start..];
    let parser = Parser::new_ext(body, Options::ENABLE_TABLES | Options::ENABLE_HEADING_ATTRIBUTES);
    let here = span.start as usize..span.end as usize;
    let mut elsewhere: Vec<_> = parser
        .reference_definitions()
        .iter()
        .map(|(_, definition)| definition.span.clone())
        .filter(|at| !here.contains(&(start + at.start)))
        .collect();
    if elsewhere.is_empty() {
        return Cow::Borrowed(text);
    }
    elsewhere.sort_by_key(|at| at.start);
    let definitions = elsewhere.into_iter().fold(String::new(), |all, at| all + body[at].trim() + "\n\n");
    // Above the words: below them they could stand in a block that was never closed.
    Cow::Owned(definitions + text)
}

/// The words of a text of the file `path`.
pub fn words_of(frame: &Frame<'_>, text: &str, path: &str, on: &Set<Vehicle>, page: &str) -> Words {
    linked(text, |dest| target(frame, dest, path, on, page))
}

/// A text with the target of each destination in it.
pub fn linked(text: &str, target: impl Fn(&str) -> Target) -> Words {
    let mut links = BTreeMap::new();
    // Words without either letter lead nowhere, and need not be read for it.
    let events = text.contains(['[', '<']).then(|| Parser::new_ext(text, Options::ENABLE_TABLES));
    for event in events.into_iter().flatten() {
        if let Event::Start(Tag::Link { dest_url, link_type, .. } | Tag::Image { dest_url, link_type, .. }) = event {
            let dest = destination(&dest_url, link_type);
            let target = target(&dest);
            links.insert(dest, target);
        }
    }
    Words { text: text.trim_matches('\n').to_owned(), anchors: true, links }
}

/// A destination as written; an address between angle brackets is a letter.
pub fn destination(dest: &str, kind: LinkType) -> String {
    if kind == LinkType::Email { format!("mailto:{dest}") } else { dest.to_owned() }
}

/// A body without its `#` heading, which is the page's title.
pub fn without_title(text: &str) -> &str {
    let body = text.trim_start_matches(['\n', '\r']);
    match body.strip_prefix("# ") {
        Some(rest) => rest.split_once('\n').map_or("", |(_, rest)| rest),
        None => body,
    }
}

fn target(frame: &Frame<'_>, dest: &str, path: &str, on: &Set<Vehicle>, page: &str) -> Target {
    let lower = dest.to_ascii_lowercase();
    if OUTSIDE.iter().any(|scheme| lower.starts_with(scheme)) {
        return Target::Outside;
    }
    if let Some(anchor) = dest.strip_prefix('#') {
        return Target::Page { to: format!("{page}#{anchor}"), title: anchor.to_owned() };
    }
    match dest.split_once(':') {
        Some((kind, id)) => named(frame, kind, id, on, page).unwrap_or(Target::Nowhere),
        None => file(frame, dest, path).unwrap_or(Target::Nowhere),
    }
}

fn row(kind: PageKind, id: &str, title: &str) -> Target {
    Target::Page { to: kind.page(id), title: title.to_owned() }
}

fn named(frame: &Frame<'_>, kind: &str, id: &str, on: &Set<Vehicle>, page: &str) -> Option<Target> {
    let base = frame.base;
    match kind {
        "spec" => {
            let spec = base.specs.find(id)?;
            Some(Target::Value { to: PageKind::Specs.page(id), values: values_per_group(frame, spec, on) })
        }
        "code" => base.codes.get(id).map(|_| row(PageKind::Codes, id, id)),
        "term" => base.terms.get(id).map(|t| row(PageKind::Terms, id, &t.title)),
        "equipment" => base.equipment.get(id).map(|e| row(PageKind::Equipment, id, &e.title)),
        "hazard" => base.hazards.get(id).map(|h| row(PageKind::Hazards, id, &h.title)),
        "vehicle" => base.vehicles.get(id).map(|v| row(PageKind::Vehicles, id, &v.title)),
        "cause" => {
            let title = frame
                .digests
                .iter()
                .find(|d| PageKind::Procedures.page(&d.id) == page)
                .and_then(|d| d.causes.iter().find(|c| c.id == id))
                .map(|c| c.title.clone())?;
            Some(Target::Page { to: format!("{page}#{id}"), title })
        }
        _ => None,
    }
}

/// A link between source files.
fn file(frame: &Frame<'_>, dest: &str, path: &str) -> Option<Target> {
    let (file, anchor) = dest.split_once('#').map_or((dest, None), |(file, anchor)| (file, Some(anchor)));
    let mut parts: Vec<&str> = path.split('/').collect();
    parts.pop();
    for part in file.split('/') {
        match part {
            "." | "" => {}
            ".." => {
                parts.pop()?;
            }
            other => parts.push(other),
        }
    }
    let base = frame.base;
    if let ["figures", rest @ ..] = parts.as_slice() {
        let name = rest.join("/");
        return base.figures.get(&name).map(|()| Target::Figure { to: format!("figures/{name}") });
    }
    let id = parts.last()?.strip_suffix(".md")?;
    let (kind, title) = match *parts.first()? {
        "procedures" => {
            let ix = base.procedures.find(id)?;
            (PageKind::Procedures, frame.digest(ix).map_or(id, |d| d.title.as_str()))
        }
        "systems" => (PageKind::Systems, base.systems.get(id)?.title.as_str()),
        "checks" => (PageKind::Checks, base.checks.get(id)?.title.as_str()),
        "repairs" => (PageKind::Repairs, base.repairs.get(id)?.title.as_str()),
        _ => return None,
    };
    let anchor = anchor.map(|a| format!("#{a}")).unwrap_or_default();
    Some(Target::Page { to: format!("{}{anchor}", kind.page(id)), title: title.to_owned() })
}
