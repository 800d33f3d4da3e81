//! Good manners of the real program: help, version, completions, manual pages, colour, the streams.

use std::path::Path;
use std::process::{Command, Output};

use clap::CommandFactory as _;

const PROGRAM: &str = env!("CARGO_BIN_EXE_ruleout");

fn ruleout(words: &[&str]) -> Output {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    Command::new(PROGRAM).current_dir(root).env_remove("NO_COLOR").args(words).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// On a terminal: `script` (util-linux) gives the program one, both streams together.
fn on_a_terminal(line: &str, variables: &[(&str, &str)]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut command = Command::new("script");
    command.current_dir(root).env_remove("NO_COLOR").env("TERM", "xterm").envs(variables.iter().copied());
    let output = command.args(["-qec", &format!("{PROGRAM} {line}"), "/dev/null"]).output().unwrap();
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn alone_it_says_what_to_type_first() {
    let output = ruleout(&[]);
    assert_eq!(output.status.code(), Some(0));
    assert!(out(&output).contains("ruleout draft base kb") && err(&output).is_empty());
    // Every command that it names is there.
    for word in out(&output).lines().filter_map(|l| l.trim().strip_prefix("ruleout ")?.split(' ').next()) {
        if word.chars().all(|c| c.is_ascii_lowercase()) && word != "proves" {
            assert_eq!(ruleout(&[word, "--help"]).status.code(), Some(0), "{word}");
        }
    }
}

#[test]
fn every_help_has_examples() {
    fn look(command: &clap::Command, way: &str) {
        if command.get_name() != "help" {
            let after = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(after.starts_with("Examples:\n  ruleout "), "`{way}` shows no example");
        }
        for below in command.get_subcommands() {
            look(below, &format!("{way} {}", below.get_name()));
        }
    }
    look(&ruleout::cli::Cli::command(), "ruleout");
    let output = ruleout(&["lint", "--help"]);
    assert!(out(&output).contains("Examples:") && output.status.success());
}

#[test]
fn a_slip_of_the_finger_is_answered_with_the_right_word() {
    for (words, near) in [
        (&["lint", "--formt", "json"][..], "--format"),
        (&["lnt"], "lint"),
        (&["draft", "procedur", "x"], "procedure"),
        (&["lint", "--format", "jsn"], "json"),
        (&["completions", "bsh"], "bash"),
        (&["why", "reading-gp"], "reading-gap"),
    ] {
        let output = ruleout(words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        assert!(out(&output).is_empty(), "{words:?}: {}", out(&output));
        assert!(err(&output).contains(near), "{words:?}: {}", err(&output));
    }
}

#[test]
fn the_version_names_the_revision() {
    let output = ruleout(&["--version"]);
    let told = out(&output);
    let version = env!("CARGO_PKG_VERSION");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let git = |words: &[&str]| {
        let output =
            Command::new("git").arg("-C").arg(root).args(words).output().ok().filter(|o| o.status.success())?;
        Some(String::from_utf8(output.stdout).unwrap().trim().to_owned())
    };
    let own = git(&["rev-parse", "--show-toplevel"]).is_some_and(|top| Path::new(&top) == root);
    match git(&["rev-parse", "--short=10", "HEAD"]) {
        Some(revision) if own => assert_eq!(told, format!("ruleout {version} ({revision})\n")),
        _ => assert_eq!(told, format!("ruleout {version}\n")),
    }
    assert_eq!(out(&ruleout(&["lint", "--version"])).trim_end(), told.trim_end().replace("ruleout", "ruleout-lint"));
}

#[test]
fn without_git_or_inside_a_foreign_repository_the_version_stands_alone() {
    let scratch = tempfile::tempdir().unwrap();
    let script = scratch.path().join("script");
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/build.rs");
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let built = Command::new(rustc).args(["--edition", "2024", "-o"]).arg(&script).arg(source).status().unwrap();
    assert!(built.success());
    let vendored = scratch.path().join("outer/vendor/ruleout");
    std::fs::create_dir_all(&vendored).unwrap();
    let tell = |folder: &Path, path: &str| {
        let mut command = Command::new(&script);
        command.env_clear().env("PATH", path).env("CARGO_MANIFEST_DIR", folder).env("CARGO_PKG_VERSION", "9.9.9");
        let output = command.env("GIT_CEILING_DIRECTORIES", scratch.path()).output().unwrap();
        assert!(output.status.success());
        out(&output)
    };
    let path = std::env::var("PATH").unwrap();
    let alone = "cargo::rustc-env=RULEOUT_VERSION=9.9.9\n";
    assert!(tell(&vendored, &path).ends_with(alone), "no repository");
    let git = |folder: &Path, words: &[&str]| {
        let who = ["-c", "user.name=Test", "-c", "user.email=test@example.invalid"];
        assert!(Command::new("git").arg("-C").arg(folder).args(who).args(words).output().unwrap().status.success());
    };
    let outer = scratch.path().join("outer");
    git(&outer, &["init", "-q"]);
    git(&outer, &["commit", "-q", "--allow-empty", "-m", "one"]);
    assert!(tell(&vendored, &path).ends_with(alone), "somebody else's repository");
    let own = tell(&outer, &path);
    assert!(
        own.contains("RULEOUT_VERSION=9.9.9 (") && own.contains("rerun-if-changed=") && own.contains("logs/HEAD"),
        "{own}"
    );
    assert!(tell(&outer, "/nowhere").ends_with(alone), "no git");
}

#[test]
fn completions_and_manual_pages_know_every_command() {
    let commands: Vec<String> =
        ruleout::cli::Cli::command().get_subcommands().map(|c| c.get_name().to_owned()).collect();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let text = out(&ruleout(&["completions", shell]));
        for command in &commands {
            assert!(text.contains(command.as_str()), "{shell} does not know `{command}`");
        }
    }
    let bash = Command::new("bash").args(["-n", "/dev/stdin"]).stdin(std::process::Stdio::piped()).spawn();
    let mut bash = bash.unwrap();
    std::io::Write::write_all(&mut bash.stdin.take().unwrap(), &ruleout(&["completions", "bash"]).stdout).unwrap();
    assert!(bash.wait().unwrap().success(), "bash does not read its completions");
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path().join("man/man1");
    let output = ruleout(&["manual", folder.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    for command in &commands {
        let page = std::fs::read_to_string(folder.join(format!("ruleout-{command}.1"))).unwrap();
        assert!(page.contains(".SH SYNOPSIS") && page.contains("Examples:"), "{command}");
    }
    assert!(folder.join("ruleout.1").is_file() && folder.join("ruleout-draft-case.1").is_file());
    std::fs::write(scratch.path().join("file"), "").unwrap();
    let refused = ruleout(&["manual", scratch.path().join("file").to_str().unwrap()]);
    assert_eq!((refused.status.code(), err(&refused).lines().count()), (Some(2), 1), "{}", err(&refused));
}

#[test]
fn colour_and_progress_keep_to_a_terminal() {
    let scratch = tempfile::tempdir().unwrap();
    let kb = scratch.path().join("kb");
    ruleout(&["draft", "base", kb.to_str().unwrap()]);
    std::fs::write(kb.join("cases/2031-001.yaml"), "procedure: none\n").unwrap();
    let kb = kb.to_str().unwrap();
    let piped = ruleout(&["lint", kb]);
    assert_eq!(piped.status.code(), Some(1));
    assert!(!out(&piped).contains('\x1b') && err(&piped).is_empty(), "{}", err(&piped));
    assert!(out(&ruleout(&["lint", kb, "--color", "always"])).contains("\x1b["));
    let colour = "\x1b[1m";
    let line = format!("lint {kb}");
    let shown = on_a_terminal(&line, &[]);
    assert!(shown.contains(colour) && shown.contains("checking the knowledge base"), "{shown:?}");
    assert!(!on_a_terminal(&line, &[("NO_COLOR", "1")]).contains(colour));
    assert!(!on_a_terminal(&format!("{line} --color never"), &[]).contains(colour));
    assert!(!on_a_terminal(&line, &[("TERM", "dumb")]).contains("checking the knowledge base"));
    // Help and usage errors obey as well.
    assert!(on_a_terminal("--help", &[]).contains('\x1b'));
    assert!(!on_a_terminal("--color never --help", &[]).contains('\x1b'));
    assert!(!on_a_terminal("lint --color=never --formt x", &[]).contains('\x1b'));
    assert!(out(&ruleout(&["--color", "always", "--help"])).contains('\x1b'));
    assert!(!out(&ruleout(&["--help"])).contains('\x1b'));
}
