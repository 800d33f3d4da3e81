//! The site of the demonstration is written, and says what the base says.

use std::path::Path;

use ruleout::load::Disk;

/// Where the site of the demonstration goes: `RULEOUT_KEEP_SITE`, else a folder of its own.
fn build() -> (Option<tempfile::TempDir>, std::path::PathBuf) {
    let kept = std::env::var_os("RULEOUT_KEEP_SITE").map(std::path::PathBuf::from);
    let folder = if kept.is_none() { Some(tempfile::tempdir().unwrap()) } else { None };
    let out = kept.unwrap_or_else(|| folder.as_ref().unwrap().path().join("site"));
    let files = Disk::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("kb"));
    let linted = ruleout::lint(&files).unwrap();
    ruleout::site::write(&files, &linted, &out).unwrap();
    (folder, out)
}

#[test]
fn every_row_has_its_page() {
    let (_folder, out) = build();
    let kb = Path::new(env!("CARGO_MANIFEST_DIR")).join("kb");
    let files = Disk::new(&kb);
    let linted = ruleout::lint(&files).unwrap();
    for digest in &linted.digests {
        let page = std::fs::read_to_string(out.join(format!("procedures/{}.html", digest.id))).unwrap();
        for (id, _) in &digest.steps {
            assert!(page.contains(&format!("id=\"{id}\"")), "{}: no place for the step {id}", digest.id);
        }
        for cause in &digest.causes {
            assert!(page.contains(&format!("id=\"{}\"", cause.id)), "{}: no place for {}", digest.id, cause.id);
        }
    }
    for id in linted.tables.base.codes.ids() {
        assert!(out.join(format!("codes/{id}.html")).is_file());
    }
    assert!(out.join("about.html").is_file() && out.join("index.html").is_file());
}

#[test]
fn monitors_that_run_alike_stand_in_one_sentence() {
    let (_folder, out) = build();
    let page = std::fs::read_to_string(out.join("procedures/misfire.html")).unwrap();
    assert_eq!(page.matches("The monitors of P0300, P0301, P0302, P0303 and P0304 run: ").count(), 1);
    assert!(!page.contains("The monitor of P0300"));
    let page = std::fs::read_to_string(out.join("procedures/charge-lamp-on.html")).unwrap();
    assert!(page.contains("The monitor of P0562 runs: "));
}
