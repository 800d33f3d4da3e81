//! The search: the library itself would build our index, and people find their pages. Node runs the page's own script.

use std::path::Path;
use std::process::Command;

use ruleout::load::{Disk, Memory};
use ruleout::plan::{Document, Frame, SearchData, search};
use ruleout::render::index_json;

fn node(arguments: &[&str]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = Command::new("node")
        .arg(root.join("tests/site/search.cjs"))
        .args(arguments)
        .current_dir(root)
        .output()
        .expect("node runs (tests/run installs it)");
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    said
}

fn same_index(data: &SearchData) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("documents.json"), serde_json::to_string(&data.documents).unwrap()).unwrap();
    std::fs::write(folder.path().join("index.json"), index_json(data)).unwrap();
    node(&["index", "templates", folder.path().to_str().unwrap()]);
}

#[test]
fn the_library_builds_the_same_index_of_the_demonstration() {
    let linted = ruleout::lint(&Disk::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("kb"))).unwrap();
    let frame = Frame::new(&linted.tables.base, &linted.loaded.sources, &linted.digests, &linted.report, &[]);
    let data = search(&frame);
    assert!(data.documents.len() > 100);
    same_index(&data);
}

#[test]
fn the_library_cuts_strange_words_the_same_way() {
    let document = |id: &str, title: &str, also: &str| Document {
        id: format!("terms/{id}"),
        title: title.into(),
        also: also.into(),
        more: String::new(),
        on: (id == "b").then_some(0),
    };
    same_index(&SearchData {
        documents: vec![
            document("a", "Ωhm, µF; İstanbul ΣΑΣ STRAẞE", "it's 24\u{a0}V\u{2014}no 1½ x\u{301}y"),
            document("b", "constructor __proto__ hasOwnProperty", "漢字 кириллица \u{1f527} ٣٤ Ⅷ ²"),
            document("c", "", ""),
        ],
        ..SearchData::default()
    });
}

#[test]
fn people_find_their_pages() {
    let folder = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let files = Disk::new(root.join("kb"));
    let linted = ruleout::lint(&files).unwrap();
    ruleout::site::write(&files, &linted, &folder.path().join("site")).unwrap();
    let site = folder.path().join("site");
    let said = node(&["rank", "templates", site.to_str().unwrap(), "tests/site/searches.tsv"]);
    let figures: serde_json::Value = serde_json::from_str(said.lines().last().unwrap()).unwrap();
    assert!(figures["queries"].as_u64() >= Some(60), "{said}");
    assert!(figures["three"].as_f64() >= Some(0.95) && figures["ten"].as_f64() == Some(1.0), "{said}");
}

#[test]
fn a_base_of_one_file_can_be_searched() {
    let mut files = Memory::default();
    files.set("terms.yaml", "cpk: {title: Cpk, also: [capability]}\n");
    let linted = ruleout::lint(&files).unwrap();
    let frame = Frame::new(&linted.tables.base, &linted.loaded.sources, &linted.digests, &linted.report, &[]);
    let data = search(&frame);
    assert!(data.documents.iter().any(|d| d.id == "terms/cpk"));
    same_index(&data);
}
