//! Folders that can't be read or written, by the real program: one sentence, exit code 2, nothing half-done. No mode stops the
//! superuser, so a copy of the program runs as nobody where the tests run as root.
#![cfg(unix)]

use std::os::unix::fs::PermissionsExt as _;
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::command::copy_program;

struct Place {
    scratch: tempfile::TempDir,
    program: PathBuf,
    is_root: bool,
}

fn mode(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
}

impl Place {
    /// A folder that nobody may write to, with a base in `kb`.
    fn new() -> Self {
        let scratch = tempfile::tempdir().unwrap();
        mode(scratch.path(), 0o755);
        let probe = scratch.path().join("probe");
        std::fs::write(&probe, "").unwrap();
        mode(&probe, 0o000);
        let is_root = std::fs::read(&probe).is_ok();
        std::fs::remove_file(probe).unwrap();
        let program = scratch.path().join("ruleout");
        copy_program(&program);
        let place = Self { scratch, program, is_root };
        place.base("kb");
        place
    }

    fn path(&self) -> &Path {
        self.scratch.path()
    }

    fn base(&self, name: &str) -> PathBuf {
        let kb = self.path().join(name);
        assert!(Command::new(&self.program).args(["draft", "base"]).arg(&kb).output().unwrap().status.success());
        kb
    }

    /// Runs it as somebody who owns nothing here.
    fn run(&self, words: &[&str]) -> Output {
        let mut command = Command::new(&self.program);
        command.current_dir(self.path()).args(words);
        if self.is_root {
            command.uid(65534).gid(65534);
        }
        command.output().unwrap()
    }

    /// Where the tests run as somebody else, the folder itself is closed.
    fn close(&self) {
        for entry in walkdir::WalkDir::new(self.path()).into_iter().map(Result::unwrap) {
            if entry.file_type().is_dir() {
                mode(entry.path(), 0o555);
            }
        }
    }

    fn refused(&self, words: &[&str], says: &str) {
        let output = self.run(words);
        let (out, said) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        assert_eq!(output.status.code(), Some(2), "{words:?}: {out}{said}");
        assert_eq!(said.lines().count(), 1, "{words:?}: {said}");
        assert!(said.starts_with("ruleout: ") && said.contains(says), "{words:?}: {said}");
    }

    fn files(&self) -> Vec<(PathBuf, u64)> {
        let all = walkdir::WalkDir::new(self.path()).sort_by_file_name().into_iter().map(Result::unwrap);
        all.map(|e| (e.path().to_owned(), e.metadata().unwrap().len())).collect()
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        for entry in walkdir::WalkDir::new(self.path()).into_iter().filter_map(Result::ok) {
            if entry.file_type().is_dir() {
                let _ = std::fs::set_permissions(entry.path(), std::fs::Permissions::from_mode(0o755));
            }
        }
    }
}

const COMMANDS: [&[&str]; 9] = [
    &["lint"],
    &["compile"],
    &["preview"],
    &["order", "horn-silent"],
    &["trace", "horn-silent"],
    &["export", "horn-silent"],
    &["tally"],
    &["approve", "horn-silent", "--by", "MK"],
    &["draft", "check", "look-close"],
];

#[test]
fn a_folder_without_permission() {
    let place = Place::new();
    for (name, closed) in [("shut", "shut"), ("half-shut", "half-shut/procedures")] {
        place.base(name);
        mode(&place.path().join(closed), 0o000);
        for command in COMMANDS {
            let says = format!("the folder `{closed}` cannot be read: you have no permission to read it");
            place.refused(&[command, &["--kb", name]].concat(), &says);
        }
        mode(&place.path().join(closed), 0o755);
    }
}

#[test]
fn a_folder_that_is_no_base_or_is_not_there() {
    let place = Place::new();
    std::fs::create_dir(place.path().join("pictures")).unwrap();
    std::fs::write(place.path().join("pictures/notes.txt"), "hello").unwrap();
    for command in COMMANDS {
        place.refused(&[command, &["--kb", "pictures"]].concat(), "no knowledge base here");
        place.refused(&[command, &["--kb", "nowhere"]].concat(), "there is no folder `nowhere`");
        place.refused(&[command, &["--kb", "kb/shop.yaml"]].concat(), "expected a folder, found the file");
    }
}

#[test]
fn a_folder_that_may_only_be_read() {
    let place = Place::new();
    // Something that `lint --fix` would mend.
    let specs = place.base("mendable").join("specs/horn.yaml");
    let text = std::fs::read_to_string(&specs).unwrap().replace("at least 11.0 V", "≥ 11.0 V");
    std::fs::write(&specs, text).unwrap();
    std::fs::create_dir(place.path().join("man")).unwrap();
    place.close();
    let before = place.files();
    for words in [&["lint"][..], &["order", "horn-silent"], &["trace", "horn-silent"], &["tally"]] {
        assert_eq!(place.run(words).status.code(), Some(0), "{words:?}: reading needs no more");
    }
    for words in [
        &["compile"][..],
        &["compile", "kb", "--out", "kb/site"],
        &["approve", "horn-silent", "--by", "MK", "--on", "2031-05-04"],
        &["tally", "--write"],
        &["draft", "procedure", "lamp-dark"],
        &["draft", "base", "another"],
        &["lint", "--record", "known.jsonl"],
        &["lint", "mendable", "--fix"],
        &["manual", "man"],
        &["manual", "more/man"],
    ] {
        let output = place.run(words);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{words:?}: {said}");
        assert!(said.lines().count() == 1 && said.starts_with("ruleout: cannot "), "{words:?}: {said}");
        assert_eq!(place.files(), before, "{words:?} left something behind");
    }
}
