//! The literate cases under `tests/cases`.
//!
//! In: every `*.md` there but the README. Out: each example gives what it says, and each case's findings are kept as one
//! drawing, so that a reviewer sees every message as its reader does.

use crate::literate::examples;

#[test]
fn cases_give_what_they_say() {
    let mut wrong = String::new();
    insta::glob!("../cases", "*.md", |path| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name == "README.md" {
            return;
        }
        let text = std::fs::read_to_string(path).unwrap();
        let examples = examples(&text);
        assert!(!examples.is_empty(), "{name} holds no example");
        let named: Vec<&str> = examples.iter().flat_map(|e| e.expected.iter().map(|e| e.rule.as_str())).collect();
        let mut drawing = String::new();
        for example in &examples {
            let differences = example.differences(&named);
            if !differences.is_empty() {
                wrong.push_str(&format!("{name}, {}:\n{differences}\n", example.title));
            }
            drawing.push_str(&format!("## {}\n\n{}\n", example.title, example.drawing(&named)));
        }
        if wrong.is_empty() {
            insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true, snapshot_path => "../cases/drawn" }, {
                insta::assert_snapshot!("case", drawing);
            });
        }
    });
    assert!(wrong.is_empty(), "{wrong}");
}
