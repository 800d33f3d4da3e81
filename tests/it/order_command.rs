//! `ruleout order` as people run it: what it writes, and what it says to poor input.

use serde_json::Value;

use crate::command::Scratch;

const SHOP: (&str, &str) = ("shop.yaml", "title: Depot\ndefault-minutes: 7\nbays: {main: {title: Main, has: []}}\n");
const VEHICLES: (&str, &str) = ("vehicles.yaml", "orlo-t2: {title: Orlo}\nfell-12: {title: Fell}\n");

/// A lamp with some causes, each with its own quick look.
fn lamp(causes: &str, minutes: [&str; 2]) -> String {
    let [one, two] = minutes;
    format!(
        "---
complaint: Lamp
applies: orlo-t2
causes: {{{causes}}}
steps:
  fuse:
    observe: Fuse
    {one}
    results:
      - {{if: blown, shows: fuse}}
      - {{if: whole, clears: [fuse], then: bulb}}
  bulb:
    observe: Bulb
    {two}
    results:
      - {{if: dark, shows: bulb}}
      - {{if: bright, clears: [bulb], refer: The maker's information}}
---
## Fuse {{#fuse}}

Look at it.

## Bulb {{#bulb}}

Look at it.
"
    )
}

fn base(procedure: &str) -> Scratch {
    Scratch::new(&[SHOP, VEHICLES, ("procedures/lamp.md", procedure)])
}

fn json(scratch: &Scratch, words: &[&str]) -> Value {
    let all: Vec<&str> = ["order", "lamp", "--format", "json"].into_iter().chain(words.iter().copied()).collect();
    let ran = scratch.run(&all);
    assert_eq!(ran.code, 0, "{ran:?}");
    serde_json::from_str(&ran.out).unwrap()
}

const TWO: &str = "fuse: {title: F, share: 10}, bulb: {title: B, share: 90}";
const TIMES: [&str; 2] = ["minutes: 5", "minutes: 1"];

#[test]
fn a_new_procedure_is_written_once_and_never_over_another() {
    let scratch = base(&lamp(TWO, TIMES));
    let old = scratch.read("procedures/lamp.md");
    let ran = scratch.run(&["order", "lamp", "--write", "lamp-quick"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(ran.err.contains("wrote kb/procedures/lamp-quick.md: 1.0 minutes as written, 5.9 before\n"), "{ran:?}");
    let new = scratch.read("procedures/lamp-quick.md");
    assert!(new.find("  bulb:").unwrap() > 0 && !new.contains("  fuse:\n    observe"), "{new}");
    assert_eq!(scratch.read("procedures/lamp.md"), old);
    assert_eq!(scratch.run(&["lint", "--strict", "--only", "procedures/lamp-quick.md"]).code, 1, "no-fix, as before");

    for (id, said) in [
        (
            "lamp-quick",
            "ruleout: there is a procedure `lamp-quick` already (procedures/lamp-quick.md), and nothing is overwritten\n",
        ),
        ("lamp", "ruleout: there is a procedure `lamp` already (procedures/lamp.md), and nothing is overwritten\n"),
        ("../lamp", "ruleout: `../lamp` can't name a procedure: expected small letters a-z, digits and -\n"),
        ("Lamp", "ruleout: `Lamp` can't name a procedure: expected small letters a-z, digits and -\n"),
        ("", "ruleout: `` can't name a procedure: expected small letters a-z, digits and -\n"),
    ] {
        let ran = scratch.run(&["order", "lamp", "--write", id]);
        assert_eq!((ran.code, ran.err.as_str(), ran.out.as_str()), (2, said, ""), "{id}");
    }
    assert_eq!(scratch.read("procedures/lamp-quick.md"), new);
}

/// An order that tells more may take longer: both are said.
#[test]
fn an_order_that_isolates_further_says_so() {
    let causes = "fuse: {title: F}, bulb: {title: B}, feed: {title: W}";
    let loose = "then: bulb}\n      - {if: loose, clears: [fuse], found: [bulb, feed]}\n";
    let text =
        lamp(causes, TIMES).replace("then: bulb}\n", loose).replace("refer: The maker's information", "found: feed");
    let scratch = base(&text);
    let ran = scratch.run(&["order", "lamp", "--write", "lamp-whole"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let said = "minutes as written, 5.3 before; isolated to one cause 100 %, 67 % before\n";
    assert!(ran.err.contains(said), "{ran:?}");
}

/// What is written is the best there is: another one would be no better.
#[test]
fn the_best_order_is_not_written_again() {
    let scratch = base(&lamp(TWO, TIMES));
    assert_eq!(scratch.run(&["order", "lamp", "--write", "lamp-quick"]).code, 0);
    let ran = scratch.run(&["order", "lamp-quick", "--write", "lamp-3"]);
    let said =
        "ruleout: no order of `lamp-quick` was found that takes less time or tells more, so nothing was written\n";
    assert_eq!((ran.code, ran.err.as_str(), ran.out.as_str()), (2, said, ""));
    assert!(!scratch.path("procedures/lamp-3.md").exists());
    // two looks in the right order: the second tells the two causes apart in a minute either way
    let same = base(&lamp(TWO, ["minutes: 1", "minutes: 1"]).replace("then: bulb", "found: bulb"));
    let ran = same.run(&["order", "lamp", "--write", "lamp-2"]);
    assert_eq!(ran.code, 2, "{ran:?}");
}

#[test]
fn a_name_that_is_not_there_gets_the_nearest() {
    let scratch = base(&lamp(TWO, TIMES));
    for (words, said) in [
        (vec!["order", "lmap"], "there is no procedure `lmap`: did you mean `lamp`?"),
        (vec!["order", "lamp", "--vehicle", "orlo-t3"], "there is no vehicle `orlo-t3`: did you mean `orlo-t2`?"),
        (vec!["order", "lamp", "--vehicle", "fell-12"], "procedure `lamp` is not for `fell-12`: it is for orlo-t2"),
        (vec!["order", "lamp", "--bay", "man"], "there is no bay `man` in shop.yaml: did you mean `main`?"),
        (vec!["trace", "lmap"], "there is no procedure `lmap`: did you mean `lamp`?"),
        (vec!["trace", "lamp", "--vehicle", "orlo-t3"], "there is no vehicle `orlo-t3`: did you mean `orlo-t2`?"),
        // where none is near, those there are
        (vec!["order", "horn"], "there is no procedure `horn`: there is `lamp`"),
        (vec!["order", "lamp", "--bay", "yard"], "there is no bay `yard` in shop.yaml: there is `main`"),
        (vec!["trace", "lamp", "--vehicle", "van"], "there is no vehicle `van`: there is `orlo-t2`"),
        (vec!["trace", "lamp", "--reading", "x=dark"], "procedure `lamp` has no step `x`: there is `fuse`, `bulb`"),
    ] {
        let ran = scratch.run(&words);
        assert_eq!((ran.code, ran.err.trim_end(), ran.out.as_str()), (2, format!("ruleout: {said}").as_str(), ""));
    }
}

#[test]
fn a_vehicle_of_a_base_without_any_is_not_there() {
    let scratch = Scratch::new(&[SHOP, ("procedures/lamp.md", &lamp(TWO, TIMES).replace("applies: orlo-t2\n", ""))]);
    let ran = scratch.run(&["order", "lamp", "--vehicle", "orlo-t2"]);
    assert_eq!((ran.code, ran.err.trim_end()), (2, "ruleout: there is no vehicle `orlo-t2`"));
}

/// Without `--vehicle` the text names the vehicles on which the answer is another one: those with a cause or a way of their own
/// for `order`, for `trace` also those whose limits put the same reading elsewhere.
#[test]
fn the_text_names_the_vehicles_that_it_does_not_hold_for() {
    let vehicles =
        "orlo-t2: {title: Orlo}\nfell-12: {title: Fell}\ntarn-6: {title: Tarn}\nbrindle-18: {title: Brindle}\n";
    let spec = "feed:\n  quantity: dc voltage\n  source: Invented for the demonstration\n  values: {orlo-t2: at least 12 V, \
                fell-12: at least 24 V, tarn-6: at least 12 V, brindle-18: at least 12 V}\n";
    let procedure = "---
complaint: Lamp
causes:
  wire: {title: Wire broken}
  bulb: {title: Bulb dark}
  relay: {title: Relay worn, for: tarn-6}
steps:
  feed:
    measure: feed
    minutes: 2
    results:
      - {if: below spec, shows: wire}
      - {if: in spec, clears: [wire], found: [bulb, relay]}
---
## Feed {#feed}
";
    let scratch = Scratch::new(&[
        SHOP,
        ("vehicles.yaml", vehicles),
        ("specs/lamp.yaml", spec),
        ("procedures/lamp.md", procedure),
    ]);
    let first = |words: &[&str]| scratch.run(words).out.lines().next().unwrap_or_default().to_owned();
    assert_eq!(first(&["order", "lamp"]), "Lamp, on the orlo-t2 (differs on: tarn-6)");
    assert_eq!(first(&["order", "lamp", "--vehicle", "fell-12"]), "Lamp, on the fell-12");
    assert_eq!(first(&["trace", "lamp"]), "lamp on the orlo-t2");
    assert_eq!(
        first(&["trace", "lamp", "--reading", "feed=12.6 V"]),
        "lamp on the orlo-t2 (differs on: fell-12, tarn-6)"
    );
    assert_eq!(first(&["trace", "lamp", "--reading", "feed=9 V"]), "lamp on the orlo-t2 (differs on: tarn-6)");
}

#[test]
fn without_shares_or_with_none_above_zero_all_causes_count_equal() {
    let bare = json(&base(&lamp("fuse: {title: F}, bulb: {title: B}", TIMES)), &[]);
    let zero = json(&base(&lamp("fuse: {title: F, share: 0}, bulb: {title: B, share: 0}", TIMES)), &[]);
    for (causes, said) in [
        ("fuse: {title: F}, bulb: {title: B}", "No shares given: all causes count as equally likely.\n"),
        (
            "fuse: {title: F, share: 0}, bulb: {title: B, share: 0}",
            "No share is above zero: all causes count as equally likely.\n",
        ),
        (TWO, "fuse     10 %"),
    ] {
        let text = base(&lamp(causes, TIMES)).run(&["order", "lamp"]).out;
        assert!(text.contains(said) && text.contains("equally likely") == said.contains("equally"), "{text}");
    }
    for found in [bare, zero] {
        // half of the jobs end at the fuse
        assert!((found["as_written"]["minutes"].as_f64().unwrap() - 5.5).abs() < 1e-9, "{found}");
        assert!((found["best"]["minutes"].as_f64().unwrap() - 1.0).abs() < 1e-9, "{found}");
        assert_eq!(found["best"]["exact"], true);
    }
}

#[test]
fn one_cause_needs_no_test() {
    let text =
        lamp("fuse: {title: F}", TIMES).replace("shows: bulb", "refer: The bulb").replace("clears: [bulb], ", "");
    let found = json(&base(&text), &[]);
    assert!(found["best"]["minutes"].as_f64().unwrap().abs() < 1e-12, "{found}");
    assert_eq!(found["best"]["tree"]["causes"], serde_json::json!(["fuse"]));
    let ran = base(&text).run(&["order", "lamp", "--write", "lamp-2"]);
    let said = "ruleout: `lamp` can't be written in another order: no test of it tells anything, so there is nothing to put in order\n";
    assert_eq!((ran.code, ran.err.as_str()), (2, said));
}

#[test]
fn a_test_without_minutes_takes_the_shops_and_is_named() {
    let scratch = base(&lamp(TWO, ["wait: 1", "minutes: 1"]));
    let found = json(&scratch, &[]);
    // 7 of the shop and 1 to wait
    assert!((found["as_written"]["per_cause"]["fuse"].as_f64().unwrap() - 8.0).abs() < 1e-9, "{found}");
    assert_eq!(found["default_minutes"], serde_json::json!(["fuse"]));
    let ran = scratch.run(&["order", "lamp"]);
    assert!(ran.out.contains("No minutes given, the shop's default taken: fuse\n"), "{ran:?}");
    let bare = Scratch::new(&[
        ("procedures/lamp.md", &scratch.read("procedures/lamp.md")),
        VEHICLES,
        ("shop.yaml", "title: Depot\n"),
    ]);
    let ran = bare.run(&["order", "lamp"]);
    assert!(
        ran.out.contains("No minutes given, and shop.yaml has no `default-minutes`, so they count as none: fuse\n"),
        "{ran:?}"
    );
}

#[test]
fn findings_do_not_stop_it_but_names_that_do_not_resolve_do() {
    let scratch = base(&lamp(TWO, TIMES).replace("clears: [fuse], then: bulb", "found: bulb"));
    assert_eq!(scratch.run(&["lint"]).code, 1, "unsupported, and a step that nothing leads to");
    assert_eq!(json(&scratch, &[])["procedure"], "lamp");
    let scratch = base(&lamp(TWO, TIMES).replace("shows: bulb", "shows: bulbs"));
    let ran = scratch.run(&["order", "lamp"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{ran:?}");
    assert!(ran.err.contains("unresolved-name") && ran.err.contains("`bulb`"), "{ran:?}");
}

/// The quick order leaves the fuse's own look out, and nothing else shows what confirms the repair.
#[test]
fn a_step_that_confirms_the_repair_is_not_left_out() {
    let confirmed = |step: &str| {
        let confirm = format!("---\nafter-repair: {{confirm: [{{step: {step}}}]}}\ncomplaint");
        base(&lamp(TWO, TIMES).replacen("---\ncomplaint", &confirm, 1))
    };
    let kept = confirmed("bulb, if: bright").run(&["order", "lamp", "--write", "lamp-2"]);
    assert_eq!(kept.code, 0, "{kept:?}");
    let scratch = confirmed("fuse, if: whole");
    let ran = scratch.run(&["order", "lamp", "--write", "lamp-2"]);
    let said = "ruleout: `lamp` can't be written in another order: `fuse` confirms the repair, and no step of the best order does what it \
                does. Name another step under `confirm` first\n";
    assert_eq!((ran.code, ran.err.as_str()), (2, said));
    assert!(!scratch.path("procedures/lamp-2.md").exists());
}

/// What can't be written leaves no file, not even an empty one, and what stands there stays.
#[test]
fn a_refused_write_leaves_the_folder_as_it_was() {
    let broken = lamp(TWO, TIMES).replace("shows: bulb", "shows: bulbs");
    let scratch = Scratch::new(&[
        SHOP,
        VEHICLES,
        ("procedures/lamp.md", &lamp(TWO, TIMES)),
        ("procedures/broken.md", &broken),
        ("procedures/notes.md", "No procedure at all.\n"),
    ]);
    for (words, code, said) in [
        (["order", "broken", "--write", "broken-2"], 1, "unresolved-name"),
        (["order", "lmap", "--write", "lamp-2"], 2, "there is no procedure `lmap`: did you mean `lamp`?"),
        (["order", "lamp", "--write", "notes"], 2, "(procedures/notes.md), and nothing is overwritten"),
    ] {
        let ran = scratch.run(&words);
        assert_eq!((ran.code, ran.out.as_str()), (code, ""), "{ran:?}");
        assert!(ran.err.contains(said), "{ran:?}");
    }
    let mut files: Vec<String> = std::fs::read_dir(scratch.path("procedures"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    files.sort();
    assert_eq!(files, ["broken.md", "lamp.md", "notes.md"]);
    assert_eq!(scratch.read("procedures/notes.md"), "No procedure at all.\n");
}
