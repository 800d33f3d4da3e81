//! Every line of the design's list of YAML traps: what is typed, what is said, where it points, and that the mend reads.

use ruleout::parse::problem::Problem;
use ruleout::parse::yaml;
use ruleout::source::FileId;

struct Trap {
    typed: &'static str,
    says: &'static str,
    at: &'static str,
    fixable: bool,
}

const fn trap(typed: &'static str, says: &'static str, at: &'static str) -> Trap {
    Trap { typed, says, at, fixable: false }
}

const fn fixable(typed: &'static str, says: &'static str, at: &'static str) -> Trap {
    Trap { typed, says, at, fixable: true }
}

const TRAPS: &[Trap] = &[
    trap("note: Check injector #2 first", "cut at ` #`", "#2 first"),
    trap("r:\n  - {if: loose, glazed or oily, shows: x}", "a comma ends the text here", ","),
    fixable("c: {title: Worn, cracked, or loose}", "a comma ends the text here", ","),
    trap("r:\n  - {if: below 12,4 V}", "decimal comma", ","),
    trap("p: {price: 1,250}", "between thousands", ","),
    trap("r:\n  - {if:in spec, then: x}", "a space is missing after `if:`", "if:"),
    trap("r:\n  -{if: a}", "a space is missing after `-`", "-"),
    trap("r:\n  - if:in spec\n    then: x", "a space is missing after `if:`", "if:"),
    trap("note: !danger hot", "starts with `!` needs quotes", "!"),
    trap("note: &c", "starts with `&` needs quotes", "&"),
    trap("note: *c", "starts with `*` needs quotes", "*"),
    trap("steps:\n  a: {do: x}\n  b: {do: y}\n  a: {do: z}", "step `a` is written twice (first on line 2)", "a"),
    fixable("note:\u{a0}hot", "no-break space", "\u{a0}"),
    fixable("a:\n \u{a0}b: c", "no-break space", "\u{a0}"),
    fixable("r:\n  - {if: “loose, worn”, then: x}", "curly quotes", "“"),
    fixable("note: “loose belt”", "curly quotes", "“"),
    trap("note:\nother: x", "nothing stands after `note:`", "note"),
    trap("r: {note:, then: x}", "nothing stands after `note:`", "note"),
    fixable("r:\n  - if: > 90 ohm\n    then: x", "found the sign `>`", ">"),
    fixable("r:\n  - if: >=5 V\n    then: x", "found the sign `>=`", ">="),
    fixable("r:\n  - {if: > 90 ohm, then: x}", "found the sign `>`", ">"),
    trap("t: - 20 °C", "a space stands after the minus", "- "),
    trap("r:\n  - {if: - 20 °C, then: x}", "a space stands after the minus", "- "),
    trap("complaint: Engine cranks: no start", "a colon and a space stand inside a text", ":"),
    trap(
        "complaint: Engine cranks\n  slowly: no start\nalso: x",
        "a colon and a space stand in a text that begins on the line before",
        ":",
    ),
    trap("values:\n  12-volt: ?", "found `?`", "?"),
    trap("note: % of full", "starts with `%` needs quotes", "%"),
    trap("note: @pin 3", "starts with `@` needs quotes", "@"),
    trap("note: `code`", "starts with ``` needs quotes", "`"),
    trap("note: **Danger** hot", "starts with `*` needs quotes", "*"),
    trap("note: [pin 3] to ground", "starts with `[` needs quotes", "["),
    trap("note: {key} on", "starts with `{` needs quotes", "{"),
    trap("note: > see below", "starts with `>` needs quotes", ">"),
    trap("{\"if:in spec\", then: x}", "nothing stands after", "\"if:in spec\""),
    trap("r: {x: !say \"hi\" twice}", "starts with `!` needs quotes", "!"),
    trap("r: {x: @a\\b}", "starts with `@` needs quotes", "@"),
    trap("note: | left", "starts with `|` needs quotes", "|"),
    trap("r:\n  - {note: see [cap](#cap)}", "", ""),
    trap("r:\n  - {if: cylinder #2, then: x}", "cut at ` #`", "#2"),
    trap("complaint: \"Lamp\" stays lit", "closing quote comes too early", "\""),
    trap("complaint: 'Driver's side'", "closing quote comes too early", "'"),
    trap("note: \"3/8\" hose\"", "closing quote comes too early", "\""),
    trap(r#"figure: "pics\cap.png""#, "a backslash in double quotes", "\\c"),
    trap(r#"figure: "pics\new.png""#, "a backslash in double quotes", "\\n"),
    trap(r#"figure: "pics\bench.png""#, "a backslash in double quotes", "\\b"),
    trap("r:\n  - {if: in spec then: x}", "a comma is missing before `then`", "then"),
    trap("a: {b: c\nd: e", "`{` is never closed", "{"),
    trap("a: [b, c\nd: e", "`[` is never closed", "["),
    trap("a: \"b\nc: d", "`\"` is never closed", "\""),
    trap("after-repair: confirm: [x]", "`confirm` stands on the line of `after-repair`", "confirm:"),
    fixable("a:\n\tb: c", "a tab stands in the indent", "\t"),
    fixable("a:\tb", "a tab stands after `a:`", "\t"),
    trap("a: b\n: c", "nothing stands before the colon", ":"),
    trap("a: b\n---\nc: d", "a second document", "-"),
];

/// Read well, with these values kept as text.
const FINE: &[(&str, &str)] = &[
    ("\u{feff}a: b", "b"),
    ("a: b\r\nc: d\r\n", "b"),
    ("a: 3:1", "3:1"),
    ("a: 0:30", "0:30"),
    ("a: pin#4", "pin#4"),
    ("a: a & b", "a & b"),
    ("a: https://example.invalid/x#b", "https://example.invalid/x#b"),
    ("a: b # a comment", "b"),
    ("a: yes", "yes"),
    ("a: no", "no"),
    ("a: on", "on"),
    ("a: null", "null"),
    ("a: ~", "~"),
    ("a: 0451", "0451"),
    ("a: 1:30", "1:30"),
    ("a: 1e3", "1e3"),
    ("a: \"loose, worn\"", "loose, worn"),
    ("a: -20 °C", "-20 °C"),
    ("a: >\n  folded\n  text\n", "folded text\n"),
    ("a: it's tight", "it's tight"),
    ("a: “loose” belt", "“loose” belt"),
    ("{b: “loose” belt, a: c}", "c"),
    ("{a: > see below}", "> see below"),
    ("{a: “loose” belt}", "“loose” belt"),
    ("a: 5 > 3", "5 > 3"),
];

fn read(text: &str) -> (Option<yaml::Node>, Vec<Problem>) {
    yaml::parse(FileId(0), text, 0)
}

fn place<'t>(text: &'t str, problem: &Problem) -> &'t str {
    &text[problem.span.start as usize..problem.span.end as usize]
}

#[test]
fn each_trap_is_told_once_at_its_place() {
    let mut wrong = Vec::new();
    for t in TRAPS {
        let (_, problems) = read(t.typed);
        let told: Vec<String> = problems.iter().map(|p| format!("{} @ {:?}", p.message, place(t.typed, p))).collect();
        let good = problems.len() == 1
            && problems[0].message.contains(t.says)
            && (t.at.is_empty() || place(t.typed, &problems[0]) == t.at)
            && !problems[0].help.is_empty();
        if !good {
            wrong.push(format!("{:?}\n    wanted {} @ {:?}\n    told {told:#?}", t.typed, t.says, t.at));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), TRAPS.len(), wrong.join("\n"));
}

#[test]
fn each_mend_reads_without_a_problem() {
    for t in TRAPS {
        let (_, problems) = read(t.typed);
        let mend = problems.first().and_then(|p| p.mend.clone());
        assert!(mend.is_some() || !t.fixable, "{:?} has no mend", t.typed);
        let Some((_, edits)) = mend else { continue };
        let mut text = t.typed.to_owned();
        for (span, new) in edits.iter().rev() {
            text.replace_range(span.start as usize..span.end as usize, new);
        }
        let (tree, left) = read(&text);
        assert!(tree.is_some() && left.is_empty(), "{:?} mended to {text:?}: {left:?}", t.typed);
    }
}

#[test]
fn what_is_fine_is_kept_as_text() {
    for (text, value) in FINE {
        let (tree, problems) = read(text);
        assert!(problems.is_empty(), "{text:?}: {problems:?}");
        let tree = tree.unwrap();
        assert_eq!(tree.get("a").and_then(yaml::Node::as_text), Some(*value), "{text:?}");
    }
}

#[test]
fn several_traps_are_told_each() {
    let text = "note: *a\nother: @b\nmore: \"x\\y\"\n";
    assert_eq!(read(text).1.len(), 3, "{:?}", read(text).1);
}

#[test]
fn abuse_is_one_problem_and_quick() {
    for text in
        ["{".repeat(100_000), "- ".repeat(100_000), "[".repeat(100_000), "a: &x b\nc: *x\n".into(), "a\u{0}b".into()]
    {
        let (tree, problems) = read(&text);
        assert!(tree.is_none(), "{}", &text[..10]);
        assert!(!problems.is_empty() && problems.len() <= 2, "{}: {problems:?}", &text[..10]);
    }
    let rows = (0..200_000).fold(String::new(), |rows, i| rows + &format!("k{i}: v\n"));
    let (tree, problems) = read(&rows);
    assert!(problems.is_empty() && tree.unwrap().entries().len() == 200_000);
}
