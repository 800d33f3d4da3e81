//! YAML while it is being typed: a tree of whatever stands there.
//!
//! In: a text that may be broken anywhere. Out: a [`Node`] as the parser's own would be where the text is fine, and the
//! nearest thing where it isn't. It reports nothing: completion and the outline stand on it, never a finding.

use crate::parse::yaml::{Entry, Kind, Node, Scalar, Style};
use crate::source::{FileId, Span, Spanned};

/// Deepest nesting that is followed.
const DEEPEST: usize = 24;

/// Reads a text that begins `base` bytes into the file.
pub fn read(file: FileId, text: &str, base: usize) -> Node {
    let (text, base) = match text.strip_prefix('\u{feff}') {
        Some(rest) => (rest, base + '\u{feff}'.len_utf8()),
        None => (text, base),
    };
    let mut lines = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let words = line.trim_end_matches(['\n', '\r']);
        let indent = words.len() - words.trim_start_matches(' ').len();
        let rest = &words[indent..];
        if !rest.is_empty() && !rest.starts_with('#') {
            lines.push(Line { indent, start: at + indent, end: at + words.len() });
        }
        at += line.len();
    }
    let mut reader = Reader { file, text, base, lines, at: 0, depth: 0 };
    let end = text.len();
    reader.block(0).unwrap_or_else(|| reader.node(end, end, Kind::Empty))
}

/// What stands on one line. A line that began with `- ` is shortened to what stands behind it.
#[derive(Clone, Copy)]
struct Line {
    indent: usize,
    start: usize,
    end: usize,
}

struct Reader<'t> {
    file: FileId,
    text: &'t str,
    base: usize,
    lines: Vec<Line>,
    at: usize,
    depth: usize,
}

impl Reader<'_> {
    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.file, self.base + start, self.base + end)
    }

    fn node(&self, start: usize, end: usize, kind: Kind) -> Node {
        Node { span: self.span(start, end), kind }
    }

    fn empty(&self, at: usize) -> Node {
        self.node(at, at, Kind::Empty)
    }

    /// The list, rows or text that begin at the next line, if it is indented at least so far.
    fn block(&mut self, indent: usize) -> Option<Node> {
        let line = *self.lines.get(self.at).filter(|l| l.indent >= indent)?;
        if self.depth >= DEEPEST {
            self.at = self.lines.len();
            return None;
        }
        self.depth += 1;
        let node = if is_item(self.words(line)) {
            self.list(line.indent)
        } else if key_length(self.words(line)).is_some() || !self.words(line).starts_with(['{', '[', '"', '\'']) {
            self.map(line.indent)
        } else {
            self.value(line.start, line.indent.saturating_sub(1))
        };
        self.depth -= 1;
        Some(node)
    }

    fn words(&self, line: Line) -> &str {
        &self.text[line.start..line.end]
    }

    fn list(&mut self, indent: usize) -> Node {
        let mut items = Vec::new();
        while let Some(line) = self.lines.get(self.at).copied().filter(|l| l.indent >= indent) {
            if line.indent > indent || !is_item(self.words(line)) {
                if line.indent > indent {
                    self.at += 1; // stands nowhere
                    continue;
                }
                break;
            }
            let behind = line.start + 1;
            let rest = &self.text[behind..line.end];
            let start = behind + (rest.len() - rest.trim_start().len());
            if start == line.end || self.text[start..line.end].starts_with("# ") {
                self.at += 1;
                let below = self.block(indent + 1);
                items.push(below.unwrap_or_else(|| self.empty((behind + 1).min(line.end))));
                continue;
            }
            let shorter = Line { indent: line.indent + (start - line.start), start, end: line.end };
            self.lines[self.at] = shorter;
            let words = self.words(shorter);
            if is_item(words) || key_length(words).is_some() {
                items.extend(self.block(shorter.indent));
            } else {
                items.push(self.value(start, indent));
            }
        }
        let (start, end) = (items.first().map_or(0, |n| n.span.start), items.last().map_or(0, |n| n.span.end));
        Node { span: Span { file: self.file, start, end }, kind: Kind::List(items) }
    }

    fn map(&mut self, indent: usize) -> Node {
        let mut entries: Vec<Entry> = Vec::new();
        while let Some(line) = self.lines.get(self.at).copied().filter(|l| l.indent >= indent) {
            let words = self.words(line);
            if line.indent > indent || (is_item(words) && !entries.is_empty()) {
                self.at += 1; // stands nowhere
                continue;
            }
            let Some(length) = key_length(words) else {
                // A key that is being typed.
                let key = Spanned::new(words.trim_end().to_owned(), self.span(line.start, line.end));
                entries.push(Entry { key, value: self.empty(line.end) });
                self.at += 1;
                continue;
            };
            let written = words[..length].trim_end();
            let key = Spanned::new(unquoted(written).to_owned(), self.span(line.start, line.start + written.len()));
            let colon = line.start + length + 1;
            let rest = &self.text[colon..line.end];
            let start = colon + (rest.len() - rest.trim_start().len());
            let value = if start == line.end || self.text[start..line.end].starts_with('#') {
                self.at += 1;
                let list = self.lines.get(self.at).is_some_and(|l| l.indent == indent && is_item(self.words(*l)));
                let below = if list { self.block(indent) } else { self.block(indent + 1) };
                below.unwrap_or_else(|| self.empty((colon + 1).min(line.end)))
            } else {
                self.value(start, indent)
            };
            entries.push(Entry { key, value });
        }
        let start = entries.first().map_or(0, |e| e.key.span.start);
        let end = entries.last().map_or(0, |e| e.key.span.end.max(e.value.span.end));
        Node { span: Span { file: self.file, start, end }, kind: Kind::Map(entries) }
    }

    /// A value that begins on the current line, behind a key or dash that stands at `indent`. Goes on to the next line.
    fn value(&mut self, start: usize, indent: usize) -> Node {
        let first = self.lines[self.at];
        self.at += 1;
        let mut last = first;
        while let Some(line) = self.lines.get(self.at).copied().filter(|l| l.indent > indent) {
            last = line;
            self.at += 1;
        }
        let words = &self.text[start..first.end];
        if words.starts_with(['|', '>']) {
            let text = self.text[first.end..last.end.max(first.end)].trim().to_owned();
            return self.node(start, last.end, Kind::Scalar(Scalar { text, style: Style::Block }));
        }
        if words.starts_with(['{', '[']) {
            let mut flow = Flow { reader: self, at: start, end: last.end, depth: 0 };
            return flow.value();
        }
        if words.starts_with(['"', '\'']) {
            let mut flow = Flow { reader: self, at: start, end: last.end, depth: 0 };
            return flow.quoted();
        }
        let end = plain_end(self.text, start, first.end);
        let end = if end == first.end && last.end > first.end { last.end } else { end };
        let text = self.text[start..end].split('\n').map(str::trim).collect::<Vec<_>>().join(" ");
        self.node(start, end, Kind::Scalar(Scalar { text, style: Style::Plain }))
    }
}

/// `{...}` and `[...]`, up to a byte that no bracket reaches over.
struct Flow<'r, 't> {
    reader: &'r Reader<'t>,
    at: usize,
    end: usize,
    depth: usize,
}

impl Flow<'_, '_> {
    fn rest(&self) -> &str {
        &self.reader.text[self.at..self.end]
    }

    fn spaces(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    fn eat(&mut self, sign: char) -> bool {
        let there = self.rest().starts_with(sign);
        self.at += if there { sign.len_utf8() } else { 0 };
        there
    }

    fn value(&mut self) -> Node {
        if self.depth >= DEEPEST {
            self.at = self.end;
            return self.reader.empty(self.end);
        }
        self.depth += 1;
        let node = match self.rest().chars().next() {
            Some('{') => self.map(),
            Some('[') => self.list(),
            Some('"' | '\'') => self.quoted(),
            _ => self.plain(),
        };
        self.depth -= 1;
        node
    }

    fn list(&mut self) -> Node {
        let start = self.at;
        self.at += 1;
        let mut items = Vec::new();
        loop {
            self.spaces();
            if self.at >= self.end || self.eat(']') {
                break;
            }
            if self.eat(',') {
                continue;
            }
            let before = self.at;
            items.push(self.value());
            if self.at == before {
                self.at += 1; // a stray bracket
                items.pop();
            }
        }
        self.reader.node(start, self.at, Kind::List(items))
    }

    fn map(&mut self) -> Node {
        let start = self.at;
        self.at += 1;
        let mut entries = Vec::new();
        loop {
            self.spaces();
            if self.at >= self.end || self.eat('}') {
                break;
            }
            if self.eat(',') || self.eat(']') || self.eat('[') || self.eat('{') {
                continue;
            }
            entries.push(self.entry());
        }
        self.reader.node(start, self.at, Kind::Map(entries))
    }

    fn entry(&mut self) -> Entry {
        let from = self.at;
        let key = if self.rest().starts_with(['"', '\'']) {
            let node = self.quoted();
            Spanned::new(node.as_text().unwrap_or_default().to_owned(), node.span)
        } else {
            let rest = self.rest();
            let stop = |(at, c): &(usize, char)| match c {
                ',' | '{' | '}' | '[' | ']' | '\n' => true,
                ':' => rest[at + 1..].chars().next().is_none_or(|next| next.is_whitespace() || next == ','),
                _ => false,
            };
            let length = rest.char_indices().find(stop).map_or(rest.len(), |(at, _)| at);
            let written = rest[..length].trim_end().to_owned();
            self.at += length;
            let span = self.reader.span(from, from + written.len());
            Spanned::new(written, span)
        };
        self.spaces_on_line();
        if !self.eat(':') {
            let at = self.at;
            if at == from {
                self.at += 1; // nothing is a key here
            }
            return Entry { key, value: self.reader.empty(at) };
        }
        let colon = self.at;
        self.spaces();
        if self.at >= self.end || self.rest().starts_with([',', '}', ']']) {
            let at = (colon + 1).min(self.at);
            return Entry { key, value: self.reader.empty(at) };
        }
        Entry { key, value: self.value() }
    }

    fn spaces_on_line(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start_matches(' ').len();
    }

    fn plain(&mut self) -> Node {
        let start = self.at;
        let rest = self.rest();
        let length = rest.find([',', '{', '}', '[', ']', '\n']).unwrap_or(rest.len());
        let written = rest[..length].trim_end().to_owned();
        self.at += length;
        let end = start + written.len();
        self.reader.node(start, end, Kind::Scalar(Scalar { text: written, style: Style::Plain }))
    }

    fn quoted(&mut self) -> Node {
        let start = self.at;
        let rest = self.rest();
        let sign = rest.chars().next().unwrap_or('"');
        let mut text = String::new();
        let mut length = rest.len();
        let mut letters = rest.char_indices().skip(1).peekable();
        while let Some((at, letter)) = letters.next() {
            let doubled = sign == '\'' && letter == sign && letters.peek().is_some_and(|(_, next)| *next == sign);
            if doubled || (sign == '"' && letter == '\\') {
                text.extend(letters.next().map(|(_, next)| next));
            } else if letter == sign {
                length = at + 1;
                break;
            } else {
                text.push(letter);
            }
        }
        self.at += length;
        let style = if sign == '"' { Style::Double } else { Style::Single };
        self.reader.node(start, start + length, Kind::Scalar(Scalar { text, style }))
    }
}

fn is_item(words: &str) -> bool {
    words == "-" || words.starts_with("- ")
}

/// The bytes of a key that a colon follows.
fn key_length(words: &str) -> Option<usize> {
    if words.starts_with(['{', '[', '#', '|', '>']) || is_item(words) {
        return None;
    }
    let from = match words.chars().next() {
        Some(sign @ ('"' | '\'')) => words[1..].find(sign)? + 2,
        _ => 0,
    };
    let colons = words[from..].match_indices(':').map(|(at, _)| from + at);
    let length = colons.into_iter().find(|at| words[at + 1..].is_empty() || words[at + 1..].starts_with(' '))?;
    (length > 0).then_some(length)
}

fn unquoted(written: &str) -> &str {
    let inner = |sign: char| written.strip_prefix(sign)?.strip_suffix(sign);
    inner('"').or_else(|| inner('\'')).unwrap_or(written)
}

/// Where a plain text ends: before a comment, without the spaces behind it.
fn plain_end(text: &str, start: usize, end: usize) -> usize {
    let words = &text[start..end];
    let words = words.find(" #").map_or(words, |at| &words[..at]);
    start + words.trim_end().len()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where it must")]
mod tests {
    use super::*;

    fn bones(node: &Node) -> String {
        match &node.kind {
            Kind::Empty => "()".into(),
            Kind::Scalar(s) => format!("{:?}", s.text),
            Kind::List(items) => format!("[{}]", items.iter().map(bones).collect::<Vec<_>>().join(", ")),
            Kind::Map(entries) => {
                let entries: Vec<String> =
                    entries.iter().map(|e| format!("{}: {}", e.key.value, bones(&e.value))).collect();
                format!("{{{}}}", entries.join(", "))
            }
        }
    }

    #[test]
    fn what_is_typed_is_there() {
        for (text, expected) in [
            ("a: {b: c, d", r#"{a: {b: "c", d: ()}}"#),
            ("a:\n  b: [x, \nc: d", r#"{a: {b: ["x"]}, c: "d"}"#),
            ("a:\n  b:\n  me\nc: d", r#"{a: {b: (), me: ()}, c: "d"}"#),
            (
                "a:\n  - {if: in spec, th\n  - if: x\n    the\nb: c",
                r#"{a: [{if: "in spec", th: ()}, {if: "x", the: ()}], b: "c"}"#,
            ),
            ("a: \"x, y\nb: 'it''s'", r#"{a: "x, y", b: "it's"}"#),
            ("a: [b, {c: d}, ]}\n- x: ]\n", r#"{a: ["b", {c: "d"}]}"#),
            ("steps:\n  a:\n    then:\n  b: {}\n", "{steps: {a: {then: ()}, b: {}}}"),
        ] {
            assert_eq!(bones(&read(FileId(0), text, 0)), expected, "{text}");
        }
    }

    /// What is fine is read as the parser proper reads it: every value, every place of a key.
    #[test]
    #[allow(clippy::disallowed_methods, reason = "a test reads the demonstration")]
    fn the_demonstration_is_read_as_the_parser_reads_it() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("kb");
        let mut count = 0;
        for entry in walkdir::WalkDir::new(root).into_iter().map(Result::unwrap) {
            let ending = entry.path().extension().and_then(|e| e.to_str());
            let Some("md" | "yaml") = ending else { continue };
            let text = std::fs::read_to_string(entry.path()).unwrap();
            let split = crate::parse::front_matter::split(FileId(0), &text);
            let yaml = if ending == Some("yaml") { 0..text.len() } else { split.yaml.unwrap_or(0..0) };
            let (strict, _) = crate::parse::yaml::parse(FileId(0), &text[yaml.clone()], yaml.start);
            let Some(strict) = strict else { continue };
            let typed = read(FileId(0), &text[yaml.clone()], yaml.start);
            assert_eq!(bones(&typed), bones(&strict), "{}", entry.path().display());
            assert_eq!(keys(&typed), keys(&strict), "{}", entry.path().display());
            count += 1;
        }
        assert!(count > 50, "{count} files");
    }

    fn keys(node: &Node) -> Vec<(u32, u32)> {
        match &node.kind {
            Kind::List(items) => items.iter().flat_map(keys).collect(),
            Kind::Map(entries) => entries
                .iter()
                .flat_map(|e| std::iter::once((e.key.span.start, e.key.span.end)).chain(keys(&e.value)))
                .collect(),
            _ => vec![(node.span.start, node.span.end)],
        }
    }

    #[test]
    fn any_text_is_read() {
        let signs = ["a", ":", " ", "\n", "{", "}", "[", "]", ",", "-", "\"", "'", "#", "Ω", "|", "  ", ": ", "- "];
        let mut seed: usize = 7;
        for _ in 0..4000 {
            let mut text = String::new();
            for _ in 0..seed % 40 {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                text.push_str(signs[(seed >> 33) % signs.len()]);
            }
            seed = seed.wrapping_add(1);
            let tree = read(FileId(0), &text, 0);
            assert!(tree.span.end as usize <= text.len(), "{text:?}");
        }
    }
}
