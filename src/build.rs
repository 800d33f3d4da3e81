//! The build script: which revision this program is built from.
//!
//! In: the repository around the sources, if there is one. Out: `RULEOUT_VERSION` for `--version`: the version, and where git tells
//! it the revision. Without git, without a repository, or inside somebody else's, it is the version alone.

use std::path::{Path, PathBuf};
use std::process::Command;

fn main() {
    let version = std::env::var("CARGO_PKG_VERSION").unwrap_or_default();
    let root = std::env::var_os("CARGO_MANIFEST_DIR").map(PathBuf::from).unwrap_or_default();
    // Naming one file keeps cargo from building again at every change of any file of the folder.
    println!("cargo::rerun-if-changed=src/build.rs");
    let told = match revision(&root) {
        Some(revision) => format!("{version} ({revision})"),
        None => version,
    };
    println!("cargo::rustc-env=RULEOUT_VERSION={told}");
}

/// The revision of our own repository, and a word to cargo to look again once it moves.
fn revision(root: &Path) -> Option<String> {
    let top = PathBuf::from(git(root, &["rev-parse", "--show-toplevel"])?);
    if top.canonicalize().ok()? != root.canonicalize().ok()? {
        return None;
    }
    let branch = git(root, &["symbolic-ref", "-q", "HEAD"]);
    // Every move of HEAD is a line in its log; without logs, it is a new text of HEAD or of the branch it names.
    for name in ["HEAD", "logs/HEAD", "packed-refs"].into_iter().chain(branch.as_deref()) {
        let path = root.join(git(root, &["rev-parse", "--git-path", name])?);
        // A file that is not there would make every build look again.
        if path.is_file() {
            println!("cargo::rerun-if-changed={}", path.display());
        }
    }
    git(root, &["rev-parse", "--short=10", "HEAD"])
}

/// What git says, trimmed; nothing where it is not there or refuses.
fn git(root: &Path, words: &[&str]) -> Option<String> {
    let output = Command::new("git").arg("-C").arg(root).args(words).output().ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    let text = text.trim();
    (output.status.success() && !text.is_empty()).then(|| text.to_owned())
}
