//! What people type that YAML reads otherwise: found line by line, before the library reads the text.
//!
//! In: the text. Out: a [`Problem`] for each trap. This is no YAML reader: it looks at where values begin and leaves everything
//! that it doesn't know to the library, whose verdict comes after.

use memchr::memchr;

use super::flow;
use crate::parse::keys::{ALL, Shape};
use crate::parse::problem::{Problem, Problems};
use crate::source::{FileId, Span};

/// Where the scanned text stands.
#[derive(Clone, Copy)]
pub struct Place<'a> {
    /// The file.
    pub file: FileId,
    /// The text that is scanned.
    pub text: &'a str,
    /// Where it begins in the file.
    pub base: usize,
}

impl Place<'_> {
    /// A span of the file from byte offsets of the text.
    pub fn span(&self, from: usize, to: usize) -> Span {
        Span::new(self.file, self.base + from, self.base + to)
    }
}

/// Finds the traps of a whole text.
pub fn scan(place: Place<'_>) -> Problems {
    let mut out = Problems::default();
    let text = place.text;
    let mut at = 0;
    let mut before: Option<Line> = None;
    while at < text.len() {
        let end = memchr(b'\n', &text.as_bytes()[at..]).map_or(text.len(), |i| at + i);
        let next = (end + 1).min(text.len()).max(end);
        let line = text[at..end].trim_end_matches('\r');
        let indent = blank(line);
        let content = &line[indent..];
        if content.is_empty() || content.starts_with('#') {
            at = if end == text.len() { end } else { next };
            continue;
        }
        let found = out.len();
        indentation(place, at, indent, &mut out);
        let mut after = end;
        if out.len() == found {
            let read = self::line(place, at + indent, at + line.len(), indent, before.as_ref(), &mut out);
            after = read.end.max(end).min(text.len());
            before = Some(read);
        } else {
            before = None;
        }
        at = if after >= text.len() {
            text.len()
        } else {
            memchr(b'\n', &text.as_bytes()[after..]).map_or(text.len(), |i| after + i + 1)
        };
    }
    out
}

/// A line that was looked at.
struct Line {
    /// Column of its key.
    indent: usize,
    /// Whether a plain text stands behind its key.
    plain: bool,
    /// Where what begins on it ends.
    end: usize,
}

/// How many bytes of spaces, tabs and no-break spaces a text begins with.
fn blank(text: &str) -> usize {
    let spaces = text.bytes().take_while(|b| *b == b' ').count();
    let rest = &text[spaces..];
    // Behind the spaces mostly a letter stands.
    if rest.starts_with(['\t', '\u{a0}']) {
        text.len() - rest.trim_start_matches([' ', '\t', '\u{a0}']).len()
    } else {
        spaces
    }
}

/// A tab or a no-break space before the first sign.
fn indentation(place: Place<'_>, at: usize, indent: usize, out: &mut Problems) {
    let text = &place.text[at..at + indent];
    if text.bytes().all(|b| b == b' ') {
        return;
    }
    if let Some(tab) = text.find('\t') {
        let run = text[tab..].chars().take_while(|c| *c == '\t').count();
        let span = place.span(at + tab, at + tab + run);
        out.push(
            Problem::yaml(span, "a tab stands in the indent: expected spaces")
                .help("write two spaces for each tab")
                .mend("write spaces", vec![(span, "  ".repeat(run))]),
        );
    } else if let Some(hard) = text.find('\u{a0}') {
        no_break(place, at + hard, out);
    }
}

fn no_break(place: Place<'_>, at: usize, out: &mut Problems) {
    let run: usize = place.text[at..].chars().take_while(|c| *c == '\u{a0}').map(char::len_utf8).sum();
    let span = place.span(at, at + run);
    out.push(
        Problem::yaml(span, "a no-break space was pasted here: expected a plain space")
            .help("write a plain space")
            .mend("write plain spaces", vec![(span, " ".repeat(run / 2))]),
    );
}

/// One line from its first sign to its end.
fn line(place: Place<'_>, from: usize, end: usize, indent: usize, before: Option<&Line>, out: &mut Problems) -> Line {
    let text = place.text;
    let mut at = from;
    let mut indent = indent;
    // List items: `- - a`. A dash without a space is no item.
    while text[at..end].starts_with("- ") {
        let gap = text[at + 1..end].len() - text[at + 1..end].trim_start_matches(' ').len() + 1;
        at += gap;
        indent += gap;
    }
    if at > from {
        at += blank(&text[at..end]);
    }
    let rest = &text[at..end];
    if missing_space_after_dash(rest) {
        let problem =
            Problem::yaml(place.span(at, at + 1), "a space is missing after `-`").help("write `- ` with a space");
        // at the left edge mostly names stand, and no items
        out.push(if at == from && indent == 0 {
            problem
        } else {
            problem.mend("add the space", vec![(place.span(at + 1, at + 1), " ".into())])
        });
        return Line { indent, plain: false, end };
    }
    if at > from && rest.starts_with('-') && rest[1..].trim_start().starts_with(|c: char| c.is_ascii_digit()) {
        return Line { indent, plain: true, end };
    }
    match key_end(rest) {
        Some(colon) => {
            let key = rest[..colon].trim();
            value(place, Slot { key, key_at: at, at: at + colon + 1, end, indent }, out)
        }
        None => {
            if let Some(key) = glued_key(rest) {
                glued(place, at, key, end, out);
                return Line { indent, plain: false, end };
            }
            if let Some(line) = before.filter(|l| l.plain && indent > l.indent) {
                return Line { indent: line.indent, plain: true, end };
            }
            item(place, at, end, indent, out)
        }
    }
}

/// `-{if: a}`, `-if: a`: a dash that should begin an item.
fn missing_space_after_dash(rest: &str) -> bool {
    let Some(after) = rest.strip_prefix('-') else { return false };
    after.starts_with(['{', '[']) || (key_end(rest).is_some() && after.starts_with(|c: char| c.is_ascii_alphabetic()))
}

/// Where the colon of a key stands: the first that is followed by a space or the end, outside quotes.
fn key_end(rest: &str) -> Option<usize> {
    if let Some(quote) = rest.chars().next().filter(|c| ['"', '\''].contains(c)) {
        let close = rest[1..].find(quote)? + 2;
        return rest[close..].trim_start().starts_with(':').then(|| close + rest[close..].find(':').unwrap_or(0));
    }
    if rest.starts_with(['{', '[', '|', '>', '#']) {
        return None;
    }
    let mut before = b'#';
    for (at, byte) in rest.bytes().enumerate() {
        match byte {
            b'#' if before == b' ' => return None,
            b':' if ends_key(rest, at + 1) => return Some(at),
            _ => before = byte,
        }
    }
    None
}

/// A colon ends a key before a space, a tab, a no-break space, or the end.
fn ends_key(rest: &str, at: usize) -> bool {
    rest[at..].chars().next().is_none_or(|c| [' ', '\t', '\u{a0}'].contains(&c))
}

/// A known key with its value glued to it: `if:in spec`.
pub(super) fn glued_key(rest: &str) -> Option<&str> {
    let (key, after) = rest.split_once(':')?;
    let known = ALL.iter().any(|k| k.get(key).is_some());
    (known && !after.starts_with("//") && !after.is_empty() && !after.starts_with(' ')).then_some(key)
}

/// Whether what was glued to a colon is a value by itself: then a space between the two mends it.
pub(super) fn is_value(after: &str) -> bool {
    let mut signs = after.chars();
    match signs.next() {
        Some(quote @ ('"' | '\'')) => flow::closing_quote(after, 0, quote).is_some(),
        Some('-') => signs.next().is_some_and(|c| c.is_ascii_digit()),
        Some(first) => first.is_alphanumeric() || ['[', '{', '±'].contains(&first),
        None => false,
    }
}

/// `ends`: where what is glued to the key ends.
pub(super) fn glued(place: Place<'_>, at: usize, key: &str, ends: usize, out: &mut Problems) {
    let colon = at + key.len();
    let problem = Problem::yaml(place.span(at, colon + 1), format!("a space is missing after `{key}:`"))
        .help(format!("write `{key}: ` with a space"));
    let value = is_value(&place.text[colon + 1..ends]) && !place.text[ends..].starts_with(':');
    out.push(if value {
        problem.mend("add the space", vec![(place.span(colon + 1, colon + 1), " ".into())])
    } else {
        problem
    });
}

/// A key with what stands behind it on its line.
#[derive(Clone, Copy)]
struct Slot<'a> {
    key: &'a str,
    key_at: usize,
    /// Just behind the colon.
    at: usize,
    end: usize,
    indent: usize,
}

fn value(place: Place<'_>, slot: Slot<'_>, out: &mut Problems) -> Line {
    let text = place.text;
    let gap = &text[slot.at..slot.end];
    let (space, behind) = gap.split_at(blank(gap));
    let done = Line { indent: slot.indent, plain: false, end: slot.end };
    if let Some(tab) = space.find('\t').filter(|_| !behind.is_empty()) {
        let span = place.span(slot.at + tab, slot.at + space.len());
        out.push(
            Problem::yaml(span, format!("a tab stands after `{}:`: expected a space", slot.key))
                .help("write a space")
                .mend("write a space", vec![(span, " ".into())]),
        );
        return done;
    }
    if let Some(hard) = space.find('\u{a0}') {
        no_break(place, slot.at + hard, out);
        return done;
    }
    let at = slot.at + space.len();
    if behind.is_empty() || behind.starts_with('#') {
        return done;
    }
    if behind.trim_end() == "?" {
        let span = place.span(at, at + 1);
        out.push(
            Problem::yaml(span, format!("expected a value for `{}`, found `?`", slot.key))
                .help("write `TBD` for a value that is not known yet")
                .mend("write `TBD`", vec![(span, "TBD".into())])
                .decides_if(true),
        );
        return done;
    }
    if let Some(inner) = nested_key(slot.key, behind) {
        out.push(
            Problem::yaml(
                place.span(at, at + inner.len() + 1),
                format!("`{inner}` stands on the line of `{}`", slot.key),
            )
            .label(place.span(slot.key_at, slot.key_at + slot.key.len()), "its owner")
            .help(format!("put `{inner}` on its own line below, indented by two spaces")),
        );
        return done;
    }
    scalar(place, at, slot.end, slot.indent, out)
}

/// `after-repair: confirm: ...`: a key that belongs below.
fn nested_key<'a>(key: &str, behind: &'a str) -> Option<&'a str> {
    if !behind.contains(':') {
        return None;
    }
    let inner = behind[..key_end(behind)?].trim();
    let owner = ALL.iter().find_map(|k| k.get(key))?;
    let below = match owner.shape {
        Shape::Row(keys) => keys.get(inner).is_some(),
        Shape::Rows(..) => crate::parse::shape::is_id(inner),
        _ => false,
    };
    below.then_some(inner)
}

/// A list item that is no key.
fn item(place: Place<'_>, at: usize, end: usize, indent: usize, out: &mut Problems) -> Line {
    scalar(place, at, end, indent, out)
}

/// A value: what its first sign makes of it.
fn scalar(place: Place<'_>, at: usize, end: usize, indent: usize, out: &mut Problems) -> Line {
    let rest = &place.text[at..end];
    let done = |end| Line { indent, plain: false, end };
    let Some(first) = rest.chars().next() else { return done(end) };
    match first {
        '{' | '[' => match flow::scan(place, at, out) {
            Some(close) => {
                let line_end = place.text[close..].find('\n').map_or(place.text.len(), |i| close + i);
                let tail = place.text[close..line_end].trim();
                if !tail.is_empty() && !tail.starts_with('#') && !tail.starts_with(':') {
                    quote_needed(place, at, line_end, first, out);
                }
                done(close)
            }
            None => done(place.text.len()),
        },
        '"' | '\'' => done(quoted(place, at, end, first, out)),
        '|' | '>' if block_header(rest) => done(block(place, end, indent)),
        '>' | '<' | '≥' | '≤' => {
            if first == '>' && !compares(rest) {
                quote_needed(place, at, end, first, out);
            } else if first == '>' {
                above(place, at, end, out);
            }
            done(end)
        }
        '|' | '!' | '&' | '*' | '%' | '@' | '`' => {
            quote_needed(place, at, end, first, out);
            done(end)
        }
        '-' if rest[1..].starts_with(' ') && rest[1..].trim_start().starts_with(|c: char| c.is_ascii_digit()) => {
            minus(place, at, rest, out);
            done(end)
        }
        '“' | '”' | '„' | '‘' | '’' => {
            flow::curly(place, at, out);
            done(end)
        }
        _ => {
            plain(place, at, end, out);
            Line { indent, plain: true, end }
        }
    }
}

/// A plain text with a colon and a space in it.
fn plain(place: Place<'_>, at: usize, end: usize, out: &mut Problems) {
    let text = &place.text[at..end];
    if !text.contains(':') {
        return;
    }
    let hash = text.find(" #").unwrap_or(text.len());
    let Some(colon) = text[..hash].find(": ").or_else(|| text[..hash].trim_end().strip_suffix(':').map(str::len))
    else {
        return;
    };
    out.push(colon_inside(place, at, end, at + colon));
}

/// A colon and a space inside a text.
fn colon_inside(place: Place<'_>, from: usize, end: usize, colon: usize) -> Problem {
    let text = place.text[from..end].trim_end();
    let problem = Problem::yaml(place.span(colon, colon + 1), "a colon and a space stand inside a text")
        .help("put the text in quotes");
    if is_before_comment(text) { problem } else { problem.quote(place.span(from, from + text.len()), text) }
}

/// Whether a comment stands behind the text: quotes would make it a part of it.
fn is_before_comment(text: &str) -> bool {
    text.contains(" #")
}

fn quote_needed(place: Place<'_>, at: usize, end: usize, first: char, out: &mut Problems) {
    let text = place.text[at..end].trim_end();
    let problem =
        Problem::yaml(place.span(at, at + first.len_utf8()), format!("a text that starts with `{first}` needs quotes"))
            .help("put the text in quotes");
    let span = place.span(at, at + text.len());
    out.push(if is_before_comment(text) { problem } else { problem.quote(span, text) });
}

/// Whether an amount follows the sign `>`: only then is it a limit.
pub(super) fn compares(rest: &str) -> bool {
    let amount = rest.trim_start_matches(['>', '=']).trim_start();
    amount.trim_start_matches(['-', '\u{2212}', '+', '.']).starts_with(|c: char| c.is_ascii_digit())
}

/// `> 90 ohm`: a sign that YAML takes for the start of a folded text.
pub(super) fn above(place: Place<'_>, at: usize, end: usize, out: &mut Problems) {
    let rest = &place.text[at..end];
    let (sign, word) = if rest.starts_with(">=") { (">=", "at least") } else { (">", "above") };
    let amount = rest[sign.len()..].trim();
    let gap = rest[sign.len()..].len() - rest[sign.len()..].trim_start().len();
    let span = place.span(at, at + sign.len() + gap);
    out.push(
        Problem::yaml(place.span(at, at + sign.len()), format!("expected words, found the sign `{sign}`"))
            .help(format!("write `{word} {amount}`"))
            .mend(format!("write `{word}`"), vec![(span, format!("{word} "))]),
    );
}

/// `|`, `>-`, `|2`: a header with nothing but a comment behind it.
fn block_header(rest: &str) -> bool {
    let tail = rest[1..].trim_start_matches(['+', '-']).trim_start_matches(|c: char| c.is_ascii_digit());
    let tail = tail.trim_start_matches(['+', '-']);
    tail.trim().is_empty() || tail.trim_start().starts_with("# ")
}

/// The end of a block text: the last line that is deeper than its key.
fn block(place: Place<'_>, line_end: usize, indent: usize) -> usize {
    let mut end = line_end;
    let mut at = (line_end + 1).min(place.text.len());
    for line in place.text[at..].split_inclusive('\n') {
        let content = line.trim();
        let depth = line.len() - line.trim_start_matches(' ').len();
        if !content.is_empty() && depth <= indent {
            break;
        }
        at += line.len();
        end = at - usize::from(line.ends_with('\n'));
    }
    end.min(place.text.len())
}

/// A quoted text: where it ends, and whether the closing quote comes too early.
fn quoted(place: Place<'_>, at: usize, line_end: usize, quote: char, out: &mut Problems) -> usize {
    let Some(close) = flow::closing_quote(place.text, at, quote) else {
        out.push(flow::unclosed(place, at, quote));
        return place.text.len();
    };
    flow::backslashes(place, at, close, quote, out);
    let end = if close > line_end {
        place.text[close..].find('\n').map_or(place.text.len(), |i| close + i)
    } else {
        line_end
    };
    let tail = place.text[close..end.max(close)].trim();
    if !tail.is_empty() && !tail.starts_with('#') && !tail.starts_with(':') {
        out.push(flow::too_early(place, at, close, quote));
        return end;
    }
    close
}

/// `- 20 °C`: a space behind the minus of a number.
pub(super) fn minus(place: Place<'_>, at: usize, rest: &str, out: &mut Problems) {
    let spaces = rest[1..].len() - rest[1..].trim_start().len();
    let span = place.span(at, at + 1 + spaces);
    out.push(
        Problem::yaml(span, "a space stands after the minus")
            .help("write the minus straight before the number")
            .mend("take the space out", vec![(span, "-".into())]),
    );
}
