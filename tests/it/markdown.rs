//! The words of a file: what is a section, where each thing stands, and that no text is too odd to be read.

use proptest::prelude::*;
use ruleout::parse::markdown::{Body, parse};
use ruleout::parse::{front_matter, yaml};
use ruleout::source::{FileId, Span};

const FRONT: &str = "---\ntitle: µ\n---\n";

/// Reads Markdown behind front matter, so that a span that counts from the wrong place is seen.
fn read(words: &str) -> (String, Body) {
    let text = format!("{FRONT}{words}");
    let split = front_matter::split(FileId(0), &text);
    assert_eq!(split.body, FRONT.len()..text.len());
    let body = parse(FileId(0), &text, split.body);
    (text, body)
}

fn at(text: &str, span: Span) -> &str {
    &text[span.start as usize..span.end as usize]
}

/// Level, id, title and content of each section.
fn sections(words: &str) -> Vec<(u8, String, String, String)> {
    let (text, body) = read(words);
    let of = |s: &ruleout::model::Section| {
        if let Some(id) = &s.id {
            assert_eq!(at(&text, id.span), id.value, "the place of an id");
        }
        let id = s.id.as_ref().map_or_else(String::new, |id| id.value.clone());
        (s.level, id, s.title.clone(), at(&text, s.content).trim().to_owned())
    };
    body.sections.iter().map(of).collect()
}

fn section(level: u8, id: &str, title: &str, content: &str) -> (u8, String, String, String) {
    (level, id.into(), title.into(), content.into())
}

#[test]
fn a_section_ends_at_the_next_of_its_level_or_a_higher_one() {
    let words = "# Title\n\nIntro.\n\n## A {#a}\n\none\n\n### B {#b}\n\ntwo\n\n#### C\n\nthree\n\n### D\n\nfour\n\n# E\n\nfive\n\n## F\n";
    assert_eq!(
        sections(words),
        [
            section(1, "", "Title", "Intro."),
            section(2, "a", "A", "one\n\n### B {#b}\n\ntwo\n\n#### C\n\nthree\n\n### D\n\nfour"),
            section(3, "b", "B", "two\n\n#### C\n\nthree"),
            section(4, "", "C", "three"),
            section(3, "", "D", "four"),
            section(1, "", "E", "five"),
            section(2, "", "F", ""),
        ]
    );
    let (text, body) = read(words);
    assert_eq!(at(&text, body.intro), "# Title\n\nIntro.\n\n");
    assert_eq!(body.title.as_deref(), Some("Title"));
    assert_eq!(at(&text, body.sections[1].heading), "## A {#a}");
}

#[test]
fn words_without_a_heading_are_the_introduction() {
    let (text, body) = read("One.\r\n\r\nTwo.\r\n");
    assert_eq!(at(&text, body.intro), "One.\r\n\r\nTwo.\r\n");
    assert!(body.sections.is_empty() && body.title.is_none());
}

#[test]
fn ids_stand_in_braces_at_the_end_of_a_heading() {
    let of = |words: &str| sections(words).remove(0);
    assert_eq!(of("## Feed at pin 3 {#feed}\n"), section(2, "feed", "Feed at pin 3", ""));
    assert_eq!(of("## Feed {#feed} \r\nx\r\n"), section(2, "feed", "Feed", "x"));
    assert_eq!(of("## Feed {.wide #feed}\n"), section(2, "feed", "Feed", ""));
    assert_eq!(of("## {#feed} at {#feed}\n"), section(2, "feed", "{#feed} at", ""));
    assert_eq!(of("## Write `{#feed}`\n"), section(2, "", "Write {#feed}", ""));
    assert_eq!(of("## Write `{#coil}` {#feed}\n"), section(2, "feed", "Write {#coil}", ""));
    assert_eq!(of("## µΩ and *30 Ω* {#coil} ##\n").2.split(' ').next(), Some("µΩ"));
    assert_eq!(of("## The [fan](x.md) {#fan}\n"), section(2, "fan", "The fan", ""));
    assert_eq!(of("Two\nlines {#two}\n---\n\nx\n"), section(2, "two", "Two lines", "x"));
    assert_eq!(of("One {#one}\n===\n"), section(1, "one", "One", ""));
}

#[test]
fn what_only_looks_like_a_heading_begins_no_section() {
    for words in [
        "> ## Quoted {#a}\n>\n> x\n",
        "- ## Item {#a}\n\n  x\n",
        "1. x\n\n   ## Item {#a}\n",
        "```\n## Code {#a}\n```\n",
        "    ## Code {#a}\n",
        "\\## Text {#a}\n",
        "##No space {#a}\n",
        "<!--\n## Comment {#a}\n-->\n",
    ] {
        assert_eq!(sections(words), [], "{words:?}");
        assert_eq!(sections(&format!("{words}\n## Real {{#r}}\n\nx\n")), [section(2, "r", "Real", "x")], "{words:?}");
    }
}

/// Text, destination, the place of the destination, the whole link, and whether it is a picture.
fn links(words: &str) -> Vec<(String, String, String, String, bool)> {
    let (text, body) = read(words);
    let own = |span| at(&text, span).to_owned();
    let of = |l: &ruleout::parse::markdown::Link| {
        (l.text.clone(), l.to.value.clone(), own(l.to.span), own(l.span), l.is_image)
    };
    body.links.iter().map(of).collect()
}

fn link(text: &str, to: &str, place: &str, whole: &str, image: bool) -> (String, String, String, String, bool) {
    (text.into(), to.into(), place.into(), whole.into(), image)
}

#[test]
fn links_and_pictures_have_exact_places() {
    let one = |words: &str| {
        let mut all = links(words);
        assert_eq!(all.len(), 1, "{words:?}");
        all.remove(0)
    };
    assert_eq!(one("µ [a *b*\nc](x.md#y)\n"), link("a b c", "x.md#y", "x.md#y", "[a *b*\nc](x.md#y)", false));
    assert_eq!(one("[](spec:v)\n"), link("", "spec:v", "spec:v", "[](spec:v)", false));
    assert_eq!(one("![the cap](cap.svg)\n"), link("the cap", "cap.svg", "cap.svg", "![the cap](cap.svg)", true));
    assert_eq!(one("[`](`](x)\n").2, "x");
    assert_eq!(
        one("<https://x.invalid>\n"),
        link("https://x.invalid", "https://x.invalid", "https://x.invalid", "<https://x.invalid>", false)
    );
    assert_eq!(
        one("<a@b.invalid>\n"),
        link("a@b.invalid", "mailto:a@b.invalid", "a@b.invalid", "<a@b.invalid>", false)
    );
    assert_eq!(one("[a](< b c.md>)\n").1, " b c.md");
    assert_eq!(one("[a]( <b c.md> )\n").2, "b c.md");
    // The same letters in the text and in the title: the place is the destination's.
    let (text, body) = read("[b.md](b.md \"b.md\")\n");
    assert_eq!(body.links[0].to.span.start as usize, FRONT.len() + "[b.md](".len());
    assert_eq!(at(&text, body.links[0].to.span), "b.md");
    // With an escape there is no such place: the whole link stands for it.
    assert_eq!(one("[a](b\\_c.md)\n"), link("a", "b_c.md", "[a](b\\_c.md)", "[a](b\\_c.md)", false));
    let both = links("[![alt](fig.svg) more](page.md)\n");
    assert_eq!(both[0], link("alt", "fig.svg", "fig.svg", "![alt](fig.svg)", true));
    assert_eq!(both[1], link("alt more", "page.md", "page.md", "[![alt](fig.svg) more](page.md)", false));
}

#[test]
fn a_link_by_reference_leads_where_its_definition_says() {
    let of = |words: &str| {
        let (text, body) = read(words);
        let to = &body.links[0].to;
        assert_eq!(at(&text, to.span), to.value);
        (to.value.clone(), to.span.start as usize - FRONT.len())
    };
    assert_eq!(of("[a][r]\n\n[r]: b.md \"t\"\n"), ("b.md".into(), 13));
    assert_eq!(of("[r][]\n\n[r]: <b.md>\n"), ("b.md".into(), 13));
    assert_eq!(of("[R]\n\n[r]: b.md\n"), ("b.md".into(), 10));
    assert!(links("[a][nowhere]\n").is_empty());
    assert!(links("`[a](b.md)`\n").is_empty());
}

#[test]
fn raw_html_is_found_where_it_stands() {
    let html = |words: &str| {
        let (text, body) = read(words);
        body.raw_html.iter().map(|s| at(&text, *s).trim().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(html("a <b>c</b> `<i>`\n"), ["<b>", "</b>"]);
    assert_eq!(html("x\n\n<div>\n<p>\n</div>\n\ny\n"), ["<div>\n<p>\n</div>"]);
    assert!(html("`<b>` 3 < 5, a \\<b>\n\n    <b>\n").is_empty());
}

#[test]
fn nesting_and_length_are_read_in_no_time() {
    let start = crate::clock::worked();
    for words in [
        "![a".repeat(20_000) + &"](x)".repeat(20_000),
        "[a](x)".repeat(50_000),
        "## A {#a}\n\n### B\n\n".repeat(20_000),
        "> ".repeat(2_000) + "## A",
        "[r]: x\n".repeat(20_000) + &"[r] ".repeat(20_000),
    ] {
        read(&words);
    }
    let took = crate::clock::worked().saturating_sub(start);
    assert!(took.as_secs() < 20, "{took:?}");
}

fn inside(text: &str, span: Span) -> bool {
    text.get(span.start as usize..span.end as usize).is_some()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever a file holds: nothing panics, and each place lies inside the text, between whole characters.
    #[test]
    fn any_text_is_read_and_each_place_lies_in_it(
        pieces in prop::collection::vec(
            prop_oneof![
                prop::sample::select(vec![
                    "---\n", "---", "\n", "\r\n", "\r", "\u{feff}", "## ", "# ", "{#a}", "{#µ .b}", "[a](", ")", "![", "](", "]: ", "][r]",
                    "<b>", "<https://µ.x>", "> ", "- ", "  ", "\t", "`", "\\", "a: ", "{", "}", ",", "\"", "'", "|\n", "=", "é", "Ω", "\u{a0}",
                    "“", "#", " #x", "*", "&", "!", "%", "?", "- - ", "< 5 V", "12,4", "\u{85}", "\u{2028}", "🔧", "\u{0}",
                ]).prop_map(str::to_owned),
                "\\PC{0,4}",
                any::<char>().prop_map(String::from),
            ],
            0..40,
        )
    ) {
        let text = pieces.concat();
        let split = front_matter::split(FileId(0), &text);
        for problem in &split.problems {
            prop_assert!(inside(&text, problem.span));
            prop_assert!(problem.labels.iter().all(|(span, _)| inside(&text, *span)));
        }
        for range in split.yaml.iter().cloned().chain(std::iter::once(0..text.len())) {
            let (tree, problems) = yaml::parse(FileId(0), &text[range.clone()], range.start);
            for problem in &problems {
                let edits = problem.mend.iter().flat_map(|(_, edits)| edits.iter().map(|(span, _)| *span));
                for span in problem.labels.iter().map(|(span, _)| *span).chain(edits).chain([problem.span]) {
                    prop_assert!(inside(&text, span), "{:?} {}", span, problem.message);
                }
            }
            let mut open: Vec<&yaml::Node> = tree.iter().collect();
            while let Some(node) = open.pop() {
                prop_assert!(inside(&text, node.span));
                prop_assert!(node.entries().iter().all(|e| inside(&text, e.key.span)));
                open.extend(node.entries().iter().map(|e| &e.value));
                if let yaml::Kind::List(items) = &node.kind {
                    open.extend(items);
                }
            }
        }
        for range in [split.body, 0..text.len()] {
            let body = parse(FileId(0), &text, range);
            let mut spans = vec![body.range, body.intro];
            spans.extend(&body.raw_html);
            spans.extend(body.links.iter().flat_map(|l| [l.span, l.to.span]));
            for section in &body.sections {
                spans.extend([section.heading, section.content]);
                spans.extend(section.id.as_ref().map(|id| id.span));
            }
            for span in spans {
                prop_assert!(inside(&text, span), "{:?}", span);
            }
        }
    }
}
