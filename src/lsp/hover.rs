//! What stands under the pointer, in a few lines.
//!
//! In: a place. Out: Markdown: a name's thing with the limits per vehicle and where it is used, a key's or a rule's meaning.

use std::collections::BTreeMap;

use lsp_types::{Hover, HoverContents, HoverParams, MarkupContent, MarkupKind};

use super::desk::Desk;
use super::jump::{places, point};
use super::names::Noun;
use super::pieces::{Pieces, Slot, root};
use super::place::Lines;
use super::uses::{self, Symbol, Use, bytes, id_of};
use crate::check;
use crate::model::{Base, Limits, Spec};
use crate::parse::keys::{Key, Keys, Shape};
use crate::parse::yaml::Node;

/// Places that are told one by one.
const FEW: usize = 8;

/// What stands under the pointer.
pub fn at(desk: &Desk, params: &HoverParams) -> Option<Hover> {
    let point = point(desk, &params.text_document_position_params)?;
    let (role, _) = desk.file(&point.path)?;
    let here = desk.use_at(&point.path, point.offset).filter(|u| !u.is_file);
    let (text, at) = match here {
        Some(one) => (of_name(desk, &one)?, one.at),
        None => {
            let parts = uses::parts(role, &point.text);
            let pieces = Pieces::of(parts.tree.as_ref()?, root(role)?);
            let piece = pieces.all.iter().find(|p| {
                let at = bytes(p.span);
                !at.is_empty() && at.start <= point.offset && point.offset <= at.end
            })?;
            let Slot::Key(keys) = piece.slot else { return None };
            (of_key(keys, keys.get(piece.text)?), bytes(piece.span))
        }
    };
    let range = Lines::new(&point.text, desk.encoding).range(at.start, at.end);
    let contents = HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value: text });
    Some(Hover { contents, range: Some(range) })
}

fn of_key(keys: &Keys, key: &Key) -> String {
    let needed = if key.required { ", needed" } else { "" };
    let takes = match key.shape {
        Shape::Number => "a number",
        Shape::Whole => "a whole number",
        Shape::OneOf(_) => "one word",
        Shape::List(_) => "one or a list",
        Shape::Row(_) => "keys below it",
        Shape::Rows(..) | Shape::Named(..) => "a line for each, by name",
        Shape::Text | Shape::Word => "one text",
        Shape::TextOr(_) => "a text, or keys below it",
    };
    let mut text = format!("`{}` of {}{needed}: {}\n\nTakes {takes}", key.name, keys.of, key.doc);
    if let Shape::OneOf(words) = key.shape {
        let words: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
        text.push_str(&format!(": {}", words.join(", ")));
    }
    text.push('.');
    text
}

fn of_name(desk: &Desk, one: &Use) -> Option<String> {
    let symbol = &one.symbol;
    if symbol.noun == Noun::Rule {
        return Some(check::find(&symbol.name)?.page.to_owned());
    }
    let name = &symbol.name;
    let head = match title(desk, symbol).filter(|t| t != name) {
        Some(title) => format!("**{}** (`{name}`)", plain(&title)),
        None => format!("`{name}`"),
    };
    let mut text = format!("{head}: {}", kind(desk, symbol));
    if let Some(base) = desk.linted().map(|l| &l.tables.base) {
        text.push_str(&about(base, symbol));
    }
    text.push_str(&used(desk, symbol));
    Some(text)
}

/// `step`, `cause` where the place tells which.
fn kind(desk: &Desk, symbol: &Symbol) -> &'static str {
    match (symbol.noun, local(desk, symbol)) {
        (Noun::Local, Some((what, _))) => what,
        (Noun::Who, _) => {
            let base = desk.linted().map(|l| &l.tables.base);
            if base.is_some_and(|b| b.groups.get(&symbol.name).is_some()) { "group" } else { "vehicle" }
        }
        (noun, _) => noun.word(),
    }
}

/// A title, where the thing has one.
pub fn title(desk: &Desk, symbol: &Symbol) -> Option<String> {
    let linted = desk.linted()?;
    let base = &linted.tables.base;
    let name = symbol.name.as_str();
    match symbol.noun {
        Noun::Procedure => {
            let ix = base.procedures.find(name)?;
            linted.digests.iter().find(|d| d.ix == Some(ix)).map(|d| d.title.clone())
        }
        Noun::System => Some(base.systems.get(name)?.title.clone()),
        Noun::Check => Some(base.checks.get(name)?.title.clone()),
        Noun::Repair => Some(base.repairs.get(name)?.title.clone()),
        Noun::Spec => Some(base.specs.get(name)?.title.clone()),
        Noun::Who => Some(base.vehicles.get(name)?.title.clone()),
        Noun::Code => Some(base.codes.get(name)?.title.clone()),
        Noun::Equipment => Some(base.equipment.get(name)?.title.clone()),
        Noun::Setup => Some(base.setups.get(name)?.title.clone()),
        Noun::Hazard => Some(base.hazards.get(name)?.title.clone()),
        Noun::Term => Some(base.terms.get(name)?.title.clone()),
        Noun::Local => local(desk, symbol).map(|(_, title)| title),
        _ => None,
    }
}

/// Whether it is a step, a cause or a heading of its procedure, and its title.
fn local(desk: &Desk, symbol: &Symbol) -> Option<(&'static str, String)> {
    let procedure = symbol.procedure.as_deref()?;
    let files = desk.files();
    let (_, role, text) = files.iter().find(|(_, role, _)| id_of(role) == Some((Noun::Procedure, procedure)))?;
    let parts = uses::parts(role, text);
    let tree = parts.tree.as_ref();
    let row = |key: &str| tree?.get(key)?.get(&symbol.name);
    let sections = parts.body.as_ref().map(|b| b.sections.as_slice()).unwrap_or_default();
    let heading = sections.iter().find(|s| s.id.as_ref().is_some_and(|i| i.value == symbol.name));
    let heading = heading.map(|s| s.title.clone());
    if let Some(step) = row("steps") {
        let own = ["observe", "do", "measure", "check"].iter().find_map(|k| step.get(k)?.as_text());
        return Some(("step", heading.or(own.map(str::to_owned)).unwrap_or_else(|| symbol.name.clone())));
    }
    if let Some(cause) = row("causes") {
        let title = cause.get("title").and_then(Node::as_text).unwrap_or(&symbol.name);
        return Some(("cause", title.to_owned()));
    }
    Some(("heading", heading?))
}

fn about(base: &Base, symbol: &Symbol) -> String {
    let name = symbol.name.as_str();
    let text = match symbol.noun {
        Noun::Spec => base.specs.get(name).map(|spec| of_spec(base, spec)),
        Noun::Who => {
            base.groups.get(name).map(|set| format!("\n\n{}", base.vehicle_ids(set).join(", "))).or_else(|| {
                let groups: Vec<&str> = base.vehicles.get(name)?.groups.iter().map(|g| g.value.as_str()).collect();
                Some(format!("\n\ngroups: {}", groups.join(", "))).filter(|_| !groups.is_empty())
            })
        }
        Noun::Code => base.codes.get(name).map(|code| {
            let monitor = code.monitor.as_ref().map_or_else(String::new, |m| format!("; monitored: {}", plain(m)));
            format!("\n\ntrips to set: {}{monitor}", code.trips)
        }),
        Noun::Hazard => base.hazards.get(name).map(|h| format!("\n\n**{}**: {}", h.signal.name(), plain(&h.text))),
        Noun::Term => base.terms.get(name).and_then(|t| Some(format!("\n\n{}", plain(t.means.as_ref()?)))),
        Noun::Equipment => base.equipment.get(name).map(|e| {
            let lines = e.measures.iter().map(|m| {
                let range = m.range.as_ref().map_or("", |r| r.text.value.as_str());
                format!("\n- {}: {range}", m.quantity.value.name())
            });
            format!("\n{}", lines.collect::<String>())
        }),
        _ => None,
    };
    text.unwrap_or_default()
}

/// Where, when, whence, and a line for each vehicle or for all alike.
fn of_spec(base: &Base, spec: &Spec) -> String {
    let mut text = format!(" of {}", spec.quantity.value.name());
    for (word, what) in [("at", &spec.at), ("when", &spec.when)] {
        if let Some(what) = what {
            text.push_str(&format!("\n\n{word}: {}", plain(what)));
        }
    }
    let mut by_limits: Vec<(String, Vec<String>)> = Vec::new();
    for (ix, id, _) in base.vehicles.iter() {
        let limits = match spec.entry(ix).map(|e| &e.limits) {
            None => "no value".to_owned(),
            Some(Limits::Placeholder) => "TBD".to_owned(),
            Some(Limits::Bands(bands)) => {
                let bands = bands.iter().map(|b| {
                    if b.name == "in spec" {
                        plain(&b.text.value)
                    } else {
                        format!("{}: {}", plain(&b.name), plain(&b.text.value))
                    }
                });
                bands.collect::<Vec<_>>().join("; ")
            }
        };
        match by_limits.iter_mut().find(|(l, _)| *l == limits) {
            Some((_, who)) => who.push(id.to_owned()),
            None => by_limits.push((limits, vec![id.to_owned()])),
        }
    }
    text.push_str("\n\n| limits | vehicles |\n| --- | --- |");
    let all = by_limits.len() == 1;
    for (limits, who) in by_limits {
        let who = if all { "all".to_owned() } else { who.join(", ") };
        text.push_str(&format!("\n| {limits} | {who} |"));
    }
    if let Some(source) = &spec.source {
        text.push_str(&format!("\n\nsource: {}", plain(&source.value)));
    }
    text
}

/// How often and where it is used.
fn used(desk: &Desk, symbol: &Symbol) -> String {
    let mut files: BTreeMap<String, usize> = BTreeMap::new();
    for (path, one) in places(desk, symbol) {
        if !one.is_definition {
            *files.entry(path).or_default() += 1;
        }
    }
    if files.is_empty() {
        return "\n\nNothing names it.".to_owned();
    }
    let count: usize = files.values().sum();
    let mut shown: Vec<&str> = files.keys().take(FEW).map(String::as_str).collect();
    let more = format!("and {} more files", files.len().saturating_sub(FEW));
    if files.len() > FEW {
        shown.push(&more);
    }
    let times = if count == 1 { "once".to_owned() } else { format!("{count} times") };
    format!("\n\nNamed {times}: {}", shown.join(", "))
}

/// A text that Markdown shows as it stands.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        if "\\`*_[]<>|#&~".contains(letter) {
            out.push('\\');
        }
        out.push(if letter == '\n' { ' ' } else { letter });
    }
    out
}
