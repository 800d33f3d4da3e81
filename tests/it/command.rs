//! The program itself, run as people run it.
//!
//! In: files of a base in a scratch folder and the words behind `ruleout`. Out: exit code, standard output, standard error.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Copies the program. Not by `fs::copy`: a child that another test starts meanwhile would hold the copy open, and what is open for
/// writing can't run.
#[cfg(unix)]
pub fn copy_program(to: &Path) {
    assert!(Command::new("cp").arg(env!("CARGO_BIN_EXE_ruleout")).arg(to).status().unwrap().success());
}

/// A scratch folder that holds a base in `kb`.
pub struct Scratch {
    pub folder: tempfile::TempDir,
}

impl Scratch {
    /// Writes the files below `kb`.
    pub fn new(files: &[(&str, &str)]) -> Self {
        let scratch = Self { folder: tempfile::tempdir().unwrap() };
        for (path, text) in files {
            scratch.write(path, text);
        }
        scratch
    }

    /// The path of a file of the base.
    pub fn path(&self, path: &str) -> PathBuf {
        self.folder.path().join("kb").join(path)
    }

    /// Writes a file of the base.
    pub fn write(&self, path: &str, text: &str) {
        let path = self.path(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    /// Reads a file of the base.
    pub fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.path(path)).unwrap()
    }

    /// Runs the program in the folder above the base.
    pub fn run(&self, words: &[&str]) -> Ran {
        Ran::from(&run_in(self.folder.path(), words))
    }
}

/// Runs the program in a folder.
pub fn run_in(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ruleout")).args(words).current_dir(folder).env_remove("NO_COLOR").output().unwrap()
}

/// What a run gave.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl From<&Output> for Ran {
    fn from(output: &Output) -> Self {
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        Self { code: output.status.code().unwrap(), out: text(&output.stdout), err: text(&output.stderr) }
    }
}
