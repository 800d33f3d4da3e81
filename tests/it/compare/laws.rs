//! Two laws: the digest of a review and `compare` never disagree; what is only written otherwise is no change.

use ruleout::compare::compare;
use ruleout::model::meaning;
use serde_yaml::{Mapping, Value};

use super::base::{Base, PROCEDURE, base, side};

/// Edits of every file: each line taken out, each number replaced, each word of a list of ids put in place of another.
fn edits() -> Vec<Base> {
    let original = base();
    let mut all = Vec::new();
    let mut with = |file: usize, text: String| {
        let mut edited = original.clone();
        edited[file].1 = text;
        all.push(edited);
    };
    for (file, (_, text)) in original.iter().enumerate() {
        let lines: Vec<&str> = text.lines().collect();
        for at in 0..lines.len() {
            let rest: Vec<&str> = lines.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, l)| *l).collect();
            with(file, rest.join("\n") + "\n");
        }
        for (at, digit) in text.char_indices().filter(|(_, c)| c.is_ascii_digit()) {
            let mut changed = text.clone();
            changed.replace_range(at..=at, if digit == '9' { "8" } else { "9" });
            with(file, changed);
        }
        let words = [
            "belt-slip",
            "cable",
            "alternator",
            "drop",
            "field",
            "voltage",
            "in spec",
            "below spec",
            "above spec",
            "shows",
            "found",
        ];
        for (at, word) in words.iter().flat_map(|w| text.match_indices(w)) {
            for other in words.iter().filter(|o| **o != word) {
                let mut changed = text.clone();
                changed.replace_range(at..at + word.len(), other);
                with(file, changed);
            }
        }
    }
    all
}

#[test]
fn the_digest_differs_exactly_where_a_change_is_told() {
    let old = side("old", &base());
    let of = |s: &ruleout::compare::Side| s.procedure("lamp").map(|p| meaning::digest(s.base(), &p));
    let before = of(&old);
    let (mut differ, mut same) = (0, 0);
    for edited in edits() {
        let new = side("new", &edited);
        let Some(after) = of(&new) else { continue };
        let comparison = compare(&old, &new);
        let told = comparison.procedures.iter().find(|p| p.id == "lamp").map_or(&[][..], |p| &p.changes[..]);
        let what = || edited.iter().zip(&base()).filter(|(a, b)| a != b).map(|(a, _)| a.1.clone()).collect::<String>();
        assert_eq!(before.as_ref() != Some(&after), !told.is_empty(), "{told:?}\n{}", what());
        for change in told {
            assert_ne!(change.old, change.new, "{change:?} says the same twice\n{}", what());
            assert!(change.old.as_deref() != Some("something else"), "it can't say what changed\n{}", what());
        }
        if told.is_empty() { same += 1 } else { differ += 1 }
    }
    assert!(differ > 150 && same > 100, "{differ} differ, {same} don't: too little was tried");
}

struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for at in (1..items.len()).rev() {
            items.swap(at, self.roll(at + 1));
        }
    }
}

/// Readings that mean the same.
const SAME: [&[&str]; 5] = [
    &["13.9 to 14.7 V", "between 13.9 V and 14.7 V", "13900 mV to 14700 mV", "14.3 V ± 0.4 V", "13.90 V to 14.7 V"],
    &["26.0 to below 27.8 V", "26 V to below 27800 mV"],
    &["at most 0.3 V", "0.3 V or less", "at most 300 mV", "0 to 0.3 V"],
    &["below 5 ohm", "less than 5 Ω", "under 0.005 kΩ", "0 to below 5 ohm"],
    &["5 ohm or more", "at least 5000 mΩ", "5 Ω or more or open circuit"],
];

/// Words that mean nothing to the compiler.
const WORDS: [(&str, &str); 6] = [
    ("Drive belt loose", "Belt slack"),
    ("Charging is healthy", "It charges"),
    ("To a bay with a meter", "Elsewhere"),
    ("Belt tension and surface", "How the belt looks"),
    ("## Measure {#voltage}", "Some words.\n\n## Take the voltage {#voltage}\n\nHow to."),
    ("Renew the belt", "Fit a new belt"),
];

/// Keys in another order, flow as block and the other way round; the first step stays first.
fn shuffled(value: &mut Value, under: &str, dice: &mut Dice) {
    match value {
        Value::Mapping(map) => {
            let mut entries: Vec<(Value, Value)> = std::mem::take(map).into_iter().collect();
            let from = usize::from(under == "steps").min(entries.len());
            dice.shuffle(&mut entries[from..]);
            for (key, value) in &mut entries {
                shuffled(value, key.as_str().unwrap_or_default(), dice);
            }
            *map = entries.into_iter().collect::<Mapping>();
        }
        Value::Sequence(items) => {
            for item in &mut *items {
                shuffled(item, "", dice);
            }
            // The parts of a worked-out reading stand in order; everything else here is a set.
            dice.shuffle(items);
            if let ([_], 0) = (items.as_slice(), dice.roll(2))
                && !matches!(under, "results" | "confirm")
            {
                *value = items[0].clone();
            }
        }
        _ => {}
    }
}

fn rewritten(text: &str, dice: &mut Dice) -> String {
    let (yaml, body) = match text.strip_prefix("---\n").and_then(|rest| rest.split_once("---\n")) {
        Some((yaml, body)) => (yaml, Some(body)),
        None => (text, None),
    };
    let mut tree: Value = serde_yaml::from_str(yaml).unwrap();
    shuffled(&mut tree, "", dice);
    let yaml = format!("# rewritten\n{}", serde_yaml::to_string(&tree).unwrap());
    body.map_or_else(|| yaml.clone(), |body| format!("---\n{yaml}---\n{body}"))
}

#[test]
fn what_is_only_written_otherwise_is_no_change() {
    let old = side("old", &base());
    for seed in 0..150 {
        let mut dice = Dice(seed);
        let mut edited = base();
        for (path, text) in &mut edited {
            if dice.roll(3) > 0 {
                *text = rewritten(text, &mut dice);
            }
            for same in SAME {
                *text = text.replace(same[0], same[dice.roll(same.len())]);
            }
            for (from, to) in WORDS {
                if dice.roll(2) == 0 {
                    *text = text.replace(from, to);
                }
            }
            let factor = 1 + dice.roll(4);
            if path == PROCEDURE {
                for share in [30, 20, 50] {
                    *text = text.replace(&format!("share: {share}"), &format!("share: {}", share * factor));
                }
                *text = text.replace("- above spec\n", "- above spec # as it was\n");
            }
        }
        if dice.roll(2) == 0 {
            edited
                .iter_mut()
                .filter(|(p, _)| p == PROCEDURE)
                .for_each(|(p, _)| *p = "procedures/charging/lamp.md".into());
        }
        let new = side("new", &edited);
        assert!(new.procedure("lamp").is_some(), "seed {seed}: it is no longer sound:\n{}", edited[0].1);
        let comparison = compare(&old, &new);
        let text = ruleout::compare::text::render(&comparison);
        assert!(text.starts_with("no change in meaning\n"), "seed {seed}: {text}\n{}\n{}", edited[0].1, edited[7].1);
    }
}
