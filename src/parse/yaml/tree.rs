//! Builds the tree from the YAML library's events.
//!
//! In: a text that the scan found no fault in (or that was mended). Out: the tree with byte ranges of that text, or
//! the first place where the library gives up and what it says there.

use std::ops::Range;

use saphyr_parser::{Event, Parser, ScalarStyle};

use super::node::{Scalar, Style};

/// Deepest nesting of lists and maps.
pub const DEEPEST: usize = 64;

/// A tree whose places are byte ranges of the text that was read.
#[derive(Debug)]
pub enum Tree {
    /// Nothing.
    Empty(Range<usize>),
    /// A text.
    Scalar(Range<usize>, Scalar),
    /// Keys (place, text, whether it was quoted) and values.
    Map(Range<usize>, Vec<(Range<usize>, String, Tree)>),
    /// Items.
    List(Range<usize>, Vec<Tree>),
}

impl Tree {
    pub fn range(&self) -> Range<usize> {
        match self {
            Tree::Empty(r) | Tree::Scalar(r, _) | Tree::Map(r, _) | Tree::List(r, _) => r.clone(),
        }
    }
}

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
    /// The byte where it stopped.
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

/// A list or map that is still open.
enum Open {
    Map(Range<usize>, Vec<(Range<usize>, String, Tree)>, Option<(Range<usize>, String)>),
    List(Range<usize>, Vec<Tree>),
}

struct Builder {
    open: Vec<Open>,
    root: Option<Tree>,
}

impl Builder {
    /// Puts a finished value where it belongs. False: it stands as a key and is no text.
    fn put(&mut self, tree: Tree) -> bool {
        match self.open.last_mut() {
            None => self.root = Some(tree),
            Some(Open::List(_, items)) => items.push(tree),
            Some(Open::Map(_, entries, key)) => match key.take() {
                Some((range, text)) => entries.push((range, text, tree)),
                None => match tree {
                    Tree::Scalar(range, scalar) => *key = Some((range, scalar.text)),
                    _ => return false,
                },
            },
        }
        true
    }

    fn close(&mut self, end: Range<usize>) -> bool {
        let (range, last) = match self.open.last() {
            Some(Open::Map(r, entries, _)) => (r.clone(), entries.last().map(|(k, _, v)| v.range().end.max(k.end))),
            Some(Open::List(r, items)) => (r.clone(), items.last().map(|i| i.range().end)),
            None => return true,
        };
        // A closing bracket is a token of its own; a block ends where its last entry ends.
        let end = if end.is_empty() { last.unwrap_or(range.end) } else { end.end };
        let range = range.start..end.max(range.start);
        match self.open.pop() {
            Some(Open::Map(_, entries, _)) => self.put(Tree::Map(range, entries)),
            Some(Open::List(_, items)) => self.put(Tree::List(range, items)),
            None => true,
        }
    }
}

/// Reads a text. `None`: there is nothing in it but comments.
pub fn build(source: &str) -> Result<Option<Tree>, Stop> {
    let bytes = Bytes::new(source);
    let mut build = Builder { open: Vec::new(), root: None };
    let mut documents = 0;
    for event in Parser::new_from_str(source) {
        let (event, span) = event.map_err(|e| Stop {
            at: bytes.at(e.marker().index()),
            why: Why::Syntax,
            info: e.info().to_owned(),
        })?;
        let range = bytes.at(span.start.index())..bytes.at(span.end.index());
        let stop = |why| Err(Stop { at: range.start, why, info: String::new() });
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
            Event::Scalar(text, style, ..) => {
                build.put(scalar(text.into_owned(), style, closed(source, range.clone(), style)))
            }
            Event::SequenceStart(..) | Event::MappingStart(..) if build.open.len() >= DEEPEST => {
                return stop(Why::Depth);
            }
            Event::SequenceStart(..) => {
                build.open.push(Open::List(range.clone(), Vec::new()));
                true
            }
            Event::MappingStart(..) => {
                build.open.push(Open::Map(range.clone(), Vec::new(), None));
                true
            }
            Event::SequenceEnd | Event::MappingEnd => build.close(range.clone()),
            Event::StreamEnd => break,
            _ => true,
        };
        if !placed {
            return stop(no_key);
        }
    }
    Ok(build.root.filter(|t| !matches!(t, Tree::Empty(_))))
}

/// The place of a quoted text ends at its closing quote: the library counts the blanks and the comment behind it as well.
fn closed(source: &str, range: Range<usize>, style: ScalarStyle) -> Range<usize> {
    let quote = match style {
        ScalarStyle::SingleQuoted => b'\'',
        ScalarStyle::DoubleQuoted => b'"',
        _ => return range,
    };
    let bytes = source.as_bytes();
    let mut at = range.start + 1;
    while at < range.end {
        let doubled = quote == b'\'' && bytes.get(at + 1) == Some(&quote);
        match bytes[at] {
            b'\\' if quote == b'"' => at += 2,
            b if b == quote && doubled => at += 2,
            b if b == quote => return range.start..at + 1,
            _ => at += 1,
        }
    }
    range
}

fn scalar(text: String, style: ScalarStyle, range: Range<usize>) -> Tree {
    let style = match style {
        ScalarStyle::Plain if text.is_empty() => return Tree::Empty(range),
        ScalarStyle::Plain => Style::Plain,
        ScalarStyle::SingleQuoted => Style::Single,
        ScalarStyle::DoubleQuoted => Style::Double,
        ScalarStyle::Literal | ScalarStyle::Folded => Style::Block,
    };
    Tree::Scalar(range, Scalar { text, style })
}
