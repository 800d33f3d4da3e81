//! The mends of findings, as an editor offers them.
//!
//! In: a range of a file. Out: one action for each finding there that has a mend.

use lsp_types::{CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams};

use super::changes::Changes;
use super::desk::Desk;
use super::place::{Lines, path_of};
use super::uses::bytes;

/// The mends in a range.
pub fn at(desk: &Desk, params: &CodeActionParams) -> Option<Vec<CodeActionOrCommand>> {
    let quick = |kind: &CodeActionKind| kind.as_str().is_empty() || *kind == CodeActionKind::QUICKFIX;
    if params.context.only.as_ref().is_some_and(|only| !only.iter().any(quick)) {
        return Some(Vec::new());
    }
    let path = desk.within(&path_of(&params.text_document.uri)?)?;
    let linted = desk.linted()?;
    let sources = &linted.loaded.sources;
    let file = sources.find(&path)?;
    let wanted = Lines::new(sources.file(file).text(), desk.encoding).bytes(params.range);
    let mut actions = Vec::new();
    for finding in linted.report.findings.iter().filter(|f| f.span.file == file) {
        let at = bytes(finding.span);
        let Some(mend) = finding.mend.as_ref().filter(|_| at.start <= wanted.end && wanted.start <= at.end) else {
            continue;
        };
        let mut changes = Changes::default();
        for edit in &mend.edits {
            changes.replace(sources.file(edit.span.file).path(), bytes(edit.span), &edit.text);
        }
        let diagnostic = params.context.diagnostics.iter().find(|d| {
            let code = matches!(&d.code, Some(lsp_types::NumberOrString::String(rule)) if rule == finding.rule);
            code && d.message.starts_with(&finding.message)
        });
        actions.push(CodeActionOrCommand::CodeAction(CodeAction {
            title: mend.title.clone(),
            kind: Some(CodeActionKind::QUICKFIX),
            diagnostics: diagnostic.map(|d| vec![d.clone()]),
            edit: Some(changes.edit(desk)?),
            is_preferred: Some(true),
            ..CodeAction::default()
        }));
    }
    Some(actions)
}
