//! Small changes, each with exactly the lines that a reviewer reads.

use super::base::{PROCEDURE, base, compared, edited, lines};

/// File, text, its replacement, and the lines.
type Row = (&'static str, &'static str, &'static str, &'static [&'static str]);

const LIMITS: &[Row] = &[
    (
        SPECS,
        "13.9 to 14.7 V",
        "13.8 to 14.7 V",
        &["limit charging-voltage, in spec: 13.9 to 14.7 V → 13.8 to 14.7 V (on brindle-18, orlo-t2) [lamp]"],
    ),
    (
        SPECS,
        "12-volt: 13.9 to 14.7 V",
        "12-volt: 13.9 to 14.7 V\n    orlo-t2: 14.0 to 14.7 V",
        &["limit charging-voltage, in spec: 13.9 to 14.7 V → 14.0 to 14.7 V (on orlo-t2) [lamp]"],
    ),
    (
        SPECS,
        "12-volt: 13.9 to 14.7 V",
        "12-volt: TBD",
        &[
            "limit charging-voltage: 13.9 to 14.7 V → TBD (on brindle-18, orlo-t2) [lamp]",
            "case 2031-001: shows cable → the reading `12.9 V` of step voltage can't be read",
        ],
    ),
    (
        SPECS,
        ", weak: 26.0 to below 27.8 V",
        "",
        &["limit charging-voltage, weak is gone: 26.0 to below 27.8 V (on fell-12) [lamp]"],
    ),
    (
        SPECS,
        "at: battery posts",
        "at: alternator post",
        &["limit charging-voltage, measured at: battery posts → alternator post [lamp]"],
    ),
    (
        SPECS,
        "when: engine at 2000 rpm",
        "when: engine idling",
        &["limit charging-voltage, measured when: engine at 2000 rpm → engine idling [lamp]"],
    ),
    (
        SPECS,
        "at most 0.3 V",
        "at most 0.9 V",
        &[
            "limit cable-drop, in spec: at most 0.3 V → at most 0.9 V (on brindle-18, fell-12, orlo-t2) [lamp]",
            "case 2031-001: shows cable → needs a reading at step field",
        ],
    ),
];

const SPECS: &str = "specs/charging.yaml";

const RESULTS: &[Row] = &[
    (
        PROCEDURE,
        "{if: below 5 ohm, found: alternator}",
        "{if: below 4 ohm, found: alternator}",
        &["result step field, result: `below 5 ohm` → `below 4 ohm`"],
    ),
    (
        PROCEDURE,
        "{if: loose, shows: belt-slip}",
        "{if: slack, shows: belt-slip}",
        &["result step belt, result: `loose` → `slack`"],
    ),
    (
        PROCEDURE,
        "      - {if: above spec, refer: The regulator}\n",
        "",
        &["result step voltage, `above spec` is gone: refer"],
    ),
    (
        PROCEDURE,
        "      - {if: loose, shows: belt-slip}\n",
        "      - {if: loose, shows: belt-slip}\n      - {if: missing, clears: [cable], refer: Ask}\n",
        &["result step belt, `missing` is new: rules out cable, refer"],
    ),
    (
        PROCEDURE,
        "{if: below spec, then: drop}",
        "{if: below spec, then: field}",
        &[
            "route step voltage, `below spec`: on to drop → on to field",
            "case 2031-001: shows cable → needs a reading at step field",
        ],
    ),
    (
        PROCEDURE,
        "{if: above spec, refer: The regulator}",
        "{if: above spec, unproven: Come back}",
        &["route step voltage, `above spec`: refer → unproven"],
    ),
    (
        PROCEDURE,
        "{if: above spec, shows: cable}",
        "{if: above spec, shows: alternator}",
        &[
            "verdict step drop, `above spec`: shows cable → shows alternator",
            "case 2031-001: shows cable → shows alternator",
        ],
    ),
    (
        PROCEDURE,
        "found: alternator}",
        "found: [alternator, cable]}",
        &["verdict step field, `below 5 ohm`: found: alternator → found: alternator, cable"],
    ),
    (
        PROCEDURE,
        "found: alternator}",
        "found: what is left}",
        &["verdict step field, `below 5 ohm`: found: alternator → found: what is left"],
    ),
    (
        PROCEDURE,
        "clears: [belt-slip], then: voltage",
        "then: voltage",
        &["evidence step belt, `tight and dry`: rules out belt-slip → rules nothing out"],
    ),
    (
        PROCEDURE,
        "clears: [cable], then: field",
        "leaves: [alternator], then: field",
        &["evidence step drop, `in spec`: rules out cable → leaves only alternator"],
    ),
];

const STEPS: &[Row] = &[
    (
        PROCEDURE,
        "    measure: cable-drop\n",
        "    measure: cable-drop\n    changes: [charging-voltage]\n",
        &["evidence step drop, makes unknown again: none → charging-voltage"],
    ),
    (
        PROCEDURE,
        "    with: [multimeter]\n    without",
        "    without",
        &["equipment step voltage, equipment: multimeter → none"],
    ),
    (
        PROCEDURE,
        "    without: {refer: To a bay with a meter}\n",
        "    without: drop\n",
        &["route step voltage, where the equipment is lacking: refer → on to drop"],
    ),
    (PROCEDURE, "    setup: [raised]\n", "", &["setup step voltage, setup: raised → none"]),
    (
        PROCEDURE,
        "    minutes: 3\n",
        "    minutes: 3.5\n    wait: 2\n",
        &["minutes step voltage, minutes: 3 min → 3.5 min", "minutes step voltage, minutes of waiting: none → 2 min"],
    ),
    (
        PROCEDURE,
        "    hazards: [rotating-parts]\n",
        "    hazards: [rotating-parts, spark]\n",
        &["hazard step voltage, hazards: rotating-parts → rotating-parts, spark"],
    ),
    (
        PROCEDURE,
        "    hazards: [rotating-parts]\n",
        "    hazards: [rotating-parts]\n    away-from: [rotating-parts]\n",
        &["hazard step voltage, hazards: rotating-parts → none"],
    ),
    (PROCEDURE, "    after: [belt]\n", "", &["order step voltage, never before: belt → none"]),
    (
        PROCEDURE,
        "    measure: cable-drop\n",
        "    measure: cable-drop\n    undo: Put the lead back\n",
        &["step step drop, leaves something to put back: no → yes"],
    ),
    (
        PROCEDURE,
        "at: field winding",
        "at: brushes",
        &["step step field: measures resistance at field winding → measures resistance at brushes"],
    ),
    (
        PROCEDURE,
        "    check: drive-belt\n",
        "    observe: The belt\n    minutes: 2\n",
        &["step step belt: observes, by check drive-belt → observes"],
    ),
    ("checks/drive-belt.md", "minutes: 2", "minutes: 6", &["minutes step belt, minutes: 2 min → 6 min"]),
    (
        PROCEDURE,
        "found: alternator}\n      - {if: 5 ohm or more, shows: alternator}\n",
        "found: alternator}\n      - {if: 5 ohm or more, then: look}\n  look:\n    observe: Brushes\n    results:\n      - {if: worn, shows: alternator}\n",
        &[
            "verdict step field, `5 ohm or more`: shows alternator → on to look",
            "step step look is new: observes",
            "result step look, `worn` is new: shows alternator",
        ],
    ),
];

const CAUSES: &[Row] = &[
    (PROCEDURE, "share: 30", "share: 40", &["cause cause belt-slip, share: 30 of 100 → 40 of 110"]),
    (
        PROCEDURE,
        "fix: mend-cable, for",
        "fix: renew-belt, for",
        &["cause cause cable, fix: mend-cable → the shared repair renew-belt"],
    ),
    (
        PROCEDURE,
        "for: [12-volt]",
        "for: [orlo-t2]",
        &["cause cause cable, exists on: brindle-18, orlo-t2 → orlo-t2 (on brindle-18)"],
    ),
    (PROCEDURE, "price: 260", "price: 280.5", &["part cause alternator, price: 260 → 280.5"]),
    (PROCEDURE, "number: HV-1,", "number: HV-2,", &["part cause alternator, part number: HV-1 → HV-2"]),
    (
        PROCEDURE,
        "  alternator: {",
        "  fuse: {title: Fuse blown, share: 0, fix: mend-cable}\n  alternator: {",
        &["cause cause fuse is new: Fuse blown, share 0"],
    ),
];

const HEAD: &[Row] = &[
    (
        PROCEDURE,
        "applies: all",
        "applies: [12-volt]",
        &["vehicle applies to: brindle-18, fell-12, orlo-t2 → brindle-18, orlo-t2 (on fell-12)"],
    ),
    (PROCEDURE, "codes: [P0562]\n", "", &["code fault codes: P0562 → none", "code trips to set the codes: 1 → none"]),
    (
        "codes.yaml",
        "trips: 1",
        "trips: 2",
        &["code fault code P0562, trips: 1 → 2 []", "code trips to set the codes: 1 → 2"],
    ),
    (
        PROCEDURE,
        "confirm: [{step: voltage, if: in spec}]",
        "confirm: [{step: belt, if: tight and dry}]",
        &["repair after the repair, confirmed by: voltage: in spec → belt: tight and dry"],
    ),
    (PROCEDURE, "  trips: 1\n", "  trips: 3\n", &["repair after the repair, trips: 1 → 3"]),
];

const SHARED: &[Row] = &[
    (
        "repairs/renew-belt.md",
        "minutes: 25",
        "minutes: 30",
        &["repair repair renew-belt, minutes: 25 min → 30 min [lamp]"],
    ),
    ("setups.yaml", "minutes: 10", "minutes: 12", &["setup setup raised, minutes: 10 min → 12 min [lamp]"]),
    (
        "hazards.yaml",
        "signal: warning",
        "signal: danger",
        &["hazard hazard rotating-parts, signal: warning → danger [lamp]"],
    ),
    (
        "hazards.yaml",
        "text: No sparks",
        "text: No sparks here",
        &["hazard hazard spark, text: No sparks → No sparks here []"],
    ),
    (
        "equipment.yaml",
        "range: 0 to 600 V",
        "range: 0 to 60 V",
        &[
            "equipment equipment multimeter, dc voltage: 0 to 600 V, resolution 0.01 V, accuracy 0.5 % + 2 digits → 0 to 60 V, resolution 0.01 V, accuracy 0.5 % + 2 digits []",
        ],
    ),
    ("shop.yaml", "labour-rate: 72", "labour-rate: 80", &["shop the shop, labour rate: 72 → 80 []"]),
    ("shop.yaml", "has: [multimeter]", "has: []", &["shop bay main, has: multimeter → none []"]),
    (
        "vehicles.yaml",
        "orlo-t2:",
        "tarn-6: {title: Tarn 6 sweeper, groups: [12-volt]}\norlo-t2:",
        &[
            "vehicle vehicle tarn-6 is new []",
            "vehicle applies to: brindle-18, fell-12, orlo-t2 → brindle-18, fell-12, orlo-t2, tarn-6 (on tarn-6)",
        ],
    ),
    (
        "specs/wheels.yaml",
        "",
        "wheel-nut:\n  quantity: torque\n  source: Invented for the demonstration\n  value: 180 N·m ± 10 N·m\n",
        &["limit wheel-nut is new: 180 N·m ± 10 N·m []"],
    ),
    (
        "procedures/other.md",
        "",
        "---\ncomplaint: Other\ncauses:\n  a: {title: A}\nsteps:\n  s:\n    observe: S\n    results:\n      - {if: x, shows: a}\n---\n",
        &["other: is new"],
    ),
];

#[test]
fn each_change_gives_exactly_its_lines() {
    let mut wrong = String::new();
    let all: Vec<&Row> = [LIMITS, RESULTS, STEPS, CAUSES, HEAD, SHARED].into_iter().flatten().collect();
    assert!(all.len() >= 50, "{} changes", all.len());
    for (path, from, to, expected) in all {
        let found = lines(&compared(&base(), &edited(path, from, to)));
        if found != *expected {
            wrong.push_str(&format!("{path}: `{from}` to `{to}`\n  expected {expected:#?}\n  found    {found:#?}\n"));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
