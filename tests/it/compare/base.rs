//! A small base that says a little of everything that `compare` can report.

use ruleout::compare::{Comparison, Side, compare};
use ruleout::load::Memory;

/// Paths and texts.
pub type Base = Vec<(String, String)>;

pub const PROCEDURE: &str = "procedures/lamp.md";

const LAMP: &str = "---
complaint: Charge lamp stays lit
codes: [P0562]
applies: all
causes:
  belt-slip: {title: Drive belt loose, share: 30, fix: renew-belt}
  cable: {title: Charge cable poor, share: 20, fix: mend-cable, for: [12-volt]}
  alternator: {title: Alternator worn, share: 50, fix: mend-cable, part: {name: Alternator, number: HV-1, price: 260, minutes: 70}}
steps:
  belt:
    check: drive-belt
    results:
      - {if: tight and dry, clears: [belt-slip], then: voltage}
      - {if: loose, shows: belt-slip}
  voltage:
    measure: charging-voltage
    with: [multimeter]
    without: {refer: To a bay with a meter}
    setup: [raised]
    minutes: 3
    hazards: [rotating-parts]
    after: [belt]
    results:
      - {if: in spec, clears: [cable, alternator], normal: Charging is healthy}
      - {if: below spec, then: drop}
      - {if: above spec, refer: The regulator}
  drop:
    measure: cable-drop
    with: [multimeter]
    minutes: 4
    results:
      - {if: in spec, clears: [cable], then: field}
      - {if: above spec, shows: cable}
  field:
    measure: {quantity: resistance, at: field winding, source: Invented for the demonstration}
    with: [multimeter]
    minutes: 5
    results:
      - {if: below 5 ohm, found: alternator}
      - {if: 5 ohm or more, shows: alternator}
after-repair:
  confirm: [{step: voltage, if: in spec}]
  codes: clear
  trips: 1
---
# Charge lamp stays lit

## Measure {#voltage}

## Drop {#drop}

## Field {#field}

## Mend the cable {#mend-cable}
";

pub fn base() -> Base {
    [
        (PROCEDURE, LAMP),
        ("shop.yaml", "title: Harrow Vale depot\nlabour-rate: 72\ncurrency: EUR\ndefault-minutes: 5\nbays:\n  main: {title: Main bay, has: [multimeter]}\n"),
        ("vehicles.yaml", "brindle-18: {title: Brindle 18 minibus, groups: [12-volt]}\nfell-12: {title: Fell 12 gritter, groups: [24-volt]}\norlo-t2: {title: Orlo T2 van, groups: [12-volt]}\n"),
        ("codes.yaml", "P0562: {title: System voltage low, trips: 1}\n"),
        ("equipment.yaml", "multimeter:\n  title: Multimeter\n  measures:\n    dc voltage: {range: 0 to 600 V, resolution: 0.01 V, accuracy: 0.5 % + 2 digits}\n    resistance: {range: 0 to 40 MΩ, resolution: 0.1 Ω, accuracy: 1 % + 2 digits}\n"),
        ("hazards.yaml", "rotating-parts: {signal: warning, text: Keep hands clear}\nspark: {signal: danger, text: No sparks}\n"),
        ("setups.yaml", "raised: {title: Raised on stands, minutes: 10}\n"),
        ("specs/charging.yaml", "charging-voltage:\n  quantity: dc voltage\n  at: battery posts\n  when: engine at 2000 rpm\n  source: Invented for the demonstration\n  values:\n    12-volt: 13.9 to 14.7 V\n    24-volt: {in spec: 27.8 to 29.0 V, weak: 26.0 to below 27.8 V}\ncable-drop:\n  quantity: dc voltage\n  source: Invented for the demonstration\n  value: at most 0.3 V\n"),
        ("checks/drive-belt.md", "---\nobserve: Belt tension and surface\nminutes: 2\n---\n# Drive belt\n"),
        ("repairs/renew-belt.md", "---\nminutes: 25\n---\n# Renew the belt\n"),
        ("cases/2031-001.yaml", "procedure: lamp\nvehicle: orlo-t2\nreadings: {belt: tight and dry, voltage: 12.9 V, drop: 0.8 V}\ncause: cable\n"),
    ]
    .map(|(path, text)| (path.to_owned(), text.to_owned()))
    .to_vec()
}

/// The base with one text replaced by another in a file; the text must stand there.
pub fn edited(path: &str, from: &str, to: &str) -> Base {
    let mut base = base();
    if from.is_empty() {
        base.push((path.to_owned(), to.to_owned()));
        return base;
    }
    let file = base.iter_mut().find(|(p, _)| p == path).unwrap();
    assert!(file.1.contains(from), "`{from}` does not stand in {path}");
    file.1 = file.1.replacen(from, to, 1);
    base
}

pub fn side(name: &str, base: &Base) -> Side {
    let memory: Memory = base.iter().map(|(path, text)| (path.clone(), text.clone().into_bytes())).collect();
    Side::read(name, &memory).unwrap()
}

pub fn compared(old: &Base, new: &Base) -> Comparison {
    compare(&side("old", old), &side("new", new))
}

/// What procedures say otherwise, what they share, and cases; without worked-out minutes and findings.
pub fn lines(comparison: &Comparison) -> Vec<String> {
    let mut lines = Vec::new();
    for row in &comparison.shared {
        lines.push(format!("{} {} [{}]", row.change.kind.name(), row.change.words(), row.procedures.join(", ")));
    }
    for procedure in &comparison.procedures {
        let fate = ruleout::compare::text::fate(&procedure.fate);
        if !fate.is_empty() {
            lines.push(format!("{}{fate}", procedure.id));
        }
        let own = procedure.changes.iter().filter(|c| !c.shared);
        lines.extend(own.map(|c| format!("{} {}", c.kind.name(), c.words())));
        lines.extend(procedure.cases.iter().map(|c| format!("case {}: {} → {}", c.case, c.old, c.new)));
    }
    lines
}
