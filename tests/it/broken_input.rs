//! Broken input is normal: each fault of a file is one error with a place, and nothing that depends on the file is blamed.

use ruleout::finding::{Finding, Level};
use ruleout::load::Memory;

const PROCEDURE: &str = "---
complaint: Lamp stays dark
applies: [lit]
codes: [B1001]
causes:
  bulb: {title: Bulb burnt out, fix: renew-bulb}
  feed: {title: No voltage at the lamp, fix: renew-bulb}
steps:
  look:
    check: look-at-bulb
    minutes: 1
    results:
      - {if: dark, shows: bulb}
      - {if: clear, clears: [bulb], then: feed-voltage}
  feed-voltage:
    measure: lamp-feed
    minutes: 2
    results:
      - {if: in spec, normal: The lamp lights, clears: [feed]}
      - {if: below spec, found: feed}
after-repair:
  confirm: [{step: feed-voltage, if: in spec}]
  codes: clear
---
Why a lamp stays dark.

## Measure {#feed-voltage}

Back-probe the holder.
";

/// A base without a fault, small enough to read at a glance.
fn base() -> Memory {
    Memory::from_iter([
        ("procedures/dark-lamp.md", PROCEDURE),
        ("checks/look-at-bulb.md", "---\nobserve: The bulb's glass\n---\nTake the bulb out.\n"),
        ("repairs/renew-bulb.md", "---\ntitle: Renew the bulb\n---\nFit a bulb of the same watts.\n"),
        ("systems/lighting.md", "# Lighting\n\nA switch feeds each lamp.\n"),
        ("vehicles.yaml", "oak: {title: Oak van, groups: [lit]}\n"),
        ("codes.yaml", "B1001: {title: Lamp circuit, trips: 1}\n"),
        (
            "specs/lamp.yaml",
            "lamp-feed:\n  quantity: dc voltage\n  at: holder\n  value: {in spec: at least 11.5 V}\n  source: Invented for the demonstration\n",
        ),
    ])
}

fn errors(base: &Memory) -> Vec<(String, Finding)> {
    let linted = ruleout::lint(base).unwrap();
    let sources = &linted.loaded.sources;
    let of = |f: Finding| (sources.file(f.span.file).path().to_owned(), f);
    linted.report.findings.into_iter().filter(|f| f.level == Level::Error).map(of).collect()
}

/// The one error of a base where this file was replaced, as `rule line:column message`.
fn one_error(path: &str, bytes: &[u8]) -> (String, Finding) {
    let mut broken = base();
    broken.set(path, bytes);
    let linted = ruleout::lint(&broken).unwrap();
    let mut found = errors(&broken);
    let told: Vec<&str> = found.iter().map(|(_, f)| f.message.as_str()).collect();
    assert_eq!(found.len(), 1, "{path} {:?}: {told:#?}", String::from_utf8_lossy(bytes));
    let (file, finding) = found.remove(0);
    assert_eq!(file, path, "{}", finding.message);
    assert!(!finding.help.is_empty(), "{} has no help", finding.message);
    let at = linted.loaded.sources.file(finding.span.file).position(finding.span.start);
    (format!("{} {}:{} {}", finding.rule, at.line, at.column, finding.message), finding)
}

fn says(path: &str, text: &str, wanted: &str) {
    let (told, _) = one_error(path, text.as_bytes());
    assert_eq!(told, wanted, "{text:?}");
}

#[test]
fn the_base_itself_has_no_error() {
    assert_eq!(errors(&base()).iter().map(|(_, f)| f.message.clone()).collect::<Vec<_>>(), Vec::<String>::new());
}

const P: &str = "procedures/dark-lamp.md";
const EXPECTED: &str = "expected `---` on the first line of the file";

#[test]
fn front_matter_that_is_missing_or_almost_there() {
    let top = "bad-front-matter 1:1";
    says(P, "", &format!("{top} {EXPECTED}, found nothing: the file is empty"));
    says(P, "\u{feff}", &format!("{top} {EXPECTED}, found nothing: the file is empty"));
    says(P, " \n\n", &format!("{top} {EXPECTED}, found only empty lines"));
    says(P, "# Dark lamp\n\nText\n", &format!("{top} {EXPECTED}, found `# Dark lamp`"));
    says(P, &PROCEDURE.replacen("---\n", "", 1), &format!("{top} {EXPECTED}, found `complaint: Lamp stays dark`"));
    for (almost, found) in [
        (" ---\n", "spaces before it"),
        ("----\n", "`----`"),
        ("--\n", "`--`"),
        ("—\n", "`—`"),
        ("\n---\n", "an empty line"),
        ("\n \n---\n", "an empty line"),
    ] {
        let text = PROCEDURE.replacen("---\n", almost, 1);
        let (told, finding) = one_error(P, text.as_bytes());
        assert_eq!(told, format!("{top} {EXPECTED}, found {found}"), "{almost:?}");
        let mut mended = text.clone();
        for edit in finding.mend.unwrap().edits.iter().rev() {
            mended.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
        }
        assert_eq!(mended, PROCEDURE, "{almost:?}");
    }
}

#[test]
fn front_matter_that_is_never_closed() {
    let told = "bad-front-matter 1:1 the front matter is never closed: no second line `---` stands below";
    says(P, "---", told);
    says(P, "---\ncomplaint: x\n", told);
    let open = PROCEDURE.replacen("---\nWhy", "Why", 1);
    let (_, finding) = one_error(P, open.as_bytes());
    assert_eq!(
        open.get(finding.labels[0].span.start as usize..).unwrap().lines().next(),
        Some("## Measure {#feed-voltage}")
    );
    let indented = PROCEDURE.replacen("---\nWhy", "  ---\nWhy", 1);
    let (_, finding) = one_error(P, indented.as_bytes());
    assert_eq!(&indented[finding.labels[0].span.start as usize..finding.labels[0].span.end as usize], "  ---");
    assert_eq!(&indented[finding.span.start as usize..finding.span.end as usize], "---");
}

#[test]
fn front_matter_that_is_fine() {
    let note = "    minutes: 2\n";
    let block = "    minutes: 2\n    undo: |\n      before\n      ---\n      after\n";
    for text in [
        format!("\u{feff}{PROCEDURE}"),
        PROCEDURE.replace('\n', "\r\n"),
        format!("\u{feff}{}", PROCEDURE.replace('\n', "\r\n")),
        PROCEDURE.replace("---\n", "---  \t\n"),
        PROCEDURE.replacen(note, block, 1),
    ] {
        let mut fine = base();
        fine.set(P, text.as_str());
        let told: Vec<String> = errors(&fine).into_iter().map(|(_, f)| f.message).collect();
        assert!(told.is_empty(), "{text:?}: {told:?}");
    }
}

#[test]
fn an_empty_front_matter_is_one_error_where_something_is_needed() {
    let told = "bad-front-matter 1:1 expected the keys of a procedure in the front matter, found nothing";
    says(P, "---\n---\nWords.\n", told);
    says(P, "---\r\n# a comment\r\n---\r\nWords.\r\n", told);
    let told = "bad-front-matter 1:1 expected the keys of a check in the front matter, found nothing";
    says("checks/look-at-bulb.md", "---\n\n---\nWords.\n", told);
    says("checks/look-at-bulb.md", "Take it out.\n", &format!("bad-front-matter 1:1 {EXPECTED}, found `Take it out.`"));
    says("checks/look-at-bulb.md", "", &format!("bad-front-matter 1:1 {EXPECTED}, found nothing: the file is empty"));
}

#[test]
fn systems_and_repairs_need_no_front_matter() {
    for path in ["systems/lighting.md", "repairs/renew-bulb.md"] {
        for text in ["", "# Title\n\nWords.\n", "---\n---\nWords.\n", "\u{feff}Words.\r\n"] {
            let mut fine = base();
            fine.set(path, text);
            let told: Vec<String> = errors(&fine).into_iter().map(|(_, f)| f.message).collect();
            assert!(told.is_empty(), "{path} {text:?}: {told:?}");
        }
        says(
            path,
            "---\ntitle: x\n",
            "bad-front-matter 1:1 the front matter is never closed: no second line `---` stands below",
        );
        says(path, " ---\ntitle: x\n---\n", &format!("bad-front-matter 1:1 {EXPECTED}, found spaces before it"));
    }
}

const CHECK: &str = "checks/look-at-bulb.md";
const SPECS: &str = "specs/lamp.yaml";

#[test]
fn files_that_are_no_text() {
    let (told, _) = one_error(P, b"---\ncomplaint: Lamp \xE4\n---\n");
    assert_eq!(told, "bad-front-matter 2:17 expected UTF-8 text, found the byte 0xE4 here");
    let (told, _) = one_error(P, b"---\ncomplaint: a\0b\n---\n");
    assert_eq!(told, "bad-front-matter 2:13 this is not a text file: it holds a NUL byte");
    let (told, _) = one_error(SPECS, b"lamp-feed: \xFF\n");
    assert_eq!(told, "bad-front-matter 1:12 expected UTF-8 text, found the byte 0xFF here");
    let (told, _) = one_error("vehicles.yaml", b"\0");
    assert_eq!(told, "bad-front-matter 1:1 this is not a text file: it holds a NUL byte");
    let utf16: Vec<u8> = "---\ncomplaint: x\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    one_error(P, &utf16);
    let (told, _) = one_error(P, PROCEDURE.replace("stays", "st\u{7}ays").as_bytes());
    assert!(told.contains("a control character (U+0007) stands in the text"), "{told}");
}

#[test]
fn a_procedure_without_steps_or_causes() {
    let from = PROCEDURE.find("steps:\n").unwrap();
    let to = PROCEDURE.find("after-repair:\n").unwrap();
    let with = |steps: &str| format!("{}{steps}{}", &PROCEDURE[..from], &PROCEDURE[to..]);
    says(P, &with(""), "bad-value 2:1 a procedure needs `steps`");
    says(P, &with("steps:\n"), "bad-front-matter 8:1 nothing stands after `steps:`");
    says(P, &with("steps: {}\n"), "bad-value 8:1 no step stands here");
    says(P, &with("steps: []\n"), "bad-value 8:8 expected a step on each line, as `NAME: ...`, found a list");
    says(P, &with("steps: look\n"), "bad-value 8:8 expected a step on each line, as `NAME: ...`, found a text");
    says(P, "---\n- complaint\n- steps\n---\n", "bad-value 2:1 expected the keys of a procedure, found a list");
    says(P, "---\nLamp stays dark\n---\n", "bad-value 2:1 expected the keys of a procedure, found a text");
    let causes = PROCEDURE.find("causes:\n").unwrap();
    let without = format!("{}{}", &PROCEDURE[..causes], &PROCEDURE[from..]);
    says(P, &without, "bad-value 2:1 a procedure needs `causes`");
    let short = PROCEDURE.replace("{title: Bulb burnt out, fix: renew-bulb}", "Bulb burnt out");
    says(P, &short, "bad-value 6:9 expected the keys of a cause, found a text");
}

#[test]
fn amounts_and_letters_that_look_alike() {
    let spec = |value: &str, quantity: &str| {
        format!(
            "lamp-feed:\n  quantity: {quantity}\n  at: holder\n  value: {value}\n  source: Invented for the demonstration\n"
        )
    };
    says(SPECS, &spec("at least 11.5", "dc voltage"), "wrong-unit 4:19 `11.5` has no unit");
    // A spec that can't be read is told there, not at the steps that measure it.
    says(SPECS, &spec("at least 11.5 V", "volts"), "unresolved-name 2:13 there is no quantity `volts`");
    let other = "value: {in spec: at least 11.5 V}";
    let group = "values: {lot: at least 11.5 V}";
    let mut misnamed = base();
    misnamed.set(SPECS, spec("x", "dc voltage").replace("value: x", group));
    let told: Vec<String> = errors(&misnamed).into_iter().map(|(_, f)| f.message).collect();
    assert_eq!(told, ["there is no vehicle or group `lot`"]);
    fine(SPECS, &spec("x", "dc voltage").replace("value: x", other));
    for value in ["at least 2 kΩ", "at least 2 k\u{2126}", "at least 2 k\u{3a9}"] {
        fine(SPECS, &spec(value, "resistance"));
    }
    for value in ["at least 2 \u{b5}F", "at least 2 \u{3bc}F"] {
        fine(SPECS, &spec(value, "capacitance"));
    }
}

fn fine(path: &str, text: &str) {
    let mut base = base();
    base.set(path, text);
    let told: Vec<String> = errors(&base).into_iter().map(|(_, f)| f.message).collect();
    assert!(told.is_empty(), "{path} {text:?}: {told:?}");
}

#[test]
fn a_key_of_another_kind_of_file() {
    says(
        CHECK,
        "---\nobserve: The glass\nresults: []\n---\n",
        "unknown-key 3:1 `results` is a key of a step, not of a check",
    );
    says(
        "systems/lighting.md",
        "---\ncomplaint: x\n---\n",
        "unknown-key 2:1 `complaint` is a key of a procedure, not of a system",
    );
    says(
        "vehicles.yaml",
        "oak: {groups: [lit], signal: danger}\n",
        "unknown-key 1:22 `signal` is a key of a hazard, not of a vehicle",
    );
}

#[test]
fn a_base_without_procedures_or_without_anything() {
    let message = ruleout::lint(&Memory::default()).err().unwrap();
    assert!(message.starts_with("no knowledge base here"), "{message}");
    let only_notes = Memory::from_iter([("README.md", "Notes\n")]);
    assert!(ruleout::lint(&only_notes).is_err());
    let mut none = base();
    none.remove(P);
    let found = errors(&none);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].1.message, "the knowledge base has no procedure: nothing stands in `procedures/`");
}

/// "A file that did not parse makes those that depend on it skipped, not wrong."
#[test]
fn what_depends_on_a_broken_file_is_not_blamed() {
    let unclosed = "a: [b\n";
    let whole_files: [(&str, &str); 12] = [
        (SPECS, unclosed),
        (SPECS, "- lamp-feed\n"),
        (SPECS, "lamp-feed\n"),
        ("vehicles.yaml", unclosed),
        ("vehicles.yaml", "- oak\n"),
        ("vehicles.yaml", "oak\n"),
        ("codes.yaml", unclosed),
        ("codes.yaml", "- B1001\n"),
        (CHECK, "---\nobserve: [b\n---\n"),
        (CHECK, "---\ntitle: x\n---\n"),
        (CHECK, "---\n- observe\n---\n"),
        ("repairs/renew-bulb.md", "---\ntitle: [b\n---\n"),
    ];
    for (path, text) in whole_files {
        one_error(path, text.as_bytes());
    }
    // Without its groups a vehicle seems to lack what stands there.
    says("vehicles.yaml", "oak: Oak van\n", "bad-value 1:6 expected the keys of a vehicle, found a text");
    says("vehicles.yaml", "oak: {group: [lit]}\n", "unknown-key 1:7 `group` is no key of a vehicle");
    // An empty table is an absent one: there the names are missing.
    let mut empty = base();
    empty.set("codes.yaml", "# none yet\n");
    let told = errors(&empty);
    assert_eq!(told.len(), 1);
    assert_eq!((told[0].0.as_str(), told[0].1.rule), (P, "unresolved-name"));
}

mod on_disk {
    use std::path::Path;
    use std::process::{Command, Output};
    use std::time::{Duration, Instant};

    use super::{P, base};
    use ruleout::load::Files as _;

    /// The base in a folder of its own.
    fn folder() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        let base = base();
        for path in base.list().unwrap() {
            let to = folder.path().join(&path);
            std::fs::create_dir_all(to.parent().unwrap()).unwrap();
            std::fs::write(to, base.get(&path).unwrap()).unwrap();
        }
        folder
    }

    fn lint(folder: &Path) -> (Output, Duration) {
        let start = Instant::now();
        let output = Command::new(env!("CARGO_BIN_EXE_ruleout"))
            .args(["lint", "--format", "json"])
            .arg(folder)
            .output()
            .unwrap();
        (output, start.elapsed())
    }

    /// The one error of a folder through the program: exit code 1, the file, the message, within a few seconds.
    fn one_error(folder: &Path, file: &str, says: &str) {
        let (output, took) = lint(folder);
        told_once(&output, file, says);
        assert!(took < Duration::from_secs(5), "{took:?}");
    }

    fn told_once(output: &Output, file: &str, says: &str) {
        let told = String::from_utf8_lossy(&output.stdout);
        assert_eq!(output.status.code(), Some(1), "{told}{}", String::from_utf8_lossy(&output.stderr));
        let report: serde_json::Value = serde_json::from_str(&told).unwrap();
        let of = |f: &&serde_json::Value| f["level"] == "error";
        let errors: Vec<_> = report["findings"].as_array().unwrap().iter().filter(of).collect();
        assert_eq!(errors.len(), 1, "{told}");
        assert_eq!(
            (errors[0]["file"].as_str(), errors[0]["rule"].as_str()),
            (Some(file), Some("bad-front-matter")),
            "{told}"
        );
        assert!(errors[0]["message"].as_str().unwrap().contains(says), "{told}");
    }

    #[test]
    fn the_folder_itself_is_fine() {
        assert_eq!(lint(folder().path()).0.status.code(), Some(0));
    }

    #[test]
    fn a_file_of_50_megabytes() {
        let folder = folder();
        let file = std::fs::File::create(folder.path().join("terms.yaml")).unwrap();
        file.set_len(50_000_000).unwrap();
        one_error(folder.path(), "terms.yaml", "the file has 50 MB: at most 8 MiB are read");
        std::fs::write(folder.path().join("terms.yaml"), "lamp: {means: a light}\n").unwrap();
        std::fs::write(folder.path().join(P), vec![b'x'; 50_000_000]).unwrap();
        one_error(folder.path(), P, "the file has 50 MB");
    }

    #[cfg(unix)]
    #[test]
    fn a_pipe_does_not_block() {
        let folder = folder();
        for file in ["procedures/pipe.md", "terms.yaml", "figures/lamp.svg"] {
            let path = folder.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            assert!(Command::new("mkfifo").arg(&path).status().unwrap().success());
            one_error(folder.path(), file, "expected a file, found a pipe or a device");
            std::fs::remove_file(path).unwrap();
        }
    }

    #[cfg(unix)]
    #[test]
    fn links_lead_nowhere() {
        let folder = folder();
        let outside = tempfile::NamedTempFile::new().unwrap();
        let targets =
            [outside.path(), Path::new("nowhere"), Path::new("procedures/dark-lamp.md"), Path::new("/dev/zero")];
        for target in targets {
            let path = folder.path().join("terms.yaml");
            std::os::unix::fs::symlink(target, &path).unwrap();
            one_error(folder.path(), "terms.yaml", "expected a file, found a link to another place");
            std::fs::remove_file(path).unwrap();
        }
    }

    /// No mode stops the superuser: there, a copy of the program runs as nobody.
    #[cfg(unix)]
    #[test]
    fn a_file_without_permission() {
        use std::os::unix::fs::PermissionsExt;
        use std::os::unix::process::CommandExt;
        let mode = |path: &Path, mode| {
            std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
        };
        let folder = folder();
        let path = folder.path().join("vehicles.yaml");
        mode(folder.path(), 0o755);
        mode(&path, 0o000);
        if std::fs::read(&path).is_err() {
            one_error(folder.path(), "vehicles.yaml", "you have no permission to read it");
            return;
        }
        let programs = tempfile::tempdir().unwrap();
        mode(programs.path(), 0o755);
        let program = programs.path().join("ruleout");
        crate::command::copy_program(&program);
        let mut as_nobody = Command::new(&program);
        as_nobody.args(["lint", "--format", "json", "."]).current_dir(folder.path()).uid(65534).gid(65534);
        told_once(&as_nobody.output().unwrap(), "vehicles.yaml", "you have no permission to read it");
    }

    #[test]
    fn a_folder_that_cannot_be_read_is_exit_code_2() {
        let folder = folder();
        let file = folder.path().join("vehicles.yaml");
        let empty = tempfile::tempdir().unwrap();
        let nowhere = folder.path().join("nowhere");
        for (place, says) in [
            (nowhere.as_path(), "there is no folder"),
            (file.as_path(), "expected a folder, found the file"),
            (empty.path(), "no knowledge base here"),
        ] {
            let (output, _) = lint(place);
            let told = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{told}");
            assert!(told.contains(says), "{told}");
            assert!(output.stdout.is_empty());
        }
    }
}

/// Every table of the demonstration, and the first file of each folder, broken one at a time: one error, there.
#[test]
fn one_broken_file_of_the_demonstration_is_one_error() {
    use ruleout::load::{Disk, Files as _, Overlay};
    let below = Disk::new(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("kb"));
    let mut folders = std::collections::BTreeSet::new();
    let mut wrong = Vec::new();
    for path in below.list().unwrap() {
        let (folder, ending) = (path.split_once('/').map(|(f, _)| f.to_owned()), path.rsplit('.').next().unwrap());
        let text = match (&folder, ending) {
            (_, "yaml") => "a: [b\n",
            (Some(_), "md") => "---\na: [b\n---\n",
            _ => continue,
        };
        if folder.is_some_and(|f| !folders.insert(f)) {
            continue;
        }
        let buffers = Memory::from_iter([(path.as_str(), text)]);
        let linted = ruleout::lint(&Overlay { buffers: &buffers, below: &below }).unwrap();
        let errors = linted.report.findings.iter().filter(|f| f.level == Level::Error);
        let told: Vec<String> =
            errors.map(|f| format!("{}: {}", linted.loaded.sources.file(f.span.file).path(), f.message)).collect();
        if told.len() != 1 || !told[0].starts_with(&path) {
            wrong.push(format!("{path} broken, {} told:\n  {}", told.len(), told[..told.len().min(5)].join("\n  ")));
        }
    }
    assert!(folders.len() >= 6, "{folders:?}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
