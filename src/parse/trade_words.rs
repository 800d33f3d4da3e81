//! What technicians write in place of the words that readings are written with, and the words meant. Never read, only mended.

use super::text_problem::Problem;

/// Signs at the start of a reading, longest first.
const SIGNS: [(&str, &str); 12] = [
    ("<=", "at most "),
    ("=<", "at most "),
    (">=", "at least "),
    ("=>", "at least "),
    ("==", "exactly "),
    ("<", "below "),
    (">", "above "),
    ("≤", "at most "),
    ("⩽", "at most "),
    ("≥", "at least "),
    ("⩾", "at least "),
    ("=", "exactly "),
];

/// Words at the start of a reading.
const OPENERS: [(&str, &str); 19] = [
    ("from ", ""),
    ("up to ", "at most "),
    ("no more than ", "at most "),
    ("not more than ", "at most "),
    ("no less than ", "at least "),
    ("not less than ", "at least "),
    ("not above ", "at most "),
    ("not below ", "at least "),
    ("max ", "at most "),
    ("max. ", "at most "),
    ("maximum ", "at most "),
    ("min ", "at least "),
    ("min. ", "at least "),
    ("minimum ", "at least "),
    ("greater than ", "above "),
    ("higher than ", "above "),
    ("lower than ", "below "),
    ("smaller than ", "below "),
    ("more then ", "more than "),
];

/// A sign of comparison at the start of a reading.
pub(super) fn symbol(text: &str) -> Option<Problem> {
    let (sign, meant) = SIGNS.into_iter().find(|(sign, _)| text.starts_with(sign))?;
    let rest = text[sign.len()..].trim_start();
    let message = format!("expected `{}` in words, found `{sign}`", meant.trim());
    Some(Problem::bad(0..text.len() - rest.len(), message).mend(meant))
}

/// Other words at the start of a reading.
pub(super) fn opener(text: &str) -> Option<Problem> {
    let starts = |opener: &str| text.get(..opener.len()).is_some_and(|start| start.eq_ignore_ascii_case(opener));
    let (opener, meant) = OPENERS.into_iter().find(|(opener, _)| starts(opener))?;
    let message = match meant {
        "" => format!("expected an amount, found `{}`", opener.trim()),
        meant => format!("expected `{}`, found `{}`", meant.trim(), opener.trim()),
    };
    Some(Problem::bad(0..opener.len(), message).mend(meant))
}

/// A typed plus-or-minus behind a number, with the white space around it.
pub(super) fn plus_or_minus(text: &str) -> Option<Problem> {
    if !text.contains('+') {
        return None;
    }
    let (at, sign) = ["+/-", "+-", "+/\u{2212}"].into_iter().find_map(|sign| text.find(sign).map(|at| (at, sign)))?;
    let start = text[..at].trim_end().len();
    let end = text.len() - text[at + sign.len()..].trim_start().len();
    Some(Problem::bad(start..end, format!("expected `±`, found `{sign}`")).mend(" ± "))
}

/// Whether a word before the upper end of a range leaves the end out.
pub(super) fn excludes(word: &str) -> bool {
    matches!(word, "below" | "under")
}
