//! Every crate that the program asks for by name stands in the README's table with its reason, and nothing else does.

use std::collections::BTreeSet;
use std::path::Path;

fn read(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

/// The keys of every table of dependencies, for whatever target.
fn asked_for(manifest: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut inside = false;
    for line in manifest.lines() {
        if let Some(header) = line.strip_prefix('[') {
            let header = header.trim_end_matches(']');
            inside = header.ends_with("dependencies");
            // `[dependencies.NAME]`
            if let Some((table, name)) = header.rsplit_once('.')
                && table.ends_with("dependencies")
            {
                found.insert(name.to_owned());
            }
        } else if inside && let Some((name, _)) = line.split_once('=') {
            let name = name.trim().trim_end_matches(".workspace");
            if !name.starts_with('#') {
                found.insert(name.to_owned());
            }
        }
    }
    found
}

/// The first cells of the table under `| dependency |`: crates, and what is vendored, each by its folder.
fn told(readme: &str) -> (BTreeSet<String>, Vec<String>) {
    let rows = readme.lines().skip_while(|line| !line.starts_with("| dependency |")).skip(2);
    let (mut crates, mut folders) = (BTreeSet::new(), Vec::new());
    for row in rows.take_while(|line| line.starts_with('|')) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        assert!(cells.len() == 3 && cells.iter().all(|cell| !cell.is_empty()), "{row}");
        match cells[0].split_once("(in `") {
            Some((_, folder)) => folders.push(folder.split('`').next().unwrap().to_owned()),
            None => {
                for name in cells[0].split(", ") {
                    assert!(crates.insert(name.to_owned()), "`{name}` stands there twice");
                }
            }
        }
    }
    (crates, folders)
}

#[test]
fn the_readme_names_each_dependency_and_no_other() {
    let (crates, folders) = told(&read("README.md"));
    assert_eq!(asked_for(&read("Cargo.toml")), crates, "left: Cargo.toml, right: the README's table");
    assert!(!folders.is_empty(), "what is vendored stands there too");
    for folder in folders {
        assert!(Path::new(env!("CARGO_MANIFEST_DIR")).join(&folder).is_dir(), "there is no `{folder}`");
    }
}

#[test]
fn every_way_to_ask_for_a_crate_is_read() {
    let manifest = "[package]\nname = \"x\"\n[dependencies]\na = \"1\"\n# b = \"1\"\n[dev-dependencies]\nc = {version = \"1\"}\n\
                    [build-dependencies.d]\nversion = \"1\"\n[target.'cfg(unix)'.dependencies]\ne.workspace = true\n[lints.rust]\nf = \"warn\"\n";
    let wanted: BTreeSet<String> = ["a", "c", "d", "e"].map(str::to_owned).into();
    assert_eq!(asked_for(manifest), wanted);
}
