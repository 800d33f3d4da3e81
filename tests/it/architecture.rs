//! The house rules, read off the source: data flows one way, files stay small, every module says what comes in and out.

use std::path::{Path, PathBuf};

/// Folders in the order data flows through them; a folder imports only those before it.
const ORDER: [&str; 17] = [
    "source", "finding", "load", "quantity", "model", "parse", "resolve", "graph", "walk", "order", "check", "plan",
    "render", "edit", "emit", "report", "compare",
];

fn sources() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files: Vec<(PathBuf, String)> = walkdir::WalkDir::new(&root)
        .into_iter()
        .map(|e| e.unwrap())
        .filter(|e| e.path().extension().is_some_and(|x| x == "rs"))
        .map(|e| (e.path().strip_prefix(&root).unwrap().to_path_buf(), std::fs::read_to_string(e.path()).unwrap()))
        .collect();
    files.sort();
    assert!(files.len() > 30, "the sources were not found");
    files
}

fn room(path: &Path) -> Option<usize> {
    let first = path.components().next()?.as_os_str().to_str()?.trim_end_matches(".rs").to_owned();
    ORDER.iter().position(|o| *o == first)
}

/// The rooms that a line names after `crate::`.
fn named(line: &str) -> Vec<usize> {
    line.match_indices("crate::")
        .filter_map(|(at, _)| {
            let rest = &line[at + "crate::".len()..];
            let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            ORDER.iter().position(|o| *o == name)
        })
        .collect()
}

#[test]
fn no_arrow_points_back() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let Some(own) = room(&path) else { continue };
        for (n, line) in text.lines().enumerate().filter(|(_, l)| !l.trim_start().starts_with("//")) {
            for other in named(line).into_iter().filter(|o| *o > own) {
                wrong.push(format!("src/{}:{}: {} uses {}", path.display(), n + 1, ORDER[own], ORDER[other]));
            }
        }
    }
    assert!(wrong.is_empty(), "arrows the wrong way:\n{}", wrong.join("\n"));
}

#[test]
fn nobody_imports_the_commands() {
    for (path, text) in sources() {
        if path.starts_with("cli") || path == Path::new("main.rs") || path == Path::new("lib.rs") {
            continue;
        }
        assert!(!text.contains("crate::cli"), "src/{} imports the commands", path.display());
    }
}

#[test]
fn only_the_preview_opens_a_socket() {
    for (path, text) in sources() {
        let opens =
            ["std::net", "tokio::net", "TcpStream", "TcpListener", "UdpSocket"].iter().any(|word| text.contains(word));
        assert_eq!(opens, path == Path::new("serve/mod.rs"), "src/{}", path.display());
    }
}

#[test]
fn every_module_says_what_it_is() {
    for (path, text) in sources() {
        assert!(text.starts_with("//! "), "src/{} does not open with `//!`", path.display());
    }
}

#[test]
fn files_and_functions_stay_small() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let lines = text.lines().count();
        if lines > 600 {
            wrong.push(format!("src/{} has {lines} lines, at most 600", path.display()));
        }
        let mut start = None;
        for (n, line) in text.lines().enumerate() {
            let indent = line.len() - line.trim_start().len();
            let word = line.trim_start();
            let opens =
                ["fn ", "pub fn ", "pub(super) fn ", "pub(crate) fn ", "const fn "].iter().any(|w| word.starts_with(w));
            if opens && !line.trim_end().ends_with(';') {
                start = Some((n, indent));
            } else if let Some((from, at)) = start.filter(|(_, at)| indent == *at && word == "}") {
                if n - from > 80 {
                    wrong.push(format!(
                        "src/{}:{}: a function of {} lines, at most 80",
                        path.display(),
                        from + 1,
                        n - from
                    ));
                }
                start = None;
                let _ = at;
            }
        }
    }
    assert!(wrong.is_empty(), "too long:\n{}", wrong.join("\n"));
}

#[test]
fn no_line_names_a_machine_or_leaves_work_undone() {
    for (path, text) in sources() {
        for (n, line) in text.lines().enumerate() {
            for bad in ["todo!", "unimplemented!", "FIXME", "#[ignore"] {
                assert!(!line.contains(bad), "src/{}:{}: {bad}", path.display(), n + 1);
            }
        }
    }
}
