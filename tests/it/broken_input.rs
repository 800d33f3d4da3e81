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
