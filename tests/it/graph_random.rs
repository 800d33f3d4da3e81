//! Random small bases for the laws of possible paths and of the walk.
//!
//! In: a seed. Out: a [`Plan`] (what the base says, by number) and, in a [`Style`], its files.

use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Numbers that look random and are the same on every run.
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % sides
    }
}

pub const CAUSES: u64 = 3;
pub const SPECS: u64 = 2;

enum Kind {
    /// A shared spec.
    Measure(u64),
    /// Its own labels.
    Observe,
    /// The shared check with two labels.
    Check,
    /// An action; the spec that it changes, if any.
    Do(Option<u64>),
    Which,
}

enum Way {
    Then(u64),
    End(u64, u64),
}

struct Outcome {
    when: usize,
    clears: Option<u64>,
    way: Way,
}

struct Step {
    kind: Kind,
    results: Vec<Outcome>,
    without: Option<u64>,
    after: Option<u64>,
}

/// What a base says, by number.
pub struct Plan {
    steps: Vec<Step>,
}

/// How a plan is written: everything that must not matter.
#[derive(Clone, Copy, Default)]
pub struct Style {
    /// Other ids for steps and causes.
    pub renamed: bool,
    /// Vehicles in another order.
    pub turned: bool,
    /// A spec that nothing reads.
    pub more: bool,
}

impl Plan {
    /// A procedure of a few steps with loops, shared readings, actions and routes.
    pub fn new(dice: &mut Dice, most: u64) -> Self {
        let count = 2 + dice.roll(most - 1);
        let steps = (0..count).map(|at| step(dice, at, count)).collect();
        Self { steps }
    }

    /// How many steps there are.
    pub fn len(&self) -> usize {
        self.steps.len()
    }

    /// The files.
    pub fn write(&self, style: Style) -> BTreeMap<String, String> {
        let mut vehicles = ["a1: {groups: [twelve]}\n", "a2: {groups: [twelve]}\n", "b1: {groups: [other]}\n"];
        if style.turned {
            vehicles.reverse();
        }
        let mut specs = String::new();
        for spec in 0..SPECS {
            let _ = write!(
                specs,
                "r{spec}:\n  quantity: dc voltage\n  source: Invented\n  values:\n    twelve: 12 to 14 V\n    other: at most {} V\n",
                20 + spec
            );
        }
        if style.more {
            specs.push_str("spare:\n  quantity: current\n  source: Invented\n  value: at most 2 A\n");
        }
        let check = "---\nobserve: Look at the plug\n---\nLook.\n";
        BTreeMap::from([
            ("shop.yaml".to_owned(), "title: A shop\nrules: {unused-entry: off}\n".to_owned()),
            ("vehicles.yaml".to_owned(), vehicles.concat()),
            ("specs/all.yaml".to_owned(), specs),
            ("checks/look.md".to_owned(), check.to_owned()),
            ("procedures/job.md".to_owned(), self.procedure(style)),
        ])
    }

    fn procedure(&self, style: Style) -> String {
        let mut text = "---\ncomplaint: It does not work\ncauses:\n".to_owned();
        for cause in 0..CAUSES {
            let _ = writeln!(text, "  {}: {{title: Cause {cause}}}", cause_id(cause, style));
        }
        text.push_str("steps:\n");
        for (at, step) in self.steps.iter().enumerate() {
            let _ = writeln!(text, "  {}:", step_id(at as u64, style));
            step.write(&mut text, style);
        }
        text + "---\nIntro.\n"
    }
}

/// A step's id in a style.
pub fn step_id(at: u64, style: Style) -> String {
    if style.renamed { format!("q{}", 90 - at) } else { format!("s{at}") }
}

/// A cause's id in a style.
pub fn cause_id(at: u64, style: Style) -> String {
    if style.renamed { format!("z{}", 9 - at) } else { format!("c{at}") }
}

fn step(dice: &mut Dice, at: u64, count: u64) -> Step {
    let kind = match dice.roll(10) {
        0..=3 => Kind::Measure(dice.roll(SPECS)),
        4 | 5 => Kind::Observe,
        6 | 7 => Kind::Check,
        8 => Kind::Do((dice.roll(2) == 0).then(|| dice.roll(SPECS))),
        _ => Kind::Which,
    };
    let results = match kind {
        Kind::Do(_) => 1,
        Kind::Which | Kind::Check => 2,
        Kind::Measure(_) | Kind::Observe => 2 + dice.roll(2) as usize,
    };
    let is_do = matches!(kind, Kind::Do(_));
    let results = (0..results)
        .map(|when| Outcome {
            when,
            clears: (!is_do && dice.roll(2) == 0).then(|| dice.roll(CAUSES)),
            way: way(dice, at, count, is_do),
        })
        .collect();
    let tests = !is_do && !matches!(kind, Kind::Which);
    let without = (dice.roll(8) == 0 && tests).then(|| dice.roll(count));
    let after = (at > 0 && dice.roll(4) == 0).then(|| dice.roll(at));
    Step { kind, results, without, after }
}

fn way(dice: &mut Dice, at: u64, count: u64, is_do: bool) -> Way {
    // Mostly on to a later step, sometimes anywhere: a few rings, not only rings.
    match dice.roll(10) {
        0..=4 if at + 1 < count => Way::Then(at + 1 + dice.roll(count - at - 1)),
        5 => Way::Then(dice.roll(count)),
        _ if is_do => Way::Then(dice.roll(count)),
        _ => Way::End(dice.roll(6), dice.roll(CAUSES)),
    }
}

impl Step {
    fn write(&self, text: &mut String, style: Style) {
        let head = match &self.kind {
            Kind::Measure(spec) => format!("measure: r{spec}"),
            Kind::Observe => "observe: Look at it".to_owned(),
            Kind::Check => "check: look".to_owned(),
            Kind::Do(_) => "do: Turn it".to_owned(),
            Kind::Which => "which: vehicle".to_owned(),
        };
        let _ = writeln!(text, "    {head}");
        if let Some(after) = self.after {
            let _ = writeln!(text, "    after: [{}]", step_id(after, style));
        }
        if let Some(without) = self.without {
            let _ = writeln!(text, "    without: {}", step_id(without, style));
        }
        if let Kind::Do(Some(spec)) = self.kind {
            let _ = writeln!(text, "    changes: [r{spec}]");
        }
        if let (Kind::Do(_), [Outcome { way: Way::Then(to), .. }]) = (&self.kind, self.results.as_slice()) {
            let _ = writeln!(text, "    then: {}", step_id(*to, style));
            return;
        }
        text.push_str("    results:\n");
        for result in &self.results {
            let key = if matches!(self.kind, Kind::Which) { "for" } else { "if" };
            let when = match &self.kind {
                Kind::Measure(_) => ["in spec", "above spec", "below spec"][result.when],
                Kind::Which => ["twelve", "any other vehicle"][result.when],
                _ => ["fine", "loose", "gone"][result.when],
            };
            let _ = write!(text, "      - {{{key}: {when}");
            if let Some(cause) = result.clears {
                let _ = write!(text, ", clears: [{}]", cause_id(cause, style));
            }
            let way = match &result.way {
                Way::Then(to) => format!("then: {}", step_id(*to, style)),
                Way::End(0 | 1, cause) => format!("shows: {}", cause_id(*cause, style)),
                Way::End(2, cause) => format!("found: {}", cause_id(*cause, style)),
                Way::End(3, _) => "found: what is left".to_owned(),
                Way::End(4, _) => "normal: All is well".to_owned(),
                Way::End(..) => "refer: Ask the maker".to_owned(),
            };
            let _ = writeln!(text, ", {way}}}");
        }
    }
}
