//! What a save costs in the preview of a base of a thousand procedures: milliseconds from the save to the new page, and memory.
//!
//! `cargo bench --bench preview` (or `-- 200` for a smaller base). Fails past 150 ms (the median of the saves) or 300 MB.
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::disallowed_methods, missing_docs)]
#![allow(clippy::case_sensitive_file_extension_comparisons)]

mod repeated;
mod used;

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Command, Stdio};
use std::time::Instant;

fn get(port: u16, path: &str) -> String {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    let ask = format!("GET /{path} HTTP/1.1\r\nHost: localhost:{port}\r\nConnection: close\r\n\r\n");
    stream.write_all(ask.as_bytes()).unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    text
}

fn main() {
    let count = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(1_000);
    let scratch = tempfile::tempdir().unwrap();
    let kb = scratch.path().join("kb");
    repeated::write(count, &kb);
    let mut command = Command::new(env!("CARGO_BIN_EXE_ruleout"));
    let mut process = command.arg("preview").arg(&kb).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let start = Instant::now();
    let mut line = String::new();
    BufReader::new(process.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let port = line.trim().trim_end_matches('/').rsplit(':').next().and_then(|p| p.parse().ok()).unwrap();
    println!("{count} procedures: ready after {} ms", start.elapsed().as_millis());
    let page = "procedures/charge-lamp-on.html";
    get(port, page);
    let file = kb.join("procedures/charging/charge-lamp-on.md");
    let text = std::fs::read_to_string(&file).unwrap();
    let mut took = Vec::new();
    for generation in 1..=15 {
        let title = format!("Alternator does not deliver {generation}");
        let start = Instant::now();
        std::fs::write(&file, text.replace("Alternator does not deliver", &title)).unwrap();
        get(port, &format!("_preview/wait?after={generation}"));
        assert!(get(port, page).contains(&title), "the page is not the new one");
        took.push(start.elapsed().as_millis());
    }
    took.sort_unstable();
    let (median, peak) = (took[took.len() / 2], used::peak_of(process.id()));
    println!("a save shows after {median} ms (from {} to {}), {peak} MB at most", took[0], took[took.len() - 1]);
    process.kill().unwrap();
    process.wait().unwrap();
    assert!(median < 150 && peak <= 300, "past 150 ms or 300 MB");
}
