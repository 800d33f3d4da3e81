//! Findings to text: one file per format.
//!
//! In: a [`Report`](crate::finding::Report) and the [`Sources`](crate::source::Sources). Out: text for people or for programs.

pub mod fingerprint;
pub mod github;
pub mod json;
pub mod known;
pub mod sarif;
pub mod text;

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
    text.chars()
        .map(|c| match c {
            '\n' | '\t' => ' ',
            '\u{0}'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{fffd}'),
            '\u{7f}' => '\u{2421}',
            '\u{80}'..='\u{9f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
            c => c,
        })
        .collect()
}
