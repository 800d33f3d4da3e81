//! Literate cases: a Markdown file with prose, the files of a small base, and each expected finding under the faulty line.
//!
//! In: the text of a case or of a rule's page. Out: its examples; what an example's findings are, beside what was
//! expected. The notation is described in `tests/cases/README.md`.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use ruleout::Linted;
use ruleout::check::Family;
use ruleout::finding::{Finding, Level};
use ruleout::load::Memory;
use ruleout::report::text::{Look, one};

/// One small base and what is expected of it.
#[derive(Default)]
pub struct Example {
    /// The `##` heading that it stands under.
    pub title: String,
    /// Whether the default base is left out.
    alone: bool,
    files: BTreeMap<String, String>,
    pub expected: Vec<Expected>,
}

/// One expected finding.
#[derive(Debug)]
pub struct Expected {
    file: String,
    line: usize,
    level: Level,
    pub rule: String,
    fragment: String,
    covers: Option<String>,
}

/// The one helper of all tests: every rule over these files.
pub fn check(files: &BTreeMap<String, String>) -> Linted {
    let memory: Memory = files.iter().map(|(path, text)| (path.clone(), text.clone().into_bytes())).collect();
    ruleout::lint(&memory).unwrap()
}

/// Reads the examples of a case; text before the first example's files belongs to the title above it.
pub fn examples(text: &str) -> Vec<Example> {
    let mut examples = vec![Example::default()];
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some(title) = line.strip_prefix("## ") {
            examples.push(Example { title: title.trim().to_owned(), ..Example::default() });
        } else if let Some(path) = line.strip_prefix("````") {
            let inside: Vec<&str> = lines.by_ref().take_while(|l| *l != "````").collect();
            let example = examples.last_mut().unwrap();
            let (text, mut expected) = strip(path.trim(), &inside);
            let double = example.files.insert(path.trim().to_owned(), text);
            assert!(double.is_none(), "`{path}` stands twice in one example");
            example.expected.append(&mut expected);
        } else if line.trim() == "files: alone" {
            examples.last_mut().unwrap().alone = true;
        }
    }
    examples.retain(|e| !e.files.is_empty());
    examples
}

/// Takes the expectations out of a file.
fn strip(path: &str, lines: &[&str]) -> (String, Vec<Expected>) {
    let (mut text, mut expected, mut line) = (String::new(), Vec::new(), 0);
    for raw in lines {
        if let Some(mut one) = expectation(raw) {
            path.clone_into(&mut one.file);
            one.line = line;
            expected.push(one);
        } else {
            line += 1;
            text.push_str(raw);
            text.push('\n');
        }
    }
    (text, expected)
}

/// `# error[rule]: fragment @ covered text`, or the same as an HTML comment.
fn expectation(line: &str) -> Option<Expected> {
    let line = line.trim();
    let inside = match line.strip_prefix("<!-- ") {
        Some(rest) => rest.strip_suffix("-->")?.trim(),
        None => line.strip_prefix("# ")?,
    };
    let (level, rest) = inside.split_once('[')?;
    let level = [Level::Error, Level::Warning, Level::Note].into_iter().find(|l| l.name() == level)?;
    let (rule, rest) = rest.split_once(']')?;
    let (rest, covers) = match rest.split_once(" @ ") {
        Some((rest, covers)) => (rest, Some(covers.to_owned())),
        None => (rest, None),
    };
    let fragment = rest.trim_start_matches(':').trim().to_owned();
    Some(Expected { file: String::new(), line: 0, level, rule: rule.to_owned(), fragment, covers })
}

impl Example {
    /// The base: the example's files over the default ones. Rules that would ask more of a short example than it
    /// shows are off, unless it expects them (or has its own `shop.yaml`).
    pub fn base(&self, named: &[&str]) -> BTreeMap<String, String> {
        let mut files = self.files.clone();
        if !self.alone {
            for (path, text) in DEFAULTS {
                files.entry(path.to_owned()).or_insert_with(|| text.to_owned());
            }
            if !files.keys().any(|path| path.starts_with("procedures/")) {
                files.insert("procedures/lamp.md".to_owned(), PROCEDURE.to_owned());
            }
            files.entry("shop.yaml".to_owned()).or_insert_with(|| shop(named));
        }
        files
    }

    /// Lints the example and says where it differs from what was expected; empty if it does not.
    /// `named` are the rules that the case is about: only their notes are compared.
    pub fn differences(&self, named: &[&str]) -> String {
        let linted = check(&self.base(named));
        let mut open: Vec<&Expected> = self.expected.iter().collect();
        let mut text = String::new();
        for finding in &linted.report.findings {
            if let Some(at) = open.iter().position(|e| e.is(finding, &linted)) {
                open.remove(at);
            } else if finding.level > Level::Note || (named.contains(&finding.rule) && self.owns(finding, &linted)) {
                let _ = writeln!(text, "not expected:\n{}\n", drawn(finding, &linted));
            }
        }
        for e in open {
            let covers = e.covers.as_ref().map(|c| format!(" at `{c}`")).unwrap_or_default();
            let level = e.level.name();
            let _ = writeln!(text, "missing: {level}[{}]: {} in {}:{}{covers}", e.rule, e.fragment, e.file, e.line);
        }
        text
    }

    fn owns(&self, finding: &Finding, linted: &Linted) -> bool {
        self.files.contains_key(linted.loaded.sources.file(finding.span.file).path())
    }

    /// Every finding in the example's own files as people read it: errors, warnings, and notes of the named rules.
    pub fn drawing(&self, named: &[&str]) -> String {
        let linted = check(&self.base(named));
        let told = |f: &&Finding| f.level > Level::Note || (named.contains(&f.rule) && self.owns(f, &linted));
        let drawings: Vec<String> = linted.report.findings.iter().filter(told).map(|f| drawn(f, &linted)).collect();
        if drawings.is_empty() { "nothing is told\n".to_owned() } else { drawings.join("\n\n") + "\n" }
    }
}

impl Expected {
    fn is(&self, finding: &Finding, linted: &Linted) -> bool {
        let sources = &linted.loaded.sources;
        let file = sources.file(finding.span.file);
        finding.rule == self.rule
            && finding.level == self.level
            && file.path() == self.file
            && file.position(finding.span.start).line == self.line
            && finding.message.contains(&self.fragment)
            && self.covers.as_ref().is_none_or(|c| sources.text(finding.span).trim() == c)
    }
}

fn drawn(finding: &Finding, linted: &Linted) -> String {
    one(finding, &linted.loaded.sources, Look { colour: false, notes: true, prefix: "" })
}

/// Rules that are off in the default `shop.yaml`, so that a short example stays short.
const QUIET: [&str; 3] = ["step-without-heading", "no-fix", "no-confirmation"];

fn shop(named: &[&str]) -> String {
    let rules: Vec<String> = QUIET.iter().filter(|r| !named.contains(r)).map(|r| format!("{r}: off")).collect();
    format!("title: A small shop\nrules: {{{}}}\n", rules.join(", "))
}

const DEFAULTS: [(&str, &str); 4] = [
    (
        "vehicles.yaml",
        "orlo-t2: {title: Orlo T2 van, groups: [12-volt]}\nfell-12: {title: Fell 12 gritter, groups: [24-volt]}\n",
    ),
    (
        "equipment.yaml",
        "multimeter:\n  title: Multimeter\n  measures:\n    dc voltage: {range: 0 to 600 V, resolution: 0.01 V, accuracy: 0.5 % + 2 digits}\n    resistance: {range: 0 to 40 MΩ, resolution: 0.1 Ω, accuracy: 1 % + 2 digits}\n",
    ),
    (
        "hazards.yaml",
        "rotating-parts: {signal: warning, text: Fan and belts turn. Keep hands and sleeves away.}\nspark: {signal: danger, text: Sparks set fuel vapour alight., never-with: [fuel-vapour]}\nfuel-vapour: {signal: danger, text: Fuel vapour catches fire from any spark.}\n",
    ),
    (
        "specs/charging.yaml",
        "charging-voltage:\n  title: Charging voltage\n  quantity: dc voltage\n  at: battery posts\n  source: Invented for the demonstration\n  values:\n    12-volt: 13.9 to 14.7 V\n    24-volt: 27.8 to 29.0 V\n",
    ),
];

const PROCEDURE: &str = "---
complaint: Lamp stays out
causes:
  bulb: {title: Bulb burnt out}
  feed: {title: No feed to the lamp}
steps:
  look:
    observe: The bulb, taken out
    results:
      - {if: dark, shows: bulb}
      - {if: clear, clears: [bulb], found: feed}
---
";

/// Lays each finding's mend into the example, one at a time, and says what is then still wrong or newly so.
impl Example {
    pub fn unmended(&self, named: &[&str]) -> String {
        let files = self.base(named);
        let before = check(&files);
        // One fault may be worded anew when another is gone: a rule at a step, or a message anywhere.
        let errors = |linted: &Linted| -> Vec<Finding> {
            linted.report.findings.iter().filter(|f| f.level == Level::Error).cloned().collect()
        };
        let known = |old: &[Finding], new: &Finding| {
            old.iter()
                .any(|f| f.rule == new.rule && (f.message == new.message || (f.step.is_some() && f.step == new.step)))
        };
        let mut text = String::new();
        for finding in before.report.findings.iter().filter(|f| f.mend.is_some()) {
            let mended = mended(&files, &before, finding);
            let after = check(&mended);
            let same = |f: &&Finding| f.rule == finding.rule && f.message == finding.message;
            let count = |linted: &Linted| linted.report.findings.iter().filter(same).count();
            if count(&after) >= count(&before) {
                let _ = writeln!(text, "the mend does not remove it:\n{}\n", drawn(finding, &before));
            }
            // Where a name or a value could not be read, more is judged once it can.
            let is_shape = ruleout::check::find(finding.rule).is_some_and(|r| r.family == Family::Shape);
            let old = errors(&before);
            for new in errors(&after).into_iter().filter(|new| !is_shape && !known(&old, new)) {
                let _ = writeln!(text, "the mend brings\n{}\n:{}\n", drawn(&new, &after), drawn(finding, &before));
            }
        }
        text
    }
}

fn mended(files: &BTreeMap<String, String>, linted: &Linted, finding: &Finding) -> BTreeMap<String, String> {
    let mut files = files.clone();
    let edits = &finding.mend.as_ref().unwrap().edits;
    let sources = &linted.loaded.sources;
    let touched: std::collections::BTreeSet<_> = edits.iter().map(|e| e.span.file).collect();
    for file in touched {
        let own: Vec<_> = edits.iter().filter(|e| e.span.file == file).cloned().collect();
        let path = sources.file(file).path();
        files.insert(path.to_owned(), ruleout::edit::apply(&files[path], &own).unwrap());
    }
    files
}
