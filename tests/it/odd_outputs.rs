//! Places that a site can't go to, and what a terminal sees, by the real program over a small base.
//!
//! In: hostile names on the command line and in the base. Out: exit codes, one sentence, no byte that a terminal obeys.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::os::unix::ffi::OsStringExt as _;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn tree(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let files = walkdir::WalkDir::new(folder).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file());
    files.map(|e| (e.path().strip_prefix(folder).unwrap().to_owned(), fs::read(e.path()).unwrap())).collect()
}

/// A scratch folder with the base in `kb`.
fn base() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in tree(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp")) {
        let to = folder.path().join("kb").join(name);
        fs::create_dir_all(to.parent().unwrap()).unwrap();
        fs::write(to, bytes).unwrap();
    }
    folder
}

/// Runs it, and holds it to what a terminal may be sent.
fn run(folder: &Path, words: &[OsString]) -> Output {
    let output = Command::new(env!("CARGO_BIN_EXE_ruleout")).current_dir(folder).args(words).output().unwrap();
    let said = String::from_utf8_lossy(&[&output.stdout[..], &output.stderr[..]].concat()).into_owned();
    assert!(matches!(output.status.code(), Some(0..=2)) && !said.contains("panicked"), "{words:?}: {said}");
    let obeyed = |c: char| {
        (c.is_control() && c != '\n' && c != '\t') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let line = said.lines().find(|line| line.contains(obeyed));
    assert_eq!(line, None, "{words:?}");
    output
}

fn words(words: &[&str]) -> Vec<OsString> {
    words.iter().map(OsString::from).collect()
}

#[test]
fn places_that_a_site_cannot_go_to() {
    let folder = base();
    let here = folder.path();
    symlink("kb", here.join("link")).unwrap();
    symlink("nowhere/x", here.join("dangling")).unwrap();
    symlink("ring", here.join("ring")).unwrap();
    fs::write(here.join("file"), "mine").unwrap();
    let before = tree(here);
    let long = "y".repeat(255);
    for out in [
        "kb",
        ".",
        "..",
        "/",
        "kb/../kb",
        "link",
        "dangling",
        "ring",
        "file",
        "file/site",
        "/dev/null",
        "kb/figures",
        "kb/figures/site",
        "kb/procedures/site",
        "link/specs/a/site",
        "kb/cases/../checks/site",
        &long,
    ] {
        let output = run(here, &words(&["compile", "kb", "--out", out]));
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{out}: {said}");
        assert!(said.starts_with("ruleout: ") && said.lines().count() == 1 && said.contains(out), "{out}: {said}");
        assert!(tree(here) == before, "{out} changed something");
    }
}

#[test]
fn a_base_inside_its_own_site_is_not_lost() {
    let folder = base();
    let here = folder.path();
    assert!(run(here, &words(&["compile", "kb"])).status.success());
    fs::rename(here.join("kb"), here.join("site-out/kb")).unwrap();
    let before = tree(here);
    let output = run(here, &words(&["compile", "site-out/kb", "--out", "site-out"]));
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("the knowledge base itself is in it"), "{said}");
    assert!(tree(here) == before);
}

/// What names may hold that a terminal obeys: escape sequences of seven and of eight bits, a bell, marks that turn the writing.
const COMMANDS: &str = "\u{1b}[2J\u{1b}]8;;x\u{7}\u{9b}31m\u{8}\u{7f}\u{202e}\u{2066}\r";

#[test]
fn no_name_of_a_folder_or_a_file_is_obeyed_by_a_terminal() {
    let folder = base();
    let here = folder.path();
    for out in
        [OsString::from(format!("a{COMMANDS}")), OsString::from("a\nb"), OsString::from_vec(b"a\xff\x1b[2J".into())]
    {
        let output = run(here, &[words(&["compile", "kb", "--out"]), vec![out]].concat());
        assert!(output.status.success(), "{output:?}");
    }
    fs::write(here.join(format!("kb/procedures/a{COMMANDS}.md")), "---\ncomplaint: x\n---\n").unwrap();
    fs::write(here.join(format!("kb/figures/a{COMMANDS}.svg")), "no picture").unwrap();
    fs::write(here.join(format!("kb/{COMMANDS}.yaml")), "a: b\n").unwrap();
    let named = here.join(format!("kb{COMMANDS}"));
    fs::rename(here.join("kb"), &named).unwrap();
    let named = named.to_str().unwrap();
    let procedure = tree(named.as_ref()).remove(Path::new("procedures/dark-lamp.md")).unwrap();
    for command in [
        &["lint", "--notes"][..],
        &["lint", "--format", "json"],
        &["lint", "--format", "sarif"],
        &["lint", "--format", "github", "--notes"],
        &["lint", "--record", "known"],
        &["lint", "--since", "known"],
        &["lint", "--only", named],
        &["compile"],
        &["order", "dark-lamp"],
        &["order", named],
        &["trace", "dark-lamp", "--format", "json"],
        &["tally", "--format", "json"],
        &["export", "dark-lamp", "--format", "json"],
        &["export", "dark-lamp", "--format", "dot"],
        &["compare", named, "."],
        &["compare", named, named],
        &["approve", "dark-lamp", "--by", COMMANDS],
        &["draft", "check", "look-close"],
        &["draft", "procedure", named],
    ] {
        let output = run(here, &words(&[command, &["--kb", named]].concat()));
        // Initials that no YAML text holds would leave a procedure that can't be read.
        if command[0] == "approve" {
            assert_eq!(output.status.code(), Some(2));
            assert!(fs::read(Path::new(named).join("procedures/dark-lamp.md")).unwrap() == procedure);
        }
        if command.ends_with(&["json"]) {
            let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
            assert!(command[0] != "lint" || value.to_string().contains("\u{9b}31m"), "the names themselves stay");
        }
    }
}

#[test]
fn a_result_that_is_cut_short_is_no_success() {
    let folder = base();
    for command in
        [&["lint", "--format", "json"][..], &["export", "dark-lamp"], &["order", "dark-lamp"], &["compare", "kb", "kb"]]
    {
        let run = |to: &str| {
            let mut ruleout = Command::new(env!("CARGO_BIN_EXE_ruleout"));
            ruleout.current_dir(folder.path()).args(command).args(["--kb", "kb"]);
            ruleout.stdout(fs::File::options().write(true).open(to).unwrap()).output().unwrap()
        };
        assert_eq!(run("/dev/null").status.code(), Some(0), "{command:?}");
        let full = run("/dev/full");
        let said = String::from_utf8_lossy(&full.stderr);
        assert_eq!(full.status.code(), Some(2), "{command:?}: {said}");
        assert!(said.starts_with("ruleout: the result cannot be written: ") && said.lines().count() == 1, "{said}");
    }
}
