//! The same input gives the same bytes, whatever the machine, the clock, the place or the number of threads.
//!
//! In: the real program over the demonstration. Out: the site and what is printed, byte by byte.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

type Files = BTreeMap<String, Vec<u8>>;

fn tree(folder: &Path) -> Files {
    let files = walkdir::WalkDir::new(folder).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file());
    let named = |path: &Path| path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
    files.map(|e| (named(e.path()), fs::read(e.path()).unwrap())).collect()
}

/// Copies a base, its files made in the order given: a folder lists them as it likes.
fn copy(from: &Path, to: &Path, backwards: bool) {
    let mut paths: Vec<_> = tree(from).into_iter().collect();
    if backwards {
        paths.reverse();
    }
    for (name, bytes) in paths {
        let at = to.join(name);
        fs::create_dir_all(at.parent().unwrap()).unwrap();
        fs::write(at, bytes).unwrap();
    }
}

/// What a run in `home` with these settings makes and prints.
fn made(home: &Path, base: &str, settings: &[(&str, &str)]) -> Files {
    let run = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ruleout"));
        command.current_dir(home).args(arguments).env("HOME", home).env("PWD", home);
        let output = command.envs(settings.iter().copied()).output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        output.stdout
    };
    run(&["compile", base, "--out", "site"]);
    let mut files = tree(&home.join("site"));
    for arguments in [
        &["--kb", base, "lint", "--format", "json"][..],
        &["--kb", base, "order", "charge-lamp-on", "--format", "json"],
        &["--kb", base, "trace", "charge-lamp-on", "--format", "json"],
        &["--kb", base, "export", "charge-lamp-on", "--format", "dot"],
        &["--kb", base, "tally", "--format", "json"],
    ] {
        files.insert(arguments[2..].join(" "), run(arguments));
    }
    files
}

#[test]
fn the_same_bytes_everywhere() {
    let kb = Path::new(env!("CARGO_MANIFEST_DIR")).join("kb");
    let make = |backwards: bool, under: &str, absolute: bool, settings: &[(&str, &str)]| {
        let folder = tempfile::tempdir().unwrap();
        let home = folder.path().join(under);
        copy(&kb, &home.join("kb"), backwards);
        let base = if absolute { home.join("kb").to_str().unwrap().to_owned() } else { "kb".to_owned() };
        let files = made(&home, &base, settings);
        for (name, bytes) in &files {
            let place = folder.path().to_str().unwrap();
            let holds = bytes.windows(place.len()).any(|part| part == place.as_bytes());
            assert!(!holds, "{name} names a place of this machine");
        }
        files
    };
    let first = make(false, "here", false, &[("RAYON_NUM_THREADS", "1"), ("TZ", "UTC"), ("LC_ALL", "C")]);
    assert!(first.len() > 400, "{} files", first.len());
    let far =
        [("RAYON_NUM_THREADS", "7"), ("TZ", "Pacific/Kiritimati"), ("LC_ALL", "tr_TR.UTF-8"), ("LANG", "tr_TR.UTF-8")];
    let later = [("RAYON_NUM_THREADS", "2"), ("SOURCE_DATE_EPOCH", "1"), ("USER", "someone-else"), ("TERM", "dumb")];
    for other in [make(true, "somewhere/far away/é", true, &far), make(true, "x", false, &later)] {
        let names = |files: &Files| files.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(&other), names(&first));
        for (name, bytes) in &first {
            assert!(other[name] == *bytes, "{name} differs");
        }
    }
}
