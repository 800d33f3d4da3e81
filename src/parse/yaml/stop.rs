//! Why a text can't be read at all.
//!
//! In: the text, and where the library stopped. Out: one [`Problem`] in the author's words.

use super::scan::Place;
use super::tree::{DEEPEST, Stop, Why};
use crate::parse::problem::Problem;

/// Signs that no text holds, and lists in lists that the library would follow too far: looked for before the library reads.
pub fn unreadable(place: Place<'_>) -> Option<Problem> {
    control(place).or_else(|| dashes(place))
}

/// The first control character, if any.
fn control(place: Place<'_>) -> Option<Problem> {
    // One of one byte, or of two that begin with 0xC2; looked for in runs, most of which hold neither.
    const RUN: usize = 64;
    let odd = |byte: u8| (byte < b' ' && byte != b'\n') || byte == 0x7f || byte == 0xc2;
    let bad = |c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{85}');
    let bytes = place.text.as_bytes();
    let runs = bytes.chunks(RUN).enumerate().filter(|(_, run)| run.iter().fold(false, |any, byte| any | odd(*byte)));
    let (at, sign) = runs
        .flat_map(|(n, run)| run.iter().enumerate().filter(|(_, byte)| odd(**byte)).map(move |(i, _)| n * RUN + i))
        .filter_map(|at| Some((at, place.text[at..].chars().next()?)))
        .find(|(_, sign)| bad(*sign))?;
    let span = place.span(at, at + sign.len_utf8());
    let message = format!("a control character (U+{:04X}) stands in the text", sign as u32);
    Some(Problem::yaml(span, message).help("take it out"))
}

/// `- - - - ...`: a list in a list in a list.
fn dashes(place: Place<'_>) -> Option<Problem> {
    // Hardly any text holds even a few of them.
    if !place.text.contains("- - - - ") {
        return None;
    }
    let mut at = 0;
    for line in place.text.split_inclusive('\n') {
        let run = line.as_bytes().chunks(2).take_while(|c| *c == b"- ").count();
        if run > DEEPEST {
            return Some(too_deep(place, at + 2 * DEEPEST));
        }
        at += line.len();
    }
    None
}

fn too_deep(place: Place<'_>, at: usize) -> Problem {
    Problem::yaml(place.span(at, at + 1), format!("lists and keys are nested deeper than {DEEPEST} levels"))
        .help("write it flatter")
}

/// What the library stopped at.
pub fn explain(place: Place<'_>, stop: &Stop) -> Problem {
    let at = stop.at.min(place.text.len());
    let here = |message: &str| Problem::yaml(place.span(at, sign_end(place.text, at)), message);
    match stop.why {
        Why::Anchor => here("`&` and `*` have no meaning here")
            .help("repeat the line, make a shared check, or put the text in quotes"),
        Why::Tag => here("a text that starts with `!` needs quotes").help("put the text in quotes"),
        Why::SecondDocument => {
            here("a second document begins here").help("take the line `---` out: a file holds one document")
        }
        Why::KeyShape => here("a list or a row of keys can't be a key").help("write a plain word before the colon"),
        Why::NoKey => here("nothing stands before the colon").help("write the key, or take the colon out"),
        Why::Depth => too_deep(place, at),
        Why::Syntax => syntax(place, at, &stop.info),
    }
}

fn sign_end(text: &str, at: usize) -> usize {
    at + text[at..].chars().next().filter(|c| *c != '\n').map_or(0, char::len_utf8)
}

fn syntax(place: Place<'_>, at: usize, info: &str) -> Problem {
    if info.contains("recursion limit") {
        return too_deep(place, at);
    }
    let text = place.text;
    let line_start = text[..at].rfind('\n').map_or(0, |i| i + 1);
    // The library often stops at the start of the line behind the fault.
    let start = if at == line_start && at > 0 { text[..at - 1].rfind('\n').map_or(0, |i| i + 1) } else { line_start };
    let end = text[start..].find('\n').map_or(text.len(), |i| start + i);
    let line = &text[start..end];
    let indent = line.len() - line.trim_start().len();
    if let Some(colon) = line.find(": ").filter(|_| info.contains("mapping values") || info.contains("simple key")) {
        // The second line of a text holds a colon: the text began on the line before, so quotes around this line mend nothing.
        let message = "a colon and a space stand in a text that begins on the line before";
        let colon = start + colon;
        return Problem::yaml(place.span(colon, colon + 1), message)
            .help("put the whole text in quotes; where this line is an entry, the line above lacks its colon");
    }
    if info.contains("tab") {
        return Problem::yaml(place.span(at, sign_end(text, at)), "a tab stands here: expected spaces")
            .help("write spaces");
    }
    let shown = line.trim();
    let what = if shown.is_empty() {
        "this can't be read".to_owned()
    } else {
        format!("the line `{}` can't be read", short(shown))
    };
    Problem::yaml(place.span(start + indent, end.max(start + indent)), format!("{what}: {}", plain(info)))
        .help("check the indentation, the colons and the quotes of this line and the one before")
}

fn short(text: &str) -> String {
    let mut shown: String = text.chars().take(40).collect();
    if shown.len() < text.len() {
        shown.push('…');
    }
    shown.replace('`', "'")
}

/// The library's words without its jargon.
fn plain(info: &str) -> String {
    let info = info.to_lowercase();
    for (jargon, words) in [
        ("did not find expected key", "a key and a colon were expected"),
        ("could not find expected ':'", "a colon was expected"),
        ("block mapping", "the indentation does not fit the lines above"),
        ("block collection", "the indentation does not fit the lines above"),
        ("indent", "the indentation does not fit the lines above"),
        ("mapping values", "a colon stands where none is expected"),
        ("simple key", "a colon was expected"),
        ("flow", "a comma or a closing bracket was expected"),
        ("quoted", "a quote is not closed"),
        ("directive", "a text that starts with `%` needs quotes"),
    ] {
        if info.contains(jargon) {
            return words.to_owned();
        }
    }
    info
}
