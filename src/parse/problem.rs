//! What a reader of one file's text found wrong: a place, a message and, where it is certain, a replacement.
//!
//! In: nothing. Out: [`Problem`], which a later stage turns into a finding. Spans are byte ranges of the whole file.

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
}

impl Problem {
    /// A fault of a file's YAML.
    pub fn yaml(span: Span, message: impl Into<String>) -> Self {
        Self::new("bad-front-matter", span, message)
    }

    /// A fault under a rule.
    pub fn new(rule: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self { rule, span, message: message.into(), help: Vec::new(), labels: Vec::new(), mend: None, decides: false }
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

    /// Adds the replacements that put it right.
    pub fn mend(mut self, title: impl Into<String>, edits: Vec<(Span, String)>) -> Self {
        self.mend = Some((title.into(), edits));
        self
    }

    /// Marks the mend as one that decides something for the author, where it does.
    pub fn decides_if(mut self, decides: bool) -> Self {
        self.decides = decides;
        self
    }
}
