//! Random procedures as people write them: causes with shares, tests with evidence, in some authored order.
//!
//! In: a seed. Out: the files of a base with one procedure, `procedures/job.md`. What each test shows is drawn first, as a table of causes
//! and results; the procedure then asks the tests in the author's order, so that most of them lint clean.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::graph_random::Dice;

/// How a test is asked.
enum Kind {
    /// Labels of its own.
    Observe,
    /// A shared reading, with these results.
    Measure(usize, Results),
    /// A shared check with two labels.
    Check(usize),
    /// An action, and the reading that it changes, if any.
    Do(Option<usize>),
}

struct Test {
    kind: Kind,
    /// Per result, the causes that can show it.
    shows: Vec<u32>,
    /// Evidence as `leaves`.
    leaves: bool,
    /// Keys that stand in one line each.
    more: Vec<String>,
}

/// The instrument that one bay lacks.
const METER: &str = "with: [meter]";
const LABELS: [&str; 3] = ["fine", "loose", "gone"];
/// Results of a shared reading, each with the zones that it takes: below 10 V, to 12 V, to 14 V, above.
type Results = &'static [(&'static str, u32)];

const READINGS: [Results; 5] = [
    &[("in spec", 0b0100), ("out of spec", 0b1011)],
    &[("in spec", 0b0100), ("below spec", 0b0011), ("above spec", 0b1000)],
    &[("below spec", 0b0011), ("at least 12 V", 0b1100)],
    &[("above spec", 0b1000), ("at most 14 V", 0b0111)],
    &[("in spec", 0b0100), ("weak", 0b0010), ("any other reading", 0b1001)],
];

/// A procedure in the making.
#[allow(clippy::struct_excessive_bools, reason = "each says of itself whether something is drawn")]
struct Draw<'a> {
    dice: &'a mut Dice,
    causes: usize,
    no_fault: bool,
    /// Per reading and cause, the zones in which it can be: one for most.
    zones: Vec<Vec<u32>>,
    /// Per test.
    tests: Vec<Test>,
    /// Steps written: text without the id.
    steps: Vec<(String, String)>,
    /// Some results end the job early.
    early: bool,
    /// The vehicles that do not start at the first test start at a later one.
    parts: bool,
    tree: bool,
}

/// The files of a base with one procedure.
pub fn base(seed: u64) -> BTreeMap<String, String> {
    let mut dice = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    (0..8).for_each(|_| {
        dice.roll(2);
    });
    let vehicles = [0, 0, 2, 3][dice.roll(4) as usize];
    let mut files = BTreeMap::from([
        ("shop.yaml".to_owned(), "title: A shop\nrules: {unused-entry: off, no-fix: off, no-confirmation: off, step-without-heading: off, no-minutes: off, slow-order: note}\nbays: {main: {title: Main, has: [meter]}, yard: {title: Yard, has: []}}\n".to_owned()),
        ("equipment.yaml".to_owned(), "meter: {title: Meter, measures: {dc voltage: {range: 0 to 60 V, resolution: 0.01 V, accuracy: 0.01 V}}}\n".to_owned()),
        ("setups.yaml".to_owned(), "up: {title: Up, minutes: 6, ends: [down]}\ndown: {title: Down, minutes: 3, ends: [up]}\n".to_owned()),
        ("specs/all.yaml".to_owned(), specs(vehicles > 0)),
    ]);
    for check in 0..6 {
        files.insert(format!("checks/c{check}.md"), format!("---\nobserve: Look at plug {check}\n---\nLook.\n"));
    }
    if vehicles > 0 {
        let all = ["v0: {groups: [twelve]}\n", "v1: {groups: [other]}\n", "v2: {groups: [other]}\n"];
        files.insert("vehicles.yaml".to_owned(), all[..vehicles].concat());
    }
    files.insert("procedures/job.md".to_owned(), procedure(&mut dice, vehicles));
    files
}

fn specs(many: bool) -> String {
    let mut text = String::new();
    for spec in 0..2 {
        let both = "{in spec: 12 to 14 V, weak: 10 to below 12 V}";
        let values = match (many, spec) {
            (false, _) => format!("  value: {both}\n"),
            // the others have a limit on one side only
            (true, 0) => format!(
                "  values:\n    twelve: {both}\n    other: {{in spec: at most 14 V, weak: above 14 V to 15 V}}\n"
            ),
            (true, _) => {
                format!("  values:\n    twelve: {both}\n    other: {{in spec: 12 to 14 V, weak: 11 to below 12 V}}\n")
            }
        };
        let _ = write!(text, "r{spec}:\n  quantity: dc voltage\n  source: Invented for the demonstration\n{values}");
    }
    text
}

fn procedure(dice: &mut Dice, vehicles: usize) -> String {
    let causes = 2 + dice.roll(5) as usize;
    let no_fault = dice.roll(4) == 0;
    let mut text = "---\ncomplaint: It does not work\ncauses:\n".to_owned();
    for cause in 0..causes {
        let some = vehicles > 0 && dice.roll(4) == 0;
        let on = if some { format!(", for: [v{}]", dice.roll(vehicles as u64)) } else { String::new() };
        let _ = writeln!(text, "  c{cause}: {{title: Cause {cause}, share: {}{on}}}", dice.roll(12));
    }
    if no_fault {
        let _ = writeln!(text, "  no-fault: {{share: {}}}", 1 + dice.roll(5));
    }
    let count = 1 + dice.roll(6) as usize;
    let zones = (0..2)
        .map(|_| {
            (0..=causes).map(|_| 1 << dice.roll(4) | if dice.roll(8) == 0 { 1 << dice.roll(4) } else { 0 }).collect()
        })
        .collect();
    let mut draw = Draw {
        causes,
        no_fault,
        zones,
        tests: Vec::new(),
        steps: Vec::new(),
        early: dice.roll(6) == 0,
        parts: vehicles > 1 && dice.roll(4) == 0,
        tree: dice.roll(3) == 0,
        dice,
    };
    for at in 0..count {
        let test = draw.test(at);
        draw.tests.push(test);
    }
    let all = (1u32 << (causes + usize::from(no_fault))) - 1;
    if draw.tree {
        draw.way(all, 0);
    } else {
        draw.row(all);
    }
    text.push_str("steps:\n");
    if draw.steps.is_empty() {
        text.push_str("  s0: {observe: It, results: [{if: x, refer: Ask}, {if: y, refer: Ask}]}\n");
    }
    // each step was written after all that it leads to
    for (id, step) in draw.steps.iter().rev() {
        let _ = write!(text, "  {id}:\n{step}");
    }
    if draw.dice.roll(4) == 0 {
        text.push_str(&draw.confirm());
    }
    text + "---\nIntro.\n"
}

impl Draw<'_> {
    fn test(&mut self, at: usize) -> Test {
        // in a tree each test stands in several places: its reading is a shared one
        let kind = match self.dice.roll(12) {
            0..=4 if self.tree => Kind::Check(at),
            10.. if self.tree => Kind::Measure(self.dice.roll(2) as usize, READINGS[self.dice.roll(5) as usize]),
            0..=4 => Kind::Observe,
            5..=7 => Kind::Measure(self.dice.roll(2) as usize, READINGS[self.dice.roll(5) as usize]),
            8..=9 => Kind::Check(if self.tree { at } else { self.dice.roll(2) as usize }),
            _ => Kind::Do((self.dice.roll(2) == 0).then(|| self.dice.roll(2) as usize)),
        };
        let count = match &kind {
            Kind::Observe => 2 + self.dice.roll(2) as usize,
            Kind::Measure(_, results) => results.len(),
            Kind::Check(_) => 2,
            Kind::Do(_) => 1,
        };
        let mut shows = vec![0u32; count];
        let same = |other: &&Test| matches!((&other.kind, &kind), (Kind::Check(a), Kind::Check(b)) if a == b);
        if let Some(other) = self.tests.iter().find(same) {
            shows.clone_from(&other.shows);
        } else if let Kind::Measure(spec, results) = &kind {
            for (cause, zones) in self.zones[*spec].iter().enumerate().take(self.causes + usize::from(self.no_fault)) {
                let shown = results.iter().zip(&mut shows).filter(|((_, takes), _)| takes & zones != 0);
                shown.for_each(|(_, shows)| *shows |= 1 << cause);
            }
        } else {
            self.draw(&mut shows);
        }
        let mut more = Vec::new();
        if self.dice.roll(10) > 0 {
            more.push(format!("minutes: {}", self.dice.roll(15)));
        }
        match self.dice.roll(10) {
            0 => more.push("wait: 3".to_owned()),
            1 => more.push("setup: [up]".to_owned()),
            2 => more.push("setup: [down]".to_owned()),
            3 => more.push("undo: Put it back".to_owned()),
            4 if !matches!(kind, Kind::Do(_)) => more.push(format!("changes: [r{}]", self.dice.roll(2))),
            6 if !self.tree && !matches!(kind, Kind::Do(_)) => more.push(METER.to_owned()),
            5 if at > 0 => {
                let other = self.dice.roll(at as u64);
                more.push(format!("after: [s{other}]"));
            }
            _ => {}
        }
        Test { kind, shows, leaves: self.dice.roll(4) == 0, more }
    }

    /// Draws what each cause shows: one result for most.
    fn draw(&mut self, shows: &mut [u32]) {
        let count = shows.len();
        for cause in 0..self.causes + usize::from(self.no_fault) {
            match self.dice.roll(12) {
                _ if count == 1 => shows[0] |= 1 << cause,
                0 => shows.iter_mut().for_each(|s| *s |= 1 << cause),
                1 if count > 2 => {
                    let not = self.dice.roll(count as u64) as usize;
                    (0..count).filter(|r| *r != not).for_each(|r| shows[r] |= 1 << cause);
                }
                _ => shows[self.dice.roll(count as u64) as usize] |= 1 << cause,
            }
        }
    }

    /// A result that confirms the repair.
    fn confirm(&mut self) -> String {
        let at = self.dice.roll(self.steps.len().max(1) as u64) as usize;
        let Some((id, step)) = self.steps.get(at) else { return String::new() };
        let label =
            step.lines().filter_map(|line| line.trim().strip_prefix("- {if: ")).find_map(|l| l.split_once(", "));
        label.map_or_else(String::new, |(label, _)| {
            format!("after-repair: {{confirm: [{{step: {id}, if: {label}}}]}}\n")
        })
    }

    /// Whether a test from here tells something of these causes.
    fn next(&self, left: u32, from: usize) -> Option<usize> {
        let tells = |at: &usize| self.tests[*at].shows.iter().any(|s| s & left != left);
        let asked = |at: &usize| matches!(self.tests[*at].kind, Kind::Do(_)) || tells(at);
        (from..self.tests.len()).find(tells)?;
        (from..self.tests.len()).find(asked)
    }

    /// The verdict where these are left.
    fn verdict(&mut self, left: u32) -> String {
        if left & ((1 << self.causes) - 1) == 0 {
            return if left == 0 { "refer: Ask the maker".to_owned() } else { "normal: All is well".to_owned() };
        }
        let ids: Vec<String> = (0..self.causes).filter(|c| left >> c & 1 == 1).map(|c| format!("c{c}")).collect();
        match self.dice.roll(4) {
            0 => "found: what is left".to_owned(),
            _ => format!("found: [{}]", ids.join(", ")),
        }
    }

    /// Each test in one place, as most people write.
    fn row(&mut self, all: u32) {
        let mut comes: Vec<Vec<u32>> = vec![Vec::new(); self.tests.len()];
        let Some(start) = self.next(all, 0) else { return };
        comes[start].push(all);
        let mut steps = Vec::new();
        if let Some(later) = self.next(all, start + 1).filter(|_| self.parts) {
            comes[later].push(all);
            let ways = format!("{{for: [v0], then: s{start}}}, {{for: any other vehicle, then: s{later}}}");
            steps.push(("route".to_owned(), format!("    which: vehicle\n    results: [{ways}]\n")));
        }
        for at in 0..self.tests.len() {
            if comes[at].is_empty() {
                continue;
            }
            let ways = (0..self.tests[at].shows.len()).map(|result| {
                let shown = self.tests[at].shows[result];
                let mut left: Vec<u32> = comes[at].iter().map(|left| left & shown).collect();
                left.sort_unstable();
                left.dedup();
                match left.iter().filter_map(|left| self.next(*left, at + 1)).min() {
                    Some(next) => {
                        comes[next].extend(left);
                        format!("then: s{next}")
                    }
                    None if left.contains(&0) => self.verdict(0),
                    None => self.verdict(left.iter().fold(0, |all, left| all | left)),
                }
            });
            let ways: Vec<String> = ways.collect();
            let mut step = self.written(at, ways);
            if self.tests[at].more.iter().any(|line| line == METER) {
                // a bay without it goes on with the next test, and knows no more
                let next = comes[at].iter().filter_map(|left| self.next(*left, at + 1)).min();
                let without = match next.filter(|_| self.dice.roll(2) == 0) {
                    Some(next) => {
                        let left = comes[at].clone();
                        comes[next].extend(left);
                        format!("s{next}")
                    }
                    None => "{refer: Go on in the main bay}".to_owned(),
                };
                step.push_str(&format!("    without: {without}\n"));
            }
            steps.push((format!("s{at}"), step));
        }
        self.steps = steps.into_iter().rev().collect();
    }

    /// A tree: a test in several places is a step at each.
    fn way(&mut self, left: u32, from: usize) -> String {
        let next = self.next(left, from).filter(|_| left & ((1 << self.causes) - 1) != 0);
        let Some(at) = next else { return self.verdict(left) };
        let ways = (0..self.tests[at].shows.len()).map(|result| self.way(left & self.tests[at].shows[result], at + 1));
        let ways = ways.collect();
        let step = self.written(at, ways);
        let own = |id: &str| id.split('-').next() == Some(&format!("s{at}"));
        if let Some((id, _)) = self.steps.iter().find(|(id, s)| *s == step && own(id)) {
            return format!("then: {id}");
        }
        let again = self.steps.iter().filter(|(id, _)| own(id)).count();
        let id = if again == 0 { format!("s{at}") } else { format!("s{at}-{again}") };
        self.steps.push((id.clone(), step));
        format!("then: {id}")
    }

    /// A step with these ways on.
    fn written(&mut self, at: usize, ways: Vec<String>) -> String {
        let test = &self.tests[at];
        let (kind, labels): (String, Vec<&str>) = match &test.kind {
            Kind::Observe => (format!("observe: Look at {at}"), LABELS[..test.shows.len()].to_vec()),
            Kind::Measure(spec, results) => {
                (format!("measure: r{spec}"), results.iter().map(|(label, _)| *label).collect())
            }
            Kind::Check(check) => (format!("check: c{check}"), LABELS[..2].to_vec()),
            Kind::Do(Some(spec)) => (format!("do: Turn {at}\n    changes: [r{spec}]"), Vec::new()),
            Kind::Do(None) => (format!("do: Turn {at}"), Vec::new()),
        };
        let mut text = format!("    {kind}\n");
        for line in &test.more {
            let _ = writeln!(text, "    {line}");
        }
        if labels.is_empty() {
            let _ = writeln!(text, "    {}", ways[0]);
            return text;
        }
        text.push_str("    results:\n");
        let count = self.causes + usize::from(self.no_fault);
        let id = |c| if c == self.causes { "no-fault".to_owned() } else { format!("c{c}") };
        let ids = |set: u32| -> Vec<String> { (0..count).filter(|c| set >> c & 1 == 1).map(id).collect() };
        for ((label, shown), way) in labels.iter().zip(&test.shows).zip(ways) {
            let (kept, gone) = (ids(*shown), ids(!shown));
            let evidence = match (test.leaves, kept.is_empty() || gone.is_empty()) {
                (true, false) => format!("leaves: [{}], ", kept.join(", ")),
                _ if gone.is_empty() => String::new(),
                _ => format!("clears: [{}], ", gone.join(", ")),
            };
            let one = shown.is_power_of_two() && *shown < 1 << self.causes;
            let (evidence, way) = if one && way.starts_with("found") && self.dice.roll(2) == 0 {
                (String::new(), format!("shows: c{}", shown.trailing_zeros()))
            } else if self.early && self.dice.roll(5) == 0 {
                (evidence, ["refer: Ask the maker", "unproven: Come back"][self.dice.roll(2) as usize].to_owned())
            } else {
                (evidence, way)
            };
            let _ = writeln!(text, "      - {{if: {label}, {evidence}{way}}}");
        }
        text
    }
}
