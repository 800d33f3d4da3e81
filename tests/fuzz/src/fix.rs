//! Mends of any base.
//!
//! In: a base, or a procedure of the small one. A panic where `lint --fix` would break what it promises: the safe mends come
//! to an end, what was mended is told no more, every byte outside the edits stays, and nothing that was readable is read no
//! more; a mend that is only offered removes its own finding too.

use std::collections::{BTreeMap, BTreeSet};

use ruleout::edit;
use ruleout::finding::{Finding, Level, Mend};
use ruleout::load::Memory;
use ruleout::parse::{front_matter, yaml};
use ruleout::source::FileId;
use ruleout::{Linted, lint};

/// As `lint --fix` judges anew.
const ROUNDS: usize = 24;
/// Offers that are tried of one base.
const OFFERS: usize = 2;

/// The target.
pub fn run(data: &[u8]) {
    let mut files = super::base_of(data);
    let Ok(first) = lint(&files) else { return };
    offers(&files, &first);
    let mut before = first;
    for round in 0.. {
        let fixed = edit::fix(&before.report.findings, &before.loaded.sources);
        assert_eq!(fixed.texts.is_empty(), fixed.made.is_empty(), "{:?}", fixed.made);
        if fixed.texts.is_empty() {
            return;
        }
        assert!(round < ROUNDS, "still mending: {:?}", fixed.made);
        let made: Vec<&Finding> = before.report.findings.iter().filter(|f| is_made(f, &fixed.made, &before)).collect();
        let edits = made.iter().filter_map(|f| f.mend.as_ref()).collect::<Vec<_>>();
        for (path, text) in laid(&before, &edits) {
            assert_eq!(fixed.texts.get(&path), Some(&text), "only the edits change `{path}`");
            files.set(path, text);
        }
        let after = lint(&files).expect("it was read before");
        for finding in &made {
            removed(finding, &before, &after);
        }
        // What could not be read, or not be resolved, hides faults; a mend of anything else shows no new ones.
        if made.iter().all(|f| f.level < Level::Error) {
            nothing_new(&before, &after);
        }
        reads_no_worse(&before, &after);
        super::judged_well(&after);
        before = after;
    }
}

/// Offers, each made alone.
fn offers(files: &Memory, before: &Linted) {
    let offered = before.report.findings.iter().filter(|f| f.mend.as_ref().is_some_and(|m| !m.safe));
    for finding in offered.take(OFFERS) {
        let mut files = files.clone();
        for (path, text) in laid(before, &[finding.mend.as_ref().unwrap()]) {
            files.set(path, text);
        }
        let after = lint(&files).expect("it was read before");
        removed(finding, before, &after);
        reads_no_worse(before, &after);
    }
}

fn is_made(finding: &Finding, made: &[edit::Made], linted: &Linted) -> bool {
    let file = linted.loaded.sources.file(finding.span.file);
    let place = file.position(finding.span.start);
    finding.mend.as_ref().is_some_and(|mend| {
        mend.safe
            && made
                .iter()
                .any(|m| m.rule == finding.rule && m.file == file.path() && m.place == place && m.title == mend.title)
    })
}

/// The texts with these edits: laid in from the end, so that no place moves.
fn laid(linted: &Linted, mends: &[&Mend]) -> BTreeMap<String, String> {
    let mut edits: Vec<_> = mends.iter().flat_map(|m| &m.edits).collect();
    edits.sort();
    let mut texts: BTreeMap<String, String> = BTreeMap::new();
    let mut behind = None;
    for edit in edits.into_iter().rev() {
        let (id, start, end) = (edit.span.file, edit.span.start, edit.span.end);
        let file = linted.loaded.sources.file(id);
        assert!(behind.is_none_or(|(other, at)| other != id || end <= at), "edits overlap: {mends:?}");
        behind = Some((id, start));
        let text = texts.entry(file.path().to_owned()).or_insert_with(|| file.text().to_owned());
        text.replace_range(start as usize..end as usize, &edit.text);
    }
    texts
}

/// A finding that was mended is told less often than before. (One of its words may be told of another line, or before it: it was hidden.)
fn removed(finding: &Finding, before: &Linted, after: &Linted) {
    if finding.mend.iter().flat_map(|m| &m.edits).any(|e| e.text.contains('\n')) {
        return; // its line may be another one now
    }
    let place = |linted: &Linted, f: &Finding| {
        let file = linted.loaded.sources.file(f.span.file);
        let position = file.position(f.span.start);
        ((file.path().to_owned(), position.line), position.column)
    };
    let (line, column) = place(before, finding);
    // Where the finding stands in what was written anew, it is looked for no further than there: the same words about the rest of the line
    // may have been hidden by it.
    let around = finding.mend.iter().flat_map(|m| &m.edits).find(|edit| {
        let (here, at) = (edit.span, finding.span);
        here.file == at.file && here.start <= at.start && at.start < here.end
    });
    let reach = |linted: &Linted| {
        let Some(edit) = around else { return usize::MAX };
        let file = before.loaded.sources.file(edit.span.file);
        let (start, end) = (file.position(edit.span.start), file.position(edit.span.end));
        let new = start.column + edit.text.chars().count();
        if start.line != end.line {
            usize::MAX
        } else if std::ptr::eq(linted, before) {
            end.column
        } else {
            new
        }
    };
    let is_there = |linted: &Linted, f: &Finding| {
        let (other, from) = place(linted, f);
        other == line && from >= column && from < reach(linted)
    };
    let count = |linted: &Linted| {
        let same = |f: &&Finding| {
            (f.rule, &f.message, &f.step, &f.cause) == (finding.rule, &finding.message, &finding.step, &finding.cause)
                && is_there(linted, f)
        };
        linted.report.findings.iter().filter(same).count()
    };
    assert!(count(after) < count(before), "the mend leaves its finding: {finding:?}");
}

/// Every finding was there before.
fn nothing_new(before: &Linted, after: &Linted) {
    let told = |linted: &Linted, f: &Finding| {
        (f.rule, f.message.clone(), linted.loaded.sources.file(f.span.file).path().to_owned())
    };
    let was: BTreeSet<_> = before.report.findings.iter().map(|f| told(before, f)).collect();
    let new: Vec<_> = after.report.findings.iter().map(|f| told(after, f)).filter(|f| !was.contains(f)).collect();
    assert!(new.is_empty(), "a mend makes {new:?}");
}

/// No file that could be read can't be read any more.
pub fn reads_no_worse(before: &Linted, after: &Linted) {
    for (_, file) in after.loaded.sources.iter() {
        let Some(was) = before.loaded.sources.find(file.path()).map(|id| before.loaded.sources.file(id).text()) else {
            continue;
        };
        let lines = || was.lines().zip(file.text().lines()).filter(|(old, new)| old != new).collect::<Vec<_>>();
        let breaks = was != file.text() && is_read(file.path(), was) && !is_read(file.path(), file.text());
        assert!(!breaks, "a mend breaks {}: {:?}", file.path(), lines());
    }
}

/// Whether a file's YAML can be read at all.
fn is_read(path: &str, text: &str) -> bool {
    let file = FileId(0);
    let read = |text: &str| {
        let (tree, problems) = yaml::parse(file, text, 0);
        tree.is_some() || problems.is_empty()
    };
    match (front_matter::split(file, text).yaml, path.rsplit_once('.')) {
        (Some(range), _) => read(&text[range]),
        (None, Some((_, "md"))) => false,
        (None, _) => read(text),
    }
}
