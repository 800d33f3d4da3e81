//! The handbook's examples and commands, and what it must speak of.
//!
//! In: the pages of `templates/handbook`. Out: every example is as sound, or as faulty, as the page shows it; every command prints
//! what the page shows; every key of the language and every page of the handbook is spoken of.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::process::Command;

use ruleout::parse::keys::ALL;
use ruleout::plan::{CHAPTERS, Chapter};

use crate::literate::{Example, examples};

fn each(mut one: impl FnMut(&Chapter, &mut String)) {
    let mut text = String::new();
    for chapter in CHAPTERS {
        one(chapter, &mut text);
    }
    assert!(text.is_empty(), "{text}");
}

/// The rules that an example shows: the others' notes are not its subject.
fn named(example: &Example) -> Vec<&str> {
    example.expected.iter().map(|e| e.rule.as_str()).collect()
}

#[test]
fn every_example_is_what_the_page_says() {
    each(|chapter, text| {
        for example in examples(chapter.text) {
            let differences = example.differences(&named(&example));
            if !differences.is_empty() {
                let _ = writeln!(text, "{}.md, ## {}:\n{differences}", chapter.id, example.title);
            }
        }
    });
}

#[test]
fn every_sound_example_becomes_a_site() {
    each(|chapter, text| {
        for example in examples(chapter.text).iter().filter(|e| e.expected.is_empty()) {
            let files = example.base(&[]).into_iter().map(|(path, text)| (path, text.into_bytes()));
            let memory: ruleout::load::Memory = files.collect();
            let linted = ruleout::lint(&memory).unwrap();
            if let Err(message) = ruleout::site::make(&memory, &linted, &|_, _| Ok(())) {
                let _ = writeln!(text, "{}.md, ## {}: {message}", chapter.id, example.title);
            }
        }
    });
}

/// The sections of a page; a heading inside an example is none.
fn sections(text: &str) -> Vec<String> {
    let mut sections = vec![String::new()];
    let mut inside = false;
    for line in text.split_inclusive('\n') {
        inside ^= line.starts_with("````");
        if !inside && line.starts_with("## ") {
            sections.push(String::new());
        }
        sections.last_mut().unwrap().push_str(line);
    }
    sections
}

/// The commands of a section with the output that the page shows: `$ ruleout lint` and the lines below it.
fn sessions(section: &str) -> Vec<(String, String)> {
    let mut sessions: Vec<(String, String)> = Vec::new();
    let mut lines = section.lines();
    while let Some(line) = lines.next() {
        if line != "```terminal" {
            continue;
        }
        for line in lines.by_ref().take_while(|line| *line != "```") {
            match (line.strip_prefix("$ "), sessions.last_mut()) {
                (Some(command), _) => sessions.push((command.to_owned(), String::new())),
                (None, Some((_, shown))) => {
                    shown.push_str(line);
                    shown.push('\n');
                }
                (None, None) => panic!("a terminal that does not begin with a command: {line}"),
            }
        }
    }
    sessions
}

/// Runs a command in the folder of a base; standard output and standard error, one after the other.
fn run(command: &str, folder: &std::path::Path) -> String {
    let words = shlex(command);
    let (program, arguments) = words.split_first().unwrap();
    assert_eq!(program, "ruleout", "only our own program is run: {command}");
    let output = Command::new(env!("CARGO_BIN_EXE_ruleout"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    format!("{}{}", String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap())
}

/// Words of a command; quoted ones hold spaces.
fn shlex(command: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quote = None;
    for letter in command.chars() {
        match (letter, quote) {
            ('"' | '\'', None) => quote = Some(letter),
            (_, Some(open)) if letter == open => quote = None,
            (' ', None) => words.push(String::new()),
            _ => words.last_mut().unwrap().push(letter),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

#[test]
fn every_command_prints_what_the_page_shows() {
    let mut ran = 0;
    each(|chapter, text| {
        for section in sections(chapter.text) {
            let sessions = sessions(&section);
            if sessions.is_empty() {
                continue;
            }
            let found = examples(&section);
            let example = found.first().unwrap_or_else(|| panic!("{}.md: a command without an example", chapter.id));
            let folder = tempfile::tempdir().unwrap();
            for (path, text) in example.base(&named(example)) {
                let path = folder.path().join(path);
                std::fs::create_dir_all(path.parent().unwrap()).unwrap();
                std::fs::write(path, text).unwrap();
            }
            for (command, shown) in sessions {
                ran += 1;
                let printed = run(&command, folder.path());
                if printed.trim() != shown.trim() {
                    let title = &example.title;
                    let _ = writeln!(text, "{}.md, ## {title}: `{command}` prints\n{printed}\n", chapter.id);
                }
            }
        }
    });
    assert!(ran > 0, "no command is shown");
}

/// The words that a page sets as code: `share`, `codes: clear`, `[](spec:...)`.
fn code_spans(text: &str) -> Vec<String> {
    let code = |event| match event {
        pulldown_cmark::Event::Code(code) => Some(code.into_string()),
        _ => None,
    };
    pulldown_cmark::Parser::new(text).filter_map(code).collect()
}

#[test]
fn every_key_is_spoken_of() {
    let taught = CHAPTERS.iter().filter(|chapter| chapter.id != "keys");
    let spoken: BTreeSet<String> = taught
        .flat_map(|chapter| code_spans(chapter.text))
        .map(|span| span.split_once(':').map_or(span.as_str(), |(key, _)| key).to_owned())
        .collect();
    let missing: BTreeSet<&str> =
        ALL.iter().flat_map(|keys| keys.keys).map(|key| key.name).filter(|name| !spoken.contains(*name)).collect();
    assert!(missing.is_empty(), "no page but `keys` speaks of {missing:?}");
}

#[test]
fn every_page_is_in_the_list_and_begins_well() {
    let kept: BTreeSet<String> = std::fs::read_dir("templates/handbook")
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    let listed: BTreeSet<String> = CHAPTERS.iter().map(|chapter| chapter.id.to_owned()).collect();
    assert_eq!(kept, listed);
    for chapter in CHAPTERS {
        assert_ne!(chapter.title(), chapter.id, "a title in the first line");
        let summary = chapter.summary();
        assert!(summary.len() > 20 && summary.len() < 300 && !summary.contains('`'), "{}: {summary}", chapter.id);
    }
}

#[test]
fn every_link_leads_somewhere() {
    let pages: BTreeSet<&str> = CHAPTERS.iter().map(|chapter| chapter.id).collect();
    each(|chapter, text| {
        for event in pulldown_cmark::Parser::new(chapter.text) {
            let pulldown_cmark::Event::Start(pulldown_cmark::Tag::Link { dest_url, .. }) = event else { continue };
            let known = match dest_url.strip_prefix("../rules/").and_then(|rest| rest.strip_suffix(".html")) {
                Some(rule) => ruleout::check::RULES.iter().any(|r| r.name == rule),
                None => dest_url.strip_suffix(".html").is_some_and(|id| pages.contains(id)),
            };
            if !known {
                let _ = writeln!(text, "{}.md: a link to {dest_url}", chapter.id);
            }
        }
    });
}

#[test]
fn every_page_leads_on_and_back() {
    let memory = ruleout::load::Memory::from_iter([("procedures/hum.md", "---\ncomplaint: Hums\n---\n")]);
    let linted = ruleout::lint(&memory).unwrap();
    let made = std::sync::Mutex::new(std::collections::BTreeMap::new());
    ruleout::site::make(&memory, &linted, &|address, bytes| {
        made.lock().unwrap().insert(address.to_owned(), String::from_utf8_lossy(bytes).into_owned());
        Ok(())
    })
    .unwrap();
    let made = made.into_inner().unwrap();
    for pair in CHAPTERS.windows(2) {
        for (on, to, heading) in [(&pair[0], &pair[1], "Read on"), (&pair[1], &pair[0], "Go back")] {
            let page = &made[&format!("writing/{}.html", on.id)];
            let below = page.split(&format!(">{heading}<")).nth(1).unwrap_or_else(|| panic!("{}: no {heading}", on.id));
            let first = below.split("href=\"").nth(1).and_then(|rest| rest.split('"').next());
            assert_eq!(first, Some(format!("../writing/{}.html", to.id).as_str()), "{}: {heading}", on.id);
        }
    }
}
