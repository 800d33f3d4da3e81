//! In: the words of all pages, and drawings. Out: a finding per piece of HTML, and per part of a drawing that could run or fetch.
#![doc = include_str!("raw_html.md")]

use crate::check::drawings;
use crate::check::pages::pages;
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};
use crate::source::Span;

/// The rule.
pub static RULE: Rule = Rule {
    name: "raw-html",
    family: Family::Pages,
    levels: &[Level::Warning],
    summary: "HTML in the words, or script in a picture",
    page: include_str!("raw_html.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for page in pages(whole) {
        for span in page.raw_html {
            let tag: String = whole.sources.text(*span).trim().lines().next().unwrap_or("").chars().take(40).collect();
            let finding =
                Finding::new(RULE.name, Level::Warning, *span, format!("`{tag}` is HTML, and is left out of the page"))
                    .help("write it in Markdown, or put it between backticks if it is meant to be seen");
            out.push(page.name(finding));
        }
    }
    drawings::told(whole, false, left_out, out);
}

fn left_out(span: Span, what: &str) -> Finding {
    Finding::new(RULE.name, Level::Warning, span, format!("{what} is left out of the picture"))
        .help("a picture only draws: it runs nothing and fetches nothing; save it as plain SVG")
}
