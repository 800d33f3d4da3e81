//! `ruleout tally` as people run it: the whole and each group of vehicles, and what `--write` touches.

use serde_json::Value;

use crate::command::Scratch;

const VEHICLES: (&str, &str) = (
    "vehicles.yaml",
    "orlo-t2: {title: Orlo, groups: [petrol, small]}\nbrindle-18: {title: Brindle, groups: [petrol, small]}\nfell-12: {title: Fell, groups: diesel}\n",
);

const PROCEDURE: &str = "---\r
complaint: Lamp   # as the customer says\r
applies: all\r
causes:\r
  fuse: {title: Fuse,  share:  60,   fix: renew}   # cheap\r
  bulb:\r
    title: Bulb\r
    share: 40     # by eye\r
    for: [petrol]\r
steps:\r
  look:\r
    observe: Lamp\r
    results: [{if: dark, shows: fuse}, {if: dim, found: what is left}]\r
---\r
Words.\r
";

/// A base with one case for each `vehicle cause`.
fn base(cases: &[(&str, &str)]) -> Scratch {
    let scratch = Scratch::new(&[VEHICLES, ("shop.yaml", "title: Depot\n"), ("procedures/lamp.md", PROCEDURE)]);
    for (number, (vehicle, cause)) in cases.iter().enumerate() {
        let case = format!("procedure: lamp\nvehicle: {vehicle}\nreadings: {{look: dark}}\ncause: {cause}\n");
        scratch.write(&format!("cases/c{number}.yaml"), &case);
    }
    scratch
}

fn near(value: &Value, wanted: f64) -> bool {
    (value.as_f64().unwrap() - wanted).abs() < 1e-9
}

#[test]
fn each_group_with_cases_has_a_table_beside_the_whole() {
    let scratch = base(&[("orlo-t2", "fuse"), ("brindle-18", "bulb"), ("brindle-18", "bulb"), ("fell-12", "fuse")]);
    let ran = scratch.run(&["tally", "--format", "json"]);
    let found: Value = serde_json::from_str(&ran.out).unwrap();
    let one = &found[0];
    assert_eq!((one["procedure"].as_str(), one["jobs"].as_u64()), (Some("lamp"), Some(4)));
    // ten pseudo-jobs shared as authored: (6 + 2) of 14
    assert!(near(&one["causes"][0]["share"], 8.0 / 14.0) && near(&one["causes"][1]["share"], 6.0 / 14.0), "{one:#}");
    let groups = one["groups"].as_array().unwrap();
    let ids: Vec<&str> = groups.iter().map(|g| g["group"].as_str().unwrap()).collect();
    assert_eq!(ids, ["petrol", "small", "diesel"]);
    // the bulb exists on petrol vehicles only
    assert_eq!(groups[2]["causes"].as_array().unwrap().len(), 1, "{one:#}");
    assert!(near(&groups[0]["causes"][1]["share"], (4.0 + 2.0) / 13.0), "{one:#}");
    assert_eq!(groups[0]["jobs"], 3);

    let text = scratch.run(&["tally"]).out;
    assert!(text.starts_with("lamp, from 4 jobs\n"), "{text}");
    assert!(
        text.contains("lamp on petrol, small, from 3 jobs\n") && text.contains("lamp on diesel, from 1 job\n"),
        "{text}"
    );
}

#[test]
fn writing_changes_the_shares_and_no_other_byte() {
    let scratch = base(&[("orlo-t2", "fuse"), ("brindle-18", "bulb"), ("brindle-18", "bulb")]);
    assert_eq!(scratch.run(&["tally", "--write"]).code, 0);
    let wanted = PROCEDURE.replace("share:  60,", "share:  53.8,").replace("share: 40 ", "share: 46.2 ");
    assert_eq!(scratch.read("procedures/lamp.md"), wanted);
}

#[test]
fn few_cases_never_swing_it_and_many_do() {
    let swung = |jobs: usize| {
        let scratch = base(&vec![("orlo-t2", "bulb"); jobs]);
        let found: Value = serde_json::from_str(&scratch.run(&["tally", "--format", "json"]).out).unwrap();
        (found[0]["causes"][0]["share"].as_f64().unwrap(), found[0]["causes"][0]["against"].as_bool().unwrap())
    };
    let (one, against) = swung(1);
    assert!(one > 0.5 && !against, "{one}");
    let (many, against) = swung(12);
    assert!(many < 0.3 && against, "{many}");
}

#[test]
fn without_cases_there_is_nothing_to_tally() {
    let ran = base(&[]).run(&["tally"]);
    assert_eq!((ran.code, ran.out.as_str()), (0, ""));
    assert!(ran.err.contains("nothing to tally"), "{ran:?}");
}
