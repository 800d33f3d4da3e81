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

/// How often everything is measured.
const ROUNDS: usize = 3;

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

impl Cost {
    /// The least CPU time and the highest peak of two rounds.
    fn or(self, next: Self) -> Self {
        Self { cpu: self.cpu.min(next.cpu), peak: self.peak.max(next.peak), code: next.code }
    }
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

/// What one round measures, or the least of some rounds.
#[derive(Clone, Copy)]
struct Costs {
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
}

impl Costs {
    fn or(self, next: Self) -> Self {
        Self {
            parse_floor: self.parse_floor.or(next.parse_floor),
            lint_quick: self.lint_quick.or(next.lint_quick),
            lint: self.lint.or(next.lint),
            site_floor: self.site_floor.or(next.site_floor),
            compile: self.compile.or(next.compile),
            again: self.again.or(next.again),
            compare: self.compare.or(next.compare),
            hugo: self.hugo.or(next.hugo),
            hugo_prose: self.hugo_prose.or(next.hugo_prose),
            markdownlint: self.markdownlint.or(next.markdownlint),
        }
    }
}

/// One base and all that was measured of it.
struct Row {
    count: usize,
    costs: Costs,
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
    let hugo_out = folders.next();
    run(&mut others::hugo(&pages, &hugo_out), &[0]);
    let hugo_site = look(&hugo_out, &scratch.join("hugo-list"));
    // All in turns: a machine that others slow down for a while slows each of them down.
    let round = || Costs {
        parse_floor: floor(""),
        lint: run(&mut ruleout("lint", &kb), &[0]),
        lint_quick: {
            fs::write(kb.join("shop.yaml"), format!("{shop}rules: {{slow-order: off}}\n")).unwrap();
            let cost = run(&mut ruleout("lint", &kb), &[0]);
            fs::write(kb.join("shop.yaml"), &shop).unwrap();
            cost
        },
        site_floor: floor(&text(&list)),
        compile: compile_to(&folders.next()),
        again: compile_to(&out),
        compare: run(ruleout("compare", &kb).arg(changed(&kb, &folders.next())), &[0]),
        hugo: run(&mut others::hugo(&pages, &folders.next()), &[0]),
        hugo_prose: run(&mut others::hugo(&prose, &folders.next()), &[0]),
        // It ends with 1 where it has findings, with 2 where it could not run.
        markdownlint: run(&mut others::markdownlint(markdownlint, &kb), &[0, 1]),
    };
    let costs = (1..ROUNDS).fold(round(), |least, _| least.or(round()));
    fs::remove_dir_all(&folders.root).unwrap();
    Row { count, costs, site, hugo_site }
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
    line("floor of lint: read, parse YAML and Markdown", &|r| seconds(r.costs.parse_floor), "");
    line(
        "`lint` without *slow-order*, to its floor",
        &|r| beside(r.costs.lint_quick, r.costs.parse_floor),
        "at most 2 ×",
    );
    line("`lint`, to its floor", &|r| beside(r.costs.lint, r.costs.parse_floor), "at most 2.6 ×");
    line("peak memory of `lint`", &|r| format!("{} MB", r.costs.lint.peak), "at most 512 MB");
    line("floor of compile: the same, then write as many files and bytes", &|r| seconds(r.costs.site_floor), "");
    line("`compile`, to its floor", &|r| beside(r.costs.compile, r.costs.site_floor), "at most 3 ×");
    line("peak memory of `compile`", &|r| format!("{} MB", r.costs.compile.peak), "at most 512 MB");
    line("`compile` again, nothing changed", &|r| seconds(r.costs.again), "");
    line("`compare` with a base in which one procedure changed", &|r| seconds(r.costs.compare), "");
    line("Hugo on the site's pages as plain Markdown", &|r| held(r.costs.hugo), "");
    line("Hugo to `compile`, CPU time", &|r| times(r.costs.hugo, r.costs.compile), "at least 2 ×");
    line(
        "Hugo to `compile`, memory",
        &|r| format!("{:.1} ×", r.costs.hugo.peak as f64 / r.costs.compile.peak as f64),
        "at least 4 ×",
    );
    line("Hugo on the authors' prose alone", &|r| held(r.costs.hugo_prose), "");
    line("markdownlint-cli2 on the same files", &|r| held(r.costs.markdownlint), "");
    line("markdownlint-cli2 to `lint`, CPU time", &|r| times(r.costs.markdownlint, r.costs.lint), "at least 20 ×");
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
    most("lint without slow-order to its floor", large.costs.lint_quick.cpu / large.costs.parse_floor.cpu, 2.0);
    most("lint to its floor", large.costs.lint.cpu / large.costs.parse_floor.cpu, 2.6);
    most("compile to its floor", large.costs.compile.cpu / large.costs.site_floor.cpu, 3.0);
    most("compile to Hugo, CPU time", large.costs.compile.cpu / large.costs.hugo.cpu, 0.5);
    most("compile to Hugo, memory", large.costs.compile.peak as f64 / large.costs.hugo.peak as f64, 0.25);
    most("lint to markdownlint-cli2", large.costs.lint.cpu / large.costs.markdownlint.cpu, 0.05);
    most("peak memory of lint, MB", large.costs.lint.peak as f64, 512.0);
    most("peak memory of compile, MB", large.costs.compile.peak as f64, 512.0);
    if let Some(middle) = middle {
        most("growth of lint from 1,000 to 10,000", large.costs.lint.cpu / middle.costs.lint.cpu, 12.0);
        most("growth of compile from 1,000 to 10,000", large.costs.compile.cpu / middle.costs.compile.cpu, 12.0);
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
    println!("CPU seconds of whole processes, the least of {ROUNDS} rounds; Hugo {hugo}\n");
    table(&rows);
    let of = |count: usize| rows.iter().find(|row| row.count == count);
    if let (Some(large), Some(middle)) = (of(10_000), of(1_000)) {
        let growth = |large: Cost, middle: Cost| large.cpu / middle.cpu;
        let (lint, compile) =
            (growth(large.costs.lint, middle.costs.lint), growth(large.costs.compile, middle.costs.compile));
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
