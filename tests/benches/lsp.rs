//! What a key costs the language server in a base of a thousand procedures: the real program over pipes, from the change to its
//! diagnostics, with the server's CPU time and memory.
//!
//! `cargo bench --bench lsp` (or `-- 200` for a smaller base). Fails where a key in an open procedure takes 100 ms or more (95 of 100
//! keys) or the server more than 300 MB.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    missing_docs
)]

mod child;
#[allow(dead_code, reason = "the tests say more to it")]
#[path = "../it/lsp/client.rs"]
mod client;
mod repeated;
mod used;

use std::time::Instant;

use client::Client;
/// A place in a file where somebody types: what stands there, and the keys that come in its stead.
struct Place {
    path: &'static str,
    /// The text before what is typed.
    before: &'static str,
    /// What stands there, and is typed again letter by letter.
    words: &'static str,
}

const PROCEDURE: &[Place] = &[
    Place { path: LAMP, before: "clears: [belt-slip]\n        then: ", words: "charging-voltage" },
    Place { path: LAMP, before: "    measure: ", words: "charging-voltage" },
    Place { path: LAMP, before: "        shows: ", words: "belt-slip" },
    Place { path: LAMP, before: "      - if: ", words: "in spec" },
];

const TABLE: &[Place] = &[Place {
    path: "specs/charging.yaml",
    before: "charging-voltage:\n  title: Charging voltage\n  quantity: ",
    words: "dc voltage",
}];

const LAMP: &str = "procedures/charging/charge-lamp-on.md";

/// Milliseconds from each key to the diagnostics that it changed.
fn type_at(client: &mut Client, place: &Place, took: &mut Vec<f64>) {
    let text = client.read(place.path);
    let at = text.find(&format!("{}{}", place.before, place.words)).expect("the place") + place.before.len();
    let (head, tail) = (&text[..at], &text[at + place.words.len()..]);
    // A space at the end changes nothing, so nothing is told of it.
    for keys in (1..place.words.len()).filter(|keys| !place.words[..*keys].ends_with(' ')) {
        let start = Instant::now();
        client.change(place.path, &format!("{head}{}{tail}", &place.words[..keys]));
        client.diagnostics(place.path);
        took.push(start.elapsed().as_secs_f64() * 1e3);
    }
    client.change(place.path, &text);
    client.diagnostics(place.path);
}

/// Each place three times over: the median and the 95th of 100, with the CPU milliseconds of a key.
fn measure(client: &mut Client, places: &[Place]) -> (f64, f64, f64) {
    let before = child::cpu_of(client.process());
    let mut took = Vec::new();
    for _ in 0..3 {
        for place in places {
            type_at(client, place, &mut took);
        }
    }
    let cpu = (child::cpu_of(client.process()) - before) * 1e3 / took.len() as f64;
    took.sort_by(f64::total_cmp);
    println!("{} keys, the slowest {:.0} ms", took.len(), took[took.len() - 1]);
    (took[took.len() / 2], took[took.len() * 95 / 100], cpu)
}

fn main() {
    let count = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(1_000);
    let folder = tempfile::tempdir().unwrap();
    repeated::write(count, folder.path());

    let start = Instant::now();
    let mut client = Client::open(folder);
    for path in [LAMP, TABLE[0].path] {
        client.open_file(path);
    }
    let mut first = Vec::new();
    type_at(&mut client, &PROCEDURE[0], &mut first);
    println!("{count} procedures: the first diagnostics after {} ms", start.elapsed().as_millis());
    let (median, slow, cpu) = measure(&mut client, PROCEDURE);
    println!("a key in an open procedure: {median:.0} ms, 95 of 100 within {slow:.0} ms, {cpu:.0} ms of CPU");
    let (table_median, table_slow, table_cpu) = measure(&mut client, TABLE);
    println!(
        "a key in a table of values: {table_median:.0} ms, 95 of 100 within {table_slow:.0} ms, {table_cpu:.0} ms of CPU"
    );
    let peak = used::peak_of(client.process());
    println!("{peak} MB at most");
    client.shut_down();
    assert!(slow < 100.0 && peak <= 300, "past 100 ms or 300 MB");
}
