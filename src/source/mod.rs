//! Nouns shared by all stages: which file, which bytes of it, and where that is for a person.
//!
//! In: file names and their text. Out: [`FileId`], [`Span`] (byte offsets), [`Spanned`] values, and
//! line and column positions (both from 1, columns in characters) on demand.

use std::sync::{Arc, OnceLock};

/// Names one file of a knowledge base by its index in [`Sources`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// A run of bytes in one file: `start` up to but not including `end`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte, from 0.
    pub start: u32,
    /// First byte after it.
    pub end: u32,
}

impl Span {
    /// Makes a span from byte offsets.
    pub fn new(file: FileId, start: usize, end: usize) -> Self {
        Self { file, start: start as u32, end: end as u32 }
    }

    /// The part of this span that starts `from` bytes into it and ends `to` bytes into it.
    /// Right only where the value's bytes stand in the source as they are (plain scalars).
    pub fn part(self, from: usize, to: usize) -> Self {
        let start = (self.start + from as u32).min(self.end);
        Self { file: self.file, start, end: (self.start + to as u32).clamp(start, self.end) }
    }

    /// The smallest span that holds both.
    pub fn to(self, other: Self) -> Self {
        Self { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

/// A value and where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Pairs a value with its place.
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// The same place with another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: f(self.value), span: self.span }
    }
}

impl<T> std::ops::Deref for Spanned<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
    }
}

/// A place as people count: line and column from 1, the column in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// One file: its path relative to the knowledge base (with `/`) and its text.
#[derive(Debug)]
pub struct SourceFile {
    path: String,
    text: Arc<str>,
    lines: OnceLock<Vec<u32>>,
}

impl SourceFile {
    /// Holds a file's path and text.
    pub fn new(path: impl Into<String>, text: impl Into<Arc<str>>) -> Self {
        Self { path: path.into(), text: text.into(), lines: OnceLock::new() }
    }

    /// The path relative to the knowledge base, with `/`.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The whole text, byte for byte.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The same text for another owner.
    pub fn shared_text(&self) -> Arc<str> {
        Arc::clone(&self.text)
    }

    fn line_starts(&self) -> &[u32] {
        self.lines.get_or_init(|| {
            std::iter::once(0)
                .chain(self.text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i as u32 + 1))
                .collect()
        })
    }

    /// Line and column of a byte offset; an offset past the end is the end.
    pub fn position(&self, offset: u32) -> Position {
        let mut offset = (offset as usize).min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let starts = self.line_starts();
        let line = starts.partition_point(|s| (*s as usize) <= offset) - 1;
        let start = starts[line] as usize;
        // A byte-order mark takes no column on screen.
        let text = self.text[start..offset].trim_start_matches('\u{feff}');
        Position { line: line + 1, column: text.chars().count() + 1 }
    }
}

/// All files of one knowledge base that were read, in the order of their paths.
#[derive(Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
}

impl Sources {
    /// None yet, with room for so many.
    pub fn with_room_for(files: usize) -> Self {
        Self { files: Vec::with_capacity(files) }
    }

    /// Adds a file and gives its id.
    pub fn add(&mut self, file: SourceFile) -> FileId {
        self.files.push(file);
        FileId(self.files.len() as u32 - 1)
    }

    /// Puts another file in the place of this id.
    pub fn replace(&mut self, id: FileId, file: SourceFile) {
        self.files[id.0 as usize] = file;
    }

    /// The file with this id.
    pub fn file(&self, id: FileId) -> &SourceFile {
        &self.files[id.0 as usize]
    }

    /// The file with this id, if there is one: an id from before the files came or went may name none.
    pub fn get(&self, id: FileId) -> Option<&SourceFile> {
        self.files.get(id.0 as usize)
    }

    /// Every file with its id, in order.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        self.files.iter().enumerate().map(|(i, f)| (FileId(i as u32), f))
    }

    /// The file at this path, if it was read.
    pub fn find(&self, path: &str) -> Option<FileId> {
        self.iter().find(|(_, f)| f.path() == path).map(|(id, _)| id)
    }

    /// The text that a span covers.
    pub fn text(&self, span: Span) -> &str {
        self.file(span.file).text().get(span.start as usize..span.end as usize).unwrap_or("")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters() {
        let file = SourceFile::new("a.md", "a\nµΩ x\n");
        assert_eq!(file.position(2), Position { line: 2, column: 1 });
        assert_eq!(file.position(7), Position { line: 2, column: 4 });
        assert_eq!(file.position(999), Position { line: 3, column: 1 });
    }
}
