//! Ruleout in continuous integration: the hook's entry, the action's steps and the shell example, in a scratch git repository.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_yaml::Value;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn yaml(path: &str) -> Value {
    serde_yaml::from_str(&std::fs::read_to_string(root().join(path)).unwrap()).unwrap()
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// A repository with a drafted base, everything committed.
struct Repository(tempfile::TempDir);

impl Repository {
    fn new() -> Self {
        let new = Self(tempfile::tempdir().unwrap());
        for words in ["init -q", "config user.name Test", "config user.email test@example.invalid"] {
            assert!(new.run("git", &words.split(' ').collect::<Vec<_>>()).status.success());
        }
        assert!(new.run("ruleout", &["draft", "base", "kb"]).status.success());
        let commit = new.commit("Begin");
        assert!(commit.status.success(), "{}", said(&commit));
        new
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        let own = Path::new(env!("CARGO_BIN_EXE_ruleout")).parent().unwrap();
        let path = std::env::var("PATH").unwrap();
        command.current_dir(self.path()).env("PATH", format!("{}:{path}", own.display())).env_remove("GIT_DIR");
        command
    }

    fn run(&self, program: &str, words: &[&str]) -> Output {
        self.command(program).args(words).output().unwrap()
    }

    fn commit(&self, message: &str) -> Output {
        assert!(self.run("git", &["add", "-A"]).status.success());
        self.run("git", &["commit", "-q", "-m", message])
    }

    fn procedure(&self) -> PathBuf {
        self.path().join("kb/procedures/body/horn-silent.md")
    }

    fn edit(&self, from: &str, to: &str) {
        let text = std::fs::read_to_string(self.procedure()).unwrap();
        assert!(text.contains(from), "{from}");
        std::fs::write(self.procedure(), text.replacen(from, to, 1)).unwrap();
    }

    /// One error.
    fn break_it(&self) {
        self.edit("        shows: wiring\n", "        shows: wirring\n");
    }

    /// One warning.
    fn weaken_it(&self) {
        self.edit("    fix: mend-wiring\n", "");
    }
}

#[test]
fn the_hook_stops_a_commit_with_errors() {
    let hooks = yaml(".pre-commit-hooks.yaml");
    let hooks = hooks.as_sequence().unwrap();
    assert_eq!(
        hooks.iter().map(|h| h["id"].as_str().unwrap()).collect::<Vec<_>>(),
        ["ruleout-lint", "ruleout-lint-system"]
    );
    for hook in hooks {
        assert_eq!(hook["pass_filenames"], Value::Bool(false), "the whole base is checked, whatever was changed");
        let entry = hook["entry"].as_str().unwrap();
        let repository = Repository::new();
        let git_hook = repository.path().join(".git/hooks/pre-commit");
        std::fs::write(&git_hook, format!("#!/bin/sh\nexec {entry}\n")).unwrap();
        assert!(Command::new("chmod").arg("+x").arg(&git_hook).status().unwrap().success());
        repository.weaken_it();
        let commit = repository.commit("A warning");
        assert!(commit.status.success(), "{}", said(&commit));
        repository.break_it();
        let commit = repository.commit("An error");
        assert!(!commit.status.success() && said(&commit).contains("unresolved-name"), "{}", said(&commit));
        let log = repository.run("git", &["log", "--format=%s"]);
        assert_eq!(String::from_utf8_lossy(&log.stdout), "A warning\nBegin\n");
    }
}

#[test]
fn the_shell_example_ends_as_ruleout_does() {
    let script = root().join(".github/actions/lint/lint.sh");
    let script = script.to_str().unwrap();
    let repository = Repository::new();
    let run = |words: &[&str]| {
        let output = repository.run("sh", &[&[script][..], words].concat());
        (output.status.code().unwrap(), said(&output))
    };
    assert_eq!(run(&[]).0, 0);
    repository.weaken_it();
    assert_eq!(run(&["kb"]).0, 0);
    assert_eq!(run(&["kb", "--strict"]).0, 1);
    repository.break_it();
    let (code, text) = run(&["kb"]);
    assert!(code == 1 && text.contains("unresolved-name") && text.contains("ruleout why"), "{text}");
    let (code, text) = run(&["elsewhere"]);
    assert!(code == 2 && text.contains("could not run"), "{text}");
    assert!(Path::new(script).metadata().is_ok_and(|m| is_executable(&m)), "the example can't be run");
}

#[cfg(unix)]
fn is_executable(about: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::PermissionsExt as _;
    about.permissions().mode() & 0o100 != 0
}

#[cfg(not(unix))]
fn is_executable(_: &std::fs::Metadata) -> bool {
    true
}

/// Runs the action's steps as a runner does, with these inputs; gives the exit code of the first that fails, and what all said.
fn act(repository: &Repository, inputs: &[(&str, &str)]) -> (i32, String) {
    let action = yaml(".github/actions/lint/action.yml");
    assert_eq!(action["runs"]["using"], "composite");
    let value = |name: &str| -> String {
        let given = inputs.iter().find(|(n, _)| *n == name).map(|(_, v)| (*v).to_owned());
        given.unwrap_or_else(|| action["inputs"][name]["default"].as_str().expect(name).to_owned())
    };
    let mut text = String::new();
    for step in action["runs"]["steps"].as_sequence().unwrap() {
        if let Some(condition) = step.get("if").and_then(Value::as_str) {
            let name = condition.strip_prefix("inputs.").and_then(|c| c.strip_suffix(" != ''")).unwrap();
            if value(name).is_empty() {
                continue;
            }
        }
        assert_eq!(step["shell"], "bash");
        let script = step["run"].as_str().unwrap();
        assert!(!script.contains("${{"), "an expression inside a script would be run as code:\n{script}");
        let mut command = repository.command("bash");
        command.args(["--noprofile", "--norc", "-eo", "pipefail", "-c", script]);
        command.env("GITHUB_PATH", repository.path().join(".git/path"));
        for (name, expression) in step["env"].as_mapping().unwrap() {
            let expression = expression.as_str().unwrap();
            let (before, rest) = expression.split_once("${{ ").unwrap();
            let (name_in, after) = rest.split_once(" }}").unwrap();
            let filled = match name_in.split_once('.').unwrap() {
                ("inputs", name) => value(name),
                ("github", "action_path") => root().join(".github/actions/lint").display().to_string(),
                ("runner", "temp") => repository.path().join(".git").display().to_string(),
                other => panic!("{other:?}"),
            };
            command.env(name.as_str().unwrap(), format!("{before}{filled}{after}"));
        }
        let output = command.output().unwrap();
        text.push_str(&said(&output));
        if !output.status.success() {
            return (output.status.code().unwrap(), text);
        }
    }
    (0, text)
}

#[test]
fn the_action_annotates_and_ends_as_ruleout_does() {
    let repository = Repository::new();
    let (code, text) = act(&repository, &[]);
    assert_eq!(code, 0, "{text}");
    repository.weaken_it();
    let (code, text) = act(&repository, &[]);
    assert!(code == 0 && text.contains("::warning file=kb/procedures/body/horn-silent.md,line="), "{text}");
    assert_eq!(act(&repository, &[("strict", "true")]).0, 1);
    // What is known already is left out.
    assert!(repository.run("ruleout", &["lint", "kb", "--record", "known.jsonl"]).status.success());
    assert_eq!(act(&repository, &[("strict", "true"), ("since", "known.jsonl")]).0, 0);
    repository.break_it();
    let (code, text) = act(&repository, &[("since", "known.jsonl"), ("sarif", "findings.sarif")]);
    assert!(code == 1 && text.contains("::error file=kb/procedures/body/horn-silent.md,line="), "{text}");
    let sarif = std::fs::read_to_string(repository.path().join("findings.sarif")).unwrap();
    let sarif: serde_json::Value = serde_json::from_str(&sarif).unwrap();
    assert_eq!(sarif["version"], "2.1.0");
    let (code, _) = act(&repository, &[("kb", "no such; folder"), ("sarif", "other.sarif")]);
    assert_eq!(code, 2);
}
