//! What `lint` and `compile` cost for bases of 100, 1,000 and 10,000 procedures, beside the least that any tool must do with the same
//! files (the floor), Hugo and markdownlint-cli2: CPU seconds and peak memory of whole processes, in one run, as a table.
//!
//! `cargo bench --bench site` (or `-- 1000`: bases of up to so many). Needs Hugo and Node with npm. Fails where a target is missed.
//! The bases are the demonstration's procedures, cases and figures over and over under new names.
#![allow(clippy::print_stdout, clippy::print_stderr, clippy::unwrap_used, clippy::disallowed_methods, missing_docs)]
#![allow(clippy::case_sensitive_file_extension_comparisons)]

mod child;
mod floor;
mod others;
mod repeated;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

use child::Cost;
use walkdir::WalkDir;

/// As in the program: the floor is measured with it as well.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The smallest site that a tool can make of a base: every file read and parsed, then as many files of as many bytes written.
fn floor(kb: &Path, sizes: &str, out: &Path) -> usize {
    let mut events = 0;
    for file in WalkDir::new(kb).into_iter().map(Result::unwrap).filter(|f| f.file_type().is_file()) {
        events += floor::events(&file.path().to_string_lossy(), &fs::read(file.path()).unwrap());
    }
    let files: Vec<(usize, &str)> =
        sizes.lines().map(|l| l.split_once(' ').unwrap()).map(|(size, path)| (size.parse().unwrap(), path)).collect();
    let bytes = vec![b' '; files.iter().map(|f| f.0).max().unwrap_or(0)];
    let mut made = std::collections::BTreeSet::new();
    for (size, path) in files {
        let to = out.join(path);
        let folder = to.parent().unwrap();
        if !made.contains(folder) {
            fs::create_dir_all(folder).unwrap();
            made.insert(folder.to_owned());
        }
        fs::write(&to, &bytes[..size]).unwrap();
    }
    events
}

/// What this program does when it starts itself, so that each piece of work is a process of its own.
fn errand(words: &[&str]) {
    match words {
        ["base", count, kb] => repeated::write(count.parse().unwrap(), Path::new(kb)),
        ["prose", kb, to] => others::write_prose(Path::new(kb), Path::new(to)),
        ["pages", site, to] => others::write_pages(Path::new(site), Path::new(to)),
        ["floor", kb, sizes, out] => {
            let sizes = if sizes.is_empty() { String::new() } else { fs::read_to_string(sizes).unwrap() };
            std::hint::black_box(floor(Path::new(kb), &sizes, Path::new(out)));
        }
        _ => panic!("no such errand: {words:?}"),
    }
}

fn myself(words: &[&str]) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.arg("errand").args(words);
    command
}

fn ruleout(word: &str, kb: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ruleout"));
    command.arg(word).arg(kb).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// Runs a command that must end with one of these codes.
fn run(command: &mut Command, fine: &[i32]) -> Cost {
    let cost = child::run(command).unwrap();
    assert!(cost.code.is_some_and(|code| fine.contains(&code)), "{command:?} ended with {:?}", cost.code);
    cost
}

/// The least CPU time and the highest peak of some rounds.
fn best(rounds: usize, mut work: impl FnMut() -> Cost) -> Cost {
    let first = work();
    (1..rounds).map(|_| work()).fold(first, |best, next| Cost {
        cpu: best.cpu.min(next.cpu),
        peak: best.peak.max(next.peak),
        code: next.code,
    })
}

/// A site on disk.
#[derive(Clone, Copy, Default)]
struct Size {
    files: usize,
    pages: usize,
    bytes: u64,
    search: u64,
    search_packed: u64,
}

/// Looks at a site, and lists its files with their sizes.
fn look(site: &Path, list: &Path) -> Size {
    let mut size = Size::default();
    let mut lines = String::new();
    for file in WalkDir::new(site).sort_by_file_name().into_iter().map(Result::unwrap) {
        if !file.file_type().is_file() {
            continue;
        }
        let bytes = file.metadata().unwrap().len();
        let path = file.path().strip_prefix(site).unwrap().to_string_lossy().into_owned();
        size.files += 1;
        size.bytes += bytes;
        size.pages += usize::from(path.ends_with(".html"));
        if path.starts_with("assets/search.") {
            let packed = Command::new("gzip").arg("-9").arg("-c").arg(file.path()).output().unwrap();
            (size.search, size.search_packed) = (bytes, packed.stdout.len() as u64);
        }
        lines.push_str(&format!("{bytes} {path}\n"));
    }
    fs::write(list, lines).unwrap();
    size
}

/// One base and all that was measured of it.
struct Row {
    count: usize,
    parse_floor: Cost,
    lint_quick: Cost,
    lint: Cost,
    site_floor: Cost,
    compile: Cost,
    again: Cost,
    compare: Cost,
    hugo: Cost,
    hugo_prose: Cost,
    markdownlint: Cost,
    site: Size,
    hugo_site: Size,
}

/// Folders that nothing was in: a file system is slow where much was deleted a moment ago, so all goes at the end.
struct Folders {
    root: PathBuf,
    made: std::cell::Cell<usize>,
}

impl Folders {
    fn next(&self) -> PathBuf {
        self.made.set(self.made.get() + 1);
        self.root.join(self.made.get().to_string())
    }
}

/// The same base with another share in one procedure; its other files are links.
fn changed(kb: &Path, to: &Path) -> PathBuf {
    for file in WalkDir::new(kb).into_iter().map(Result::unwrap) {
        let copy = to.join(file.path().strip_prefix(kb).unwrap());
        if file.file_type().is_dir() {
            fs::create_dir_all(copy).unwrap();
        } else if file.file_name() == "charge-lamp-on.md" {
            let text = fs::read_to_string(file.path()).unwrap();
            assert!(text.contains("share: 20\n"), "the share that changes");
            fs::write(copy, text.replacen("share: 20\n", "share: 30\n", 1)).unwrap();
        } else {
            fs::hard_link(file.path(), copy).unwrap();
        }
    }
    to.to_owned()
}

fn measure(count: usize, scratch: &Path, markdownlint: &Path) -> Row {
    let rounds = if count > 1_000 { 2 } else { 3 };
    let folders = Folders { root: scratch.join(count.to_string()), made: std::cell::Cell::new(0) };
    let text = |path: &Path| path.to_str().unwrap().to_owned();
    let (kb, list) = (folders.next(), scratch.join("list"));
    run(&mut myself(&["base", &count.to_string(), &text(&kb)]), &[0]);
    let shop = fs::read_to_string(kb.join("shop.yaml")).unwrap();
    assert!(!shop.contains("rules:"), "the bench writes `rules` itself");

    let compile_to = |out: &Path| run(ruleout("compile", &kb).arg("--out").arg(out), &[0]);
    let out = folders.next();
    compile_to(&out);
    let site = look(&out, &list);
    let (prose, pages) = (folders.next(), folders.next());
    run(&mut myself(&["prose", &text(&kb), &text(&prose)]), &[0]);
    run(&mut myself(&["pages", &text(&out), &text(&pages)]), &[0]);

    let floor = |list: &str| run(&mut myself(&["floor", &text(&kb), list, &text(&folders.next())]), &[0]);
    let parse_floor = best(rounds, || floor(""));
    let lint = best(rounds, || run(&mut ruleout("lint", &kb), &[0]));
    fs::write(kb.join("shop.yaml"), format!("{shop}rules: {{slow-order: off}}\n")).unwrap();
    let lint_quick = best(rounds, || run(&mut ruleout("lint", &kb), &[0]));
    fs::write(kb.join("shop.yaml"), &shop).unwrap();

    let site_floor = best(rounds, || floor(&text(&list)));
    let compile = best(rounds, || compile_to(&folders.next()));
    let again = best(rounds, || compile_to(&out));
    let compare = best(rounds, || run(ruleout("compare", &kb).arg(changed(&kb, &folders.next())), &[0]));
    let hugo_out = folders.next();
    let hugo = best(rounds, || run(&mut others::hugo(&pages, &folders.next()), &[0]));
    run(&mut others::hugo(&pages, &hugo_out), &[0]);
    let hugo_site = look(&hugo_out, &scratch.join("hugo-list"));
    let hugo_prose = best(rounds, || run(&mut others::hugo(&prose, &folders.next()), &[0]));
    // It ends with 1 where it has findings, with 2 where it could not run.
    let rounds = if count > 1_000 { 1 } else { 2 };
    let markdownlint = best(rounds, || run(&mut others::markdownlint(markdownlint, &kb), &[0, 1]));
    fs::remove_dir_all(&folders.root).unwrap();
    Row {
        count,
        parse_floor,
        lint_quick,
        lint,
        site_floor,
        compile,
        again,
        compare,
        hugo,
        hugo_prose,
        markdownlint,
        site,
        hugo_site,
    }
}

fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

fn seconds(cost: Cost) -> String {
    if cost.cpu < 10.0 { format!("{:.2} s", cost.cpu) } else { format!("{:.1} s", cost.cpu) }
}

fn times(cost: Cost, beside: Cost) -> String {
    format!("{:.2} ×", cost.cpu / beside.cpu)
}

fn beside(cost: Cost, floor: Cost) -> String {
    format!("{}, {}", seconds(cost), times(cost, floor))
}

fn held(cost: Cost) -> String {
    format!("{}, {} MB", seconds(cost), cost.peak)
}

fn megabytes(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

/// The table, in Markdown.
fn table(rows: &[Row]) {
    let line = |what: &str, cell: &dyn Fn(&Row) -> String, target: &str| {
        let cells: Vec<String> = rows.iter().map(cell).collect();
        println!("| {what} | {} | {target} |", cells.join(" | "));
    };
    line("procedures", &|r| grouped(r.count as u64), "target at 10,000");
    println!("|{}", " --- |".repeat(rows.len() + 2));
    line("floor of lint: read, parse YAML and Markdown", &|r| seconds(r.parse_floor), "");
    line("`lint` without *slow-order*, to its floor", &|r| beside(r.lint_quick, r.parse_floor), "at most 2 ×");
    line("`lint`, to its floor", &|r| beside(r.lint, r.parse_floor), "at most 2.6 ×");
    line("peak memory of `lint`", &|r| format!("{} MB", r.lint.peak), "at most 512 MB");
    line("floor of compile: the same, then write as many files and bytes", &|r| seconds(r.site_floor), "");
    line("`compile`, to its floor", &|r| beside(r.compile, r.site_floor), "at most 3 ×");
    line("peak memory of `compile`", &|r| format!("{} MB", r.compile.peak), "at most 512 MB");
    line("`compile` again, nothing changed", &|r| seconds(r.again), "");
    line("`compare` with a base in which one procedure changed", &|r| seconds(r.compare), "");
    line("Hugo on the site's pages as plain Markdown", &|r| held(r.hugo), "");
    line("Hugo to `compile`, CPU time", &|r| times(r.hugo, r.compile), "at least 2 ×");
    line(
        "Hugo to `compile`, memory",
        &|r| format!("{:.1} ×", r.hugo.peak as f64 / r.compile.peak as f64),
        "at least 4 ×",
    );
    line("Hugo on the authors' prose alone", &|r| held(r.hugo_prose), "");
    line("markdownlint-cli2 on the same files", &|r| held(r.markdownlint), "");
    line("markdownlint-cli2 to `lint`, CPU time", &|r| times(r.markdownlint, r.lint), "at least 20 ×");
    line("the site: pages", &|r| grouped(r.site.pages as u64), "");
    line("the site: files", &|r| format!("{}, {}", grouped(r.site.files as u64), megabytes(r.site.bytes)), "");
    line(
        "Hugo's site: pages",
        &|r| format!("{}, {}", grouped(r.hugo_site.pages as u64), megabytes(r.hugo_site.bytes)),
        "",
    );
    line(
        "search index, and compressed",
        &|r| format!("{}, {}", megabytes(r.site.search), megabytes(r.site.search_packed)),
        "",
    );
}

/// What misses its target in the base of 10,000.
fn missed(large: &Row, middle: Option<&Row>) -> Vec<String> {
    let mut missed = Vec::new();
    let mut most = |what: &str, found: f64, most: f64| {
        if found > most {
            missed.push(format!("{what}: {found:.2}, at most {most}"));
        }
    };
    most("lint without slow-order to its floor", large.lint_quick.cpu / large.parse_floor.cpu, 2.0);
    most("lint to its floor", large.lint.cpu / large.parse_floor.cpu, 2.6);
    most("compile to its floor", large.compile.cpu / large.site_floor.cpu, 3.0);
    most("compile to Hugo, CPU time", large.compile.cpu / large.hugo.cpu, 0.5);
    most("compile to Hugo, memory", large.compile.peak as f64 / large.hugo.peak as f64, 0.25);
    most("lint to markdownlint-cli2", large.lint.cpu / large.markdownlint.cpu, 0.05);
    most("peak memory of lint, MB", large.lint.peak as f64, 512.0);
    most("peak memory of compile, MB", large.compile.peak as f64, 512.0);
    if let Some(middle) = middle {
        most("growth of lint from 1,000 to 10,000", large.lint.cpu / middle.lint.cpu, 12.0);
        most("growth of compile from 1,000 to 10,000", large.compile.cpu / middle.compile.cpu, 12.0);
    }
    missed
}

fn bench(counts: &[usize]) -> Result<Vec<String>, String> {
    let hugo = others::find_hugo()?;
    let markdownlint: PathBuf = others::find_markdownlint()?;
    let scratch = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).map_err(|e| e.to_string())?;
    let mut rows = Vec::new();
    for count in counts {
        eprintln!("{count} procedures ...");
        rows.push(measure(*count, scratch.path(), &markdownlint));
    }
    println!("CPU seconds of whole processes, the least of two or three rounds; Hugo {hugo}\n");
    table(&rows);
    let of = |count: usize| rows.iter().find(|row| row.count == count);
    if let (Some(large), Some(middle)) = (of(10_000), of(1_000)) {
        let growth = |large: Cost, middle: Cost| large.cpu / middle.cpu;
        let (lint, compile) = (growth(large.lint, middle.lint), growth(large.compile, middle.compile));
        println!("\nfrom 1,000 to 10,000: lint {lint:.1} ×, compile {compile:.1} × (at most 12)");
    }
    Ok(of(10_000).map_or_else(Vec::new, |large| missed(large, of(1_000))))
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if let ["errand", rest @ ..] = words.as_slice() {
        errand(rest);
        return ExitCode::SUCCESS;
    }
    let most = words.first().map_or(10_000, |word| word.parse().unwrap());
    let counts: Vec<usize> = [100, 1_000, 10_000].into_iter().filter(|count| *count <= most).collect();
    match bench(&counts) {
        Ok(missed) if missed.is_empty() => ExitCode::SUCCESS,
        Ok(missed) => {
            eprintln!("\nmissed:\n  {}", missed.join("\n  "));
            ExitCode::FAILURE
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}
