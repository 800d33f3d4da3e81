//! What lint costs beside just reading and parsing the same files, in one run: CPU seconds of the whole process, without the rule
//! slow-order and with it.
//!
//! `cargo bench --bench lint` (or `-- 1000` for bases of up to so many procedures; `-- 1000 FOLDER` writes that base for a profiler). The bases are the demonstration's procedures and
//! cases over and over under new names; then the worst procedures that we could construct, and what the limit of states does to them.
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::disallowed_methods, missing_docs)]
#![allow(clippy::format_collect, clippy::case_sensitive_file_extension_comparisons)]

mod floor;
mod repeated;
mod used;

use std::hint::black_box;
use std::path::Path;

use repeated::repeated;
use ruleout::load::{Files, Memory};
use ruleout::pipeline::Linted;
use used::{cpu, peak_of};

/// As in the program: the floor is measured with it as well.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = cpu();
    let value = work();
    (cpu() - start, value)
}

/// YAML events and Markdown events of every file, nothing else.
fn floor(base: &Memory) -> usize {
    base.list().unwrap().iter().map(|path| floor::events(path, &base.read(path).unwrap())).sum()
}

/// CPU seconds of lint with slow-order turned off, and as it stands: the least of three rounds, one after the other by turns.
fn lint_both(base: &mut Memory) -> (f64, f64, Linted) {
    let (mut off, mut on, mut linted) = round(base);
    for _ in 0..2 {
        let (again_off, again_on, again) = round(base);
        (off, on, linted) = (off.min(again_off), on.min(again_on), again);
    }
    (off, on, linted)
}

fn round(base: &mut Memory) -> (f64, f64, Linted) {
    let shop = base.read("shop.yaml").map(|bytes| String::from_utf8(bytes).unwrap()).unwrap_or_default();
    assert!(!shop.contains("rules:"), "the bench writes `rules` itself");
    base.set("shop.yaml", format!("{shop}rules: {{slow-order: off}}\n").into_bytes());
    let (off, _) = timed(|| ruleout::lint(base).unwrap());
    base.set("shop.yaml", shop.into_bytes());
    let (on, linted) = timed(|| ruleout::lint(base).unwrap());
    (off, on, linted)
}

fn sizes(most: usize) {
    println!("CPU seconds; `ratio` is to the floor, `adds` what slow-order adds to lint without it");
    println!(
        "{:>10} {:>9} {:>9} {:>6} {:>16} {:>6} {:>6} {:>8}",
        "procedures", "floor", "lint", "ratio", "with slow-order", "ratio", "adds", "peak MB"
    );
    for count in [40, 100, 1_000, 10_000].into_iter().filter(|c| *c <= most) {
        let mut base = repeated(count);
        let (floor, events) = timed(|| self::floor(&base));
        black_box(events);
        let (off, on, linted) = lint_both(&mut base);
        assert_eq!(linted.report.summary.errors, 0, "the base has errors");
        println!(
            "{count:>10} {floor:>9.3} {off:>9.3} {:>6.2} {on:>16.3} {:>6.2} {:>4.0} % {:>8}",
            off / floor,
            on / floor,
            (on / off - 1.0) * 100.0,
            peak_of(std::process::id())
        );
    }
}

/// One procedure: what it costs, and how many ways were followed where the limit stopped that.
fn worst(name: &str, base: &mut Memory) {
    let (off, on, linted) = lint_both(base);
    let report = linted.report;
    let stopped = report.findings.iter().find_map(|f| f.message.split_once("each: ").map(|(_, rest)| rest.to_owned()));
    println!(
        "{name:<58} {off:>8.3} s {on:>8.3} s  {:>6} MB  {} errors {} warnings{}",
        peak_of(std::process::id()),
        report.summary.errors,
        report.summary.warnings,
        stopped.map_or_else(String::new, |s| format!("; {s}"))
    );
}

fn one(name: &str, text: String) {
    let mut base = Memory::default();
    base.set("vehicles.yaml", "v0: {groups: [all-of-them]}\n");
    base.set("procedures/worst.md", text);
    worst(name, &mut base);
}

fn head() -> String {
    "---\ncomplaint: x\ncauses:\n  c0: {title: a}\n  c1: {title: b}\nsteps:\n".to_owned()
}

/// A long procedure as people write them: each test clears nothing twice, and leads on.
fn long(steps: usize) -> String {
    let mut text = head();
    for n in 0..steps {
        let next = if n + 1 == steps { "found: [c0, c1]".to_owned() } else { format!("then: s{}", n + 1) };
        text.push_str(&format!(
            "  s{n}:\n    measure: {{quantity: dc voltage, at: p{n}}}\n    minutes: 2\n    results:\n      - {{if: below 5 V, refer: x}}\n      - {{if: at least 5 V, {next}}}\n"
        ));
    }
    text + "---\n"
}

/// Independent readings that all matter at the end: every combination is a state of its own.
fn independent(facts: usize) -> String {
    let mut text = head();
    for n in 0..2 * facts {
        let (at, next) =
            (n % facts, if n + 1 == 2 * facts { "refer: x".to_owned() } else { format!("then: s{}", n + 1) });
        let last = if n + 1 == 2 * facts { "unproven: x".to_owned() } else { next.clone() };
        text.push_str(&format!(
            "  s{n}:\n    measure: reading-{at}\n    results:\n      - {{if: below 5 V, {next}}}\n      - {{if: at least 5 V, {last}}}\n"
        ));
    }
    text + "---\n"
}

fn independent_base(facts: usize) {
    let mut base = Memory::default();
    let specs: String = (0..facts)
        .map(|n| format!("reading-{n}: {{quantity: dc voltage, value: at least 5 V, source: x}}\n"))
        .collect();
    base.set("specs/a.yaml", specs);
    base.set("procedures/worst.md", independent(facts));
    worst(&format!("{facts} readings that all matter later"), &mut base);
}

/// One step with very many results.
fn fan(results: usize) -> String {
    let mut text = head() + "  s0:\n    measure: {quantity: resistance, at: p}\n    results:\n";
    for n in 0..results {
        text.push_str(&format!("      - {{if: {n} Ω to below {} Ω, refer: x}}\n", n + 1));
    }
    text.push_str(&format!("      - {{if: at least {results} Ω, refer: x}}\n"));
    text + "---\n"
}

fn many_vehicles(vehicles: usize) {
    let mut base = Memory::default();
    base.set("vehicles.yaml", (0..vehicles).map(|n| format!("v{n}: {{title: V}}\n")).collect::<String>());
    let values: String =
        (0..vehicles).map(|n| format!("    v{n}: at least {}.{:02} V\n", 5 + n / 100, n % 100)).collect();
    base.set("specs/a.yaml", format!("a:\n  quantity: dc voltage\n  source: x\n  values:\n{values}"));
    let mut text = head();
    for n in 0..20 {
        let next = if n == 19 { "refer: x".to_owned() } else { format!("then: s{}", n + 1) };
        text.push_str(&format!(
            "  s{n}:\n    measure: a\n    changes: [a]\n    results:\n      - {{if: in spec, {next}}}\n      - {{if: below spec, refer: x}}\n"
        ));
    }
    base.set("procedures/worst.md", text + "---\n");
    worst(&format!("20 steps on {vehicles} vehicles with limits of their own"), &mut base);
}

/// A fan of ways that all come together again, over and over: every result clears a cause of its own.
fn braid(rounds: usize, strands: usize) -> String {
    let causes: String = (0..rounds * strands).map(|n| format!("  c{n}: {{title: C{n}}}\n")).collect();
    let mut text = format!("---\ncomplaint: x\ncauses:\n{causes}steps:\n");
    for n in 0..rounds {
        let next = if n + 1 == rounds { "refer: x".to_owned() } else { format!("then: s{}", n + 1) };
        text.push_str(&format!("  s{n}:\n    observe: look {n}\n    minutes: 2\n    results:\n"));
        for strand in 0..strands {
            text.push_str(&format!("      - {{if: l{strand}, clears: [c{}], {next}}}\n", n * strands + strand));
        }
    }
    text + "---\n"
}

/// Checks of single causes in the worst order there is: the dearest and unlikeliest first.
fn checks(count: usize) -> String {
    let causes: String = (0..count).map(|n| format!("  c{n}: {{title: C{n}, share: {}}}\n", n + 1)).collect();
    let mut text = format!("---\ncomplaint: x\ncauses:\n{causes}steps:\n");
    for n in 0..count - 1 {
        let next = if n + 2 == count { format!("found: c{}", n + 1) } else { format!("then: s{}", n + 1) };
        text.push_str(&format!(
            "  s{n}:\n    observe: look {n}\n    minutes: {}\n    results:\n      - {{if: bad, shows: c{n}}}\n      - {{if: good, clears: [c{n}], {next}}}\n",
            count - n
        ));
    }
    text + "---\n"
}

fn main() {
    let mut words = std::env::args().skip(1).filter(|a| a != "--bench");
    let most = words.next().map_or(10_000, |a| a.parse().unwrap());
    if let Some(folder) = words.next() {
        return repeated::write(most, Path::new(&folder));
    }
    sizes(most);
    println!("\nworst procedures: CPU seconds without slow-order and with it");
    one("500 steps in a row", long(500));
    one("2,000 steps in a row", long(2_000));
    one("a test with 2,000 results", fan(2_000));
    many_vehicles(200);
    for facts in [10, 16, 24, 40] {
        independent_base(facts);
    }
    one("8 looks with 4 results that each clear a cause", braid(8, 4));
    one("12 looks with 10 results that each clear a cause", braid(12, 10));
    one("12 checks, the dearest first", checks(12));
    one("40 checks, the dearest first", checks(40));
    one("120 checks, the dearest first", checks(120));
}
