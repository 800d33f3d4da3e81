//! The rules' pages and the list of rules.
//!
//! In: the registry. Out: every page has its headings and examples, its examples behave as the page says, names and
//! families are in order.

use std::collections::BTreeSet;

use ruleout::check::{RULES, Rule, Run};

use crate::literate::{Example, examples};

const HEADINGS: [&str; 4] = ["What it means", "Why it matters", "Bad", "Good"];

fn is_built(rule: &Rule) -> bool {
    !matches!(rule.run, Run::NotYet)
}

fn example(rule: &Rule, title: &str) -> Example {
    let found: Vec<Example> = examples(rule.page).into_iter().filter(|e| e.title == title).collect();
    assert_eq!(found.len(), 1, "the page of `{}` has one example under `## {title}`", rule.name);
    found.into_iter().next().unwrap()
}

#[test]
fn every_page_has_the_fixed_headings() {
    for rule in RULES {
        let mut lines = rule.page.lines();
        assert_eq!(lines.next(), Some(format!("# {}", rule.name).as_str()));
        let summary = lines.nth(1).unwrap_or_default();
        assert_eq!(summary.strip_suffix('.'), Some(rule.summary), "the first paragraph of `{}`", rule.name);
        let mut fence = false;
        let mut headings: Vec<&str> = Vec::new();
        for line in rule.page.lines() {
            fence ^= line.starts_with("````");
            if let (false, Some(heading)) = (fence, line.strip_prefix("## ")) {
                headings.push(heading);
            }
        }
        assert_eq!(headings[..4], HEADINGS, "the headings of `{}`", rule.name);
        assert!(matches!(headings[4..], [] | ["When to allow it"]), "the last heading of `{}`", rule.name);
    }
}

#[test]
fn a_bad_example_gives_its_rule_and_nothing_else() {
    let mut text = String::new();
    for rule in RULES {
        let bad = example(rule, "Bad");
        assert!(!bad.expected.is_empty(), "the bad example of `{}` expects nothing", rule.name);
        assert!(
            bad.expected.iter().all(|e| e.rule == rule.name),
            "the bad example of `{}` expects its rule",
            rule.name
        );
        if is_built(rule) {
            add(&mut text, rule, "bad", &bad.differences(&[rule.name]));
        }
    }
    assert!(text.is_empty(), "{text}");
}

#[test]
fn a_good_example_is_clean() {
    let mut text = String::new();
    for rule in RULES {
        add(&mut text, rule, "good", &example(rule, "Good").differences(&[rule.name]));
    }
    assert!(text.is_empty(), "{text}");
}

fn add(text: &mut String, rule: &Rule, which: &str, differences: &str) {
    if !differences.is_empty() {
        text.push_str(&format!("the {which} example of `{}`:\n{differences}\n", rule.name));
    }
}

#[test]
fn names_are_unique_and_families_in_order() {
    let names: BTreeSet<&str> = RULES.iter().map(|r| r.name).collect();
    assert_eq!(names.len(), RULES.len());
    for rule in RULES {
        assert!(rule.name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'), "`{}`", rule.name);
        assert!(!rule.levels.is_empty() && rule.levels.is_sorted_by(|a, b| a > b), "levels of `{}`", rule.name);
        assert!(!rule.summary.ends_with('.'), "summary of `{}`", rule.name);
    }
    assert!(RULES.is_sorted_by_key(|r| r.family));
}

#[test]
fn the_list_of_rules() {
    let line = |r: &&Rule| {
        let levels: Vec<&str> = r.levels.iter().map(|l| l.name()).collect();
        let family = format!("{:?}", r.family).to_lowercase();
        format!("{family:12} {:22} {:15} {}\n", r.name, levels.join(", "), r.summary)
    };
    insta::assert_snapshot!(RULES.iter().map(line).collect::<String>());
}
