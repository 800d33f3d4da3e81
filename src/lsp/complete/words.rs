//! Names of the base, and what may stand in a file's words.
//!
//! In: what kind of thing is to be named; a place below the front matter. Out: offers.

use std::collections::BTreeMap;
use std::ops::Range;

use lsp_types::CompletionItemKind;

use super::super::desk::Desk;
use super::super::jump::Point;
use super::super::names::Noun;
use super::super::{hover, uses};
use super::Offer;
use crate::check;
use crate::load::Role;
use crate::quantity::Quantity;

/// The kinds of `[](kind:id)`.
const KINDS: [(&str, &str); 7] = [
    ("spec:", "a value, filled in or checked"),
    ("code:", "a fault code"),
    ("term:", "a word that is explained"),
    ("equipment:", "an instrument"),
    ("hazard:", "a hazard"),
    ("vehicle:", "a vehicle"),
    ("cause:", "a cause of this procedure"),
];

/// Everything of a kind that there is, with its title.
pub fn names(desk: &Desk, noun: Noun) -> Vec<Offer> {
    let kind = CompletionItemKind::REFERENCE;
    match noun {
        Noun::Rule => check::RULES.iter().map(|r| Offer::new(r.name, r.summary, kind)).collect(),
        Noun::Quantity => Quantity::all().map(|q| Offer::new(q.name(), "", CompletionItemKind::UNIT)).collect(),
        Noun::Figure => {
            let figures = desk.linted().map(|l| l.loaded.figures.clone()).unwrap_or_default();
            figures.into_iter().map(|f| Offer::new(f, "", CompletionItemKind::FILE)).collect()
        }
        _ => {
            let mut found: BTreeMap<String, String> = BTreeMap::new();
            for (_, uses) in desk.uses() {
                for one in uses.all.iter().filter(|u| u.is_definition && u.symbol.noun == noun) {
                    let name = one.symbol.name.clone();
                    found.entry(name).or_insert_with(|| hover::title(desk, &one.symbol).unwrap_or_default());
                }
            }
            found.into_iter().map(|(name, title)| Offer::new(name, title, kind)).collect()
        }
    }
}

/// What may stand at a place of a file's words: what a link leads to, the id of a heading.
pub fn at(desk: &Desk, role: &Role, point: &Point) -> Option<(Vec<Offer>, Range<usize>)> {
    let text: &str = &point.text;
    let line = text[..point.offset].rfind('\n').map_or(0, |at| at + 1);
    let typed = &text[line..point.offset];
    if let Some(at) = typed.rfind("{#").filter(|_| typed.starts_with('#')) {
        return Some((ids(role, text), line + at + 2..point.offset));
    }
    let at = typed.rfind("](")? + 2;
    let link = &typed[at..];
    if link.contains(')') {
        return None;
    }
    let start = line + at;
    match link.split_once(':') {
        Some((kind, _)) => {
            let noun = Noun::of_link(kind)?;
            let offers = if noun == Noun::Local { causes(role, text) } else { names(desk, noun) };
            Some((offers, start + kind.len() + 1..point.offset))
        }
        None => {
            let kinds = KINDS.iter().map(|(kind, about)| Offer::new(*kind, *about, CompletionItemKind::KEYWORD));
            Some((kinds.collect(), start..point.offset))
        }
    }
}

/// Ids that a heading may have: steps and repairs, those without a heading first.
fn ids(role: &Role, text: &str) -> Vec<Offer> {
    let parts = uses::parts(role, text);
    let Some(tree) = &parts.tree else { return Vec::new() };
    let sections = parts.body.map(|b| b.sections).unwrap_or_default();
    let there: Vec<&str> = sections.iter().filter_map(|s| s.id.as_ref()).map(|id| id.value.as_str()).collect();
    let rows = |key: &str| tree.get(key).map(|n| n.entries().to_vec()).unwrap_or_default();
    let steps = rows("steps").into_iter().map(|e| (e.key.value, "a step"));
    let fixes =
        rows("causes").into_iter().filter_map(|e| Some((e.value.get("fix")?.as_text()?.to_owned(), "a repair")));
    let mut all: Vec<(String, &str)> = steps.chain(fixes).collect();
    all.sort_by_key(|(id, _)| there.contains(&id.as_str()));
    all.into_iter().map(|(id, what)| Offer::new(id, what, CompletionItemKind::EVENT)).collect()
}

fn causes(role: &Role, text: &str) -> Vec<Offer> {
    let parts = uses::parts(role, text);
    let rows = parts.tree.as_ref().and_then(|t| t.get("causes")).map(|n| n.entries().to_vec()).unwrap_or_default();
    let title = |e: &crate::parse::yaml::Entry| e.value.get("title").and_then(|t| t.as_text()).unwrap_or("").to_owned();
    rows.iter().map(|e| Offer::new(e.key.value.clone(), title(e), CompletionItemKind::ENUM_MEMBER)).collect()
}
