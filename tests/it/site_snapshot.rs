//! The whole site of a small base: a digest per file, and one full page of each kind.
//!
//! Pages of rules and the search index follow the rules' own words, and are left to their own tests.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Mutex;

use ruleout::load::Disk;
use sha2::{Digest as _, Sha256};

/// One page of each kind.
const PAGES: [&str; 14] = [
    "about.html",
    "checks/look-at-bulb.html",
    "codes/B1001.html",
    "codes/index.html",
    "equipment/lamp-board.html",
    "hazards/hot-glass.html",
    "index.html",
    "procedures/dark-lamp.html",
    "repairs/renew-bulb.html",
    "setups/chocked.html",
    "specs/lamp-feed.html",
    "systems/lighting.html",
    "terms/tail-lamp.html",
    "vehicles/oak.html",
];

/// The text with the digests in the names of assets left out: a new colour is no news on every page.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("assets/") {
        let (before, name) = rest.split_at(at);
        out.push_str(before);
        let end = name.find(['"', '\n']).unwrap_or(name.len());
        let parts: Vec<&str> = name[..end].split('.').collect();
        let parts = match parts.as_slice() {
            [stem, _, ending] => format!("{stem}.DIGEST.{ending}"),
            _ => name[..end].to_owned(),
        };
        out.push_str(&parts);
        rest = &name[end..];
    }
    out.push_str(rest);
    out
}

#[test]
fn the_site_of_a_small_base() {
    let base = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp");
    let files = Disk::new(base);
    let linted = ruleout::lint(&files).unwrap();
    assert!(!linted.report.has_errors());
    let site = Mutex::new(BTreeMap::new());
    ruleout::site::make(&files, &linted, &|address, bytes| {
        site.lock().unwrap().insert(plain(address), plain(&String::from_utf8_lossy(bytes)));
        Ok(())
    })
    .unwrap();
    let site = site.into_inner().unwrap();
    let mut list = String::new();
    for (address, text) in site.iter().filter(|(address, _)| !address.starts_with("rules/")) {
        let digest = if address.starts_with("assets/") {
            "-".to_owned()
        } else {
            ruleout::plan::hex(&Sha256::digest(text.as_bytes())[..6])
        };
        list.push_str(&format!("{digest}  {address}\n"));
    }
    insta::assert_snapshot!("files", list);
    for page in PAGES {
        insta::assert_snapshot!(page.replace('/', " "), site[page]);
    }
}
