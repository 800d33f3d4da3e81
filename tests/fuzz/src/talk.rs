//! The editor's side of a talk: what it counts as a place, its own texts, and a pipe that notes which answer follows which message.
//!
//! Written from the protocol (LSP 3.17), without the server's code.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::{BufRead, Read};
use std::ops::Range;

use serde_json::{Value, json};

/// Texts by their path in the base.
pub type Texts = BTreeMap<String, String>;

/// The lines of a text without what ends them.
pub fn lines(text: &str) -> Vec<Range<usize>> {
    let (mut lines, mut start, mut rest) = (Vec::new(), 0, text.char_indices().peekable());
    while let Some((at, letter)) = rest.next() {
        if letter == '\r' && rest.next_if(|(_, next)| *next == '\n').is_some() {
            lines.push(start..at);
            start = at + 2;
        } else if letter == '\n' || letter == '\r' {
            lines.push(start..at);
            start = at + 1;
        }
    }
    lines.push(start..text.len());
    lines
}

fn units(letters: &str, utf8: bool) -> u64 {
    if utf8 { letters.len() as u64 } else { letters.chars().map(|c| c.len_utf16() as u64).sum() }
}

/// The byte of a place: at most the end of its line, of the text.
pub fn offset(text: &str, line: u64, column: u64, utf8: bool) -> usize {
    let Some(line) = lines(text).into_iter().nth(usize::try_from(line).unwrap_or(usize::MAX)) else {
        return text.len();
    };
    let mut at = line.start;
    for letter in text[line.clone()].chars() {
        let next = at + letter.len_utf8();
        if units(&text[line.start..next], utf8) > column {
            break;
        }
        at = next;
    }
    at
}

/// The place of a byte: of the letter that it belongs to.
pub fn place(text: &str, at: usize, utf8: bool) -> Value {
    let at = (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
    let all = lines(text);
    let line = all.iter().rposition(|line| line.start <= at).unwrap_or(0);
    let end = at.min(all[line].end);
    json!({"line": line, "character": units(&text[all[line].start..end], utf8)})
}

/// The byte of a place in an answer: it must be a place of the text, between two letters.
pub fn exact(text: &str, place: &Value, utf8: bool) -> usize {
    let (line, column) = (place["line"].as_u64().unwrap(), place["character"].as_u64().unwrap());
    let at = offset(text, line, column, utf8);
    let all = lines(text);
    let there = all.get(usize::try_from(line).unwrap()).map(|line| units(&text[line.start..at], utf8));
    assert_eq!(there, Some(column), "{place} is no place of {text:?}");
    at
}

/// The bytes of a range in an answer.
pub fn exact_range(text: &str, range: &Value, utf8: bool) -> Range<usize> {
    let (start, end) = (exact(text, &range["start"], utf8), exact(text, &range["end"], utf8));
    assert!(start <= end, "{range} ends before it begins");
    start..end
}

/// The text with the edits of an answer, none of which may overlap another.
pub fn edited(text: &str, edits: &[Value], utf8: bool) -> String {
    let new = |edit: &Value| edit["newText"].as_str().expect("an edit has a text").to_owned();
    let mut laid: Vec<_> = edits.iter().map(|e| (exact_range(text, &e["range"], utf8), new(e))).collect();
    laid.sort_by_key(|(at, _)| (at.start, at.end));
    assert!(laid.windows(2).all(|two| two[0].0.end <= two[1].0.start), "edits overlap: {laid:?}");
    let mut text = text.to_owned();
    for (at, new) in laid.into_iter().rev() {
        text.replace_range(at, &new);
    }
    text
}

/// A message as it goes over the pipe.
pub fn frame(body: &[u8]) -> Vec<u8> {
    [format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes(), body].concat()
}

/// The messages of an output, which must hold nothing else.
pub fn messages(mut out: &[u8]) -> Vec<Value> {
    let mut found = Vec::new();
    while !out.is_empty() {
        let head = out.windows(4).position(|w| w == b"\r\n\r\n").expect("a header ends");
        let length = std::str::from_utf8(&out[..head]).unwrap().strip_prefix("Content-Length: ").expect("a length");
        let end = head + 4 + length.parse::<usize>().unwrap();
        found.push(serde_json::from_slice(&out[head + 4..end]).expect("JSON"));
        out = &out[end..];
    }
    found
}

/// Gives one frame after another, and notes how much was answered before each was read.
pub struct Pipe<'a> {
    pub frames: &'a [Vec<u8>],
    pub out: &'a RefCell<Vec<u8>>,
    pub marks: &'a RefCell<Vec<usize>>,
    pub at: usize,
}

impl Read for Pipe<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let read = self.fill_buf()?.read(into)?;
        self.consume(read);
        Ok(read)
    }
}

impl BufRead for Pipe<'_> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        let mut marks = self.marks.borrow_mut();
        let frames = self.frames;
        while marks.len() <= frames.len() && marks.len().checked_sub(1).is_none_or(|now| self.at == frames[now].len()) {
            marks.push(self.out.borrow().len());
            self.at = 0;
        }
        let now = frames.get(marks.len() - 1).map_or(&[][..], |frame| &frame[self.at..]);
        Ok(now)
    }

    fn consume(&mut self, count: usize) {
        self.at += count;
    }
}
