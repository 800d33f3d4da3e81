//! A talk with the language server, made up from bytes.
//!
//! In: texts of files, a byte 0xFF, then what the editor does, a few bytes each. A panic where a request has not exactly one
//! answer, a place in an answer is no place of its file, the edits of a rename or a mend leave the base worse, or the last
//! diagnostics are not the findings of the texts as the editor has them.

mod answers;
mod script;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::Write;

use ruleout::finding::Level;
use ruleout::load::Memory;
use ruleout::{Linted, lint};
use serde_json::Value;

use super::talk::{Pipe, Texts, messages, place};
use script::Script;

/// The target.
pub fn run(data: &[u8]) {
    let script = Script::of(data);
    let (out, marks) = (RefCell::new(Vec::new()), RefCell::new(Vec::new()));
    let pipe = Pipe { frames: &script.frames, out: &out, marks: &marks, at: 0 };
    let is_silent = || script.steps[marks.borrow().len() - 1].is_silent;
    ruleout::lsp::replay(pipe, Out(&out), Some(super::small_base_folder()), is_silent);
    let (out, mut marks) = (out.into_inner(), marks.into_inner());
    marks.push(out.len());
    let mut told = BTreeMap::new();
    for (step, part) in script.steps.iter().zip(marks.windows(2)) {
        let said = messages(&out[part[0]..part[1]]);
        answers::look(step, &said, script.utf8);
        for note in said.iter().filter(|m| m["method"] == "textDocument/publishDiagnostics") {
            told.insert(script::path_of(&note["params"]["uri"]), note["params"]["diagnostics"].clone());
        }
    }
    if script.is_judged_at_end {
        let last = script.steps.last().expect("a talk has messages");
        told_as_linted(&told, &last.texts, script.utf8);
    }
}

/// What the server writes.
struct Out<'a>(&'a RefCell<Vec<u8>>);

impl Write for Out<'_> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// The last diagnostics of every file are the findings of a fresh run over the same texts.
fn told_as_linted(told: &BTreeMap<String, Value>, texts: &Texts, utf8: bool) {
    let Some(linted) = linted(texts) else { return };
    let mut wanted = Vec::new();
    for finding in &linted.report.findings {
        let file = linted.loaded.sources.file(finding.span.file);
        let start = place(file.text(), finding.span.start as usize, utf8);
        wanted.push((file.path().to_owned(), finding.rule.to_owned(), finding.message.clone(), start.to_string()));
    }
    let mut found = Vec::new();
    for (path, diagnostics) in told {
        for one in diagnostics.as_array().expect("a list") {
            let code = one["code"].as_str().unwrap_or_default().to_owned();
            let headline = one["message"].as_str().unwrap_or_default().lines().next().unwrap_or_default().to_owned();
            found.push((path.clone(), code, headline, one["range"]["start"].to_string()));
        }
    }
    wanted.sort();
    found.sort();
    assert_eq!(found, wanted, "the editor was told something else than a fresh run finds");
}

/// The base as the editor has it.
fn linted(texts: &Texts) -> Option<Linted> {
    let files: Memory = texts.iter().map(|(path, text)| (path.clone(), text.clone())).collect();
    lint(&files).ok()
}

/// Errors by rule.
fn errors(linted: &Linted) -> BTreeMap<&'static str, usize> {
    let mut errors = BTreeMap::new();
    for finding in linted.report.findings.iter().filter(|f| f.level == Level::Error) {
        *errors.entry(finding.rule).or_default() += 1;
    }
    errors
}
