//! Places as an editor counts them, and files as it names them.
//!
//! In: byte offsets, paths. Out: lines and columns from 0, in UTF-16 units unless the editor takes UTF-8; `file:` addresses.

use std::path::{Path, PathBuf};
use std::str::FromStr;

use lsp_types::{Position, Range, Uri};

/// What a column counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Encoding {
    /// Units of UTF-16: what every editor knows.
    #[default]
    Utf16,
    /// Bytes.
    Utf8,
}

/// A text with its lines counted.
pub struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
    encoding: Encoding,
}

impl<'t> Lines<'t> {
    /// Counts the lines: `\n`, `\r\n` and `\r` end one, as the protocol says.
    pub fn new(text: &'t str, encoding: Encoding) -> Self {
        let bytes = text.as_bytes();
        let ends = bytes.iter().enumerate().filter(|(at, byte)| match byte {
            b'\n' => true,
            b'\r' => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        });
        Self { text, starts: std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect(), encoding }
    }

    /// Where a byte stands; the end of the text where it lies behind it.
    pub fn position(&self, at: usize) -> Position {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let line = self.starts.partition_point(|start| *start <= at) - 1;
        let before = &self.text[self.starts[line]..at];
        let column = match self.encoding {
            Encoding::Utf16 => before.encode_utf16().count(),
            Encoding::Utf8 => before.len(),
        };
        Position { line: line as u32, character: column as u32 }
    }

    /// The byte at a place: the end of its line where the column lies behind it, the end of the text where the line does.
    pub fn offset(&self, place: Position) -> usize {
        let Some(start) = self.starts.get(place.line as usize).copied() else { return self.text.len() };
        let next = self.starts.get(place.line as usize + 1).copied().unwrap_or(self.text.len());
        let line = self.text[start..next].trim_end_matches(['\n', '\r']);
        let mut units = place.character as usize;
        for (at, letter) in line.char_indices() {
            let wide = match self.encoding {
                Encoding::Utf16 => letter.len_utf16(),
                Encoding::Utf8 => letter.len_utf8(),
            };
            if units < wide {
                return start + at;
            }
            units -= wide;
        }
        start + line.len()
    }

    /// A run of bytes.
    pub fn range(&self, start: usize, end: usize) -> Range {
        Range { start: self.position(start), end: self.position(end) }
    }

    /// The bytes of a range, its ends put in order.
    pub fn bytes(&self, range: Range) -> std::ops::Range<usize> {
        let (start, end) = (self.offset(range.start), self.offset(range.end));
        start.min(end)..start.max(end)
    }
}

/// The file of a `file:` address.
pub fn path_of(uri: &Uri) -> Option<PathBuf> {
    let rest = uri.as_str().strip_prefix("file://")?;
    let path = &rest[rest.find('/')?..];
    let mut bytes = Vec::new();
    let mut left = path.bytes();
    while let Some(byte) = left.next() {
        bytes.push(match byte {
            b'%' => {
                let digits = [left.next()?, left.next()?];
                u8::from_str_radix(std::str::from_utf8(&digits).ok()?, 16).ok()?
            }
            other => other,
        });
    }
    let text = String::from_utf8(bytes).ok()?;
    // `/C:/kb` on Windows.
    let drive = text.as_bytes().get(2) == Some(&b':') && text.as_bytes()[1].is_ascii_alphabetic();
    Some(PathBuf::from(if cfg!(windows) && drive { &text[1..] } else { &text }))
}

/// The `file:` address of an absolute path.
pub fn uri_of(path: &Path) -> Option<Uri> {
    let text = path.to_str()?.replace('\\', "/");
    let mut out = String::from(if text.starts_with('/') { "file://" } else { "file:///" });
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'/' | b'-' | b'.' | b'_' | b'~' => out.push(char::from(byte)),
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    Uri::from_str(&out).ok()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where it must")]
mod tests {
    use super::*;

    #[test]
    fn columns_count_what_the_editor_counts() {
        let text = "aΩ😀b\r\nc\rd\n";
        for (encoding, columns) in [(Encoding::Utf16, [0, 1, 2, 4, 5]), (Encoding::Utf8, [0, 1, 3, 7, 8])] {
            let lines = Lines::new(text, encoding);
            for (at, column) in [0, 1, 3, 7, 8].into_iter().zip(columns) {
                let place = Position { line: 0, character: column };
                assert_eq!(lines.position(at), place);
                assert_eq!(lines.offset(place), at);
            }
            assert_eq!(lines.offset(Position { line: 0, character: 99 }), 8);
            assert_eq!(lines.offset(Position { line: 99, character: 0 }), text.len());
            assert_eq!(lines.position(10), Position { line: 1, character: 0 });
            assert_eq!(lines.position(12), Position { line: 2, character: 0 });
            assert_eq!(lines.position(99), Position { line: 3, character: 0 });
        }
    }

    #[test]
    fn addresses_go_both_ways() {
        let path = Path::new("/shop floor/kb/Ω#1.md");
        let uri = uri_of(path).unwrap();
        assert_eq!(uri.as_str(), "file:///shop%20floor/kb/%CE%A9%231.md");
        assert_eq!(path_of(&uri).unwrap(), path);
        for other in ["untitled:one", "file:///a%2", "file:///a%zz"] {
            assert!(Uri::from_str(other).ok().and_then(|u| path_of(&u)).is_none(), "{other}");
        }
    }
}
