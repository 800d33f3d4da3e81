//! Findings to text: one file per format.
//!
//! In: a [`Report`](crate::finding::Report) and the [`Sources`](crate::source::Sources). Out: text for people or for programs.

pub mod fingerprint;
pub mod github;
pub mod json;
pub mod known;
pub mod sarif;
pub mod text;

use std::borrow::Cow;

use crate::finding::Summary;

/// `2 errors, 1 warning, + 7 notes (--notes shows them)`.
pub fn summary(summary: &Summary, notes_shown: bool) -> String {
    let count = |n: usize, noun: &str| format!("{n} {noun}{}", if n == 1 { "" } else { "s" });
    let mut line = match (summary.errors, summary.warnings) {
        (0, 0) => "no errors, no warnings".to_owned(),
        (e, w) => format!("{}, {}", count(e, "error"), count(w, "warning")),
    };
    match summary.notes {
        0 => {}
        n if notes_shown => line = format!("{line}, {}", count(n, "note")),
        n => line = format!("{line}, + {} (--notes shows them)", count(n, "note")),
    }
    if summary.known > 0 {
        line = format!("{line}; {} left out", count(summary.known, "known finding"));
    }
    line
}

/// Text from a file, safe for a terminal: control characters become their pictures (U+2400 and on).
pub fn escape(text: &str) -> String {
    text.chars().map(|c| if matches!(c, '\n' | '\t') { ' ' } else { picture(c) }).collect()
}

/// Finished text with nothing in it that a terminal obeys, but for line ends, tabs and, where it is coloured, the colours of
/// ECMA-48 (`ESC [ digits m`).
pub fn tame(text: &str, coloured: bool) -> Cow<'_, str> {
    if !text.contains(commands) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let colour = rest.strip_prefix("\u{1b}[").filter(|_| coloured);
        let digits = colour.map_or(0, |r| r.bytes().take_while(|b| b.is_ascii_digit() || *b == b';').count());
        let length = match colour {
            Some(r) if r[digits..].starts_with('m') => "\u{1b}[m".len() + digits,
            _ => c.len_utf8(),
        };
        if length > c.len_utf8() {
            out.push_str(&rest[..length]);
        } else {
            out.push(if matches!(c, '\n' | '\t') { c } else { picture(c) });
        }
        rest = &rest[length..];
    }
    Cow::Owned(out)
}

/// The text of a JSON value with everything that a terminal obeys spelt as `\u` and four digits: the same value.
pub fn spelt(json: &str) -> Cow<'_, str> {
    if !json.contains(commands) {
        return Cow::Borrowed(json);
    }
    let spell = |c: char| if commands(c) { format!("\\u{:04x}", u32::from(c)) } else { c.to_string() };
    Cow::Owned(json.chars().map(spell).collect())
}

/// Whether a terminal obeys a character rather than showing it, line ends and tabs aside: controls, and the marks that turn the
/// direction of writing (Unicode Standard Annex 9).
fn commands(c: char) -> bool {
    !matches!(c, '\n' | '\t') && picture(c) != c
}

fn picture(c: char) -> char {
    match c {
        '\u{0}'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        '\u{80}'..='\u{9f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        c => c,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_colours_reach_a_terminal_and_only_where_asked_for() {
        let text = "\u{1b}[1;31mred\u{1b}[0m \u{1b}]8;;x\u{7} \u{1b}[2J\t\u{9b}31m\u{202e}\r\n";
        assert_eq!(tame(text, true), "\u{1b}[1;31mred\u{1b}[0m ␛]8;;x␇ ␛[2J\t\u{fffd}31m\u{fffd}␍\n");
        assert_eq!(tame(text, false), "␛[1;31mred␛[0m ␛]8;;x␇ ␛[2J\t\u{fffd}31m\u{fffd}␍\n");
        assert!(matches!(tame("50 Ω\tor more\n", false), Cow::Borrowed(_)));
    }

    #[test]
    fn json_spelt_for_a_terminal_is_the_same_value() {
        let value = serde_json::json!({"a\u{9b}": "x\u{7f}\u{202e}\u{1b} Ω"});
        let (plain, spelt) = (format!("{value:#}\n"), spelt(&format!("{value:#}\n")).into_owned());
        assert_ne!(plain, spelt);
        assert_eq!(tame(&spelt, false), spelt.as_str());
        assert_eq!(serde_json::from_str::<serde_json::Value>(&spelt).ok(), Some(value));
    }
}
