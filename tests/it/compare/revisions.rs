//! Git revisions, in a scratch repository.

use std::path::Path;
use std::process::Command;

use super::base::base;
use crate::command::{Ran, Scratch, run_in};

fn git(folder: &Path, words: &[&str]) {
    let ran = Command::new("git")
        .args(["-c", "user.name=KM", "-c", "user.email=km@example.invalid", "-c", "commit.gpgsign=false"])
        .args(words)
        .current_dir(folder)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_SYSTEM", "/dev/null")
        .output()
        .unwrap();
    assert!(ran.status.success(), "git {words:?}: {}", String::from_utf8_lossy(&ran.stderr));
}

/// A repository whose first commit holds the base in `kb`, the second one a limit more.
fn repository() -> Scratch {
    let files = base();
    let scratch = Scratch::new(&files.iter().map(|(p, t)| (p.as_str(), t.as_str())).collect::<Vec<_>>());
    std::fs::create_dir_all(scratch.path("figures")).unwrap();
    std::fs::write(scratch.path("figures/a.png"), [0x89, b'P', 0, 0xff]).unwrap();
    // A drawing that runs is a finding: it must be read in a revision too.
    scratch.write("figures/b.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"><script>x()</script></svg>\n");
    let folder = scratch.folder.path();
    git(folder, &["init", "-q", "-b", "main"]);
    git(folder, &["add", "."]);
    git(folder, &["commit", "-q", "-m", "first"]);
    scratch.write("specs/charging.yaml", &scratch.read("specs/charging.yaml").replace("13.9", "13.8"));
    git(folder, &["commit", "-q", "-a", "-m", "second"]);
    scratch
}

const LIMIT: &str =
    "  limit     charging-voltage, in spec: 13.9 to 14.7 V → 13.8 to 14.7 V (on brindle-18, orlo-t2) [lamp]\n";

#[test]
fn revisions_and_folders_are_compared() {
    let scratch = repository();
    let told = |words: &[&str]| {
        let ran = scratch.run(words);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
        ran.out
    };
    for words in [["compare", "HEAD~1", "HEAD"], ["compare", "HEAD~1", "kb"], ["compare", "main~1:kb", "main:kb"]] {
        assert!(told(&words).contains(LIMIT), "{words:?}");
    }
    assert_eq!(told(&["compare", "HEAD", "kb"]), "no change in meaning\n");
    // From a folder below, and with uncommitted work.
    scratch.write("specs/charging.yaml", &scratch.read("specs/charging.yaml").replace("13.8", "13.9"));
    let inside = Ran::from(&run_in(&scratch.path("procedures"), &["compare", "HEAD~1", "..", "--format", "markdown"]));
    assert!(inside.out.contains("No change in meaning."), "{} {}", inside.out, inside.err);
}

#[test]
fn a_name_that_is_both_is_the_folder() {
    let scratch = repository();
    let folder = scratch.folder.path();
    git(folder, &["branch", "kb"]);
    let ran = scratch.run(&["compare", "kb", "kb~1"]);
    assert_eq!(ran.code, 0);
    assert_eq!(
        ran.err,
        "note: `kb` is a folder and a git revision: the folder is taken (write `kb~0` for the revision)\n"
    );
}

#[test]
fn what_is_not_there_is_one_sentence() {
    let scratch = repository();
    let folder = scratch.folder.path();
    std::fs::write(folder.join("words.txt"), "x").unwrap();
    std::fs::create_dir(folder.join("empty")).unwrap();
    let long = "a".repeat(300);
    for (old, sentence) in [
        ("no-such", "there is neither a folder nor a git revision `no-such`"),
        ("HEAD~7", "there is neither a folder nor a git revision `HEAD~7`"),
        (long.as_str(), &*format!("there is neither a folder nor a git revision `{long}`")),
        ("HEAD:nowhere", "revision `HEAD` has no folder `nowhere`"),
        ("words.txt", "expected a folder or a git revision, found the file `words.txt`"),
        (
            "empty",
            "empty: no knowledge base here: there is neither a table (`shop.yaml`, `vehicles.yaml`, ...) nor a procedure (`procedures/NAME.md`)",
        ),
    ] {
        let ran = scratch.run(&["compare", old, "HEAD"]);
        assert_eq!((ran.code, ran.out.as_str(), ran.err), (2, "", format!("ruleout: {sentence}\n")));
    }
    let dash = scratch.run(&["compare", "--", "--output=x", "HEAD"]);
    assert_eq!(dash.err, "ruleout: there is neither a folder nor a git revision `--output=x`\n");
    assert_eq!(std::fs::read_dir(folder).unwrap().count(), 4, "nothing was written");
}

#[test]
fn without_a_repository_only_folders_are_compared() {
    let files = base();
    let scratch = Scratch::new(&files.iter().map(|(p, t)| (p.as_str(), t.as_str())).collect::<Vec<_>>());
    let ran = scratch.run(&["compare", "HEAD", "kb"]);
    assert_eq!(ran.code, 2);
    assert_eq!(
        ran.err,
        "ruleout: there is no folder `HEAD`, and no git repository around here that could have a revision of that name\n"
    );
}

/// What is refused on disk is refused in a revision, and told as a finding.
#[cfg(unix)]
#[test]
fn links_in_a_revision_are_refused() {
    let scratch = repository();
    std::os::unix::fs::symlink("/etc/hostname", scratch.path("procedures/linked.md")).unwrap();
    git(scratch.folder.path(), &["add", "."]);
    git(scratch.folder.path(), &["commit", "-q", "-m", "link"]);
    let ran = scratch.run(&["compare", "HEAD~1", "HEAD"]);
    assert!(ran.out.contains("procedures/linked.md:1: expected a file, found a link to another place"), "{}", ran.out);
    assert_eq!(scratch.run(&["compare", "HEAD", "kb"]).out, "no change in meaning\n");
}
