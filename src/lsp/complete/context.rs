//! Where the cursor is.
//!
//! In: the pieces of a file that is being typed, and a byte. Out: the [`Spot`]: what may be written there, and what of the
//! text it would replace.

use std::ops::Range;

use super::super::pieces::{Pieces, Slot};
use super::super::uses::bytes;
use crate::parse::keys::{Key, Keys};
use crate::parse::yaml::Node;

/// What may be written at a place.
pub enum Spot {
    /// A key of this kind of row.
    Key { keys: &'static Keys, row: usize, replace: Range<usize>, dash: bool },
    /// The name of a row in a table of rows.
    Name { noun: &'static str, row: usize, replace: Range<usize> },
    /// A text behind a key.
    Value { behind: (&'static Keys, &'static Key), row: usize, replace: Range<usize> },
}

impl Spot {
    /// What of the text would be replaced.
    pub fn replace(&self) -> Range<usize> {
        match self {
            Self::Key { replace, .. } | Self::Name { replace, .. } | Self::Value { replace, .. } => replace.clone(),
        }
    }
}

/// What may be written at a byte.
pub fn spot(pieces: &Pieces<'_>, text: &str, offset: usize) -> Option<Spot> {
    on_piece(pieces, offset)
        .or_else(|| behind_colon(pieces, text, offset))
        .or_else(|| in_brackets(pieces, text, offset))
        .or_else(|| on_empty_line(pieces, text, offset))
}

fn on_piece(pieces: &Pieces<'_>, offset: usize) -> Option<Spot> {
    let piece = pieces.all.iter().find(|p| {
        let at = bytes(p.span);
        !at.is_empty() && at.start <= offset && offset <= at.end
    })?;
    let (row, replace) = (piece.row, bytes(piece.span));
    Some(match piece.slot {
        Slot::Key(keys) => Spot::Key { keys, row, replace, dash: false },
        Slot::Name(noun) => Spot::Name { noun, row, replace },
        Slot::Value(keys, key) => Spot::Value { behind: (keys, key), row, replace },
    })
}

/// Nothing stands behind the key yet: only spaces between it and the cursor.
fn behind_colon(pieces: &Pieces<'_>, text: &str, offset: usize) -> Option<Spot> {
    let line = text[..offset].rfind('\n').map_or(0, |at| at + 1);
    let empty = pieces.all.iter().rev().find(|p| {
        let at = bytes(p.span);
        p.node.is_some_and(Node::is_empty)
            && at.start >= line
            && text.get(at.start.min(offset)..offset.max(at.start)).is_some_and(|gap| gap.trim().is_empty())
    })?;
    let Slot::Value(keys, key) = empty.slot else { return None };
    Some(Spot::Value { behind: (keys, key), row: empty.row, replace: offset..offset })
}

/// Between brackets, with nothing typed yet.
fn in_brackets(pieces: &Pieces<'_>, text: &str, offset: usize) -> Option<Spot> {
    let open = |node: &Node, sign: u8| {
        let at = bytes(node.span);
        let closed = text[at.clone()].ends_with(['}', ']']);
        text.as_bytes().get(at.start) == Some(&sign)
            && at.start < offset
            && (offset < at.end || !closed && text[at.end..offset.max(at.end)].trim().is_empty())
    };
    let list = pieces.lists.iter().filter(|l| open(l.node, b'[')).max_by_key(|l| l.node.span.start);
    let row = pieces.rows.iter().enumerate().filter(|(_, r)| open(r.node, b'{')).max_by_key(|(_, r)| r.node.span.start);
    let inner_list = list.filter(|l| row.as_ref().is_none_or(|(_, r)| r.node.span.start < l.node.span.start));
    if let Some(list) = inner_list {
        return Some(Spot::Value { behind: list.behind, row: list.row, replace: offset..offset });
    }
    let (at, row) = row?;
    Some(match row.keys {
        Some(keys) => Spot::Key { keys, row: at, replace: offset..offset, dash: false },
        None => Spot::Name { noun: row.noun, row: at, replace: offset..offset },
    })
}

/// A line of its own, perhaps behind a dash: its indent tells which row it goes on.
fn on_empty_line(pieces: &Pieces<'_>, text: &str, offset: usize) -> Option<Spot> {
    let line = text[..offset].rfind('\n').map_or(0, |at| at + 1);
    let typed = &text[line..offset];
    if !typed.chars().all(|c| c == ' ' || c == '-') {
        return None;
    }
    let indent = typed.len();
    let column = |at: usize| at - text[..at].rfind('\n').map_or(0, |n| n + 1);
    // A key above that nothing stands behind yet.
    let waiting = pieces.rows.iter().enumerate().rev().find(|(_, r)| {
        let at = r.node.span.start as usize;
        r.node.is_empty() && at <= offset && text[at..offset].chars().all(|c| c.is_whitespace() || c == '-')
    });
    if let Some((at, row)) = waiting {
        let dash = row.wants_dash && !typed.contains('-');
        return Some(match row.keys {
            Some(keys) => Spot::Key { keys, row: at, replace: offset..offset, dash },
            None => Spot::Name { noun: row.noun, row: at, replace: offset..offset },
        });
    }
    let list = pieces
        .lists
        .iter()
        .rev()
        .find(|l| typed.contains('-') && goes_on(text, l.node.span.start as usize, indent.saturating_sub(2), line));
    let (at, row) = pieces
        .rows
        .iter()
        .enumerate()
        .rev()
        .find(|(_, r)| {
            let start = r.node.span.start as usize;
            start < line && column(start) == indent && !typed.contains('-') && goes_on(text, start, indent, line)
        })
        .or_else(|| list.map(|l| (l.row, &pieces.rows[l.row])))?;
    if let Some(list) = list.filter(|_| typed.contains('-')) {
        return Some(Spot::Value { behind: list.behind, row: at, replace: offset..offset });
    }
    Some(match row.keys {
        Some(keys) => Spot::Key { keys, row: at, replace: offset..offset, dash: false },
        None => Spot::Name { noun: row.noun, row: at, replace: offset..offset },
    })
}

/// Whether every line between is indented at least so far.
fn goes_on(text: &str, from: usize, indent: usize, to: usize) -> bool {
    let Some(between) = text.get(from..to) else { return false };
    between
        .lines()
        .skip(1)
        .filter(|l| !l.trim().is_empty())
        .all(|l| l.len() - l.trim_start_matches(' ').len() >= indent)
}

/// Whether a row that holds these keys may have this one too.
pub fn may_have(keys: &Keys, name: &str, there: &[&str], routes: bool) -> bool {
    let has = |names: &[&str]| names.iter().any(|n| there.contains(n));
    let kinds = ["measure", "observe", "do", "check", "which"];
    let ways = ["then", "shows", "found", "normal", "unproven", "refer"];
    match keys.of {
        "a step" | "a check" if kinds.contains(&name) => !has(&kinds),
        "a step" if name == "then" => has(&["do", "check"]) && !has(&["results"]),
        "a step" if name == "results" => !has(&["do", "then"]),
        "a result" if name == "for" => routes,
        "a result" if name == "if" => !routes,
        "a result" | "an ending" if ways.contains(&name) => !has(&ways),
        "a spec" if name == "value" || name == "values" => !has(&["value", "values"]),
        "a line of `confirm`" if name == "step" || name == "check" => !has(&["step", "check"]),
        _ => true,
    }
}
