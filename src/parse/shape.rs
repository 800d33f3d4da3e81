//! Does a tree have the shape that the table of keys asks for?
//!
//! In: a YAML tree and the [`Keys`] of its kind. Out: findings `unknown-key` and `bad-value`, each at the
//! smallest wrong place. What has the wrong shape is told here and skipped by every later stage.

use super::keys::{ALL, Keys, Shape};
use super::yaml::{Entry, Kind, Node};
use crate::finding::{Finding, Level, make_room};
use crate::parse::near::{nearest, sure};
use crate::source::Span;

/// Checks a row against its keys. `owner` is where the row's own key stands: a missing key is told there.
pub fn check(node: &Node, keys: &Keys, owner: Span, out: &mut Vec<Finding>) {
    row(node, keys, owner, out);
}

/// Checks a whole table of rows by id.
pub fn check_rows(node: &Node, noun: &str, keys: &'static Keys, owner: Span, out: &mut Vec<Finding>) {
    rows(node, noun, true, &mut |entry, out| row(&entry.value, keys, entry.key.span, out), owner, out);
}

/// Checks a whole table of rows whose names are no ids (fault codes).
pub fn check_named_rows(node: &Node, noun: &str, keys: &'static Keys, owner: Span, out: &mut Vec<Finding>) {
    rows(node, noun, false, &mut |entry, out| row(&entry.value, keys, entry.key.span, out), owner, out);
}

/// A `bad-value` finding.
pub fn bad_value(span: Span, message: impl Into<String>) -> Finding {
    Finding::new("bad-value", Level::Error, span, message)
}

fn row(node: &Node, keys: &Keys, owner: Span, out: &mut Vec<Finding>) {
    let Kind::Map(entries) = &node.kind else {
        if !matches!(node.kind, Kind::Empty) {
            out.push(expected(node, &format!("the keys of {}", keys.of)).help(format!(
                "keys of {}: {}",
                keys.of,
                list(keys)
            )));
        }
        return;
    };
    for entry in entries {
        match keys.get(&entry.key.value) {
            Some(key) => value(&entry.value, &key.shape, key.name, entry.key.span, out),
            None => out.push(unknown(entry, entries, keys)),
        }
    }
    for key in keys.keys.iter().filter(|k| k.required) {
        if !entries.iter().any(|e| e.key.value == key.name) && !misspelt(node, keys, key.name) {
            out.push(
                bad_value(owner, format!("{} needs `{}`", keys.of, key.name))
                    .help(format!("add `{}:` ({})", key.name, key.doc)),
            );
        }
    }
}

/// Whether a row holds the key under a wrong spelling: that is told as `unknown-key`, and the key is not missed as well.
pub fn misspelt(row: &Node, keys: &Keys, name: &str) -> bool {
    let Kind::Map(entries) = &row.kind else { return false };
    let mut strangers = entries.iter().filter(|e| keys.get(&e.key.value).is_none());
    strangers.any(|e| nearest(&e.key.value, keys.keys.iter().map(|k| k.name)) == Some(name))
}

fn list(keys: &Keys) -> String {
    keys.keys.iter().map(|k| k.name).collect::<Vec<_>>().join(", ")
}

fn unknown(entry: &Entry, row: &[Entry], keys: &Keys) -> Finding {
    let name = entry.key.value.as_str();
    let finding = |message: String| Finding::new("unknown-key", Level::Error, entry.key.span, message);
    if let Some(near) = nearest(name, keys.keys.iter().map(|k| k.name)) {
        let finding = finding(format!("`{name}` is no key of {}", keys.of)).help(format!("did you mean `{near}`?"));
        // Where another line of the row is or may be meant for that key, writing it would name it twice.
        let meant = |e: &&Entry| nearest(&e.key.value, keys.keys.iter().map(|k| k.name)) == Some(near);
        if row.iter().filter(meant).count() > 1 {
            return finding;
        }
        return near_mend(finding, name, near, keys.keys.iter().map(|k| k.name), entry.key.span);
    }
    let elsewhere: Vec<&str> = ALL.iter().filter(|k| k.get(name).is_some()).map(|k| k.of).collect();
    let message = match elsewhere.as_slice() {
        [] => format!("`{name}` is no key of {}", keys.of),
        [one] => format!("`{name}` is a key of {one}, not of {}", keys.of),
        [first, ..] => format!("`{name}` is a key of {first}, for example, not of {}", keys.of),
    };
    finding(message).help(format!("keys of {}: {}", keys.of, list(keys)))
}

fn value(node: &Node, shape: &Shape, key: &str, owner: Span, out: &mut Vec<Finding>) {
    if matches!(node.kind, Kind::Empty) {
        return; // the YAML reader has told "nothing stands after"
    }
    match shape {
        Shape::Text | Shape::Word => {
            if node.as_text().is_none() {
                out.push(expected(node, &format!("one text for `{key}`")));
            }
        }
        Shape::Number | Shape::Whole => number(node, key, matches!(shape, Shape::Whole), out),
        Shape::OneOf(words) => match node.as_text() {
            None => out.push(expected(node, &format!("one word for `{key}`"))),
            Some(text) if !words.contains(&text) => out.push(not_one_of(node, text, words, key)),
            Some(_) => {}
        },
        Shape::List(item) => {
            for one in node.as_list() {
                make_room(out);
                value(one, item, key, owner, out);
            }
        }
        Shape::Row(keys) => row(node, keys, owner, out),
        Shape::Rows(noun, inner) | Shape::Named(noun, inner) => {
            let ids = matches!(shape, Shape::Rows(..));
            rows(node, noun, ids, &mut |e, out| value(&e.value, inner, &e.key.value, e.key.span, out), owner, out);
        }
        Shape::TextOr(other) => {
            if node.as_text().is_none() {
                value(node, other, key, owner, out);
            }
        }
    }
}

fn rows(
    node: &Node,
    noun: &str,
    ids: bool,
    each: &mut dyn FnMut(&Entry, &mut Vec<Finding>),
    owner: Span,
    out: &mut Vec<Finding>,
) {
    match &node.kind {
        Kind::Empty => {}
        Kind::Map(entries) => {
            if entries.is_empty() {
                out.push(bad_value(owner, format!("no {noun} stands here")).help(format!("add a {noun}")));
            }
            let robbed = if ids { robbed(entries) } else { Vec::new() };
            for entry in entries {
                make_room(out);
                if ids && !is_id(&entry.key.value) {
                    out.push(bad_id(entry.key.span, noun, &entry.key.value));
                } else if ids && is_too_shallow(entry) {
                    out.push(too_shallow(entry, noun, entries));
                    continue;
                }
                let before = out.len();
                each(entry, out);
                if robbed.binary_search(&entry.key.span).is_ok() {
                    let told = out.split_off(before.min(out.len()));
                    out.extend(told.into_iter().filter(|f| f.span != entry.key.span));
                }
            }
        }
        _ => out.push(
            expected(node, &format!("a {noun} on each line, as `NAME: ...`"))
                .help(format!("write the {noun}'s name and a colon, and what belongs to it below")),
        ),
    }
}

/// `then:` one level too shallow stands beside the row it belongs to.
fn is_too_shallow(entry: &Entry) -> bool {
    matches!(entry.value.kind, Kind::Scalar(_)) && ALL.iter().any(|k| k.get(&entry.key.value).is_some())
}

/// The keys of rows that have lines beside them which belong to them, in written order: that is told there, and what such a row
/// lacks is no second fault.
pub fn robbed(entries: &[Entry]) -> Vec<Span> {
    let mut robbed: Vec<Span> = Vec::new();
    let mut row = None;
    for entry in entries {
        if matches!(entry.value.kind, Kind::Map(_)) {
            row = Some(entry.key.span);
        } else if is_id(&entry.key.value) && is_too_shallow(entry) && row.is_some() && robbed.last() != row.as_ref() {
            robbed.extend(row);
        }
    }
    robbed
}

fn too_shallow(entry: &Entry, noun: &str, entries: &[Entry]) -> Finding {
    let name = &entry.key.value;
    let before = entries
        .iter()
        .take_while(|e| e.key.span != entry.key.span)
        .filter(|e| matches!(e.value.kind, Kind::Map(_)))
        .last();
    let finding = |message: String| Finding::new("bad-front-matter", Level::Error, entry.key.span, message);
    match before {
        Some(owner) => finding(format!("`{name}` stands beside {noun} `{}`", owner.key.value))
            .label(owner.key.span, format!("this {noun}"))
            .help(format!("indent `{name}` to belong to `{}`", owner.key.value)),
        None => finding(format!("expected the keys of {noun} `{name}`, found a text"))
            .help(format!("if `{name}` is a key, indent it below the {noun} it belongs to")),
    }
}

/// Whether a text is an id: `a-z 0-9 -`, starting with a letter or digit, at most [`LONGEST_ID`], and not `index`.
pub fn is_id(text: &str) -> bool {
    no_id(text).is_none()
}

/// The longest id, in letters: it names files of the site, and no system takes names of more than 255 bytes.
const LONGEST_ID: usize = 100;

/// Why a text is no id.
pub fn no_id(text: &str) -> Option<&'static str> {
    let letters = text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if text.starts_with('-') || text.is_empty() || !letters {
        Some("expected small letters a-z, digits and -")
    } else if text.len() > LONGEST_ID {
        Some("expected at most 100 letters")
    } else if text == "index" {
        Some("the site's lists have this name")
    } else {
        None
    }
}

/// The id that is nearest to a text; empty where there is none.
pub fn better_id(text: &str) -> String {
    let mut better: String = text
        .to_lowercase()
        .chars()
        .map(|c| if c.is_ascii_lowercase() || c.is_ascii_digit() { c } else { '-' })
        .collect();
    while better.contains("--") {
        better = better.replace("--", "-");
    }
    better.truncate(LONGEST_ID);
    let better = better.trim_matches('-');
    if better == "index" { "the-index".to_owned() } else { better.to_owned() }
}

/// The finding for a name that is no id.
pub fn bad_id(span: Span, noun: &str, text: &str) -> Finding {
    let better = better_id(text);
    let why = no_id(text).unwrap_or("expected another name");
    let finding = bad_value(span, format!("`{text}` can't name a {noun}: {why}"));
    if better.is_empty() { finding } else { finding.help(format!("write `{better}`")) }
}

fn number(node: &Node, key: &str, whole: bool, out: &mut Vec<Finding>) {
    let Some(text) = node.as_text() else {
        out.push(expected(node, &format!("one number for `{key}`")));
        return;
    };
    let kind = if whole { "a whole number" } else { "a number" };
    match super::amount::number(text) {
        Err(problem) => out.push(super::text_finding(node, &problem)),
        Ok(n) if n.is_negative() => {
            out.push(bad_value(node.span, format!("expected {kind} that is not negative for `{key}`, found `{text}`")));
        }
        Ok(n) if whole && (!n.is_integer() || text.len() > 9) => {
            out.push(bad_value(node.span, format!("expected {kind} for `{key}`, found `{text}`")));
        }
        Ok(_) => {}
    }
}

fn not_one_of(node: &Node, text: &str, words: &[&str], key: &str) -> Finding {
    let choices = words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ");
    let finding = bad_value(node.span, format!("expected {choices} for `{key}`, found `{text}`"));
    match nearest(text, words.iter().copied()) {
        Some(near) => {
            let finding = finding.help(format!("did you mean `{near}`?"));
            near_mend(finding, text, near, words.iter().copied(), node.span)
        }
        None => finding,
    }
}

/// The mend that writes the nearest word: made unasked only where there is no doubt.
fn near_mend<'a>(
    finding: Finding,
    typed: &str,
    near: &str,
    words: impl Iterator<Item = &'a str>,
    span: Span,
) -> Finding {
    let title = format!("write `{near}`");
    if sure(typed, words) == Some(near) { finding.respell(title, span, near) } else { finding.mend(title, span, near) }
}

fn expected(node: &Node, what: &str) -> Finding {
    let found = match &node.kind {
        Kind::Scalar(_) => "a text",
        Kind::Map(_) => "keys below it",
        Kind::List(_) => "a list",
        Kind::Empty => "nothing",
    };
    let span = match &node.kind {
        Kind::Map(entries) => entries.first().map_or(node.span, |e| e.key.span),
        _ => node.span,
    };
    bad_value(span, format!("expected {what}, found {found}"))
}
