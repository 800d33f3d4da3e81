//! In: the pictures in the words of all pages. Out: a finding per picture without a text.
#![doc = include_str!("no_alt_text.md")]

use crate::check::pages::pages;
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-alt-text",
    family: Family::Pages,
    levels: &[Level::Warning],
    summary: "A picture in the words without a text for those who cannot see it",
    page: include_str!("no_alt_text.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for page in pages(whole) {
        for picture in page.links.iter().filter(|l| l.is_image && l.text.trim().is_empty()) {
            let finding = Finding::new(
                RULE.name,
                Level::Warning,
                picture.span,
                format!("the picture `{}` has no text", picture.to.value),
            )
            .help("write in the brackets what the picture shows");
            out.push(page.name(finding));
        }
    }
}
