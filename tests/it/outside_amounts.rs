//! Conversions, ranges and accuracies against what the outside says (`tests/outside/amounts.tsv`, and the worked examples of
//! meters' data sheets), and the dumps that `tests/outside/pint_check.py` and `z3_ranges.py` judge.

use ruleout::parse::{amount, phrase};
use ruleout::quantity::{
    Amount, Domain, Edge, Phrase, Quantity, Rational, ReadingSet, SpecLimits, Unit, evaluate, limit_set, number,
};
use serde_json::{Value, json};

fn quantity(name: &str) -> Quantity {
    Quantity::from_name(name).unwrap_or_else(|| panic!("no quantity {name}"))
}

fn read(text: &str, name: &str) -> Amount {
    amount::parse(text, quantity(name)).unwrap_or_else(|problem| panic!("{text}: {problem:?}"))
}

/// A decimal or a fraction.
fn exact(text: &str) -> Rational {
    let part = |text: &str| amount::number(text).unwrap();
    text.split_once('/').map_or_else(|| part(text), |(above, below)| part(above) / part(below))
}

/// The readings of each result of a step without a spec.
fn readings(name: &str, results: &[&str]) -> (Domain, Vec<ReadingSet>) {
    let phrases: Vec<Phrase> = results.iter().map(|text| phrase::parse(text, quantity(name), &[]).unwrap()).collect();
    let domain = Domain::new(quantity(name), phrases.iter().any(Phrase::names_negative));
    let sets = evaluate(&phrases.iter().collect::<Vec<_>>(), None, &domain);
    (domain, sets)
}

fn gap(name: &str, results: &[&str]) -> String {
    let (domain, sets) = readings(name, results);
    let all = sets.iter().fold(ReadingSet::empty(), |all, set| all.union(set));
    domain.complement(&all).words(Unit::default_of(quantity(name)), &domain)
}

#[test]
fn every_conversion_is_exactly_the_standards() {
    let table = include_str!("../outside/amounts.tsv");
    let mut rows = 0;
    for row in table.lines().filter(|row| !row.starts_with('#')) {
        let [text, name, unit, result, _source] = row.split('\t').collect::<Vec<_>>()[..] else { panic!("{row}") };
        let unit = Unit::find(unit, quantity(name)).unwrap();
        assert_eq!(unit.from_base(&read(text, name).value, quantity(name)), exact(result), "{row}");
        rows += 1;
    }
    assert!(rows > 50);
}

#[test]
fn every_unit_converts_back_and_states_its_source() {
    for quantity in Quantity::all() {
        let default = Unit::default_of(quantity);
        assert!(default.serves(quantity), "{}", quantity.name());
        assert!(quantity.is_bare() || Unit::common_of(quantity).contains(&default), "{}", quantity.name());
        for unit in Unit::all_of(quantity) {
            assert!(!unit.source().is_empty());
            assert_eq!(Unit::find(unit.symbol(), quantity), Ok(unit));
            let value = number::ratio(1234, 7);
            assert_eq!(unit.from_base(&unit.to_base(&value, quantity), quantity), value);
        }
    }
}

#[test]
fn look_alike_letters_are_one_unit() {
    let same = |one: &str, other: &str, name| assert_eq!(read(one, name).value, read(other, name).value);
    same("1 \u{2126}", "1 \u{3a9}", "resistance");
    same("1 k\u{2126}", "1 kohm", "resistance");
    same("1 \u{b5}F", "1 \u{3bc}F", "capacitance");
    same("1 N.m", "1 N·m", "torque");
    same("1 N*m", "1 N · m", "torque");
    same("\u{2212}20 °C", "-20 °C", "temperature");
}

#[test]
fn a_limit_in_psi_meets_one_in_kpa_as_what_it_is() {
    let (domain, sets) = readings("pressure", &["below 30 psi", "206.843 kPa or more"]);
    let gap = domain.complement(&sets[0].union(&sets[1]));
    let ends = gap.end_points();
    let width = &ends[1] - &ends[0];
    assert!(number::ratio(28, 100) < width && width < number::ratio(29, 100), "{}", number::show(&width));
    let psi = Unit::find("psi", Quantity::Pressure).unwrap();
    assert_eq!(gap.words(psi, &domain), "30 psi to below 30.00004 psi");
    let (_, sets) = readings("pressure", &["below 30 psi", "206.842 kPa or more"]);
    assert!(sets[0].meets(&sets[1]));
}

#[test]
fn open_circuit_is_above_every_finite_resistance() {
    assert_eq!(gap("resistance", &["below 50 ohm", "50 ohm or more"]), "no reading");
    assert_eq!(gap("resistance", &["below 50 ohm", "50 to 70 ohm"]), "above 70 Ω or open circuit");
    assert_eq!(gap("resistance", &["below 30 ohm", "above 30 ohm", "open circuit"]), "exactly 30 Ω");
    assert_eq!(gap("resistance", &["30 to 70 ohm", "above 90 ohm", "below 30 ohm"]), "above 70 Ω to 90 Ω");
}

/// ±(% + digits): worked examples of truth.md; the last row is a worked example of a meter's note (published).
#[test]
fn accuracies_are_the_data_sheets() {
    let rows = [
        ("0.5 % + 2 digits", "12.00 V", "0.01 V", "0.08"),
        ("0.5 % + 2 digits", "0.20 V", "0.001 V", "0.003"),
        ("0.5 % + 2 digits", "5.00 V", "0.01 V", "0.045"),
        ("0.08 % + 2 digits", "2.000 V", "0.001 V", "0.0036"),
        ("0.1 V", "7 V", "0.01 V", "0.1"),
        ("±0.010 % + 50 µV", "7.0 V", "0.01 V", "0.00075"),
    ];
    for (accuracy, reading, resolution, error) in rows {
        let accuracy = amount::accuracy(accuracy, Quantity::DcVoltage).unwrap();
        let error_at = accuracy.error_at(&read(reading, "dc voltage").value, &read(resolution, "dc voltage").value);
        assert_eq!(error_at, exact(error), "{reading}");
    }
    let ohms = amount::accuracy("1 % + 5 digits", Quantity::Resistance).unwrap();
    assert_eq!(ohms.error_at(&exact("0.5"), &exact("0.1")), exact("0.505"));
    let warm = amount::accuracy("1 °F", Quantity::Temperature).unwrap();
    assert_eq!(warm.error_at(&exact("300"), &exact("1")), exact("5/9"));
}

struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }

    fn pick<'a>(&mut self, texts: &[&'a str]) -> &'a str {
        texts[self.roll(texts.len() as u64) as usize]
    }

    fn range(&mut self, units: &[&str]) -> String {
        let (low, more) = (self.roll(12), 1 + self.roll(6));
        let (a, b) = (low, low + more);
        let unit = self.pick(units);
        match self.roll(10) {
            0 => format!("below {a} {unit}"),
            1 => format!("above {a} {unit}"),
            2 => format!("at most {a} {unit}"),
            3 => format!("at least {a} {unit}"),
            4 => format!("{a} to {b} {unit}"),
            5 => format!("{a} to below {b} {unit}"),
            6 => format!("above {a} to {b} {unit}"),
            7 => format!("above {a} to below {b} {unit}"),
            8 => format!("{b} {unit} ± {} %", 10 * (1 + more)),
            _ => format!("exactly {a} {unit}"),
        }
    }
}

fn write(name: &str, value: &Value) {
    if let Some(folder) = std::env::var_os("RULEOUT_OUT") {
        std::fs::write(std::path::Path::new(&folder).join(name), value.to_string()).unwrap();
    }
}

#[test]
fn dump_units() {
    let mut rows = Vec::new();
    for quantity in Quantity::all().filter(|quantity| !quantity.is_bare()) {
        let base = Unit::default_of(quantity);
        for unit in Unit::all_of(quantity) {
            for number in [1, 37] {
                let value = unit.to_base(&number::ratio(number, 1), quantity);
                let result = base.from_base(&value, quantity).to_string();
                rows.push(json!({"quantity": quantity.name(), "number": number, "unit": unit.symbol(), "in": base.symbol(), "is": result}));
            }
        }
    }
    assert!(rows.len() > 200);
    write("units.json", &Value::Array(rows));
}

#[test]
fn dump_ranges() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let kinds: [(&str, &[&str]); 4] = [
        ("resistance", &["Ω", "ohm"]),
        ("dc voltage", &["V", "V", "mV"]),
        ("pressure", &["psi", "kPa", "bar"]),
        ("count", &[""]),
    ];
    let rows: Vec<Value> = (0..600).map(|round| range_row(&mut dice, kinds[round % 4])).collect();
    write("ranges.json", &Value::Array(rows));
}

/// One random step: its spec, its results, and what we say each result, the gap and the overlaps are.
fn range_row(dice: &mut Dice, (name, units): (&str, &[&str])) -> Value {
    let quantity = quantity(name);
    let spec = ["in spec", "weak", "high"].map(|band| (band, dice.range(units)));
    let results: Vec<String> = (0..2 + dice.roll(3)).map(|_| result(dice, name, units)).collect();
    let read = |text: &str| {
        phrase::parse(text, quantity, &["in spec", "weak", "high"]).unwrap_or_else(|p| panic!("{text}: {p:?}"))
    };
    let phrases: Vec<Phrase> = results.iter().map(|text| read(text)).collect();
    let band = |index: usize| phrase::parse_spec_range(&spec[index].1, quantity).unwrap();
    let limits =
        SpecLimits { in_spec: Some(band(0)), bands: vec![("weak".to_owned(), band(1)), ("high".to_owned(), band(2))] };
    let domain = Domain::new(quantity, phrases.iter().chain(limits.phrases()).any(Phrase::names_negative));
    let sets = evaluate(&phrases.iter().collect::<Vec<_>>(), Some(&limits), &domain);
    let gap = domain.complement(&sets.iter().fold(ReadingSet::empty(), |all, set| all.union(set)));
    let mut overlaps = Vec::new();
    for (right, set) in sets.iter().enumerate() {
        overlaps.extend((0..right).map(|left| json!({"of": [left, right], "is": spans(&set.intersect(&sets[left]))})));
    }
    assert!(limit_set(&band(0), &domain).is_subset(domain.readings()));
    json!({
        "quantity": name, "spec": spec.map(|(band, text)| json!([band, text])), "results": results,
        "gap": spans(&gap), "overlaps": overlaps,
    })
}

fn result(dice: &mut Dice, name: &str, units: &[&str]) -> String {
    let words = ["in spec", "in spec", "below spec", "above spec", "out of spec", "weak", "high", "any other reading"];
    let one = |dice: &mut Dice| match dice.roll(10) {
        0..6 => dice.range(units),
        6 if name == "resistance" => "open circuit".to_owned(),
        _ => dice.pick(&words).to_owned(),
    };
    let first = one(dice);
    if dice.roll(5) == 0 { format!("{first} or {}", one(dice)) } else { first }
}

fn spans(set: &ReadingSet) -> Value {
    let edge = |edge: &Edge| match edge {
        Edge::At(value, after) => json!([value.to_string(), after]),
        Edge::Bottom | Edge::Top => Value::Null,
    };
    let spans: Vec<Value> = set.spans().iter().map(|span| json!([edge(span.from()), edge(span.to())])).collect();
    json!({"spans": spans, "open circuit": set.open_circuit})
}
