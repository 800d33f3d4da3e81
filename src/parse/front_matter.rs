//! Where the front matter ends and the words begin.
//!
//! In: the text of a file. Out: [`Split`]: the bytes of the YAML between two lines `---`, those of the Markdown below, and
//! what is wrong with the lines themselves. A byte-order mark, Windows line ends and spaces behind `---` are fine.

use std::ops::Range;

use memchr::memchr;

use super::problem::Problem;
use crate::source::{FileId, Span};

/// The two parts of a file, as byte ranges of its text.
#[derive(Debug)]
pub struct Split {
    /// The YAML without its two lines `---`; nothing where it is missing or never closed.
    pub yaml: Option<Range<usize>>,
    /// The Markdown: the whole text where there is no front matter, nothing where it is never closed.
    pub body: Range<usize>,
    /// At most one fault.
    pub problems: Vec<Problem>,
    /// Whether no line is meant as front matter at all: no fault where a file needs none.
    pub none_meant: bool,
    /// More words than are read: the body is empty then.
    pub too_long: Option<Problem>,
}

/// The longest Markdown that is read, in bytes: what reads Markdown needs up to three hundred times as much memory.
const LONGEST_BODY: usize = 1 << 20;

/// Splits a file's text at its front matter.
pub fn split(file: FileId, text: &str) -> Split {
    let mut split = at_fences(file, text);
    let Range { start, end } = split.body;
    if end - start > LONGEST_BODY {
        let line = text[start..].find('\n').unwrap_or(0);
        let told = format!("the words of this page have {} MB: at most 1 MiB are read", (end - start) / 1_000_000);
        split.too_long = Some(Problem::yaml(Span::new(file, start, start + line), told).help("split the page"));
        split.body = start..start;
    }
    split
}

fn at_fences(file: FileId, text: &str) -> Split {
    let mut lines = Lines { text, at: text.len() - text.trim_start_matches('\u{feff}').len() };
    let top = lines.at;
    let Some(opening) = lines.next().filter(|line| is_fence(&text[line.clone()])) else {
        let fault = missing(file, text, top);
        let none_meant = fault.mend.is_none();
        return Split { yaml: None, body: top..text.len(), problems: vec![fault], none_meant, too_long: None };
    };
    let yaml = lines.at;
    let mut almost: Option<Range<usize>> = None;
    let mut heading: Option<Range<usize>> = None;
    while let Some(line) = lines.next() {
        let words = &text[line.clone()];
        if is_fence(words) {
            let body = lines.at..text.len();
            return Split {
                yaml: Some(yaml..line.start),
                body,
                problems: Vec::new(),
                none_meant: false,
                too_long: None,
            };
        }
        if almost.is_none() && is_almost_fence(words) {
            almost = Some(line);
        } else if heading.is_none() && words.starts_with("## ") {
            heading = Some(line);
        }
    }
    let place = |range: Range<usize>| Span::new(file, range.start, range.end);
    let fault = Problem::yaml(place(opening), "the front matter is never closed: no second line `---` stands below");
    let fault = match (almost, heading) {
        (Some(line), _) => fault
            .help("write the closing `---` at the start of its line, with nothing else on it")
            .label(place(line), "this is not read as `---`"),
        (None, Some(line)) => {
            fault.help("write a line `---` above the words").label(place(line), "the words begin above this")
        }
        (None, None) => fault.help("write a line `---` between the front matter and the words"),
    };
    Split { yaml: None, body: text.len()..text.len(), problems: vec![fault], none_meant: false, too_long: None }
}

/// The lines of a text, without their ends.
struct Lines<'t> {
    text: &'t str,
    at: usize,
}

impl Iterator for Lines<'_> {
    type Item = Range<usize>;

    fn next(&mut self) -> Option<Range<usize>> {
        if self.at >= self.text.len() {
            return None;
        }
        let start = self.at;
        let rest = &self.text[start..];
        let length = memchr(b'\n', rest.as_bytes());
        self.at = length.map_or(self.text.len(), |n| start + n + 1);
        let line = &rest[..length.unwrap_or(rest.len())];
        Some(start..start + line.trim_end_matches('\r').len())
    }
}

fn is_fence(line: &str) -> bool {
    line.strip_prefix("---").is_some_and(|rest| rest.chars().all(|c| c == ' ' || c == '\t'))
}

/// Indented, too short or too long, or made of the dashes that a word processor sets.
fn is_almost_fence(line: &str) -> bool {
    let line = line.trim();
    if !line.starts_with(['-', '–', '—']) {
        return false;
    }
    (2..=20).contains(&line.chars().count()) && line.chars().all(|c| matches!(c, '-' | '–' | '—'))
        || matches!(line, "—" | "–")
}

/// No line `---` at the top.
fn missing(file: FileId, text: &str, top: usize) -> Problem {
    let expected = "expected `---` on the first line of the file";
    let mut lines = Lines { text, at: top };
    let Some(first) = lines.next() else {
        return Problem::yaml(Span::new(file, top, top), format!("{expected}, found nothing: the file is empty"))
            .help("write the front matter between two lines `---`");
    };
    let span = Span::new(file, first.start, first.end);
    if is_almost_fence(&text[first.clone()]) {
        let found = text[first.clone()].trim();
        let found = if found == "---" { "spaces before it".to_owned() } else { format!("`{found}`") };
        return Problem::yaml(span, format!("{expected}, found {found}"))
            .help("write `---` at the start of the line")
            .mend("write `---`", vec![(span, "---".into())]);
    }
    if text[first.clone()].trim().is_empty() {
        let words = Lines { text, at: top }.find(|line| !text[line.clone()].trim().is_empty());
        let Some(words) = words else {
            return Problem::yaml(span, format!("{expected}, found only empty lines"))
                .help("write the front matter between two lines `---`");
        };
        let fault = Problem::yaml(span, format!("{expected}, found an empty line"));
        if is_fence(&text[words.clone()]) {
            let above = Span::new(file, top, words.start);
            return fault
                .help("take the empty lines above `---` out")
                .mend("take the empty lines out", vec![(above, String::new())]);
        }
        return fault.help("write the front matter between two lines `---` above the words");
    }
    Problem::yaml(span, format!("{expected}, found `{}`", short(&text[first])))
        .help("write the front matter between two lines `---` above the words")
}

/// The start of a line, fit for a message.
fn short(line: &str) -> String {
    let line = line.trim();
    let mut shown: String = line.chars().take(40).map(|c| if c == '`' || c.is_control() { '\'' } else { c }).collect();
    if line.chars().count() > 40 {
        shown.push('…');
    }
    shown
}
