//! Files made to break a reader: each is one clear error, told within five seconds and half a gigabyte.
//!
//! In: the real program, a small base with one hostile file. Out: its findings as JSON, and what it used.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::Value;

/// Half a gigabyte.
const LIMIT_KB: usize = 512 * 1024;

/// A small base to spoil.
fn base() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let kb = folder.path().join("kb");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp");
    for entry in walkdir::WalkDir::new(&from) {
        let entry = entry.unwrap();
        let to = kb.join(entry.path().strip_prefix(&from).unwrap());
        if entry.file_type().is_dir() {
            fs::create_dir_all(to).unwrap();
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
    (folder, kb)
}

/// Runs the program, and holds it to its time and memory.
fn run(arguments: &[&str], kb: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ruleout"));
    command.args(arguments).arg(kb).env("RAYON_NUM_THREADS", "2");
    let start = Instant::now();
    let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let done = AtomicBool::new(false);
    let (output, peak) = std::thread::scope(|scope| {
        let watch = scope.spawn(|| {
            // What Linux keeps of the most that a process ever held, in kB; read until it is gone.
            let mut peak = 0;
            while !done.load(Ordering::Relaxed) && peak < LIMIT_KB {
                let text = fs::read_to_string(&status).unwrap_or_default();
                let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
                peak = line.and_then(|l| l.trim().trim_end_matches(" kB").parse().ok()).unwrap_or(0).max(peak);
                std::thread::sleep(Duration::from_millis(5));
            }
            peak
        });
        let output = child.wait_with_output().unwrap();
        done.store(true, Ordering::Relaxed);
        (output, watch.join().unwrap())
    });
    let took = start.elapsed();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(matches!(output.status.code(), Some(0..=2)), "{arguments:?}: {:?}\n{said}", output.status);
    assert!(peak < LIMIT_KB, "{arguments:?} took {peak} kB");
    // An unoptimised program on a shared machine: five times the five seconds that the release has.
    assert!(took < Duration::from_secs(25), "{arguments:?} took {took:?}");
    output
}

/// Errors as `file: rule: message`.
fn errors(kb: &Path) -> Vec<String> {
    let output = run(&["lint", "--format", "json"], kb);
    let report: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {output:?}"));
    let text = |finding: &Value, key: &str| finding[key].as_str().unwrap().to_owned();
    let findings = report["findings"].as_array().unwrap().iter().filter(|f| f["level"] == "error");
    findings.map(|f| format!("{}: {}: {}", text(f, "file"), text(f, "rule"), text(f, "message"))).collect()
}

/// Spoils a base and gives the one error that comes of it.
fn one_error(what: &str, spoil: impl FnOnce(&Path)) -> String {
    let (_folder, kb) = base();
    assert_eq!(errors(&kb), [""; 0], "the base as it is");
    spoil(&kb);
    let mut found = errors(&kb);
    assert_eq!(found.len(), 1, "{what}: {found:#?}");
    let out = kb.with_file_name("site");
    let compile = run(&["compile", "--out", out.to_str().unwrap()], &kb);
    assert_eq!(compile.status.code(), Some(1), "{what}");
    assert!(!out.exists(), "{what}: a site was written");
    found.remove(0)
}

#[test]
fn texts_that_grow_nest_or_are_no_texts() {
    let deep = 100_000;
    let bomb: String = (0..9)
        .map(|n| format!("&a{n} [*a{0}, *a{0}, *a{0}]", n + 1))
        .fold("a: ".to_owned(), |all, one| all + &one + ", ");
    let nested: Vec<(&str, Vec<u8>, &str)> = vec![
        ("an alias bomb", bomb.into_bytes(), "a text that starts with `&` needs quotes"),
        ("brackets in brackets", format!("a: {}", "[".repeat(deep)).into_bytes(), "nested deeper than 64"),
        ("rows in rows", format!("a: {}", "{b: ".repeat(deep)).into_bytes(), "nested deeper than 64"),
        ("rows in rows, a line each", format!("a:\n{}", " {b:\n".repeat(deep)).into_bytes(), "nested deeper than 64"),
        ("lists in lists", "- ".repeat(deep).into_bytes(), "nested deeper than 64"),
        (
            "keys in keys",
            (0..3000).map(|n| format!("{}k:\n", " ".repeat(n))).collect::<String>().into_bytes(),
            "nested deeper than 64",
        ),
        ("fifty megabytes", "a: b\n".repeat(10_000_000).into_bytes(), "8 MiB"),
        (
            "a million rows",
            (0..1_000_000).map(|n| format!("t-{n}: {{title: Lamp}}\n")).collect::<String>().into_bytes(),
            "8 MiB",
        ),
        ("a zero byte", b"lamp: {title: a\0b}\n".to_vec(), "NUL"),
        ("half of a sign", b"lamp: {title: \"\xed\xa0\x80\"}\n".to_vec(), "UTF-8"),
        ("another encoding", b"lamp: {title: caf\xe9}\n".to_vec(), "UTF-8"),
        ("sixteen bits a sign", b"\xff\xfel\0a\0m\0p\0:\0 \0x\0".to_vec(), "NUL"),
    ];
    for (what, bytes, told) in nested {
        let error = one_error(what, |kb| fs::write(kb.join("terms.yaml"), &bytes).unwrap());
        assert!(error.starts_with("terms.yaml: ") && error.contains(told), "{what}: {error}");
    }
}

/// Where a file has very many faults of one kind, the first 200 are told and the others counted.
#[test]
fn many_faults_of_one_kind_are_counted() {
    const TOLD: usize = 200;
    let unit = |row: &str, times: usize| row.repeat(times).into_bytes();
    let numbered = |times: usize, row: &dyn Fn(usize) -> String| (0..times).map(row).collect::<String>().into_bytes();
    let many: [(&str, &str, Vec<u8>, &str, usize); 7] = [
        (
            "rows without their keys",
            "terms.yaml",
            numbered(400_000, &|n| format!("t{n}: {{x: a}}\n")),
            "unknown-key",
            400_000,
        ),
        (
            "names that are no names",
            "hazards.yaml",
            numbered(250_000, &|n| format!("T{n}: {{title: a}}\n")),
            "bad-value",
            750_000,
        ),
        ("a million empty lines", "terms.yaml", unit("a:\n", 1_000_000), "bad-front-matter", 1_000_000),
        ("a million tabs", "equipment.yaml", unit("\ta: b\n", 1_000_000), "bad-front-matter", 1_000_000),
        (
            "a thousand rows",
            "terms.yaml",
            numbered(1000, &|n| format!("t{n}: {{title: a, x: a}}\n")),
            "unknown-key",
            1000,
        ),
        (
            "one more than are told",
            "terms.yaml",
            numbered(TOLD + 1, &|n| format!("t{n}: {{title: a, x: a}}\n")),
            "unknown-key",
            TOLD + 1,
        ),
        (
            "as many as are told",
            "terms.yaml",
            numbered(TOLD, &|n| format!("t{n}: {{title: a, x: a}}\n")),
            "unknown-key",
            TOLD,
        ),
    ];
    for (what, file, bytes, rule, faults) in many {
        assert!(bytes.len() < 8 << 20, "{what}");
        let (_folder, kb) = base();
        fs::write(kb.join(file), &bytes).unwrap();
        let output = run(&["lint", "--format", "json"], &kb);
        assert_eq!(output.status.code(), Some(1), "{what}");
        let report: Value = serde_json::from_slice(&output.stdout).unwrap();
        let of_rule = |f: &&Value| f["file"] == file && f["rule"] == rule && f["level"] == "error";
        let found: Vec<&Value> = report["findings"].as_array().unwrap().iter().filter(of_rule).collect();
        let last = found.last().unwrap()["message"].as_str().unwrap();
        let more = match faults - TOLD {
            0 => None,
            1 => Some("1 more finding of this kind in this file is not shown".to_owned()),
            n => Some(format!("{n} more findings of this kind in this file are not shown")),
        };
        assert_eq!(found.len(), TOLD + usize::from(more.is_some()), "{what}");
        assert!(more.as_ref().is_none_or(|more| last == more), "{what}: {last}");
        let keys = |f: &Value| f.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
        let plain = ["rule", "level", "message", "file", "line", "column", "end_line", "end_column", "labels", "help"];
        assert!(keys(found[found.len() - 1]).iter().all(|k| plain.contains(&k.as_str())), "{what}: {last}");
        assert!(report["summary"]["errors"].as_u64().unwrap() >= faults as u64, "{what}: {}", report["summary"]);
        if faults > 1000 {
            continue;
        }
        // What was recorded is known as a whole, and still is with a few faults more or less.
        let record = kb.with_file_name("known");
        run(&["lint", "--record", record.to_str().unwrap()], &kb);
        let since = |bytes: &[u8]| {
            fs::write(kb.join(file), bytes).unwrap();
            run(&["lint", "--since", record.to_str().unwrap()], &kb).status.code()
        };
        assert_eq!(since(&bytes), Some(0), "{what}: recorded and told again");
        if faults > TOLD + 1 {
            let fewer = bytes.iter().rposition(|b| *b == b'\n').map(|end| &bytes[..end]).unwrap();
            let fewer = &fewer[..=fewer.iter().rposition(|b| *b == b'\n').unwrap()];
            assert_eq!(since(fewer), Some(0), "{what}: one fault fewer");
        }
    }
}

#[test]
fn words_that_nest_and_grow() {
    let words: [(&str, String, bool); 7] = [
        ("quotes in quotes", "> ".repeat(100_000), true),
        ("lists in lists", (0..500).map(|n| format!("{}- a\n", "  ".repeat(n))).collect(), true),
        ("brackets", "[".repeat(500_000), true),
        ("stars", "*a **a ".repeat(70_000), true),
        ("a table of a hundred thousand rows", format!("| a |\n| - |\n{}", "| b |\n".repeat(100_000)), true),
        ("a table of a million rows", format!("| a |\n| - |\n{}", "| b |\n".repeat(1_000_000)), false),
        ("a million links", "[a](b) ".repeat(1_000_000), false),
    ];
    for (what, text, fine) in words {
        let (_folder, kb) = base();
        let path = kb.join("systems/lighting.md");
        fs::write(&path, format!("---\ntitle: Lighting\n---\n# Lighting\n\n{text}\n")).unwrap();
        let found = errors(&kb);
        assert_eq!(found.len(), usize::from(!fine), "{what}: {found:#?}");
        assert!(found.iter().all(|e| e.starts_with("systems/lighting.md: ") && e.contains("1 MiB")), "{found:#?}");
        let out = kb.with_file_name("site");
        let done = run(&["compile", "--out", out.to_str().unwrap()], &kb);
        assert_eq!(done.status.code(), Some(i32::from(!fine)), "{what}");
    }
}

#[test]
fn nothing_outside_of_the_base_is_read() {
    let secret = tempfile::tempdir().unwrap();
    let secret = secret.path().join("secret.svg");
    fs::write(&secret, "<svg xmlns=\"http://www.w3.org/2000/svg\"><title>secret</title></svg>").unwrap();
    let refused = |what: &str, path: &str, spoil: &dyn Fn(&Path)| {
        let error = one_error(what, |kb| {
            let _ = fs::remove_file(kb.join(path));
            spoil(&kb.join(path));
        });
        assert!(error.starts_with(&format!("{path}: ")), "{what}: {error}");
    };
    refused("a link to a file", "terms.yaml", &|at| symlink("/etc/passwd", at).unwrap());
    refused("a link to a picture", "figures/socket.svg", &|at| symlink(&secret, at).unwrap());
    refused("a link upwards", "specs/up.yaml", &|at| symlink("../../../secret.svg", at).unwrap());
    refused("a link to nothing", "specs/none.yaml", &|at| symlink("gone.yaml", at).unwrap());
    refused("a link to itself", "specs/self.yaml", &|at| symlink("self.yaml", at).unwrap());
    for path in ["cases", "specs", "procedures", "figures"] {
        let error = one_error(path, |kb| {
            let aside = kb.with_file_name(path);
            fs::rename(kb.join(path), &aside).unwrap();
            symlink(&aside, kb.join(path)).unwrap();
        });
        assert!(
            error.starts_with(&format!("{path}/: ")) && error.contains("expected a folder, found a link"),
            "{error}"
        );
        let error = one_error(path, |kb| {
            fs::remove_dir_all(kb.join(path)).unwrap();
            fs::write(kb.join(path), "words").unwrap();
        });
        assert!(error.contains(&format!("expected the folder `{path}`, found a file")), "{error}");
    }
    for to in ["../../systems", "gone", "."] {
        let error = one_error(to, |kb| symlink(to, kb.join("procedures/more")).unwrap());
        assert!(error.starts_with("procedures/more/: ") && error.contains("found a link"), "{error}");
    }
    for name in
        [&b"procedures/a\xff.md"[..], b"specs/a\xff.yaml", b"cases/\xc3.yaml", b"figures/a\xff.svg", b"checks/\xff.md"]
    {
        let error = one_error("a name in another encoding", |kb| {
            let name = <std::ffi::OsStr as std::os::unix::ffi::OsStrExt>::from_bytes(name);
            fs::write(kb.join(name), "words").unwrap();
        });
        assert!(error.contains("its name is no UTF-8 text"), "{error}");
    }
    for name in ["a?b.png", "a#b.svg", "50%25.svg", "a\nb.svg"] {
        let error = one_error(name, |kb| {
            fs::copy(kb.join("figures/socket.svg"), kb.join("figures").join(name)).unwrap();
        });
        assert!(error.contains("can't name a picture"), "{error}");
    }
    refused("a device", "terms.yaml", &|at| symlink("/dev/zero", at).unwrap());
    refused("a pipe", "terms.yaml", &|at| assert!(Command::new("mkfifo").arg(at).status().unwrap().success()));
    for path in ["terms.yaml", "specs/more.yaml", "procedures/more.md", "cases/2031-9.yaml", "figures/more.svg"] {
        refused("a folder by a file's name", path, &|at| {
            fs::create_dir_all(at.join("inner")).unwrap();
            fs::write(at.join("inner/notes.txt"), "words").unwrap();
        });
    }
    for to in ["../../secret.svg", "/etc/passwd", "figures/../../secret.svg", "..\\\\secret.svg"] {
        let error = one_error(to, |kb| {
            let path = kb.join("systems/lighting.md");
            let text = fs::read_to_string(&path).unwrap();
            fs::write(&path, format!("{text}\n![a picture]({to})\n")).unwrap();
        });
        assert!(error.contains("missing-figure") || error.contains("broken-link"), "{to}: {error}");
    }
}
