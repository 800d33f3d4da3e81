//! What is fuzzed, one function a target: bytes in; a panic where a promise is broken.
//!
//! The fuzzers of `tests/fuzz/targets` call these with what libFuzzer makes up, `tests/it/fuzzed.rs` with the seeds,
//! with everything that was ever found, and with a few thousand texts of its own.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::missing_panics_doc,
    missing_docs,
    reason = "to panic is their job"
)]

pub mod compare;
pub mod fix;
pub mod lsp;
mod talk;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

use ruleout::finding::{Edit, Report};
use ruleout::load::{Disk, Files as _, Memory};
use ruleout::parse::problem::Problem;
use ruleout::parse::{amount, front_matter, markdown, phrase, yaml};
use ruleout::quantity::Quantity;
use ruleout::report::{json, text};
use ruleout::source::{FileId, Span};
use ruleout::{Linted, lint};

/// A target: its name and what it does with some bytes.
pub type Target = (&'static str, fn(&[u8]));

pub const TARGETS: &[Target] = &[
    ("amounts", amounts),
    ("phrases", phrases),
    ("yaml", trees),
    ("procedure", procedure),
    ("base", base),
    ("lsp", lsp::run),
    ("fix", fix::run),
    ("compare", compare::run),
];

/// The first byte chooses a quantity, the rest is what was typed.
fn typed(data: &[u8]) -> Option<(Quantity, &str)> {
    let (first, rest) = data.split_first()?;
    let quantities = Quantity::all().count();
    Some((Quantity::all().nth(usize::from(*first) % quantities)?, std::str::from_utf8(rest).ok()?))
}

/// Amounts, readings, parts, bare numbers and accuracies. What was read can be written and read again.
pub fn amounts(data: &[u8]) {
    let Some((quantity, text)) = typed(data) else { return };
    if let Ok(read) = amount::parse(text, quantity) {
        let shown = read.show_in(read.unit);
        let again =
            amount::parse(&shown, quantity).unwrap_or_else(|p| panic!("{text:?} shows as {shown:?}: {}", p.message));
        assert_eq!(again.show_in(again.unit), shown, "{text:?}");
    }
    let _ = amount::reading(text, quantity);
    let _ = amount::parts(text, quantity);
    let _ = amount::number(text);
    let _ = amount::accuracy(text, quantity);
}

/// Reading phrases with and without bands, ranges of specs, names of bands.
pub fn phrases(data: &[u8]) {
    let Some((quantity, text)) = typed(data) else { return };
    let inside = |told: std::ops::Range<usize>| assert!(text.get(told.clone()).is_some(), "{told:?} of {text:?}");
    for bands in [&[][..], &["weak", "in spec", "far too warm"][..]] {
        let _ = phrase::parse(text, quantity, bands).map_err(|p| inside(p.range));
    }
    let _ = phrase::parse_spec_range(text, quantity).map_err(|p| inside(p.range));
    let _ = phrase::check_band_name(text);
}

/// One file's text, never its meaning: every place lies inside it, between two characters.
pub fn trees(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let file = FileId(0);
    let (tree, problems) = yaml::parse(file, text, 0);
    told_well(text, &problems);
    if let Some(tree) = tree {
        tree_stands(text, &tree);
    }
    let split = front_matter::split(file, text);
    told_well(text, &split.problems);
    let body = markdown::parse(file, text, split.body);
    for link in &body.links {
        assert!(text.get(range(link.span)).is_some(), "{:?} in {text:?}", link.span);
    }
}

/// A whole procedure over the tables of a small base.
pub fn procedure(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let mut files = small_base();
    files.set("procedures/dark-lamp.md", text);
    let Ok(linted) = lint(&files) else { return };
    judged_well(&linted);
}

/// A whole base from memory to its site. Each file opens with a line `=== PATH`.
pub fn base(data: &[u8]) {
    let files = split_files(data);
    let Ok(linted) = lint(&files) else { return };
    judged_well(&linted);
    let pages = AtomicUsize::new(0);
    let made = ruleout::site::make(&files, &linted, &|address, _| {
        assert!(
            !address.starts_with('/') && !address.split('/').any(|part| part == ".." || part.is_empty()),
            "{address:?}"
        );
        pages.fetch_add(1, Ordering::Relaxed);
        Ok(())
    });
    made.unwrap_or_else(|message| panic!("no site: {message}"));
    assert!(pages.into_inner() > 0, "a site without a page");
}

/// Files out of one text, as the target `base` and the seeds write them; paths that no folder could list are left out.
pub fn split_files(data: &[u8]) -> Memory {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for line in data.split_inclusive(|b| *b == b'\n') {
        if let Some(path) = line.strip_prefix(b"=== ") {
            files.push((String::from_utf8_lossy(path).trim().to_owned(), Vec::new()));
        } else if let Some((_, bytes)) = files.last_mut() {
            bytes.extend_from_slice(line);
        }
    }
    let part = |part: &str| !part.is_empty() && part != "." && part != ".." && !part.contains('\0');
    files.into_iter().filter(|(path, _)| path.split('/').all(part)).collect()
}

/// The folder of the base that the targets put their text into.
fn small_base_folder() -> PathBuf {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")); // the fuzzers', or the program's where its tests hold this file
    let folder = own.join("small-base");
    if folder.is_dir() { folder } else { own.join("tests/fuzz/small-base") }
}

/// That base.
fn small_base() -> Memory {
    static READ: OnceLock<Memory> = OnceLock::new();
    let read = || {
        let disk = Disk::new(small_base_folder());
        disk.list().unwrap().into_iter().map(|path| (path.clone(), disk.read(&path).unwrap())).collect()
    };
    READ.get_or_init(read).clone()
}

/// A base: files behind lines `=== PATH`, else the text of a procedure of the small base.
fn base_of(data: &[u8]) -> Memory {
    if data.starts_with(b"=== ") {
        return split_files(data);
    }
    let mut files = small_base();
    files.set("procedures/dark-lamp.md", data);
    files
}

fn range(span: Span) -> std::ops::Range<usize> {
    span.start as usize..span.end as usize
}

fn told_well(text: &str, problems: &[Problem]) {
    for p in problems {
        assert!(text.get(range(p.span)).is_some(), "{:?} of {:?} in {text:?}", p.span, p.message);
        for (span, label) in &p.labels {
            assert!(text.get(range(*span)).is_some(), "label {label:?} at {span:?} in {text:?}");
        }
    }
}

fn tree_stands(text: &str, node: &yaml::Node) {
    assert!(text.get(range(node.span)).is_some(), "{node:?} in {text:?}");
    let items = if let yaml::Kind::List(items) = &node.kind { items.as_slice() } else { &[] };
    for child in items.iter().chain(node.entries().iter().map(|e| &e.value)) {
        tree_stands(text, child);
    }
}

/// Every place of every finding lies inside its file; the text of the findings can be drawn, as people and machines read it.
fn judged_well(linted: &Linted) {
    let (report, sources): (&Report, _) = (&linted.report, &linted.loaded.sources);
    for finding in &report.findings {
        let edits = finding.mend.iter().flat_map(|m| &m.edits).map(|e: &Edit| e.span);
        for span in std::iter::once(finding.span).chain(edits) {
            let text = sources.file(span.file).text();
            assert!(text.get(range(span)).is_some(), "{span:?} of {:?} in {text:?}", finding.message);
        }
    }
    let _ = json::render(report, sources);
    let drawn = text::render(report, sources, text::Look { colour: false, notes: true, prefix: "kb/" });
    let unsafe_sign = |c: char| c.is_control() && c != '\n';
    assert!(!drawn.contains(unsafe_sign), "a control character reaches the terminal: {drawn:?}");
}
