//! Large bases for the benches: the demonstration over and over.

use std::path::Path;

use ruleout::load::{Disk, Files, Memory};

/// The demonstration, its procedures and their cases repeated under new names until there are `count`.
pub fn repeated(count: usize) -> Memory {
    let kb = Disk::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("kb"));
    let mut base = Memory::default();
    let mut procedures = Vec::new();
    let mut cases = Vec::new();
    for path in kb.list().unwrap() {
        let bytes = kb.read(&path).unwrap();
        if path.starts_with("procedures/") {
            procedures.push((path, String::from_utf8(bytes).unwrap()));
        } else if path.starts_with("cases/") {
            cases.push((path, String::from_utf8(bytes).unwrap()));
        } else {
            base.set(path, bytes);
        }
    }
    for n in 0..count {
        let (path, text) = &procedures[n % procedures.len()];
        let round = n / procedures.len();
        let name = |round: usize| if round == 0 { String::new() } else { format!("-{round}") };
        base.set(format!("{}{}.md", path.trim_end_matches(".md"), name(round)), text.as_bytes());
        let id = path.rsplit('/').next().unwrap().trim_end_matches(".md");
        let own = format!("procedure: {id}\n");
        for (case, text) in cases.iter().filter(|(_, t)| t.contains(&own)) {
            let text = text.replace(&own, &format!("procedure: {id}{}\n", name(round)));
            base.set(format!("{}{}.yaml", case.trim_end_matches(".yaml"), name(round)), text.into_bytes());
        }
    }
    base
}

/// Writes the demonstration repeated `count` times to a folder.
#[allow(dead_code, clippy::disallowed_methods, reason = "some benches keep it in memory")]
pub fn write(count: usize, folder: &Path) {
    let base = repeated(count);
    for path in base.list().unwrap() {
        let full = folder.join(&path);
        std::fs::create_dir_all(full.parent().unwrap()).unwrap();
        std::fs::write(full, base.read(&path).unwrap()).unwrap();
    }
}
