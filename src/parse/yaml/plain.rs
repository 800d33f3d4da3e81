//! The YAML that people mostly write, read in one go: keys and values line by line, lists, short brackets, plain and quoted
//! texts on one line.
//!
//! In: a text. Out: its tree, or nothing at the first sign of anything else (a comment behind a value, an escape, a text on two
//! lines, a missing value, whatever may be a trap). Then the scan for traps and the library read it from its beginning; they
//! give the same tree, and no problem, for every text that is read here.

use rustc_hash::FxHashSet;

use super::flow::closing_quote;
use super::node::{Entry, Kind, Node, Scalar, Style};
use super::scan::Place;
use crate::source::Spanned;

/// Deepest nesting that is read here.
const DEEPEST: usize = 16;

/// Longest key that is read here, in bytes.
const LONGEST_KEY: usize = 100;

/// The tree of a text that holds nothing unusual.
pub fn read(place: Place<'_>) -> Option<Node> {
    let mut reader = Reader { place, bytes: place.text.as_bytes(), at: 0, indent: None, depth: 0 };
    reader.next_line()?;
    let node = if reader.indent == Some(0) { reader.map(0)? } else { return None };
    reader.indent.is_none().then_some(node)
}

/// Where a plain text stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum In {
    /// Behind a key, up to the line's end.
    Value,
    /// Behind a dash, up to the line's end.
    Item,
    /// In brackets.
    Flow,
}

struct Reader<'t> {
    place: Place<'t>,
    bytes: &'t [u8],
    at: usize,
    /// The spaces before the line that `at` stands in; nothing behind the last line.
    indent: Option<usize>,
    depth: usize,
}

impl Reader<'_> {
    fn byte(&self) -> u8 {
        // The end of the text reads as the end of a line.
        self.bytes.get(self.at).copied().unwrap_or(b'\n')
    }

    fn spaces(&mut self) -> usize {
        let start = self.at;
        while self.byte() == b' ' {
            self.at += 1;
        }
        self.at - start
    }

    /// From the start of a line to the first sign of one that holds something: not of an empty line or a comment.
    fn next_line(&mut self) -> Option<()> {
        self.indent = None;
        while self.at < self.bytes.len() {
            let indent = self.spaces();
            match self.byte() {
                b'\n' => {}
                b'#' => {
                    while self.byte() != b'\n' {
                        self.at += letter(&self.bytes[self.at..])?;
                    }
                }
                _ => {
                    self.indent = Some(indent);
                    break;
                }
            }
            self.at += 1;
        }
        Some(())
    }

    /// Behind the last sign of a line to the next one.
    fn end_line(&mut self) -> Option<()> {
        self.spaces();
        if self.byte() != b'\n' {
            return None;
        }
        self.at += 1;
        self.next_line()
    }

    fn is_item(&self) -> bool {
        self.bytes[self.at..].starts_with(b"- ")
    }

    fn deeper(&mut self) -> Option<()> {
        self.depth += 1;
        (self.depth <= DEEPEST).then_some(())
    }

    fn node(&mut self, start: usize, end: usize, kind: Kind) -> Option<Node> {
        if let Kind::Map(entries) = &kind
            && !are_unique(entries)
        {
            return None;
        }
        self.depth = self.depth.saturating_sub(1);
        Some(Node { span: self.place.span(start, end), kind })
    }

    /// A map whose keys stand at this indent; its first begins here.
    fn map(&mut self, indent: usize) -> Option<Node> {
        self.deeper()?;
        let start = self.at;
        let mut entries = Vec::new();
        loop {
            let key = self.key()?;
            let value = self.value(indent)?;
            entries.push(Entry { key, value });
            match self.indent {
                Some(next) if next > indent => return None,
                Some(next) if next == indent => {
                    if self.is_item() {
                        return None;
                    }
                }
                _ => break,
            }
        }
        let end = entries.last()?.value.span.end as usize - self.place.base;
        self.node(start, end, Kind::Map(entries))
    }

    /// A list whose dashes stand at this indent; its first begins here.
    fn list(&mut self, indent: usize, start: usize) -> Option<Node> {
        self.deeper()?;
        let mut items = Vec::new();
        while self.indent == Some(indent) && self.is_item() {
            self.at += 2;
            items.push(if self.begins_with_key() {
                self.map(indent + 2)?
            } else {
                let item = self.inline(In::Item)?;
                self.end_line()?;
                item
            });
        }
        if self.indent.is_some_and(|next| next > indent) {
            return None;
        }
        let end = items.last()?.span.end as usize - self.place.base;
        self.node(start, end, Kind::List(items))
    }

    /// A key, up to behind its colon.
    fn key(&mut self) -> Option<Spanned<String>> {
        let rest = &self.bytes[self.at..];
        let length = rest.iter().take(LONGEST_KEY).position(|b| !is_key(*b))?;
        let plain = rest[0].is_ascii_alphanumeric() && rest[length] == b':' && rest[length - 1] != b' ';
        if !plain {
            return None;
        }
        let (start, end) = (self.at, self.at + length);
        self.at = end + 1;
        Some(Spanned::new(self.place.text[start..end].to_owned(), self.place.span(start, end)))
    }

    /// Whether a key and a colon stand here.
    fn begins_with_key(&self) -> bool {
        let rest = &self.bytes[self.at..];
        let length = rest.iter().take(LONGEST_KEY).take_while(|b| is_key(**b)).count();
        rest.get(length) == Some(&b':') && matches!(rest.get(length + 1), None | Some(b' ' | b'\n'))
    }

    /// What stands behind the colon of a key at this indent, on its line or below.
    fn value(&mut self, indent: usize) -> Option<Node> {
        if self.byte() != b'\n' {
            if self.spaces() == 0 {
                return None;
            }
            let value = self.inline(In::Value)?;
            self.end_line()?;
            return Some(value);
        }
        self.end_line()?;
        match self.indent? {
            below if below >= indent && self.is_item() => {
                // The library sees a list that is no deeper than its key begin behind its first dash.
                let start = self.at + if below == indent { 2 } else { 0 };
                self.list(below, start)
            }
            below if below > indent => self.map(below),
            _ => None,
        }
    }

    /// A value that ends on its line.
    fn inline(&mut self, place: In) -> Option<Node> {
        match self.byte() {
            b'{' => self.braces(),
            b'[' => self.brackets(),
            quote @ (b'"' | b'\'') => self.quoted(quote),
            _ => self.plain(place),
        }
    }

    /// `{key: value, ...}`
    fn braces(&mut self) -> Option<Node> {
        self.deeper()?;
        let start = self.at;
        let mut entries = Vec::new();
        while self.goes_on(entries.is_empty(), b'}')? {
            let key = self.key()?;
            if self.spaces() == 0 {
                return None;
            }
            let value = self.inline(In::Flow)?;
            entries.push(Entry { key, value });
        }
        self.node(start, self.at, Kind::Map(entries))
    }

    /// `[item, ...]`
    fn brackets(&mut self) -> Option<Node> {
        self.deeper()?;
        let start = self.at;
        let mut items = Vec::new();
        while self.goes_on(items.is_empty(), b']')? {
            items.push(self.inline(In::Flow)?);
        }
        self.node(start, self.at, Kind::List(items))
    }

    /// Behind the opening bracket or the comma to what follows; false behind the closing bracket.
    fn goes_on(&mut self, first: bool, close: u8) -> Option<bool> {
        if first {
            self.at += 1;
        }
        self.spaces();
        if self.byte() == close {
            self.at += 1;
            return Some(false);
        }
        if !first {
            if self.byte() != b',' {
                return None;
            }
            self.at += 1;
            self.spaces();
        }
        Some(true)
    }

    /// A text in quotes, without escapes.
    fn quoted(&mut self, quote: u8) -> Option<Node> {
        let start = self.at;
        let end = closing_quote(self.place.text, start, char::from(quote))?;
        let mut at = start + 1;
        while at < end - 1 {
            if matches!(self.bytes[at], b'\\' | b'\n') || self.bytes[at] == quote {
                return None;
            }
            at += letter(&self.bytes[at..])?;
        }
        self.at = end;
        let style = if quote == b'"' { Style::Double } else { Style::Single };
        let text = self.place.text[start + 1..end - 1].to_owned();
        Some(Node { span: self.place.span(start, end), kind: Kind::Scalar(Scalar { text, style }) })
    }

    /// A text without quotes.
    fn plain(&mut self, place: In) -> Option<Node> {
        let start = self.at;
        let next = self.bytes.get(start + 1).copied().unwrap_or(b'\n');
        let begins = match self.byte() {
            b'-' => place != In::Item && next.is_ascii_digit(),
            b'(' => true,
            first => first.is_ascii_alphanumeric(),
        };
        if !begins {
            return None;
        }
        loop {
            match self.byte() {
                b'\n' => break,
                b',' | b'}' | b']' if place == In::Flow => break,
                b'#' | b'{' | b'}' | b'[' | b']' => return None,
                b':' => {
                    let behind = self.bytes.get(self.at + 1).copied().unwrap_or(b'\n');
                    if place != In::Value || !behind.is_ascii_alphanumeric() {
                        return None;
                    }
                    self.at += 1;
                }
                _ => self.at += letter(&self.bytes[self.at..])?,
            }
        }
        let text = self.place.text[start..self.at].trim_end_matches(' ').to_owned();
        let span = self.place.span(start, start + text.len());
        Some(Node { span, kind: Kind::Scalar(Scalar { text, style: Style::Plain }) })
    }
}

fn is_key(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || matches!(byte, b' ' | b'-' | b'_' | b'/' | b'.')
}

/// The length of the letter that a text begins with: printable ASCII, or one of the common letters and signs beyond;
/// nothing for a control character, a space of another kind, or what is rarely written.
fn letter(rest: &[u8]) -> Option<usize> {
    match *rest {
        [b' '..=b'~', ..] => Some(1),
        [0xc2, 0xa1..=0xbf, ..] | [0xc3..=0xd4, _, ..] => Some(2),
        [0xe2, 0x80, 0x90..=0xa7 | 0xb0..=0xbf, ..] | [0xe2, 0x82..=0xbf, _, ..] => Some(3),
        _ => None,
    }
}

/// Whether no key stands twice.
fn are_unique(entries: &[Entry]) -> bool {
    if entries.len() <= 16 {
        let is_first =
            |(n, entry): (usize, &Entry)| entries[..n].iter().all(|other| other.key.value != entry.key.value);
        return entries.iter().enumerate().all(is_first);
    }
    let mut seen = FxHashSet::default();
    entries.iter().all(|entry| seen.insert(entry.key.value.as_str()))
}

#[cfg(test)]
#[path = "plain_tests.rs"]
mod tests;
