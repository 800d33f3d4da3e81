//! The fuzz targets, run with their seeds, with everything that was ever found, and with texts made of both.
//!
//! In: the literate cases, `tests/fuzz/found/TARGET/`. The long, coverage-guided runs are `tests/fuzz/run`.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

use proptest::prelude::*;

#[path = "../fuzz/src/lib.rs"]
mod targets;

use crate::literate;

/// Seeds by target.
type Seeds = BTreeMap<&'static str, Vec<Vec<u8>>>;

/// Seeds of every target, by its name.
fn seeds() -> &'static Seeds {
    static MADE: OnceLock<Seeds> = OnceLock::new();
    MADE.get_or_init(make_seeds)
}

fn make_seeds() -> Seeds {
    let mut seeds = Seeds::new();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    let mut before: Vec<u8> = Vec::new();
    for path in paths.iter().filter(|p| p.extension().is_some_and(|e| e == "md") && !p.ends_with("README.md")) {
        for example in literate::examples(&std::fs::read_to_string(path).unwrap()) {
            let files = example.base(&[]);
            let whole = joined(&files);
            seeds.entry("base").or_default().push(whole.clone());
            seeds.entry("fix").or_default().push(whole.clone());
            seeds.entry("compare").or_default().push([&whole[..], b"\n=======\n", &before].concat());
            seeds.entry("lsp").or_default().push(talk(&whole, &before));
            before = whole;
            for (path, text) in files {
                if !path.starts_with("systems/") {
                    let changed = format!("=== {path}\n{}", text.replace('1', "3").replace("title: ", "title: Other "));
                    let pair = [&before[..], b"\n=======\n", changed.as_bytes()].concat();
                    seeds.entry("compare").or_default().push(pair);
                }
                seeds.entry("yaml").or_default().push(text.clone().into_bytes());
                if path.starts_with("procedures/") {
                    let text = text.as_bytes();
                    seeds.entry("procedure").or_default().push(text.to_owned());
                    seeds.entry("fix").or_default().push(text.to_owned());
                    seeds.entry("lsp").or_default().push(talk(text, &before));
                }
                for (at, typed) in typed(&text).into_iter().enumerate() {
                    let quantity = u8::try_from(at % 32).unwrap();
                    let bytes = [&[quantity][..], typed.as_bytes()].concat();
                    seeds.entry("amounts").or_default().push(bytes.clone());
                    seeds.entry("phrases").or_default().push(bytes);
                }
            }
        }
    }
    for of in seeds.values_mut() {
        of.sort();
        of.dedup();
    }
    seeds
}

/// What an editor does with these texts: bytes of another text, spread over all values, decide.
fn talk(texts: &[u8], by: &[u8]) -> Vec<u8> {
    let mut state = u32::try_from(texts.len()).unwrap();
    let spread = by.iter().chain(texts).take(96).map(|b| {
        state = state.wrapping_mul(0x0019_660D).wrapping_add(u32::from(*b)).wrapping_add(0x3C6E_F35F);
        state.to_be_bytes()[0]
    });
    texts.iter().copied().chain([0xFF]).chain(spread).collect()
}

/// A base as the target `base` reads it.
fn joined(files: &BTreeMap<String, String>) -> Vec<u8> {
    files.iter().map(|(path, text)| format!("=== {path}\n{}\n", text.trim_end())).collect::<String>().into_bytes()
}

/// What stands after `if:` and after the names of bands: readings as people type them.
fn typed(text: &str) -> Vec<String> {
    let after = |line: &str| {
        line.split_once(": ").map(|(_, rest)| rest.split([',', '}', '{']).next().unwrap_or("").trim().to_owned())
    };
    text.lines()
        .flat_map(|line| line.split('{').filter_map(after).collect::<Vec<_>>())
        .filter(|t| !t.is_empty())
        .collect()
}

fn found(target: &str) -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/found").join(target);
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<_> = entries.map(|e| e.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|p| (p.display().to_string(), std::fs::read(p).unwrap())).collect()
}

#[test]
fn whatever_was_found_stays_mended() {
    let known: Vec<&str> = targets::TARGETS.iter().map(|(name, _)| *name).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/found");
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(known.contains(&name.as_str()) || name == "README.md", "found/{name} is no target: {known:?}");
    }
    for (target, run) in targets::TARGETS {
        for (path, bytes) in found(target) {
            println!("{path}");
            run(&bytes);
        }
    }
}

/// Writes the seeds for `tests/fuzz/run`, where `RULEOUT_OUT` says so.
#[test]
fn dump_fuzz_seeds() {
    let Ok(out) = std::env::var("RULEOUT_OUT") else { return };
    for (target, of) in seeds() {
        let folder = Path::new(&out).join("seeds").join(target);
        std::fs::create_dir_all(&folder).unwrap();
        for (at, bytes) in of.iter().enumerate() {
            std::fs::write(folder.join(format!("{at:04}")), bytes).unwrap();
        }
    }
}

/// A seed with a piece of another seed laid into it, a piece taken out, or a byte changed.
fn spoilt(of: &[Vec<u8>], which: [prop::sample::Index; 2], at: [prop::sample::Index; 3], how: u8) -> Vec<u8> {
    let mut bytes = which[0].get(of).clone();
    let other = which[1].get(of);
    let from = at[0].index(bytes.len().max(1)).min(bytes.len());
    let to = (from + at[1].index(20)).min(bytes.len());
    let piece = at[2].index(other.len().max(1)).min(other.len());
    let piece = &other[piece..(piece + 1 + usize::from(how)).min(other.len())];
    let (gone, new) = match how % 4 {
        0 => (from..from, piece),
        1 => (from..to, piece),
        2 => (from..to, &[][..]),
        _ => (from..(from + 1).min(bytes.len()), &[how][..]),
    };
    bytes.splice(gone, new.iter().copied());
    bytes
}

/// Some of the seeds as they are, and some spoilt; the folder that `RULEOUT_LAST` names keeps the last text of each target.
fn hold(target: &str, seeds_at_most: usize, spoilt_ones: u32) {
    let (_, run) = targets::TARGETS.iter().find(|(name, _)| *name == target).unwrap();
    let seeds = &seeds()[target];
    assert!(seeds.len() > 50, "{target} has {} seeds", seeds.len());
    seeds.iter().step_by(seeds.len().div_ceil(seeds_at_most)).for_each(|bytes| run(bytes));
    let keep = std::env::var("RULEOUT_LAST").ok();
    let config = ProptestConfig { cases: spoilt_ones, failure_persistence: None, ..ProptestConfig::default() };
    proptest!(config, |(which in any::<[prop::sample::Index; 2]>(), at in any::<[prop::sample::Index; 3]>(), how in any::<u8>())| {
        let bytes = spoilt(seeds, which, at, how);
        if let Some(out) = &keep {
            std::fs::write(Path::new(out).join(target), &bytes).unwrap();
        }
        run(&bytes);
    });
}

#[test]
fn amounts_and_phrases_hold() {
    hold("amounts", 2000, 2000);
    hold("phrases", 2000, 2000);
}

#[test]
fn trees_hold() {
    hold("yaml", 500, 2000);
}

#[test]
fn procedures_hold() {
    hold("procedure", 200, 150);
}

#[test]
fn bases_hold() {
    hold("base", 80, 60);
}

#[test]
fn talks_hold() {
    hold("lsp", 60, 100);
}

#[test]
fn mends_hold() {
    hold("fix", 150, 150);
}

#[test]
fn comparisons_hold() {
    hold("compare", 100, 60);
}
