//! Nouns shared by all: what a rule found, how grave it is, and the sink that decides what is told.
//!
//! In: findings as rules make them (rule, place, words, proof). Out: a [`Report`]: levels and
//! allowances applied, each fault once, in the order of file, line, column.

mod allowance;
mod fold;
mod sink;

pub use allowance::Allowance;
pub use fold::{MOST, make_room};
pub use sink::{Levels, Report, Summary, finish};

use crate::source::Span;

/// How grave a finding is; `Off` findings are never told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Not told at all.
    Off,
    /// For the author's leisure.
    Note,
    /// The page would be weak.
    Warning,
    /// The page would mislead.
    Error,
}

impl Level {
    /// The word in messages, JSON and `shop.yaml`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }

    /// Reads the word of `shop.yaml`.
    pub fn from_name(name: &str) -> Option<Self> {
        [Self::Off, Self::Note, Self::Warning, Self::Error].into_iter().find(|l| l.name() == name)
    }
}

/// A rule's name as people write it, `reading-gap` for example.
pub type RuleName = &'static str;

/// A second place that makes a finding so.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// At most six words.
    pub message: String,
}

/// One step of a proof: the step, the result taken there and the reading that takes it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct PathStep {
    /// The step's id.
    pub step: String,
    /// The result as written; nothing for a `do` or where the path stops.
    pub result: Option<String>,
    /// Where the result stands.
    pub span: Span,
}

/// One replacement of source text; an empty span inserts.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Edit {
    /// What is replaced.
    pub span: Span,
    /// By what.
    pub text: String,
}

/// A mechanical mend: all of its edits together remove the finding.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mend {
    /// What it does, imperative.
    pub title: String,
    /// The edits, none overlapping another.
    pub edits: Vec<Edit>,
    /// Whether it only respells what the author plainly wrote (a sign, a space, quotes, a misspelt name), so that it may be
    /// made without asking. One that decides something for the author (a limit, an order, what a verdict names) is only offered.
    pub safe: bool,
}

/// What another order of steps is worth: the finding's step is the one to move, or to do only when it is needed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saving {
    /// The step that it should come before; nothing where it is to be done only when needed.
    pub before: Option<String>,
    /// Minutes on average, in tenths as people read them.
    pub minutes: String,
}

/// What a rule found. Make one with [`Finding::new`] and add to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The rule.
    pub rule: RuleName,
    /// Its level. A rule sets its own default; the [sink](finish) applies the shop's.
    pub level: Level,
    /// The smallest wrong place.
    pub span: Span,
    /// The fact in one line.
    pub message: String,
    /// The other places that make it so.
    pub labels: Vec<Label>,
    /// What to do, imperative; facts that explain go into [`Finding::facts`].
    pub help: Vec<String>,
    /// Explaining lines shown before the help ("on the orlo-t2 and 2 other vehicles").
    pub facts: Vec<String>,
    /// The procedure it is about.
    pub procedure: Option<String>,
    /// The step.
    pub step: Option<String>,
    /// The cause.
    pub cause: Option<String>,
    /// All vehicles concerned, by id.
    pub vehicles: Vec<String>,
    /// The readings concerned, in the language's own words.
    pub readings: Vec<String>,
    /// The shortest possible path that shows it.
    pub path: Vec<PathStep>,
    /// A mechanical mend.
    pub mend: Option<Mend>,
    /// What the message says of another order, as data.
    pub saving: Option<Saving>,
    /// What stands here is not read as it is meant: the [sink](finish) leaves out whatever else is said of it.
    pub hides: Option<Span>,
    /// How many others it stands for, where a file has too many of its kind to tell each; 0 where it stands for itself.
    pub more: usize,
}

/// A sentence is one line: an author's words in it may go over several.
fn one_line(text: String) -> String {
    if text.contains(['\n', '\r']) { text.split_whitespace().collect::<Vec<_>>().join(" ") } else { text }
}

impl Finding {
    /// A finding with a place and a message and nothing else.
    pub fn new(rule: RuleName, level: Level, span: Span, message: impl Into<String>) -> Self {
        Self {
            rule,
            level,
            span,
            message: one_line(message.into()),
            labels: Vec::new(),
            help: Vec::new(),
            facts: Vec::new(),
            procedure: None,
            step: None,
            cause: None,
            vehicles: Vec::new(),
            readings: Vec::new(),
            path: Vec::new(),
            mend: None,
            saving: None,
            hides: None,
            more: 0,
        }
    }

    /// Adds a second place.
    pub fn label(mut self, span: Span, message: impl Into<String>) -> Self {
        self.labels.push(Label { span, message: one_line(message.into()) });
        self
    }

    /// Adds what to do.
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(one_line(text.into()));
        self
    }

    /// Adds an explaining line.
    pub fn fact(mut self, text: impl Into<String>) -> Self {
        self.facts.push(one_line(text.into()));
        self
    }

    /// Names the procedure.
    pub fn in_procedure(mut self, id: impl Into<String>) -> Self {
        self.procedure = Some(id.into());
        self
    }

    /// Names the step.
    pub fn at_step(mut self, id: impl Into<String>) -> Self {
        self.step = Some(id.into());
        self
    }

    /// Names the cause.
    pub fn of_cause(mut self, id: impl Into<String>) -> Self {
        self.cause = Some(id.into());
        self
    }

    /// Names the vehicles, unless it is the nameless one of a base without vehicles.
    pub fn on_vehicles(mut self, ids: impl IntoIterator<Item = impl Into<String>>) -> Self {
        self.vehicles = ids.into_iter().map(Into::into).filter(|v: &String| !v.is_empty()).collect();
        self.vehicles.sort();
        self
    }

    /// Adds a mend of one edit, to be offered: it may decide something for the author.
    pub fn mend(mut self, title: impl Into<String>, span: Span, text: impl Into<String>) -> Self {
        self.mend = Some(Mend { title: title.into(), edits: vec![Edit { span, text: text.into() }], safe: false });
        self
    }

    /// Adds a mend of one edit that only respells what the author plainly wrote: `lint --fix` makes it unasked.
    pub fn respell(self, title: impl Into<String>, span: Span, text: impl Into<String>) -> Self {
        let mut finding = self.mend(title, span, text);
        if let Some(mend) = &mut finding.mend {
            mend.safe = true;
        }
        finding
    }
}
