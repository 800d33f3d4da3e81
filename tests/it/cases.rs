//! The literate cases under `tests/cases`.
//!
//! In: every `*.md` there but the README. Out: each example gives what it says, and each case's findings are kept as one
//! drawing, so that a reviewer sees every message as its reader does.

use std::path::Path;

use crate::literate::{Example, examples};

/// A case's examples and the rules that they name; nothing for the README.
fn case(path: &Path) -> Option<(String, Vec<Example>)> {
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    if name == "README.md" {
        return None;
    }
    let examples = examples(&std::fs::read_to_string(path).unwrap());
    assert!(!examples.is_empty(), "{name} holds no example");
    Some((name, examples))
}

fn named(examples: &[Example]) -> Vec<&str> {
    examples.iter().flat_map(|e| e.expected.iter().map(|e| e.rule.as_str())).collect()
}

#[test]
fn cases_give_what_they_say() {
    let mut wrong = String::new();
    insta::glob!("../cases", "*.md", |path| {
        let Some((name, examples)) = case(path) else { return };
        let named = named(&examples);
        for example in &examples {
            let differences = example.differences(&named);
            if !differences.is_empty() {
                wrong.push_str(&format!("{name}, {}:\n{differences}\n", example.title));
            }
        }
    });
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn cases_are_drawn_as_before() {
    insta::glob!("../cases", "*.md", |path| {
        let Some((_, examples)) = case(path) else { return };
        let named = named(&examples);
        let drawings: Vec<String> = examples
            .iter()
            .map(|e| {
                format!(
                    "## {}

{}",
                    e.title,
                    e.drawing(&named)
                )
            })
            .collect();
        let drawing = drawings.join(
            "
",
        );
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true, snapshot_path => "../cases/drawn" }, {
            insta::assert_snapshot!("case", drawing);
        });
    });
}

/// Repairing a finding with its own mend removes it and brings no new error.
#[test]
fn every_mend_removes_its_finding() {
    let mut wrong = String::new();
    let mut judge = |name: &str, examples: &[Example]| {
        for example in examples {
            let unmended = example.unmended(&named(examples));
            if !unmended.is_empty() {
                wrong.push_str(&format!("{name}, {}:\n{unmended}\n", example.title));
            }
        }
    };
    insta::glob!("../cases", "*.md", |path| {
        if let Some((name, examples)) = case(path) {
            judge(&name, &examples);
        }
    });
    for rule in ruleout::check::RULES {
        judge(rule.name, &examples(rule.page));
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Every rule that speaks is expected somewhere, and somewhere else in the same case it is not.
#[test]
fn every_rule_has_a_bad_and_a_good_case() {
    let mut shown = std::collections::BTreeSet::new();
    insta::glob!("../cases", "*.md", |path| {
        let Some((_, examples)) = case(path) else { return };
        for rule in named(&examples) {
            if examples.iter().any(|e| e.expected.iter().all(|x| x.rule != rule)) {
                shown.insert(rule.to_owned());
            }
        }
    });
    let built = ruleout::check::RULES.iter().filter(|r| !matches!(r.run, ruleout::check::Run::NotYet));
    let lacking: Vec<&str> = built.map(|r| r.name).filter(|name| !shown.contains(*name)).collect();
    assert!(lacking.is_empty(), "no case shows {lacking:?}");
}
