//! The three formats, as their readers see them.

use ruleout::compare::{json, markdown, text};

use super::base::{Base, PROCEDURE, base, compared};

/// A little of everything, with author text that would break a table.
pub fn edited() -> (Base, Base) {
    let mut new = base();
    let mut put = |path: &str, from: &str, to: &str| {
        let file = new.iter_mut().find(|(p, _)| p == path).unwrap();
        assert!(file.1.contains(from), "{from}");
        file.1 = file.1.replacen(from, to, 1);
    };
    put(PROCEDURE, "share: 50", "share: 60");
    put(PROCEDURE, "{if: loose, shows: belt-slip}", "{if: \"loose | `off` <b> @all #1\", shows: belt-slip}");
    put(PROCEDURE, "{if: above spec, shows: cable}", "{if: above spec, found: cable}");
    put(PROCEDURE, "{if: below spec, then: drop}", "{if: below spec, then: field}");
    put("specs/charging.yaml", "13.9 to 14.7 V", "13.8 to 14.7 V");
    put("hazards.yaml", "text: No sparks", "text: \"[No](https://x.invalid) sparks\\n| a | b |\"");
    put("cases/2031-001.yaml", "cause: cable", "cause: cable\nnote: words");
    new.push((
        "procedures/b.md".into(),
        "---\ncomplaint: B\ncauses: {x: {title: X}}\nsteps: {s: {observe: S, results: [{if: y, shows: x}]}}\n---\n"
            .into(),
    ));
    let mut old = base();
    old.push((
        "procedures/a.md".into(),
        "---\ncomplaint: A\ncauses: {q: {title: Q}}\nsteps: {r: {observe: R, results: [{if: w, shows: q}]}}\n---\n"
            .into(),
    ));
    old.push(("procedures/was-called.md".into(), renamed()));
    new.push(("procedures/is-called.md".into(), renamed()));
    (old, new)
}

fn renamed() -> String {
    "---\ncomplaint: C\ncauses: {u: {title: U}}\nsteps: {t: {observe: T, results: [{if: v, shows: u}]}}\n---\n".into()
}

#[test]
fn text_markdown_and_json_look_as_before() {
    let (old, new) = edited();
    let comparison = compared(&old, &new);
    insta::assert_snapshot!("compare_text", text::render(&comparison));
    insta::assert_snapshot!("compare_markdown", markdown::render(&comparison));
    insta::assert_snapshot!("compare_json", json::render(&comparison).replace(env!("CARGO_PKG_VERSION"), "VERSION"));
    let again = compared(&old, &new);
    assert_eq!(text::render(&comparison), text::render(&again), "the same words every time");
}

/// Read by a Markdown reader, every table row has the cells of its head, and nothing that an author wrote is more than text.
#[test]
fn author_text_cannot_break_a_table() {
    use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
    let (old, new) = edited();
    let drawn = markdown::render(&compared(&old, &new));
    let (mut width, mut cells, mut tables, mut said) = (0, 0, 0, String::new());
    for event in Parser::new_ext(&drawn, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH) {
        match event {
            Event::Start(Tag::Table(columns)) => (width, tables) = (columns.len(), tables + 1),
            Event::Start(Tag::TableCell) => cells += 1,
            Event::End(TagEnd::TableHead | TagEnd::TableRow) => {
                assert_eq!(cells, width, "{drawn}");
                cells = 0;
            }
            Event::Text(text) => said.push_str(&text),
            Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::Emphasis | Tag::Strong | Tag::CodeBlock(_)) => {
                panic!("author text became more than text: {drawn}")
            }
            Event::Code(_) | Event::Html(_) | Event::InlineHtml(_) => {
                panic!("author text became code or HTML: {drawn}")
            }
            _ => {}
        }
    }
    assert!(tables >= 3, "{drawn}");
    assert!(
        said.contains("loose | `off` <b> @all #1") && said.contains("[No](https://x.invalid) sparks | a | b |"),
        "{said}"
    );
}
