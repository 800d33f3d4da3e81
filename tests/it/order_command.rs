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
    assert!(ran.err.contains("wrote kb/procedures/lamp-quick.md: 1.0 minutes as written"), "{ran:?}");
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
        ("../lamp", "ruleout: `../lamp` is no id: write a-z, 0-9 and -, beginning with a letter or a digit\n"),
        ("Lamp", "ruleout: `Lamp` is no id: write a-z, 0-9 and -, beginning with a letter or a digit\n"),
        ("", "ruleout: `` is no id: write a-z, 0-9 and -, beginning with a letter or a digit\n"),
    ] {
        let ran = scratch.run(&["order", "lamp", "--write", id]);
        assert_eq!((ran.code, ran.err.as_str(), ran.out.as_str()), (2, said, ""), "{id}");
    }
    assert_eq!(scratch.read("procedures/lamp-quick.md"), new);
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
    ] {
        let ran = scratch.run(&words);
        assert_eq!((ran.code, ran.err.trim_end(), ran.out.as_str()), (2, format!("ruleout: {said}").as_str(), ""));
    }
}

#[test]
fn without_shares_or_with_none_above_zero_all_causes_count_equal() {
    let bare = json(&base(&lamp("fuse: {title: F}, bulb: {title: B}", TIMES)), &[]);
    let zero = json(&base(&lamp("fuse: {title: F, share: 0}, bulb: {title: B, share: 0}", TIMES)), &[]);
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

/// Past what can be proven: an estimate, with what no order can beat beside it.
#[test]
fn more_causes_than_can_be_proven_are_estimated() {
    let chain = |count: usize| {
        let causes: Vec<String> =
            (0..count).map(|n| format!("c{n}: {{title: C{n}, share: {}}}", 1 + n * 7 % 23)).collect();
        // each test tells some quarter from the rest, so that none stands out
        let steps: Vec<String> = (0..count)
            .map(|n| {
                let set = |keep: &dyn Fn(usize) -> bool| {
                    (0..count).filter(|c| keep(*c)).map(|c| format!("c{c}")).collect::<Vec<_>>().join(", ")
                };
                let one = |c: usize| (((c * 2_654_435_761 + n * 40_503) ^ (c * n * 97)) >> 7).is_multiple_of(4);
                let next = if n + 1 < count { format!("then: t{}", n + 1) } else { "found: what is left".to_owned() };
                format!(
                    "  t{n}:\n    observe: Test {n}\n    minutes: {}\n    results:\n      - {{if: yes, leaves: [{}], {next}}}\n      - {{if: no, leaves: [{}], {next}}}\n",
                    2 + n % 7,
                    set(&one),
                    set(&|c| !one(c)),
                )
            })
            .collect();
        format!("---\ncomplaint: Lamp\ncauses: {{{}}}\nsteps:\n{}---\n", causes.join(", "), steps.concat())
    };
    for count in [64, 150] {
        let found = json(&base(&chain(count)), &[]);
        let (best, written) = (&found["best"], found["as_written"]["minutes"].as_f64().unwrap());
        let (minutes, bound) = (best["minutes"].as_f64().unwrap(), best["bound"].as_f64().unwrap());
        assert_eq!(best["exact"], false, "{count}");
        assert!(bound > 0.0 && bound < minutes && minutes < written, "{count}: {bound} {minutes} {written}");
        assert_eq!(best["groups"].as_array().unwrap().len(), count);
        if count == 150 {
            let ran = base(&chain(count)).run(&["order", "lamp"]);
            let said =
                format!("Best order   {minutes:6.1} minutes (an estimate; no order takes less than {bound:.1})\n");
            assert!(ran.out.contains(&said) && ran.out.contains("\nA good order (an estimate)\n"), "{}", ran.out);
            assert!(ran.out.contains(" more lines (`--format json` holds them all)\n"), "{}", ran.out);
        }
    }
    let ran = base(&chain(1_100)).run(&["order", "lamp"]);
    let said = "Best order   not worked out: 1100 causes are more than the 1024 that it can weigh";
    assert!(ran.code == 0 && ran.out.contains(said), "{}", ran.out);
}

/// Results that rule little out leave more ways than anyone can follow: the likeliest are told, and what is left to do on the others.
#[test]
fn results_that_say_little_are_followed_as_far_as_that_goes() {
    let count = 40;
    let causes: Vec<String> = (0..count).map(|n| format!("c{n}: {{title: C{n}, share: {}}}", 1 + n % 7)).collect();
    let step = |n: usize| {
        let next = if n + 1 < count { format!("then: t{}", n + 1) } else { "found: what is left".to_owned() };
        let (one, two) = (n, (n + 1) % count);
        format!(
            "  t{n}:\n    observe: Test {n}\n    minutes: 3\n    results:\n      - {{if: good, clears: [c{one}, c{two}], {next}}}\n      - {{if: bad, {next}}}\n"
        )
    };
    let steps: String = (0..count).map(step).collect();
    let text = format!("---\ncomplaint: Lamp\ncauses: {{{}}}\nsteps:\n{steps}---\n", causes.join(", "));
    let scratch = base(&text);
    let found = json(&scratch, &[]);
    let best = &found["best"];
    let (minutes, bound) = (best["minutes"].as_f64().unwrap(), best["bound"].as_f64().unwrap());
    assert!(best["exact"] == false && bound > 0.0 && bound < minutes && minutes <= 120.0 + 1e-9, "{bound} {minutes}");
    let mut node = &best["tree"];
    while node["results"].is_object() {
        node = node["results"].as_object().unwrap().values().next().unwrap();
    }
    let open = node["all_of"].as_array().unwrap();
    assert!(!open.is_empty() && !node["causes"].as_array().unwrap().is_empty(), "{node}");
    let ran = scratch.run(&["order", "lamp", "--write", "lamp-2"]);
    assert_eq!(ran.code, 2);
    assert_eq!(ran.err, "ruleout: the order of `lamp` has too many ways to be written out\n");
}
