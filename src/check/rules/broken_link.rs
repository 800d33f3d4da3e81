//! In: the links of all pages. Out: a finding per link to a file, a place on a page or an address that is not there.
#![doc = include_str!("broken_link.md")]

use crate::check::pages::{KINDS, Page, pages, path_from};
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};
use crate::parse::markdown::Link;
use crate::parse::near::nearest;
use crate::source::FileId;
use std::collections::BTreeMap;

/// The rule.
pub static RULE: Rule = Rule {
    name: "broken-link",
    family: Family::Pages,
    levels: &[Level::Error],
    summary: "A link that leads nowhere",
    page: include_str!("broken_link.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    let pages = pages(whole);
    let files: BTreeMap<&str, FileId> = whole.sources.iter().map(|(id, file)| (file.path(), id)).collect();
    let anchors: BTreeMap<FileId, &[String]> = pages.iter().map(|p| (p.file, p.anchors)).collect();
    for page in &pages {
        for link in page.links.iter().filter(|l| !l.is_image) {
            if let Some(finding) = judge(whole, page, link, &files, &anchors) {
                out.push(page.name(finding));
            }
        }
    }
}

fn judge(
    whole: &Whole<'_>,
    page: &Page<'_>,
    link: &Link,
    files: &BTreeMap<&str, FileId>,
    anchors: &BTreeMap<FileId, &[String]>,
) -> Option<Finding> {
    let to = link.to.value.as_str();
    let finding = |message: String| Finding::new(RULE.name, Level::Error, link.to.span, message);
    if to.is_empty() {
        return Some(
            Finding::new(RULE.name, Level::Error, link.span, "the link names no place").help("write where it leads"),
        );
    }
    if let Some((scheme, rest)) = scheme(to) {
        return address(scheme, rest).map(|(message, help)| finding(message).help(help));
    }
    let (file, anchor) = to.split_once('#').map_or((to, None), |(file, anchor)| (file, Some(anchor)));
    let target = if file.is_empty() {
        page.file
    } else {
        let here = whole.sources.file(page.file).path();
        let path = path_from(here, file);
        match path.as_deref().and_then(|p| files.get(p)) {
            Some(target) => *target,
            None => {
                let shown = path.unwrap_or_else(|| file.to_owned());
                let found = finding(format!("there is no file `{shown}` in the knowledge base"));
                let near = nearest(&shown, files.keys().copied());
                return Some(match near {
                    Some(near) => found.help(format!("did you mean `{near}`?")),
                    None => {
                        found.help("write the way from this file to the other one, such as `../systems/charging.md`")
                    }
                });
            }
        }
    };
    // A page that could not be read has no anchors to judge by.
    let (anchor, there) = (anchor?, anchors.get(&target)?);
    if there.iter().any(|a| a == anchor) {
        return None;
    }
    let found = finding(format!("there is no `#{anchor}` on the page `{}`", whole.sources.file(target).path()));
    Some(match nearest(anchor, there.iter().map(String::as_str)) {
        Some(near) => found.help(format!("did you mean `#{near}`?")),
        None if there.is_empty() => found.help("nothing on that page has an id: give the heading one, `{#ID}`"),
        None => found.help("name a step, a cause, or a heading with an id in braces"),
    })
}

/// The part before the colon, where it is no path.
fn scheme(to: &str) -> Option<(&str, &str)> {
    let (scheme, rest) = to.split_once(':')?;
    let letters = scheme.bytes().all(|b| b.is_ascii_alphanumeric() || b"+-.".contains(&b));
    (letters && scheme.as_bytes().first().is_some_and(u8::is_ascii_alphabetic)).then_some((scheme, rest))
}

/// What is wrong with an address, and what to do.
fn address(scheme: &str, rest: &str) -> Option<(String, &'static str)> {
    let lower = scheme.to_ascii_lowercase();
    if KINDS.contains(&lower.as_str()) {
        return None; // a name of the base: unresolved-name judges it
    }
    match lower.as_str() {
        "http" | "https" => {
            let host = rest.strip_prefix("//").unwrap_or("").split(['/', '?', '#']).next().unwrap_or("");
            let good = !host.is_empty() && !host.contains(char::is_whitespace);
            (!good).then(|| {
                (
                    format!("`{scheme}:{rest}` names no computer"),
                    "write the whole address, such as `https://example.org/page`",
                )
            })
        }
        "mailto" => {
            (!rest.contains('@')).then(|| (format!("`{rest}` is no mail address"), "write `mailto:NAME@PLACE`"))
        }
        "tel" => (!rest.bytes().any(|b| b.is_ascii_digit()))
            .then(|| (format!("`{rest}` is no telephone number"), "write `tel:` and the number")),
        _ => Some((
            format!("a page can't link to `{scheme}:`"),
            "link to a file, to `https:`, `mailto:` or `tel:`, or to a name of the base such as `term:` or `spec:`",
        )),
    }
}
