//! The engine that keeps a base in memory against a fresh run: after each of many edits both say the same.

use std::collections::BTreeMap;
use std::path::Path;

use ruleout::load::Memory;
use ruleout::pipeline::{Engine, Update};
use ruleout::report::json;

struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides as u64) as usize
    }
}

/// A part of the demonstration: a folder of procedures with their cases, and all tables.
fn part_of_demonstration() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("kb");
    let mut files = BTreeMap::new();
    for entry in walkdir::WalkDir::new(&root).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file()) {
        let path = entry.path().strip_prefix(&root).unwrap().to_str().unwrap().to_owned();
        let text = std::fs::read_to_string(entry.path()).unwrap();
        let charging = ["charging", "starting"].iter().any(|p| path.starts_with(&format!("procedures/{p}/")));
        let case = path.starts_with("cases/") && path.ends_with("6.yaml");
        if charging || case || !(path.starts_with("procedures/") || path.starts_with("cases/")) {
            files.insert(path, text);
        }
    }
    files
}

/// One small edit somewhere in a text: a line less, a line twice, a few letters less, a digit more.
fn edit(text: &str, dice: &mut Dice) -> String {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let at = dice.roll(lines.len().max(1));
    let mut out = String::new();
    for (n, line) in lines.iter().enumerate() {
        match (n == at, dice.0 % 4) {
            (true, 0) => {}
            (true, 1) => out.push_str(&format!("{line}{line}")),
            (true, 2) => out.extend(line.chars().filter(|c| *c != 'e')),
            (true, _) => out.push_str(&line.replace(": ", ": 1")),
            _ => out.push_str(line),
        }
    }
    out
}

#[test]
fn an_edit_gives_what_a_fresh_run_gives() {
    let files = part_of_demonstration();
    let paths: Vec<&String> = files.keys().filter(|p| !p.starts_with("figures/")).collect();
    let mut memory: Memory = files.iter().map(|(p, t)| (p.clone(), t.clone().into_bytes())).collect();
    let mut engine = Engine::open(&memory).unwrap();
    let mut dice = Dice(20_310_504);
    let mut few = 0;
    for round in 0..40 {
        // Mostly procedures and cases: they are what is not judged as a whole.
        let some: Vec<&&String> = paths
            .iter()
            .filter(|p| round % 5 == 4 || p.starts_with("procedures/") || p.starts_with("cases/"))
            .collect();
        let path = *some[dice.roll(some.len())];
        let text = edit(std::str::from_utf8(memory.get(path).unwrap()).unwrap(), &mut dice);
        memory.set(path.clone(), text.clone());
        let file = engine.linted().loaded.sources.find(path).unwrap();
        let update =
            if round % 2 == 0 { engine.replace(vec![(file, text.into())]) } else { engine.reload(&memory).unwrap() };
        few += usize::from(matches!(update, Update::Procedures(_)));
        let fresh = ruleout::lint(&memory).unwrap();
        let now = engine.linted();
        let (ours, theirs) =
            (json::render(&now.report, &now.loaded.sources), json::render(&fresh.report, &fresh.loaded.sources));
        if let Some((ours, theirs)) = ours.lines().zip(theirs.lines()).find(|(a, b)| a != b) {
            panic!("round {round}: {path}: {ours} where a fresh run says {theirs}");
        }
        assert_eq!(ours.len(), theirs.len(), "round {round}: {path}");
        assert_eq!(now.digests.len(), fresh.digests.len());
    }
    assert!(few > 15, "only {few} edits touched a few procedures");
}

#[test]
fn a_file_that_comes_or_goes_starts_afresh() {
    let files = part_of_demonstration();
    let mut memory: Memory = files.iter().map(|(p, t)| (p.clone(), t.clone().into_bytes())).collect();
    let mut engine = Engine::open(&memory).unwrap();
    assert_eq!(engine.reload(&memory).unwrap(), Update::Nothing);
    memory.remove("procedures/charging/charge-lamp-on.md");
    assert_eq!(engine.reload(&memory).unwrap(), Update::Everything);
    let fresh = ruleout::lint(&memory).unwrap();
    assert_eq!(engine.linted().report.findings, fresh.report.findings);
    assert!(engine.reload(&Memory::default()).is_err());
    assert_eq!(engine.linted().report.findings, fresh.report.findings, "all stands as before");
}
