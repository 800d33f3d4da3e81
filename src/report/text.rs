//! Findings as people read them, drawn by `annotate-snippets`.
//!
//! In: findings and sources. Out: one text; colour only if asked.

use std::borrow::Cow;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level as Drawn, Origin, Renderer, Snippet};

use super::escape;
use crate::finding::{Finding, Level, Report};
use crate::source::{FileId, Sources, Span};

/// How findings are shown.
#[derive(Clone, Copy, Debug)]
pub struct Look<'a> {
    /// Colour.
    pub colour: bool,
    /// Whether notes are drawn, or only counted.
    pub notes: bool,
    /// What stands before a file's path (`kb/`).
    pub prefix: &'a str,
}

/// Draws the findings and the summary line.
pub fn render(report: &Report, sources: &Sources, look: Look<'_>) -> String {
    let mut text = String::new();
    for finding in &report.findings {
        if finding.level == Level::Note && !look.notes {
            continue;
        }
        text.push_str(&one(finding, sources, look));
        text.push_str("\n\n");
    }
    text.push_str(&super::summary(&report.summary, look.notes));
    text.push('\n');
    text
}

/// Draws one finding.
pub fn one(finding: &Finding, sources: &Sources, look: Look<'_>) -> String {
    let level = match finding.level {
        Level::Error => Drawn::ERROR,
        Level::Warning => Drawn::WARNING,
        _ => Drawn::NOTE,
    };
    let message = escape(&finding.message);
    let mut group = level.primary_title(message).id(finding.rule).elements(snippets(finding, sources, look.prefix));
    for fact in facts(finding) {
        group = group.element(Drawn::NOTE.no_name().message(escape(&fact)));
    }
    for help in &finding.help {
        group = group.element(Drawn::HELP.message(escape(help)));
    }
    let renderer = if look.colour { Renderer::styled() } else { Renderer::plain() };
    let groups: [Group<'_>; 1] = [group];
    let mut text = renderer.decor_style(DecorStyle::Ascii).term_width(110).render(&groups);
    if !finding.path.is_empty() {
        text.push_str(&path(finding, sources, look.prefix));
    }
    text
}

fn facts(finding: &Finding) -> Vec<String> {
    let mut facts = finding.facts.clone();
    let told = facts.iter().any(|f| f.starts_with("on the "));
    match finding.vehicles.as_slice() {
        _ if told => {}
        [] => {}
        [one] => facts.push(format!("on the {one}")),
        [one, two] => facts.push(format!("on the {one} and {two}")),
        [first, rest @ ..] => facts.push(format!("on the {first} and {} other vehicles", rest.len())),
    }
    facts
}

/// The proof as a column: each step, the result taken there, its line.
fn path(finding: &Finding, sources: &Sources, prefix: &str) -> String {
    let width = finding.path.iter().map(|p| p.step.chars().count()).max().unwrap_or(0);
    let mut text = String::from("\n   = the shortest way there:");
    for step in &finding.path {
        let file = sources.file(step.span.file);
        let line = file.position(step.span.start).line;
        let result = step.result.as_deref().unwrap_or("");
        let arrow = if result.is_empty() { "" } else { "-> " };
        text.push_str(&format!(
            "\n       {:width$}  {arrow}{}  ({prefix}{}:{line})",
            escape(&step.step),
            escape(result),
            escape(file.path())
        ));
    }
    text
}

/// Text whose control characters beyond U+007F a terminal would obey: the drawing replaces only the others. What stands for them
/// takes as many bytes, so that every place stays where it is.
fn drawable(text: &str) -> Cow<'_, str> {
    let obeyed = |c: char| ('\u{80}'..='\u{9f}').contains(&c);
    if text.contains(obeyed) { Cow::Owned(text.replace(obeyed, "\u{bf}")) } else { Cow::Borrowed(text) }
}

fn snippets<'a>(finding: &'a Finding, sources: &'a Sources, prefix: &str) -> Vec<annotate_snippets::Element<'a>> {
    let mut files: Vec<FileId> = vec![finding.span.file];
    for label in &finding.labels {
        if !files.contains(&label.span.file) {
            files.push(label.span.file);
        }
    }
    files
        .into_iter()
        .map(|id| {
            let file = sources.file(id);
            let shown = format!("{prefix}{}", escape(file.path()));
            if file.text().is_empty() {
                return Origin::path(shown).line(1).char_column(1).into();
            }
            // Only the lines around the places are handed over: a library that draws needs no whole file.
            let spans: Vec<Span> = std::iter::once(finding.span)
                .chain(finding.labels.iter().map(|l| l.span))
                .filter(|s| s.file == id)
                .collect();
            let (from, to) = window(file.text(), &spans);
            let line = file.position(from as u32).line;
            let mut snippet = Snippet::source(drawable(&file.text()[from..to])).path(shown).line_start(line);
            if finding.span.file == id {
                snippet = snippet.annotation(AnnotationKind::Primary.span(cut(finding.span, from, to)));
            }
            for label in finding.labels.iter().filter(|l| l.span.file == id) {
                let span = cut(label.span, from, to);
                snippet = snippet.annotation(AnnotationKind::Context.span(span).label(escape(&label.message)));
            }
            snippet.into()
        })
        .collect()
}

/// The whole lines that hold all spans.
fn window(text: &str, spans: &[Span]) -> (usize, usize) {
    let from = spans.iter().map(|s| s.start as usize).min().unwrap_or(0).min(text.len());
    let to = spans.iter().map(|s| s.end as usize).max().unwrap_or(0).min(text.len());
    let from = text[..from].rfind('\n').map_or(0, |i| i + 1);
    let to = text[to..].find('\n').map_or(text.len(), |i| to + i + 1);
    (from, to)
}

fn cut(span: Span, from: usize, to: usize) -> std::ops::Range<usize> {
    let start = (span.start as usize).clamp(from, to) - from;
    let end = (span.end as usize).clamp(from, to) - from;
    start..end.max(start)
}
