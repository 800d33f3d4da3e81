//! What is wrong with a short text of the language (an amount, a reading, a number), and how to mend it.

use std::ops::Range;

/// Longest text that is read as a reading or amount, in bytes; anything longer is none.
pub const LONGEST: usize = 1000;

/// How often a mended text is looked at again for a further mend.
const MEND_ROUNDS: usize = 8;

/// The rule that a problem belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ProblemKind {
    /// No unit, or one of another quantity.
    WrongUnit,
    /// A word that is no band.
    UnresolvedName,
    /// Everything else.
    BadValue,
}

/// One problem in a short text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The rule.
    pub kind: ProblemKind,
    /// The smallest wrong place: bytes of the text.
    pub range: Range<usize>,
    /// The headline.
    pub message: String,
    /// What to do, one sentence each.
    pub help: Vec<String>,
    /// What to write in place of the bytes of `range`. A text mended so reads without a problem.
    pub replacement: Option<String>,
    /// Whether the replacement decides something for the author (which of two limits comes first, whether a unit was meant).
    pub decides: bool,
}

impl Problem {
    pub(super) fn new(kind: ProblemKind, range: Range<usize>, message: impl Into<String>) -> Problem {
        Problem { kind, range, message: message.into(), help: Vec::new(), replacement: None, decides: false }
    }

    pub(super) fn bad(range: Range<usize>, message: impl Into<String>) -> Problem {
        Problem::new(ProblemKind::BadValue, range, message)
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Problem {
        self.help.push(help.into());
        self
    }

    pub(super) fn mend(mut self, replacement: impl Into<String>) -> Problem {
        self.replacement = Some(replacement.into());
        self
    }

    pub(super) fn decides(mut self) -> Problem {
        self.decides = true;
        self
    }

    /// The same problem in a longer text that the text begins `by` bytes into.
    pub fn shift(mut self, by: usize) -> Problem {
        self.range = self.range.start + by..self.range.end + by;
        self
    }

    /// Keeps the mend only if the mended text reads well, with further mends where needed, and says what to write.
    pub(super) fn tried<T>(mut self, text: &str, read: impl Fn(&str) -> Result<T, Problem>) -> Problem {
        let Some(first) = self.replacement.take() else { return self };
        let mut mended = splice(text, &self.range, &first);
        for round in 0..MEND_ROUNDS {
            let Err(next) = read(&mended) else {
                self.help.insert(0, format!("write `{}`", mended.trim()));
                if round == 0 {
                    self.replacement = Some(first);
                } else {
                    self.range = 0..text.len();
                    self.replacement = Some(mended);
                }
                return self;
            };
            let Some(replacement) = next.replacement else { return self };
            self.decides |= next.decides;
            mended = splice(&mended, &next.range, &replacement);
        }
        self
    }
}

/// A text, short enough for a message, between backticks.
pub(super) fn quote(text: &str) -> String {
    const MOST: usize = 40;
    let text = text.trim();
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("`{}…`", &text[..end]),
        None => format!("`{text}`"),
    }
}

fn splice(text: &str, range: &Range<usize>, replacement: &str) -> String {
    let before = text.get(..range.start).unwrap_or_default();
    let after = text.get(range.end..).unwrap_or_default();
    format!("{before}{replacement}{after}")
}
