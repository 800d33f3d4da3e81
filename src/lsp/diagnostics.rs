//! Findings as an editor shows them.
//!
//! In: the base as it was last judged. Out: the diagnostics of the files that it was told something else of.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

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

/// What the editor was told of each file.
#[derive(Default)]
pub struct Told {
    files: BTreeMap<String, Made>,
}

/// Diagnostics and what they were made from.
struct Made {
    findings: Vec<Finding>,
    texts: Vec<(FileId, Arc<str>)>,
    diagnostics: Vec<Diagnostic>,
}

impl Made {
    fn of(findings: &[Finding], linted: &Linted, ranges: &mut Ranges<'_>) -> Self {
        let files: BTreeSet<FileId> = findings.iter().flat_map(places).map(|span| span.file).collect();
        let texts = files.into_iter().map(|id| (id, linted.loaded.sources.file(id).shared_text())).collect();
        let diagnostics = findings.iter().map(|f| one(f, ranges)).collect();
        Self { findings: findings.to_vec(), texts, diagnostics }
    }

    /// Whether they would come out the same: made from these findings, and every text that they point into is the same.
    fn holds(&self, findings: &[Finding], linted: &Linted) -> bool {
        let sources = &linted.loaded.sources;
        self.findings == findings
            && self.texts.iter().all(|(id, text)| sources.get(*id).is_some_and(|f| Arc::ptr_eq(text, &f.shared_text())))
    }
}

fn places(finding: &Finding) -> impl Iterator<Item = Span> {
    let others = finding.labels.iter().map(|l| l.span).chain(finding.path.iter().map(|s| s.span));
    std::iter::once(finding.span).chain(others)
}

impl Told {
    /// The files whose diagnostics are not what the editor was told last, with the new ones: none for a file that is fine now.
    pub fn changed(&mut self, desk: &Desk) -> Vec<(String, Vec<Diagnostic>)> {
        let Some(linted) = desk.linted() else { return Vec::new() };
        let mut ranges = Ranges::new(desk, linted);
        let mut changed = Vec::new();
        let mut files = BTreeMap::new();
        for findings in linted.report.findings.chunk_by(|a, b| a.span.file == b.span.file) {
            let Some(first) = findings.first() else { continue };
            let path = linted.loaded.sources.file(first.span.file).path().to_owned();
            let before = self.files.remove(&path);
            let made = match before {
                Some(made) if made.holds(findings, linted) => made,
                before => {
                    let made = Made::of(findings, linted, &mut ranges);
                    if before.is_none_or(|b| b.diagnostics != made.diagnostics) {
                        changed.push((path.clone(), made.diagnostics.clone()));
                    }
                    made
                }
            };
            files.insert(path, made);
        }
        changed.extend(self.files.keys().map(|path| (path.clone(), Vec::new())));
        self.files = files;
        changed
    }
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
