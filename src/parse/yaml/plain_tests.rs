//! The quick reader beside the scan for traps and the library: whatever it reads, they read alike and find no fault in.

use proptest::prelude::*;

use super::super::{any, scan::Place};
use super::*;
use crate::source::FileId;

fn place(text: &str) -> Place<'_> {
    Place { file: FileId(0), text, base: 7 }
}

/// Nothing where the quick reader gives up; else whether both say the same.
fn same(text: &str) -> Option<bool> {
    let quick = read(place(text))?;
    let (slow, problems) = any(place(text));
    Some(problems.is_empty() && slow.as_ref() == Some(&quick))
}

#[test]
fn reads_what_people_write() {
    for text in [
        "complaint: Red charge lamp stays lit\ncodes: [P0562, P0563]\nhazards: []\n",
        "# a comment\ncauses:\n  belt-slip: {title: \"Belt: loose\", share: 30}\n\n  cable:\n    title: 'a # b'\n",
        "a:\n  - {if: below 5 V, then: b}\n  # a comment: with anything\n  - if: at least -5 °C\n    then: c\nd:\n- e\n- f",
        "at: 12:30\nwhen: engine at 2000 rpm (warm), 20 °C\nnumber: 0451\n",
    ] {
        assert_eq!(same(text), Some(true), "{text}");
    }
}

#[test]
fn gives_up_at_anything_else() {
    for text in [
        "",
        "a",
        "a:",
        "- a",
        "a: b # c",
        "a: b: c",
        "a: b\n  c",
        "a: \"b\\n\"",
        "a: |\n  b",
        "a: 'b''c'",
        "a: b\na: c",
        "a: {b}",
        "a: {b:c}",
        "a: [b: c]",
        "a: {b: 1, b: 2}",
        "a: [b,]",
        "a: [b\n, c]",
        "a:\n\tb",
        "a: - 5",
        "a: > 5",
        "a: &b c",
        "a: *b",
        "a: “b”",
        "a: b\n---\nc: d",
        " a: b",
        "a: b\n b: c",
        "a:\nb: c",
        "if:in spec",
        "a: \u{a0}b",
        "? a",
        "a: ?",
        "a:\n  - b\n c: d",
        "a: {b: c} d",
        "a: \"b\" c",
    ] {
        assert_eq!(read(place(text)), None, "{text}");
    }
}

/// Pieces that files are made of, and pieces that trap.
fn pieces() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "a: b",
        "a:",
        "b: 5 V",
        "if: below 5 V",
        "- ",
        "- a",
        "- {if: a, then: b}",
        "{a: b}",
        "[a, b]",
        "[]",
        "{}",
        "\"a\"",
        "'a'",
        "'",
        "\"",
        "\n",
        "\n",
        "\n",
        "\n  ",
        "\n  ",
        "\n    ",
        "\n- ",
        "\n  - ",
        " ",
        "  ",
        ":",
        ": ",
        ",",
        ", ",
        "#",
        " #",
        " # a",
        "\n# a",
        "\t",
        "\r\n",
        "-",
        "--- ",
        "\n---",
        "...",
        "°",
        "Ω",
        "“",
        "”",
        "\u{a0}",
        "|",
        ">",
        "&",
        "*",
        "!",
        "%",
        "@",
        "`",
        "?",
        "\\",
        "{",
        "}",
        "[",
        "]",
        "c",
        "12:30",
        "-5",
        "- 5",
        "(a)",
        "a b",
        "then: c",
        "1e3",
        "~",
        "é",
        "\u{85}",
        "\u{2028}",
        "\u{7}",
    ]);
    prop::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat())
}

/// Writes files of the kind that people write, from a run of numbers that say what comes next.
struct Writer(std::vec::IntoIter<u8>);

impl Writer {
    fn pick<'a>(&mut self, from: &[&'a str]) -> &'a str {
        from[usize::from(self.0.next().unwrap_or(0)) % from.len()]
    }

    fn plain(&mut self) -> &'static str {
        self.pick(&[
            "a",
            "5 V",
            "below -5 °C",
            "12:30",
            "two  words",
            "(x)",
            "-5 Ω",
            "it's",
            "a – b",
            "x/y%",
            "0451",
            "say \"no\"",
        ])
    }

    fn short(&mut self, depth: usize) -> String {
        let form = self.pick(&["plain", "plain", "double", "single", "map", "list", "none"]);
        match form {
            "double" => self.pick(&["\"a: b\"", "\"\"", "\"it's # {x}\""]).to_owned(),
            "single" => self.pick(&["'a: b'", "''", "'a, b'"]).to_owned(),
            "map" if depth < 3 => format!("{{a: {}, b c: {} }}", self.short(depth + 1), self.short(depth + 1)),
            "list" if depth < 3 => format!("[{}, {}]", self.short(depth + 1), self.short(depth + 1)),
            "none" => self.pick(&["[]", "{}", "[ ]"]).to_owned(),
            _ => self.pick(&["a", "5 V", "-5 Ω", "(x)", "it's", "a – b"]).to_owned(),
        }
    }

    fn between(&mut self, out: &mut String) {
        out.push_str(self.pick(&["", "", "", "", "\n", "# note: x\n", "     # note\n", "  \n"]));
    }

    fn map(&mut self, indent: usize, depth: usize, first: &str, out: &mut String) {
        for (n, key) in ["a", "dc voltage", "x-1", "c"].into_iter().enumerate() {
            if n > 0 {
                self.between(out);
            }
            let lead = if n == 0 { first.to_owned() } else { " ".repeat(indent) };
            match self.pick(&["plain", "short", "map", "list", "list", "end"]) {
                "short" => out.push_str(&format!("{lead}{key}:  {}\n", self.short(0))),
                "map" if depth < 3 => {
                    out.push_str(&format!("{lead}{key}:\n"));
                    self.between(out);
                    let deeper = indent + self.pick(&["1", "2", "4"]).len() + depth;
                    self.map(deeper, depth + 1, &" ".repeat(deeper), out);
                }
                "list" if depth < 3 => {
                    out.push_str(&format!("{lead}{key}:\n"));
                    self.between(out);
                    let deeper = indent + self.pick(&["", "--", "-"]).len();
                    self.list(deeper, depth + 1, out);
                }
                "end" if n > 0 => return,
                _ => {
                    let end = self.pick(&["\n", "\n", "  \n"]);
                    out.push_str(&format!("{lead}{key}: {}{end}", self.plain()));
                }
            }
        }
    }

    fn list(&mut self, indent: usize, depth: usize, out: &mut String) {
        for _ in 0..=self.pick(&["", "1", "22"]).len() {
            let dash = format!("{}- ", " ".repeat(indent));
            match self.pick(&["plain", "short", "map"]) {
                "map" => self.map(indent + 2, depth, &dash, out),
                "short" => out.push_str(&format!("{dash}{}\n", self.short(0))),
                _ => out.push_str(&format!("{dash}{}\n", self.pick(&["a", "5 V", "it's", "two  words", "a, b"]))),
            }
            self.between(out);
        }
    }
}

/// Such a file, now and then with a piece thrown in or without its last sign.
fn files() -> impl Strategy<Value = String> {
    let numbers = prop::collection::vec(proptest::prelude::any::<u8>(), 0..120);
    let thrown = proptest::option::weighted(0.4, (proptest::prelude::any::<prop::sample::Index>(), pieces()));
    (numbers, thrown).prop_map(|(numbers, thrown)| {
        let mut text = String::new();
        Writer(numbers.into_iter()).map(0, 0, "", &mut text);
        if let Some((at, piece)) = thrown {
            let at = at.index(text.len());
            if text.is_char_boundary(at) {
                text.insert_str(at, &piece);
            } else {
                text.pop();
            }
        }
        text
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]
    #[test]
    fn what_it_reads_the_library_reads_alike(text in prop_oneof![1 => pieces(), 3 => files()]) {
        prop_assert_ne!(same(&text), Some(false));
    }
}

/// Every file of the demonstration, whole and with each of its bytes in turn made something else.
#[test]
#[allow(clippy::disallowed_methods, reason = "a test reads its data")]
fn the_demonstration_is_read_alike() {
    let kb = concat!(env!("CARGO_MANIFEST_DIR"), "/kb");
    let (mut read, mut all) = (0, 0);
    for entry in walkdir::WalkDir::new(kb).sort_by_file_name().into_iter().flatten() {
        let Ok(text) = std::fs::read_to_string(entry.path()) else { continue };
        let yaml = match text.strip_prefix("---\n").and_then(|t| t.split_once("\n---\n")) {
            Some((yaml, _)) => yaml,
            None if entry.path().extension().is_some_and(|e| e == "yaml") => &text,
            None => continue,
        };
        all += yaml.len();
        match same(yaml) {
            Some(true) => read += yaml.len(),
            Some(false) => panic!("{} is read otherwise", entry.path().display()),
            None => {}
        }
        for (n, sign) in "\n #:,-\"'{}[]\t&x".chars().cycle().take(yaml.len()).enumerate().step_by(97) {
            if yaml.is_char_boundary(n) {
                let (before, after) = yaml.split_at(n);
                let text = format!("{before}{sign}{after}");
                assert_ne!(same(&text), Some(false), "{}: {sign:?} at {n}", entry.path().display());
            }
        }
    }
    // Else the quick way is hardly ever taken.
    assert!(read * 10 > all * 9, "{read} of {all} bytes");
}
