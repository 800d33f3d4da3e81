//! Traps inside `{...}` and `[...]`, and quotes anywhere.
//!
//! In: the text and where an opening sign stands. Out: where what it opens ends, and the traps on the way.

use super::scan::{Place, above, compares, glued, glued_key, minus};
use crate::parse::keys::ALL;
use crate::parse::problem::{Problem, Problems};

/// Walks from an opening bracket to just behind the one that closes it; nothing where none does (told, at the opening).
pub fn scan(place: Place<'_>, open: usize, out: &mut Problems) -> Option<usize> {
    let text = place.text;
    let before = out.len();
    let mut stack = vec![open];
    let mut at = open + 1;
    let mut starts = true; // whether a value or key may begin here
    // Every sign that means something here is one byte; none of a longer character's bytes looks like one.
    let bytes = text.as_bytes();
    while let Some(&c) = bytes.get(at) {
        match c {
            b'{' | b'[' if starts => {
                stack.push(at);
                if stack.len() > super::tree::DEEPEST {
                    return Some(text.len()); // the library tells it
                }
            }
            b'}' | b']' => {
                stack.pop();
                if stack.is_empty() {
                    return Some(at + 1);
                }
            }
            b'"' | b'\'' if starts => {
                let c = char::from(c);
                let Some(close) = closing_quote(text, at, c) else {
                    out.push(unclosed(place, at, c));
                    return None;
                };
                backslashes(place, at, close, c, out);
                let tail = text[close..].trim_start_matches([' ', '\n', '\r']);
                if !tail.is_empty() && !tail.starts_with([',', '}', ']', ':', '#']) {
                    out.push(too_early(place, at, close, c));
                    at = token_end(text, close);
                } else {
                    at = close;
                }
                starts = false;
                continue;
            }
            b'#' if matches!(bytes[at - 1], b' ' | b'\n') => {
                if !text[at + 1..].starts_with([' ', '\n', '\r', '#']) {
                    out.push(hash_in_flow(place, at));
                    return Some(skip_to_close(text, at, stack.len()));
                }
                at = text[at..].find('\n').map_or(text.len(), |i| at + i);
                continue;
            }
            b' ' | b'\n' | b'\r' => {}
            b',' => starts = true,
            b':' => starts |= matches!(bytes.get(at + 1), Some(b' ' | b'\n')),
            _ if starts => {
                at = token(place, at, out);
                starts = false;
                continue;
            }
            _ => {}
        }
        if matches!(c, b'{' | b'[') {
            starts = true;
        }
        at += 1;
    }
    let opened = stack.last().copied().unwrap_or(open);
    let sign = text[opened..].chars().next().unwrap_or('{');
    // What was met behind it was met only because nothing closed it.
    out.truncate(before);
    out.push(unclosed(place, opened, sign));
    None
}

/// A plain token in a flow: where it ends; the traps at its start and inside it.
fn token(place: Place<'_>, at: usize, out: &mut Problems) -> usize {
    let text = place.text;
    let end = token_end(text, at);
    let rest = &text[at..end];
    let Some(first) = rest.chars().next() else { return end };
    match first {
        '!' | '&' | '*' | '%' | '@' | '`' | '|' => {
            out.push(
                Problem::yaml(place.span(at, at + 1), format!("a text that starts with `{first}` needs quotes"))
                    .help("put the text in quotes")
                    .quote(place.span(at, end), rest.trim_end()),
            );
        }
        '>' if compares(rest) => above(place, at, end, out),
        '-' if rest[1..].starts_with(' ') && rest[1..].trim_start().starts_with(|c: char| c.is_ascii_digit()) => {
            minus(place, at, rest, out);
        }
        '“' | '”' | '„' | '‘' | '’' => return curly(place, at, out).unwrap_or(end),
        _ => {
            if let Some(key) = glued_key(rest) {
                glued(place, at, key, end, out);
            } else if text[end..].starts_with(':') {
                missing_comma(place, at, end, out);
            }
        }
    }
    end
}

fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |i| at + i)
}

/// Where a plain token in a flow ends: before a comma, a bracket, a colon with a space, or ` #`.
fn token_end(text: &str, at: usize) -> usize {
    let rest = &text.as_bytes()[at..];
    let end = rest.iter().enumerate().position(|(i, c)| match c {
        b',' | b'{' | b'}' | b'[' | b']' => true,
        b':' => matches!(rest.get(i + 1), None | Some(b' ' | b'\n' | b'\r' | b',' | b'}' | b']')),
        b'#' => i > 0 && rest[i - 1] == b' ',
        _ => false,
    });
    end.map_or(text.len(), |i| at + i)
}

/// `in spec then` before a colon: two entries without a comma between.
fn missing_comma(place: Place<'_>, at: usize, end: usize, out: &mut Problems) {
    let token = &place.text[at..end];
    let before = place.text[..at].trim_end();
    // Only a value can hold the next key: a token behind a colon.
    if !before.ends_with(':') {
        return;
    }
    let Some(space) = token.rfind([' ', '\n']) else { return };
    let word = &token[space + 1..];
    if !ALL.iter().any(|k| k.get(word).is_some()) {
        let problem = Problem::yaml(place.span(end, end + 1), "a colon and a space stand inside a text")
            .help("put the text in quotes");
        out.push(problem);
        return;
    }
    let from = at + token[..space].trim_end().len();
    out.push(
        Problem::yaml(place.span(at + space + 1, end), format!("a comma is missing before `{word}`"))
            .help("write a comma between the two")
            .mend("add the comma", vec![(place.span(from, from), ",".into())]),
    );
}

/// `{note: see #2}`: the rest of the line is a comment to YAML.
fn hash_in_flow(place: Place<'_>, at: usize) -> Problem {
    let end = place.text[at..].find([',', '}', '\n']).map_or(place.text.len(), |i| at + i);
    Problem::yaml(place.span(at, end), "the text is cut at ` #`").help("put the text in quotes, or use the long form")
}

/// Behind the bracket that closes the outermost of `depth` open ones, quotes and comments left aside.
fn skip_to_close(text: &str, at: usize, depth: usize) -> usize {
    let mut open = depth;
    for (i, c) in text[at..line_end(text, at)].char_indices() {
        match c {
            '{' | '[' => open += 1,
            '}' | ']' => {
                open -= 1;
                if open == 0 {
                    return at + i + 1;
                }
            }
            _ => {}
        }
    }
    line_end(text, at)
}

/// Curly quotes are letters to YAML. Gives where to go on: behind the closing one on the same line; nothing where they are words of
/// a longer text, which is fine.
pub fn curly(place: Place<'_>, at: usize, out: &mut Problems) -> Option<usize> {
    let rest = &place.text[at..];
    let first = rest.chars().next()?;
    let width = first.len_utf8();
    let span = place.span(at, at + width);
    let straight = if matches!(first, '‘' | '’') { "'" } else { "\"" };
    let mut edits = vec![(span, straight.to_owned())];
    let mut next = at + width;
    // Up to the closing one or the line's end, whichever comes first: a long line is not read again for each quote.
    let close = rest[width..].find(['”', '“', '’', '‘', '\n']).map(|i| at + width + i);
    if let Some((close, sign)) =
        close.and_then(|i| Some((i, place.text[i..].chars().next()?))).filter(|(_, c)| *c != '\n')
    {
        let tail = place.text[close + sign.len_utf8()..].trim_start_matches([' ', '\t', '\r']);
        if !tail.is_empty() && !tail.starts_with(['\n', ',', '}', ']', ':', '#']) {
            return None;
        }
        edits.push((place.span(close, close + sign.len_utf8()), straight.to_owned()));
        next = close + sign.len_utf8();
    }
    let problem = Problem::yaml(span, format!("curly quotes are letters: expected a straight quote, found `{first}`"))
        .help("use straight quotes");
    let problem = problem.hides(place.span(at, next));
    out.push(if edits.len() == 2 { problem.mend("use straight quotes", edits) } else { problem });
    Some(next)
}

/// Just behind the quote that closes the one at `at`.
pub fn closing_quote(text: &str, at: usize, quote: char) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut i = at + 1;
    while i < bytes.len() {
        match bytes[i] {
            b'\\' if quote == '"' => i += 1,
            b'\'' if quote == '\'' && bytes.get(i + 1) == Some(&b'\'') => i += 1,
            c if c == quote as u8 => return Some(i + 1),
            _ => {}
        }
        i += 1;
    }
    None
}

/// A backslash in double quotes: only `\"` and `\\` are read as what they look like.
pub fn backslashes(place: Place<'_>, at: usize, close: usize, quote: char, out: &mut Problems) {
    if quote != '"' {
        return;
    }
    let text = &place.text[at..close];
    let bytes = text.as_bytes();
    let mut i = 0;
    while let Some(found) = text[i..].find('\\') {
        let here = i + found;
        let next = bytes.get(here + 1).copied();
        if !matches!(next, Some(b'"' | b'\\')) {
            let sign = text[here + 1..].chars().next().filter(|c| !c.is_control()).map_or(0, char::len_utf8);
            let found = &text[here..=here + sign];
            let span = place.span(at + here, at + here + found.len());
            out.push(
                Problem::yaml(span, format!("a backslash in double quotes is a sign of its own: found `{found}`"))
                    .help("write `/`, or put the text in single quotes"),
            );
            return;
        }
        i = here + 2;
    }
}

/// Text behind a closing quote.
pub fn too_early(place: Place<'_>, at: usize, close: usize, quote: char) -> Problem {
    let other = if quote == '"' { "single quotes" } else { "double quotes" };
    Problem::yaml(place.span(close - 1, close), "the closing quote comes too early: text stands behind it")
        .label(place.span(at, at + 1), "opened here")
        .help(format!("use {other} around the whole text"))
}

/// A bracket or quote that nothing closes, told where it opens.
pub fn unclosed(place: Place<'_>, at: usize, sign: char) -> Problem {
    let close = match sign {
        '{' => '}',
        '[' => ']',
        other => other,
    };
    Problem::yaml(place.span(at, at + 1), format!("`{sign}` is never closed"))
        .help(format!("add the closing `{close}`"))
}
