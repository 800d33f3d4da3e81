//! Text, never meaning: one file at a time, never fails.
//!
//! In: the text of one file. Out: trees with places and the problems found on the way.

pub mod amount;
pub mod front_matter;
pub mod keys;
pub mod markdown;
pub mod near;
pub mod page;
pub mod phrase;
pub mod problem;
pub mod schema;
pub mod shape;
pub mod svg;
mod svg_copies;
mod text_problem;
mod trade_words;
pub mod yaml;

pub use text_problem::{Problem as TextProblem, ProblemKind};

use crate::finding::{Edit, Finding, Label, Level, Mend};

/// A fault of a file's text as a finding.
pub fn problem_finding(problem: problem::Problem) -> Finding {
    if problem.more > 0 {
        return Finding::more(problem.rule, Level::Error, problem.span, problem.more);
    }
    let mut finding = Finding::new(problem.rule, Level::Error, problem.span, problem.message);
    finding.help = problem.help;
    finding.hides = problem.hides;
    finding.labels = problem.labels.into_iter().map(|(span, message)| Label { span, message }).collect();
    finding.mend = problem.mend.map(|(title, edits)| Mend {
        title,
        edits: edits.into_iter().map(|(span, text)| Edit { span, text }).collect(),
        safe: !problem.decides,
    });
    finding
}

/// A fault of a short text as a finding, at its part of the node.
pub fn text_finding(node: &yaml::Node, problem: &TextProblem) -> Finding {
    let rule = match problem.kind {
        ProblemKind::WrongUnit => "wrong-unit",
        ProblemKind::UnresolvedName => "unresolved-name",
        ProblemKind::BadValue => "bad-value",
    };
    let span = node.part(problem.range.start, problem.range.end);
    let mut finding = Finding::new(rule, Level::Error, span, problem.message.clone());
    finding.help.clone_from(&problem.help);
    match &problem.replacement {
        // A mend is only safe where the text's bytes stand in the source as they are.
        Some(text) if span != node.span || problem.range.len() == node.as_text().map_or(0, str::len) => {
            let title = if text.is_empty() { "take it out".to_owned() } else { format!("write `{}`", text.trim()) };
            if problem.decides { finding.mend(title, span, text) } else { finding.respell(title, span, text) }
        }
        _ => finding,
    }
}
