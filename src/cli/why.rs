//! `ruleout why`.
//!
//! In: a rule's name or nothing. Out: its page, or the list of all rules.

use super::args::WhyArgs;
use super::output::Output;
use crate::check::{self, Rule, Run};
use crate::parse::near::nearest;

/// Runs it.
pub fn run(args: &WhyArgs, output: &Output) -> Result<u8, String> {
    let Some(name) = &args.rule else {
        output.result(&list());
        return Ok(0);
    };
    let Some(rule) = check::find(name) else {
        let near = nearest(name, check::RULES.iter().map(|r| r.name));
        let hint = near.map_or_else(|| "`ruleout why` lists them".to_owned(), |n| format!("did you mean `{n}`?"));
        return Err(format!("there is no rule `{name}`: {hint}"));
    };
    output.result(&page(rule));
    Ok(0)
}

fn page(rule: &Rule) -> String {
    let mut text = rule.page.trim_end().to_owned();
    text.push_str(&format!("\n\nLevel: {}\n", levels(rule)));
    if matches!(rule.run, Run::NotYet) {
        text.push_str("This rule is not built yet: it never speaks.\n");
    }
    text
}

fn levels(rule: &Rule) -> String {
    rule.levels.iter().map(|l| l.name()).collect::<Vec<_>>().join(" or ")
}

fn list() -> String {
    let width = check::RULES.iter().map(|r| r.name.len()).max().unwrap_or(0);
    let mut text = String::new();
    let mut family = None;
    for rule in check::RULES {
        if family != Some(rule.family) {
            if family.is_some() {
                text.push('\n');
            }
            text.push_str(&format!("{:?}\n", rule.family).to_lowercase());
            family = Some(rule.family);
        }
        let unbuilt = if matches!(rule.run, Run::NotYet) { " (not built yet)" } else { "" };
        text.push_str(&format!("  {:width$}  {:15}  {}{unbuilt}\n", rule.name, levels(rule), rule.summary));
    }
    text
}
