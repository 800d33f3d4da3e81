//! What a reader of one file's text found wrong: a place, a message and, where it is certain, a replacement.
//!
//! In: nothing. Out: [`Problem`], which a later stage turns into a finding, and [`Problems`] to collect them in. Spans are byte ranges of the whole file.

use crate::finding::MOST;
use crate::source::Span;

/// One fault in a file's text, worded for the author.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The rule that it falls under (`bad-front-matter` unless the pages say otherwise).
    pub rule: &'static str,
    /// The smallest wrong place.
    pub span: Span,
    /// One line: what is wrong, in the author's words.
    pub message: String,
    /// What to write instead, one sentence each.
    pub help: Vec<String>,
    /// Further places that explain it, each with a few words.
    pub labels: Vec<(Span, String)>,
    /// A title and the replacements that put it right, in order and without overlap.
    pub mend: Option<(String, Vec<(Span, String)>)>,
    /// Whether the mend decides something for the author: it is offered then, never made unasked.
    pub decides: bool,
    /// What stands here is not read as it is meant: whatever else is said of it follows from this.
    pub hides: Option<Span>,
    /// How many others it stands for, where there are too many to tell each; 0 where it stands for itself.
    pub more: usize,
}

impl Problem {
    /// A fault of a file's YAML.
    pub fn yaml(span: Span, message: impl Into<String>) -> Self {
        Self::new("bad-front-matter", span, message)
    }

    /// A fault under a rule.
    pub fn new(rule: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self {
            rule,
            span,
            message: message.into(),
            help: Vec::new(),
            labels: Vec::new(),
            mend: None,
            decides: false,
            hides: None,
            more: 0,
        }
    }

    /// Adds a sentence that says what to do.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }

    /// Adds a place that explains the fault.
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push((span, text.into()));
        self
    }

    /// Names what is not read as it is meant.
    pub fn hides(mut self, span: Span) -> Self {
        self.hides = Some(span);
        self
    }

    /// Adds the replacements that put it right.
    pub fn mend(mut self, title: impl Into<String>, edits: Vec<(Span, String)>) -> Self {
        self.mend = Some((title.into(), edits));
        self
    }

    /// Puts a text in quotes, where they mean nothing else inside it, and it is one line: between quotes a line that is not indented is
    /// no line of the text.
    pub fn quote(self, span: Span, text: &str) -> Self {
        if text.contains(['"', '\\', '“', '”', '\n', '\r']) {
            return self;
        }
        self.mend("put the text in quotes", vec![(span, format!("\"{text}\""))])
    }

    /// Marks the mend as one that decides something for the author, where it does.
    pub fn decides_if(mut self, decides: bool) -> Self {
        self.decides = decides;
        self
    }
}

/// The faults of one file's YAML while they are collected. Of a file with a million of them only the first are kept whole, of the
/// others the places.
#[derive(Debug, Default)]
pub struct Problems {
    told: Vec<Problem>,
    rest: Vec<Span>,
}

impl Problems {
    /// Kept whole: more than are told in the end, as one fault may turn out to be told in two ways.
    const WHOLE: usize = 5 * MOST;

    /// Adds one.
    pub fn push(&mut self, problem: Problem) {
        if self.told.len() < Self::WHOLE {
            self.told.push(problem);
        } else {
            self.rest.push(problem.span);
        }
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.told.len() + self.rest.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.told.is_empty()
    }

    /// Takes the last ones back, so that `length` are left.
    pub fn truncate(&mut self, length: usize) {
        self.told.truncate(length);
        self.rest.truncate(length.saturating_sub(self.told.len()));
    }

    /// In the order of the text, one fault told in two ways told once; in the end one that stands for those that are not kept whole.
    pub fn tidy(self) -> Vec<Problem> {
        let Self { told, rest } = self;
        let mut places: Vec<(Span, usize)> = told.iter().map(|p| p.span).chain(rest).zip(0..).collect();
        places.sort_by_key(|(span, at)| (span.start, span.end, *at));
        let mut is_kept = vec![false; told.len()];
        let mut last: Option<Span> = None;
        let mut left_out: Option<(Span, usize)> = None;
        for (span, at) in places {
            if last.is_some_and(|l| span.start < l.end || span == l) {
                continue;
            }
            last = Some(span);
            match is_kept.get_mut(at) {
                Some(kept) => *kept = true,
                None => left_out.get_or_insert((span, 0)).1 += 1,
            }
        }
        let mut tidy: Vec<Problem> = told.into_iter().zip(is_kept).filter(|(_, kept)| *kept).map(|(p, _)| p).collect();
        tidy.sort_by_key(|p| (p.span.start, p.span.end));
        if let Some((span, more)) = left_out {
            let mut rest = Problem::yaml(span, "");
            rest.more = more;
            tidy.push(rest);
        }
        tidy
    }
}
