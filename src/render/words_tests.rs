//! What becomes of an author's words.
//!
//! In: Markdown. Out: nothing (tests only).

use std::collections::BTreeMap;

use pulldown_cmark::{Event, Tag};

use super::html;
use crate::plan::{Link, Target, Words};

fn words(text: &str, links: &[(&str, Target)]) -> Words {
    let links: BTreeMap<String, Target> = links.iter().map(|(d, t)| ((*d).to_owned(), t.clone())).collect();
    Words { text: text.to_owned(), anchors: true, links }
}

fn shown(text: &str) -> String {
    html(&words(text, &[]), "../", 3)
}

#[test]
fn raw_html_is_dropped() {
    let text = "a <b onclick=\"x\">b</b> <!-- c -->\n\n<script>alert(1)</script>\n\n<div>\n\nd\n";
    assert_eq!(shown(text), "<p>a b </p>\n<p>d</p>\n");
}

#[test]
fn a_destination_that_was_not_decided_leads_nowhere() {
    assert_eq!(
        shown("[a](javascript:x) ![b](http://x.invalid/y.png) <https://x.invalid>"),
        "<p>a b https://x.invalid</p>\n"
    );
}

#[test]
fn a_value_is_filled_in_for_every_group_of_vehicles() {
    let value = |text: &str, on: &str| Link::text(text).more(on.to_uppercase()).on(Some(on.to_owned()));
    let target = Target::Value { to: "specs/v.html".into(), values: vec![value("9 V", "a"), value("<18> V", "b c")] };
    let text = "[](spec:v) and [9 V](spec:v)";
    assert_eq!(
        html(&words(text, &[("spec:v", target)]), "../", 3),
        "<p><a class=\"value\" href=\"../specs/v.html\"><span data-for=\"a\">9 V<span class=\"more\"> (A)</span></span>\
         <span class=\"between\">; </span><span data-for=\"b c\">&lt;18&gt; V<span class=\"more\"> (B C)</span></span></a> \
         and <a class=\"value\" href=\"../specs/v.html\">9 V</a></p>\n"
    );
}

#[test]
fn links_carry_the_way_to_the_top() {
    let page = Target::Page { to: "codes/P0562.html".into(), title: "P0562".into() };
    let links = [("code:P0562", page), ("mailto:a@b.invalid", Target::Outside), ("https://c.invalid", Target::Outside)];
    assert_eq!(
        html(&words("[](code:P0562) <a@b.invalid> [c](https://c.invalid \"t\")", &links), "../", 3),
        "<p><a href=\"../codes/P0562.html\">P0562</a> <a href=\"mailto:a@b.invalid\">a@b.invalid</a> \
         <a href=\"https://c.invalid\" title=\"t\">c</a></p>\n"
    );
}

#[test]
fn headings_stand_below_the_page_and_keep_only_ids_of_the_language() {
    assert_eq!(shown("### A {#a-1}\n\n#### B {#main_}\n"), "<h4 id=\"a-1\">A</h4>\n<h5>B</h5>\n");
    assert_eq!(html(&words("## A\n\n### B", &[]), "", 1), "<h2>A</h2>\n<h3>B</h3>\n");
}

#[test]
fn tables_align_without_styles() {
    let table = shown("| a | b |\n|---|--:|\n| 1 | 2 |\n");
    assert!(table.contains("<th scope=\"col\">a</th><th scope=\"col\" class=\"right\">b</th>"), "{table}");
    assert!(table.contains("<td>1</td><td class=\"right\">2</td>") && !table.contains("style="), "{table}");
}

#[test]
fn code_is_shown_as_it_is() {
    assert_eq!(shown("```html\n<b>\n```\n"), "<pre tabindex=\"0\"><code>&lt;b&gt;\n</code></pre>");
}

/// Examples of the `CommonMark` specification through our renderer; those with raw HTML, which we drop, and with pictures, which only
/// come from `figures/`, stand apart.
#[test]
#[allow(clippy::disallowed_methods, reason = "a test reads its data")]
fn commonmark_means_what_its_specification_says() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/node_modules/commonmark-spec/spec.txt");
    let spec = std::fs::read_to_string(path).unwrap_or_default();
    assert!(!spec.is_empty(), "the CommonMark specification is not installed: run tests/run first");
    let fence = "`".repeat(32);
    let (mut judged, mut apart, mut wrong) = (0, 0, Vec::new());
    for example in spec.split(&format!("\n{fence} example\n")).skip(1) {
        let example = example.split(&format!("\n{fence}")).next().unwrap_or("").replace('→', "\t");
        let (text, wanted) =
            example.split_once("\n.\n").unwrap_or((example.strip_suffix("\n.").unwrap_or(&example), ""));
        let parsed = || pulldown_cmark::Parser::new(text);
        let odd = |e: Event<'_>| {
            matches!(e, Event::Html(_) | Event::InlineHtml(_) | Event::Start(Tag::Image { .. } | Tag::HtmlBlock))
        };
        // Our headings may carry an id in braces, and our tables have pipes: neither is CommonMark's own.
        if parsed().any(odd) || text.contains(" {#") {
            apart += 1;
            continue;
        }
        let mut links = BTreeMap::new();
        for event in parsed() {
            if let Event::Start(Tag::Link { dest_url, link_type, .. }) = event {
                links.insert(crate::plan::destination(&dest_url, link_type), Target::Outside);
            }
        }
        judged += 1;
        let ours = html(&Words { text: text.to_owned(), anchors: true, links }, "", 1);
        if plain(&ours) != plain(wanted) {
            wrong.push(format!("{text}\n--- ours\n{}\n--- wanted\n{}\n", plain(&ours), plain(wanted)));
        }
    }
    assert!(wrong.is_empty(), "{} of {judged}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(judged > 500 && apart > 60, "{judged} judged, {apart} apart");
}

/// HTML with what we do otherwise on purpose made the same: headings one deeper at the top, code that can have the focus.
fn plain(html: &str) -> String {
    let mut html = html.replace("<pre tabindex=\"0\">", "<pre>").replace("h1>", "h2>").replace("&quot;", "\"");
    while let Some(at) = html.find("<code class=\"language-") {
        let end = html[at..].find('>').map_or(html.len(), |end| at + end);
        html.replace_range(at + 5..end, "");
    }
    html.split_whitespace().collect::<Vec<_>>().join(" ").replace("> <", "><").replace(" </", "</")
}
