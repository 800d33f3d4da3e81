//! In: the words of all pages, and drawings. Out: a finding per piece of HTML, and per part of a drawing that could run or fetch.
#![doc = include_str!("raw_html.md")]

use crate::check::pages::pages;
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};
use crate::parse::svg;
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
    drawings(whole, out);
}

fn drawings(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for name in whole.base.figures.ids().filter(|name| name.to_ascii_lowercase().ends_with(".svg")) {
        let Some(id) = whole.sources.find(&format!("figures/{name}")) else { continue };
        for part in svg::clean(whole.sources.file(id).text()).left_out.into_iter().filter(|part| !part.whole) {
            let span = Span::new(id, part.range.start, part.range.end);
            out.push(
                Finding::new(RULE.name, Level::Warning, span, format!("{} is left out of the picture", part.what))
                    .help("a picture only draws: it runs nothing and fetches nothing; save it as plain SVG"),
            );
        }
    }
}
