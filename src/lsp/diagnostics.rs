//! Findings as an editor shows them.
//!
//! In: the base as it was last judged. Out: the diagnostics of each file that has any.

use std::collections::BTreeMap;

use lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, Location,
    NumberOrString,
};

use super::desk::Desk;
use super::pages;
use super::place::Lines;
use crate::finding::{Finding, Level};
use crate::pipeline::Linted;
use crate::source::{FileId, Span};

/// Rules that speak of something that could go.
const NEEDLESS: [&str; 5] = ["unused-entry", "dead-result", "unreachable-step", "unused-allowance", "no-news"];

/// Positions in the files that were judged, each file's lines counted once.
pub struct Ranges<'a> {
    linted: &'a Linted,
    desk: &'a Desk,
    lines: BTreeMap<FileId, Lines<'a>>,
}

impl<'a> Ranges<'a> {
    /// Of the base as it was last judged.
    pub fn new(desk: &'a Desk, linted: &'a Linted) -> Self {
        Self { linted, desk, lines: BTreeMap::new() }
    }

    /// Where a span stands.
    pub fn range(&mut self, span: Span) -> lsp_types::Range {
        let file = self.linted.loaded.sources.file(span.file);
        let encoding = self.desk.encoding;
        let lines = self.lines.entry(span.file).or_insert_with(|| Lines::new(file.text(), encoding));
        lines.range(span.start as usize, span.end as usize)
    }

    /// Where a span stands, with its file.
    pub fn location(&mut self, span: Span) -> Option<Location> {
        let uri = self.desk.uri(self.linted.loaded.sources.file(span.file).path())?;
        Some(Location { uri, range: self.range(span) })
    }
}

/// The diagnostics of every file that has any, by its path.
pub fn all(desk: &Desk) -> BTreeMap<String, Vec<Diagnostic>> {
    let mut by_file: BTreeMap<String, Vec<Diagnostic>> = BTreeMap::new();
    let Some(linted) = desk.linted() else { return by_file };
    let mut ranges = Ranges::new(desk, linted);
    for finding in &linted.report.findings {
        let path = linted.loaded.sources.file(finding.span.file).path();
        by_file.entry(path.to_owned()).or_default().push(one(finding, &mut ranges));
    }
    by_file
}

fn one(finding: &Finding, ranges: &mut Ranges<'_>) -> Diagnostic {
    let severity = match finding.level {
        Level::Error => DiagnosticSeverity::ERROR,
        Level::Warning => DiagnosticSeverity::WARNING,
        _ => DiagnosticSeverity::HINT,
    };
    let mut related = Vec::new();
    let mut relate = |span, message: String| {
        related.extend(ranges.location(span).map(|location| DiagnosticRelatedInformation { location, message }));
    };
    for label in &finding.labels {
        relate(label.span, label.message.clone());
    }
    for (at, step) in finding.path.iter().enumerate() {
        let result = step.result.as_ref().map_or_else(String::new, |r| format!(": {r}"));
        relate(step.span, format!("{}. {}{result}", at + 1, step.step));
    }
    Diagnostic {
        range: ranges.range(finding.span),
        severity: Some(severity),
        code: Some(NumberOrString::String(finding.rule.to_owned())),
        code_description: pages::address(finding.rule).map(|href| CodeDescription { href }),
        source: Some("ruleout".to_owned()),
        message: words(finding),
        related_information: Some(related).filter(|r| !r.is_empty()),
        tags: NEEDLESS.contains(&finding.rule).then(|| vec![DiagnosticTag::UNNECESSARY]),
        data: None,
    }
}

/// The fact, what explains it, and what to do.
fn words(finding: &Finding) -> String {
    let mut text = finding.message.clone();
    for fact in &finding.facts {
        text.push_str(&format!("\n{fact}"));
    }
    for help in &finding.help {
        text.push_str(&format!("\nhelp: {help}"));
    }
    text
}
