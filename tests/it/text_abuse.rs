//! Any text at all: the readers of one file's text never panic, point inside the file, and stay quick.
//!
//! The oracle is the definition of a span: two byte offsets of the file, in order, each between two characters.

use std::time::Duration;

use proptest::prelude::*;
use ruleout::parse::problem::Problem;
use ruleout::parse::{front_matter, markdown, yaml};
use ruleout::source::{FileId, Span};

use crate::clock::worked;

const FILE: FileId = FileId(0);

/// What meets in real files: signs of YAML and Markdown, keys of the language, letters of one to four bytes.
const BITS: &[&str] = &[
    "\n",
    "\r\n",
    " ",
    "  ",
    "    ",
    "\t",
    "\u{a0}",
    "- ",
    "-",
    ": ",
    ":",
    ", ",
    ",",
    "{",
    "}",
    "[",
    "]",
    "\"",
    "'",
    "#",
    " #",
    "# ",
    "## ",
    "{#a}",
    "|",
    "|\n",
    ">",
    ">-\n",
    "> ",
    ">=",
    "?",
    "? ",
    "!",
    "&",
    "*",
    "**",
    "%",
    "@",
    "`",
    "\\",
    "\\n",
    "\\\"",
    "“",
    "”",
    "‘",
    "’",
    "„",
    "≥",
    "--- ",
    "---",
    "---\n",
    "...\n",
    "if",
    "if:",
    "then: ",
    "steps:\n",
    "note: ",
    "a: ",
    "b:\n",
    "x",
    "é",
    "µΩ",
    "你好",
    "🔧",
    "12,4 V",
    "1,250",
    "- 20 °C",
    "<b>",
    "<!--",
    "-->",
    "](",
    "![",
    "<a@b.invalid>",
    "(spec:x)",
    "| a | b |\n|---|---|\n",
    "\u{feff}",
    "\u{85}",
    "\u{2028}",
    "\u{0}",
    "~~~\n",
    "&amp;",
];

/// A sound file, to be broken in one place: so that most of what is read becomes a tree.
const SOUND: &str = "complaint: Lamp stays dark, 12 µV\nalso: [battery light, \"a, b\"]\ncauses:\n  belt: {title: 'Belt – loose', share: 30}\n\
    steps:\n  feed:\n    measure: feed-voltage\n    undo: |\n      Plug in 你好.\n      Close.\n    results:\n      - {if: in spec, then: look}\n      \
    - if: below 12.4 V or\n          above 20 °C\n        shows: belt\n---\n# Dark lamp\n\nSee [cap](../systems/a.md#é).\n\n## Feed {#feed}\n\n![µ](figures/a.svg)\n";

fn typed() -> impl Strategy<Value = String> {
    let place = || any::<proptest::sample::Index>();
    let sound =
        (place(), 0..3_usize, proptest::sample::select(BITS), 1..SOUND.len()).prop_map(|(at, gone, bit, cut)| {
            let mut text: Vec<char> = SOUND.chars().collect();
            let at = at.index(text.len());
            text.splice(at..(at + gone).min(text.len()), bit.chars());
            text.truncate(if cut % 4 == 0 { cut } else { text.len() });
            text.into_iter().collect::<String>()
        });
    prop_oneof![
        4 => sound.clone(),
        2 => sound.prop_map(|text| text.split("---\n").next().unwrap_or_default().to_owned()),
        4 => proptest::collection::vec(proptest::sample::select(BITS), 0..40).prop_map(|bits| bits.concat()),
        1 => any::<String>(),
    ]
}

/// Whether a span is two offsets of the text, in order, each between two characters.
fn stands(text: &str, span: Span) -> bool {
    text.get(span.start as usize..span.end as usize).is_some()
}

fn told_well(text: &str, problems: &[Problem]) -> Result<(), TestCaseError> {
    for p in problems {
        prop_assert!(stands(text, p.span), "{:?} of {:?} in {text:?}", p.span, p.message);
        prop_assert!(!p.message.contains('\n'), "{:?} in {text:?}", p.message);
        for (span, label) in &p.labels {
            prop_assert!(stands(text, *span), "label {label:?} at {span:?} in {text:?}");
        }
        let mut done = 0;
        for (span, _) in p.mend.iter().flat_map(|(_, edits)| edits) {
            prop_assert!(stands(text, *span) && span.start >= done, "mend of {:?} at {span:?} in {text:?}", p.message);
            done = span.end;
        }
    }
    Ok(())
}

fn tree_stands(text: &str, node: &yaml::Node) -> Result<(), TestCaseError> {
    prop_assert!(stands(text, node.span), "{:?} in {text:?}", node);
    prop_assert!(stands(text, node.part(0, node.as_text().map_or(0, str::len))), "part of {node:?} in {text:?}");
    let items = if let yaml::Kind::List(items) = &node.kind { items.as_slice() } else { &[] };
    for child in items.iter().chain(node.entries().iter().map(|e| &e.value)) {
        tree_stands(text, child)?;
    }
    for entry in node.entries() {
        prop_assert!(stands(text, entry.key.span), "key {:?} in {text:?}", entry.key);
    }
    Ok(())
}

/// One stored text through one reader, so that a failure names what was typed.
fn yaml_stands(text: &str, above: &str) -> Result<(), TestCaseError> {
    let whole = format!("{above}{text}");
    let (tree, problems) = yaml::parse(FILE, text, above.len());
    told_well(&whole, &problems)?;
    tree.iter().try_for_each(|tree| tree_stands(&whole, tree))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_yaml_is_read_or_told_inside_the_file(text in typed(), above in prop_oneof![Just(""), Just("---\n")]) {
        yaml_stands(&text, above)?;
    }

    #[test]
    fn any_file_is_split_between_characters(text in typed()) {
        let split = front_matter::split(FILE, &text);
        told_well(&text, &split.problems)?;
        prop_assert!(text.get(split.body.clone()).is_some(), "{split:?} of {text:?}");
        if let Some(yaml) = split.yaml {
            prop_assert!(text.get(yaml.clone()).is_some() && yaml.end <= split.body.start, "{yaml:?} of {text:?}");
        }
    }

    #[test]
    fn any_words_are_read_inside_the_file(text in typed(), above in prop_oneof![Just(""), Just("---\na: µ\n---\n")]) {
        let whole = format!("{above}{text}");
        let body = markdown::parse(FILE, &whole, above.len()..whole.len());
        let sections = body.sections.iter().flat_map(|s| [s.heading, s.content].into_iter().chain(s.id.as_ref().map(|i| i.span)));
        let links = body.links.iter().flat_map(|l| [l.span, l.to.span]);
        for span in [body.range, body.intro].into_iter().chain(sections).chain(links).chain(body.raw_html.iter().copied()) {
            prop_assert!(stands(&whole, span) && span.start as usize >= above.len(), "{span:?} in {whole:?}");
        }
        for id in body.sections.iter().filter_map(|s| s.id.as_ref()) {
            prop_assert_eq!(&whole[id.span.start as usize..id.span.end as usize], id.value.as_str(), "{:?}", whole);
        }
    }
}

#[test]
fn the_first_of_two_keys_is_told_by_its_line_in_the_file() {
    let told = |text: &str, base: usize| yaml::parse(FILE, text, base).1.remove(0).message;
    assert_eq!(told("a: b\nc: d\n\nc: e\n", 0), "key `c` is written twice (first on line 2)");
    assert_eq!(told("\u{feff}a: b\nc: d\n\nc: e\n", 0), "key `c` is written twice (first on line 2)");
    assert_eq!(told("a: b\nc: d\n\nc: e\n", "---\n".len()), "key `c` is written twice (first on line 3)");
    assert_eq!(told("a: b\nc: d\n\nc: e\n", "\u{feff}---\r\n".len()), "key `c` is written twice (first on line 3)");
}

/// Texts of half a megabyte that a reader which looks back or ahead at every place would need minutes for.
#[test]
fn time_grows_with_the_text_and_no_faster() {
    let n = 500_000;
    let fill = |bit: &str| bit.repeat(n / bit.len());
    let texts = [
        ("duplicates", (0..2).flat_map(|_| (0..30_000).map(|i| format!("k{i}: v\n"))).collect()),
        ("duplicates in one line", format!("r: {{{}}}", fill("a: b, "))),
        ("curly quotes in one line", format!("r: [{}]", fill("“a”, "))),
        ("curly quotes that nothing closes", format!("r: [{}]", fill("“a, "))),
        ("fragments", format!("r: {{if: x, {}}}", fill("y, "))),
        ("commas missing", format!("r: {{{}}}", fill("if: a then: b, "))),
        ("hashes", fill("- a #b\n")),
        ("quotes", fill("- \"a\" b\n")),
        ("quotes never closed", fill("- \"a\n")),
        ("brackets never closed", fill("- [a\n")),
        ("brackets in a text", fill("- [a] b\n")),
        ("backslashes", format!("a: \"{}\"", fill("\\x"))),
        ("colons", format!("a: {}", fill("b: "))),
        ("colons and words", fill("a: b: c\n")),
        ("dashes", format!("a:\n  {}", fill("- "))),
        ("deeper and deeper", (0..900).flat_map(|i| [" ".repeat(i), "a:\n".to_owned()]).collect()),
        ("block texts", fill("- |\n  a\n")),
        ("a long text", format!("a:\n{}", fill("  b c\n"))),
        ("empty lines", format!("a: b{}c: d", fill("\n"))),
        ("wide letters", fill("- µΩ\n")),
        ("tabs", fill("\ta: b\n")),
        ("no-break spaces", fill("\u{a0}a:\u{a0}b\n")),
        ("questions", fill("? a\n")),
        ("anchors", fill("a: &b c\n")),
    ];
    let limit = Duration::from_secs(10);
    for (name, text) in texts {
        let start = worked();
        let _ = yaml::parse(FILE, &text, 0);
        let took = worked().saturating_sub(start);
        assert!(took < limit, "yaml, {name}: {took:?}");
    }
    for (name, bit) in [
        ("headings", "## a {#a}\n"),
        ("deep headings", "#### a\n"),
        ("links", "[a](b) "),
        ("openings", "![a"),
        ("html", "<b>"),
        ("comments", "<!-- "),
        ("tables", "| a | b |\n|---|---|\n"),
        ("quotes", "> "),
        ("stars", "*a_"),
    ] {
        let start = worked();
        let text = fill(bit);
        let _ = markdown::parse(FILE, &text, 0..text.len());
        let _ = front_matter::split(FILE, &format!("---\n{text}"));
        let took = worked().saturating_sub(start);
        assert!(took < limit, "words, {name}: {took:?}");
    }
}
