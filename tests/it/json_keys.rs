//! The keys of every JSON that programs read: one that goes, or moves, is seen here.
//!
//! In: what each command prints with `--format json`. Out: its key paths, in one snapshot; `[]` is any item of a list, `{}` any key
//! that an author named.

use std::collections::BTreeSet;
use std::path::Path;

use serde_json::Value;

use crate::command::{Scratch, run_in};
use crate::lint_formats::LAMP;

/// Objects whose keys are names of the base, or readings.
const NAMED: &[&str] = &["per_cause", "isolation", "results"];

/// The procedure of `lint_formats` with a vehicle, and a cause that no verdict is about.
fn lamp() -> String {
    let with_vehicle = LAMP.replacen("causes:\n", "applies: orlo-t2\ncauses:\n", 1);
    with_vehicle.replacen("steps:\n", "  never: {title: Cable poor}\nsteps:\n", 1)
}

fn paths(value: &Value, at: &str, out: &mut BTreeSet<String>) {
    match value {
        Value::Object(entries) => {
            let named = NAMED.iter().any(|name| at.ends_with(&format!(".{name}")));
            for (key, value) in entries {
                // A tree is as deep as its base asks for: once is enough.
                let below =
                    format!("{at}.{}", if named { "{}" } else { key }).replace(".results.{}.results", ".results");
                out.insert(below.clone());
                paths(value, &below, out);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| paths(item, &format!("{at}[]"), out)),
        _ => {}
    }
}

/// The key paths of one or more runs of a command.
fn keys(command: &str, folder: &Path, runs: &[&[&str]]) -> String {
    let mut found = BTreeSet::new();
    for words in runs {
        let words: Vec<&str> = [command].iter().chain(*words).chain(&["--format", "json"]).copied().collect();
        let output = run_in(folder, &words);
        let said = String::from_utf8_lossy(&output.stderr);
        let value: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{words:?}: {e}\n{said}"));
        paths(&value, "", &mut found);
    }
    assert!(!found.is_empty(), "{command}");
    found.iter().map(|path| format!("{command} {}\n", path.trim_start_matches('.'))).collect()
}

#[test]
fn the_keys_that_programs_read() {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let faulty = Scratch::new(&[
        ("vehicles.yaml", "orlo-t2: {title: Orlo T2 van}\n"),
        ("terms.yaml", "meter: {title: Meter}\n"),
        ("procedures/lamp.md", &lamp()),
    ]);
    let sides = Scratch::new(&[]);
    let (old, new) = crate::compare::edited();
    for (side, files) in [("old", old), ("new", new)] {
        for (path, text) in files {
            sides.write(&format!("../{side}/{path}"), &text);
        }
    }
    faulty.run(&["lint", "kb", "--record", "known"]);
    let all = [
        keys("lint", faulty.folder.path(), &[&["kb"], &["kb", "--since", "known"]]),
        keys("order", here, &[&["charge-lamp-on", "--vehicle", "fell-12"], &["charge-lamp-on", "--bay", "yard"]]),
        keys("tally", here, &[&[]]),
        keys(
            "trace",
            faulty.folder.path(),
            &[&["lamp", "--reading", "look=tight"], &["lamp", "--reading", "look=loose"]],
        ),
        keys("compare", sides.folder.path(), &[&["old", "new"]]),
        keys("export", here, &[&["runs-hot"]]),
    ];
    insta::assert_snapshot!(all.concat());
}
