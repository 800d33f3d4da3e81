//! `--record` and `--since`: only what is new fails.

use crate::command::Scratch;

const LAMP: &str = "---
complaint: Lamp stays lit
causes:
  belt: {title: Drive belt loose, fix: renew-belt}
steps:
  look:
    observe: Drive belt
    minutes: 2
    results:
      - {if: loose, shows: belt}
      - {if: tight, refer: The maker's information}
---
See [the meter](term:cpk).

## Look {#look}

## Renew the belt {#renew-belt}
";

fn scratch() -> Scratch {
    let scratch = Scratch::new(&[("terms.yaml", "lamp: {title: Lamp}\n"), ("procedures/lamp.md", LAMP)]);
    let ran = scratch.run(&["lint", "--record", "known.jsonl"]);
    assert_eq!(ran.code, 1, "the record changes nothing about today's answer");
    assert!(ran.err.starts_with("recorded ") && ran.err.ends_with(" findings in known.jsonl\n"), "{}", ran.err);
    scratch
}

fn record(scratch: &Scratch) -> String {
    std::fs::read_to_string(scratch.folder.path().join("known.jsonl")).unwrap()
}

#[test]
fn what_is_known_is_left_out_and_counted() {
    let scratch = scratch();
    scratch.write("procedures/lamp.md", &LAMP.replace("steps:", "# lines move\n\nsteps:"));
    let ran = scratch.run(&["lint", "--since", "known.jsonl", "--strict"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(
        ran.out.starts_with("no errors, no warnings; ") && ran.out.ends_with(" known findings left out\n"),
        "{}",
        ran.out
    );
    let json: serde_json::Value =
        serde_json::from_str(&scratch.run(&["lint", "--since", "known.jsonl", "--format", "json"]).out).unwrap();
    assert_eq!(json["findings"].as_array().unwrap().len(), 0);
    assert_eq!(json["summary"]["known"], record(&scratch).lines().count() - 1);
}

#[test]
fn what_stands_twice_now_is_new_once() {
    let scratch = scratch();
    scratch.write("procedures/lamp.md", &LAMP.replace("See [", "And [the meter](term:cpk).\n\nSee ["));
    let ran = scratch.run(&["lint", "--since", "known.jsonl"]);
    assert_eq!(ran.code, 1);
    assert_eq!(ran.out.matches("error[unresolved-name]").count(), 1, "{}", ran.out);
}

#[test]
fn what_is_gone_is_said() {
    let scratch = scratch();
    scratch.write("procedures/lamp.md", &LAMP.replace("term:cpk", "term:lamp"));
    let ran = scratch.run(&["lint", "--since", "known.jsonl"]);
    assert_eq!(ran.code, 0);
    let gone: Vec<&str> = ran.err.lines().collect();
    assert_eq!(
        gone[0],
        "note: a known finding is gone, take it out of the record: unresolved-name in lamp, at `term:cpk`"
    );
}

#[test]
fn the_record_is_sorted_lines_that_merge() {
    let scratch = scratch();
    let text = record(&scratch);
    let mut lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.remove(0), r#"{"ruleout":"known findings","version":1}"#);
    assert!(lines.is_sorted() && !lines.is_empty(), "{text}");
    assert!(lines.contains(&r#"{"rule":"unresolved-name","in":"lamp","subject":"term:cpk"}"#), "{text}");
    scratch.run(&["lint", "--record", "known.jsonl"]);
    assert_eq!(record(&scratch), text, "the same base gives the same bytes");
    // Recording with what is known left out still records all of it.
    scratch.run(&["lint", "--since", "known.jsonl", "--record", "known.jsonl"]);
    assert_eq!(record(&scratch), text);
}

#[test]
fn a_file_that_is_no_record_is_not_written_over() {
    let scratch = scratch();
    scratch.write("shop.yaml", "title: Yard\n");
    let refused = scratch.run(&["lint", "--record", "kb/shop.yaml"]);
    assert_eq!(refused.code, 2, "{}", refused.err);
    assert!(refused.err.contains("`kb/shop.yaml`") && refused.err.contains("is no record; give another name"));
    assert_eq!(scratch.read("shop.yaml"), "title: Yard\n");
    let known = record(&scratch);
    for before in ["", &known] {
        std::fs::write(scratch.folder.path().join("known.jsonl"), before).unwrap();
        assert_eq!(scratch.run(&["lint", "--record", "known.jsonl"]).code, 1);
        assert!(record(&scratch).starts_with("{\"ruleout\""), "an empty file and a record may be written over");
    }
}

#[test]
fn a_record_that_is_none_is_one_sentence() {
    let scratch = scratch();
    let path = scratch.folder.path();
    std::fs::write(path.join("words"), "hello\n").unwrap();
    std::fs::write(path.join("bytes"), [0xff, 0xfe]).unwrap();
    std::fs::write(path.join("newer"), "{\"ruleout\":\"known findings\",\"version\":2}\n").unwrap();
    std::fs::write(path.join("clash"), record(&scratch) + "<<<<<<< ours\n").unwrap();
    for (file, why) in [
        ("words", "it is no record that `lint --record` wrote"),
        ("bytes", "it is no UTF-8 text"),
        ("newer", "it is a record of version 2: record the findings again"),
        ("missing", "there is no such file"),
        ("kb", "it is a folder"),
    ] {
        let ran = scratch.run(&["lint", "--since", file]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        assert_eq!(ran.err, format!("ruleout: cannot read the record `{file}`: {why}\n"));
    }
    let ran = scratch.run(&["lint", "--since", "clash"]);
    assert!(
        ran.code == 2 && ran.err.contains("is no recorded finding: take the line out, or record again"),
        "{}",
        ran.err
    );
    for (file, why) in [("kb", "it is a folder"), ("/dev/null", "it is no plain file")] {
        let ran = scratch.run(&["lint", "--record", file]);
        assert_eq!((ran.code, ran.err), (2, format!("ruleout: cannot write `{file}`: {why}\n")));
    }
    let ran = scratch.run(&["lint", "--record", "no/such/folder"]);
    assert_eq!((ran.code, ran.err.as_str()), (2, "ruleout: cannot write `no/such/folder`: its folder is not there\n"));
}
