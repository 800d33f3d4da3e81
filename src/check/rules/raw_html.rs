//! In: the words of all pages. Out: a finding per piece of HTML.
#![doc = include_str!("raw_html.md")]

use crate::check::pages::pages;
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "raw-html",
    family: Family::Pages,
    levels: &[Level::Warning],
    summary: "HTML in the words",
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
}
