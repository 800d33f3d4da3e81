//! Builds the tree from the YAML library's events.
//!
//! In: a text that the scan found no fault in (or that was mended). Out: the tree, or the first place where the library
//! gives up and what it says there.

use saphyr_parser::{Event, Parser, ScalarStyle};

use super::flow::closing_quote;
use super::node::{Entry, Kind, Node, Scalar, Style};
use super::scan::Place;
use crate::source::{Span, Spanned};

/// Deepest nesting of lists and maps.
pub const DEEPEST: usize = 64;

/// Why no tree could be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The library gave up.
    Syntax,
    /// `&name`, `*name`.
    Anchor,
    /// `!name`.
    Tag,
    /// A second document.
    SecondDocument,
    /// A key that is a list or a map.
    KeyShape,
    /// A colon without a key.
    NoKey,
    /// Deeper than [`DEEPEST`].
    Depth,
}

/// Where reading stopped, and why.
#[derive(Debug)]
pub struct Stop {
    /// The byte of the text where it stopped.
    pub at: usize,
    /// Why.
    pub why: Why,
    /// The library's words.
    pub info: String,
}

/// Turns the library's character counts into byte offsets: the characters of more than one byte, in order, each with
/// the count of characters and of bytes up to its end.
struct Bytes(Vec<(usize, usize)>, usize);

impl Bytes {
    fn new(text: &str) -> Self {
        let wide = if text.is_ascii() {
            Vec::new()
        } else {
            let chars = text.char_indices().enumerate().filter(|(_, (_, c))| c.len_utf8() > 1);
            chars.map(|(n, (at, c))| (n + 1, at + c.len_utf8())).collect()
        };
        Self(wide, text.len())
    }

    fn at(&self, chars: usize) -> usize {
        let index = self.0.partition_point(|(n, _)| *n <= chars);
        let (n, bytes) = index.checked_sub(1).and_then(|i| self.0.get(i)).copied().unwrap_or_default();
        (bytes + (chars - n)).min(self.1)
    }
}

/// A list or map that is still open: where it begins, what it holds so far.
enum Open {
    Map(Span, Vec<Entry>, Option<Spanned<String>>),
    List(Span, Vec<Node>),
}

#[derive(Default)]
struct Builder {
    open: Vec<Open>,
    root: Option<Node>,
}

impl Builder {
    /// Puts a finished value where it belongs. False: it stands as a key and is no text.
    fn put(&mut self, node: Node) -> bool {
        match self.open.last_mut() {
            None => self.root = Some(node),
            Some(Open::List(_, items)) => items.push(node),
            Some(Open::Map(_, entries, key)) => match key.take() {
                Some(key) => entries.push(Entry { key, value: node }),
                None => match node.kind {
                    Kind::Scalar(scalar) => *key = Some(Spanned::new(scalar.text, node.span)),
                    _ => return false,
                },
            },
        }
        true
    }

    /// Ends the innermost list or map, whose end the library sees at `end`.
    fn close(&mut self, end: Span) -> bool {
        let (start, last, kind) = match self.open.pop() {
            Some(Open::Map(start, entries, _)) => {
                (start, entries.last().map(|e| e.value.span.end.max(e.key.span.end)), Kind::Map(entries))
            }
            Some(Open::List(start, items)) => (start, items.last().map(|i| i.span.end), Kind::List(items)),
            None => return true,
        };
        // A closing bracket is a token of its own (the library counts the blanks behind it as well); a block ends where its
        // last entry ends.
        let end = if end.start < end.end { end.start + 1 } else { last.unwrap_or(start.end) };
        self.put(Node { span: Span { end: end.max(start.start), ..start }, kind })
    }
}

/// Reads a text. `None`: there is nothing in it but comments.
pub fn build(place: Place<'_>) -> Result<Option<Node>, Stop> {
    let bytes = Bytes::new(place.text);
    let mut build = Builder::default();
    let mut documents = 0;
    for event in Parser::new_from_str(place.text) {
        let (event, span) = event.map_err(|e| Stop {
            at: bytes.at(e.marker().index()),
            why: Why::Syntax,
            info: e.info().to_owned(),
        })?;
        let start = bytes.at(span.start.index());
        let here = place.span(start, bytes.at(span.end.index()));
        let stop = |why| Err(Stop { at: start, why, info: String::new() });
        let no_key = if matches!(event, Event::Scalar(..)) { Why::NoKey } else { Why::KeyShape };
        let placed = match event {
            Event::DocumentStart(_) => {
                documents += 1;
                if documents > 1 {
                    return stop(Why::SecondDocument);
                }
                true
            }
            Event::Alias(_) => return stop(Why::Anchor),
            Event::Scalar(_, _, anchor, _) | Event::SequenceStart(anchor, _) | Event::MappingStart(anchor, _)
                if anchor > 0 =>
            {
                return stop(Why::Anchor);
            }
            Event::Scalar(_, _, _, Some(_)) | Event::SequenceStart(_, Some(_)) | Event::MappingStart(_, Some(_)) => {
                return stop(Why::Tag);
            }
            Event::Scalar(text, style, ..) => build.put(scalar(text.into_owned(), style, closed(place, here, style))),
            Event::SequenceStart(..) | Event::MappingStart(..) if build.open.len() >= DEEPEST => {
                return stop(Why::Depth);
            }
            Event::SequenceStart(..) => {
                build.open.push(Open::List(here, Vec::new()));
                true
            }
            Event::MappingStart(..) => {
                build.open.push(Open::Map(here, Vec::new(), None));
                true
            }
            Event::SequenceEnd | Event::MappingEnd => build.close(here),
            Event::StreamEnd => break,
            _ => true,
        };
        if !placed {
            return stop(no_key);
        }
    }
    Ok(build.root.filter(|node| !node.is_empty()))
}

/// The place of a quoted text ends at its closing quote: the library counts the blanks and the comment behind it as well.
fn closed(place: Place<'_>, span: Span, style: ScalarStyle) -> Span {
    let quote = match style {
        ScalarStyle::SingleQuoted => '\'',
        ScalarStyle::DoubleQuoted => '"',
        _ => return span,
    };
    let close = closing_quote(place.text, span.start as usize - place.base, quote);
    close.map_or(span, |end| Span { end: span.end.min((place.base + end) as u32), ..span })
}

fn scalar(text: String, style: ScalarStyle, span: Span) -> Node {
    let style = match style {
        ScalarStyle::Plain if text.is_empty() => return Node { span, kind: Kind::Empty },
        ScalarStyle::Plain => Style::Plain,
        ScalarStyle::SingleQuoted => Style::Single,
        ScalarStyle::DoubleQuoted => Style::Double,
        ScalarStyle::Literal | ScalarStyle::Folded => Style::Block,
    };
    Node { span, kind: Kind::Scalar(Scalar { text, style }) }
}
