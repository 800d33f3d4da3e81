//! What technicians type for a reading, and what becomes of it.

use super::*;
use crate::quantity::{Domain, SpecLimits, evaluate};

const BANDS: [&str; 3] = ["in spec", "weak", "half charged"];

/// The readings of a text for a quantity, written back in the base unit's own default.
fn means(text: &str, quantity: Quantity) -> String {
    match parse(text, quantity, &BANDS) {
        Ok(phrase) => {
            let unit = phrase.ends().next().map_or(Unit::default_of(quantity), |end| end.amount.unit);
            let domain = Domain::new(quantity, phrase.names_negative());
            evaluate(&[&phrase], None, &domain)[0].words(unit, &domain)
        }
        Err(problem) => {
            format!("{:?} {:?}: {} | {}", problem.kind, &text[problem.range], problem.message, problem.help.join(" | "))
        }
    }
}

/// The text after the mend, or the reason why there is none.
fn mended(text: &str, quantity: Quantity) -> String {
    let Err(problem) = parse(text, quantity, &BANDS) else { return "no problem".to_owned() };
    match problem.replacement {
        Some(new) => format!("{}{new}{}", &text[..problem.range.start], &text[problem.range.end..]),
        None => problem.message,
    }
}

#[test]
fn reads_every_form_of_the_language() {
    let volts = [
        ("below 5 V", "below 5 V"),
        ("less than 5 V", "below 5 V"),
        ("under 5 V", "below 5 V"),
        ("above 5 V", "above 5 V"),
        ("more than 5 V", "above 5 V"),
        ("over 5 V", "above 5 V"),
        ("at most 5 V", "at most 5 V"),
        ("5 V or less", "at most 5 V"),
        ("at least 5 V", "at least 5 V"),
        ("5 V or more", "at least 5 V"),
        ("between 5 V and 6 V", "5 V to 6 V"),
        ("between 5 and 6 V", "5 V to 6 V"),
        ("5 to 6 V", "5 V to 6 V"),
        ("5V to 6V", "5 V to 6 V"),
        ("5 V ± 1 V", "4 V to 6 V"),
        ("5±1 V", "4 V to 6 V"),
        ("12 V ± 5 %", "11.4 V to 12.6 V"),
        ("12 V ± 200 mV", "11.8 V to 12.2 V"),
        ("0 V ± 0.5 V", "-0.5 V to 0.5 V"),
        ("-5 V ± 10 %", "-5.5 V to -4.5 V"),
        ("5 to below 6 V", "5 V to below 6 V"),
        ("above 5 to 6 V", "above 5 V to 6 V"),
        ("above 5 V to below 6 V", "above 5 V to below 6 V"),
        ("exactly 5 V", "exactly 5 V"),
        ("any other reading", "any reading"),
        ("below 5 V or above 6 V", "below 5 V or above 6 V"),
        ("5 V or less or more than 6 V", "at most 5 V or above 6 V"),
        ("below \u{2212}1 V", "below -1 V"),
        ("  Below   5 V ", "below 5 V"),
        ("500 mV to 1.5 V", "500 mV to 1500 mV"),
    ];
    for (text, expected) in volts {
        assert_eq!(means(text, Quantity::DcVoltage), expected, "{text}");
    }
    assert_eq!(means("above 90 ohm", Quantity::Resistance), "above 90 Ω or open circuit");
    assert_eq!(means("open circuit", Quantity::Resistance), "open circuit");
    assert_eq!(means("30 to 70 ohm", Quantity::Resistance), "30 Ω to 70 Ω");
    assert_eq!(means("50 % ± 10 %", Quantity::DutyCycle), "40 % to 60 %");
    assert_eq!(means("50 ± 10 %", Quantity::DutyCycle), "40 % to 60 %");
    assert_eq!(means("20 °C ± 5 K", Quantity::Temperature), "15 °C to 25 °C");
    assert_eq!(means("20 ± 5 °C", Quantity::Temperature), "15 °C to 25 °C");
    assert_eq!(means("at least 3", Quantity::Count), "at least 3");
    assert_eq!(means("5 in to 6 in", Quantity::Length), "5 in to 6 in");
    assert_eq!(means("0 to 5 US gal/min", Quantity::Flow), "at most 5 US gal/min");
}

#[test]
fn reads_the_words_of_a_spec() {
    let read = |text| parse(text, Quantity::DcVoltage, &BANDS);
    assert_eq!(read("in spec"), Ok(Phrase::InSpec));
    assert_eq!(read("In Spec"), Ok(Phrase::InSpec));
    assert_eq!(read("half charged"), Ok(Phrase::Band("half charged".to_owned())));
    assert_eq!(read("weak or below spec"), Ok(Phrase::Or(vec![Phrase::Band("weak".to_owned()), Phrase::BelowSpec])));
    let bare = parse("in spec", Quantity::DcVoltage, &[]).unwrap_err();
    assert_eq!(bare.kind, ProblemKind::UnresolvedName);
}

#[test]
fn mends_what_people_type() {
    let volts = [
        ("< 5 V", "below 5 V"),
        ("> 5 V", "above 5 V"),
        ("≥ 5 V", "at least 5 V"),
        (">=5 V", "at least 5 V"),
        ("<=5 V", "at most 5 V"),
        ("12.4-12.9 V", "12.4 to 12.9 V"),
        ("12.4 – 12.9 V", "12.4 to 12.9 V"),
        ("12.4 V - 12.9 V", "12.4 V to 12.9 V"),
        ("-5--3 V", "-5 to -3 V"),
        ("below 12,4 V", "below 12.4 V"),
        ("12,4 to 12,9 V", "12.4 to 12.9 V"),
        ("<12,4 V", "below 12.4 V"),
        ("below - 20 V", "below -20 V"),
        ("below –20 V", "below -20 V"),
        ("14 to 12 V", "12 to 14 V"),
        ("14 V to 12 V", "12 V to 14 V"),
        ("between 14 and 12 V", "between 12 and 14 V"),
        ("above 5 volts", "above 5 V"),
        ("above 5v", "above 5 V"),
        ("5 +/- 1 V", "5 ± 1 V"),
        ("max 5 V", "at most 5 V"),
        ("not more than 5 V", "at most 5 V"),
        ("from 5 to 6 V", "5 to 6 V"),
        ("bellow 5 V", "below 5 V"),
        ("1e3 V or more", "1000 V or more"),
        ("above 12 000 V", "above 12000 V"),
        ("weka", "weak"),
        ("in specs", "in spec"),
        ("blow spec", "below spec"),
    ];
    for (text, expected) in volts {
        assert_eq!(mended(text, Quantity::DcVoltage), expected, "{text}");
    }
}

#[test]
fn tells_the_kinds_of_problem_apart() {
    let kind = |text, quantity| parse(text, quantity, &BANDS).map_err(|problem| problem.kind);
    let volts = |text| kind(text, Quantity::DcVoltage);
    for text in ["below 5", "below 5 psi", "5 to 6", "5 V to 6", "12 ± 5 %", "below 5 florps"] {
        assert_eq!(volts(text), Err(ProblemKind::WrongUnit), "{text}");
    }
    for text in [
        "",
        "below",
        "5 V",
        "below 1,250 V",
        "5 to V",
        "open circuit",
        "above 5 to 5 V",
        "or",
        "weak or",
        "below -",
        "5 V to",
    ] {
        assert_eq!(volts(text), Err(ProblemKind::BadValue), "{text}");
    }
    for text in ["strong", "ok", "strong or below 5 V"] {
        assert_eq!(volts(text), Err(ProblemKind::UnresolvedName), "{text}");
    }
    assert_eq!(kind("below -5 ohm", Quantity::Resistance), Err(ProblemKind::BadValue));
    assert_eq!(kind("below 3 psig", Quantity::AbsolutePressure), Err(ProblemKind::WrongUnit));
    assert_eq!(kind("below 3 psia", Quantity::Pressure), Err(ProblemKind::WrongUnit));
    assert_eq!(kind("above 2.5", Quantity::Count), Err(ProblemKind::BadValue));
    assert_eq!(kind("above 2 V", Quantity::Count), Err(ProblemKind::WrongUnit));
    assert_eq!(kind("below -300 °C", Quantity::Temperature), Err(ProblemKind::BadValue));
}

#[test]
fn a_pressure_from_another_zero_says_what_to_do() {
    let help = |text: &str, quantity| parse(text, quantity, &BANDS).unwrap_err().help.join(" | ");
    assert!(help("below 30 psia", Quantity::Pressure).contains("`quantity: absolute pressure`"));
    assert!(help("below 30 psig", Quantity::AbsolutePressure).contains("`quantity: pressure`"));
    assert!(help("below 3 psig", Quantity::PressureDifference).contains("write `psi`"));
    assert!(parse("below 30 psi", Quantity::AbsolutePressure, &BANDS).is_ok());
}

#[test]
fn says_where_and_what_to_write() {
    assert_eq!(
        means("below 5 psi", Quantity::DcVoltage),
        "WrongUnit \"psi\": expected a unit of dc voltage, found `psi`, a unit of pressure | write a unit behind the number, such as mV, V or kV"
    );
    assert_eq!(
        means("< 5 V", Quantity::DcVoltage),
        "BadValue \"< \": expected `below` in words, found `<` | write `below 5 V`"
    );
    assert_eq!(
        means("strong", Quantity::DcVoltage),
        "UnresolvedName \"strong\": `strong` is no band of the spec | the spec's bands are `in spec`, `weak`, `half charged`"
    );
}

#[test]
fn a_spec_holds_amounts_only() {
    assert!(parse_spec_range("13.9 to 14.7 V", Quantity::DcVoltage).is_ok());
    assert!(parse_spec_range("below 5 V or above 6 V", Quantity::DcVoltage).is_ok());
    for text in ["in spec", "any other reading", "weak", "?", "5 V", "TBD"] {
        assert_eq!(
            parse_spec_range(text, Quantity::DcVoltage).map_err(|p| p.kind),
            Err(ProblemKind::BadValue),
            "{text}"
        );
    }
}

#[test]
fn a_bands_name_stays_clear_of_the_grammar() {
    for name in ["weak", "half charged", "in spec", "opened", "débil"] {
        assert_eq!(check_band_name(name), Ok(()), "{name}");
    }
    for name in ["stage 2", "open", "weak or low", "below spec", "", "Any"] {
        assert!(check_band_name(name).is_err(), "{name}");
    }
}

#[test]
fn survives_hostile_texts() {
    for text in ["9", "1,", "- ", "±", "or ", "below ", "< ", "Ω", "a"] {
        let long = text.repeat(1 << 20);
        assert!(parse(&long, Quantity::Resistance, &BANDS).is_err());
    }
}

/// What the results of one step of a charging voltage or coil mean, in their order.
fn step(quantity: Quantity, spec: &[(&str, &str)], results: &[&str]) -> Vec<String> {
    let names: Vec<&str> = spec.iter().map(|(name, _)| *name).chain(["lost"]).collect();
    let mut limits = SpecLimits::default();
    for (name, range) in spec {
        let range = parse_spec_range(range, quantity).unwrap();
        match *name {
            "in spec" => limits.in_spec = Some(range),
            name => limits.bands.push((name.to_owned(), range)),
        }
    }
    let phrases: Vec<Phrase> = results.iter().map(|text| parse(text, quantity, &names).unwrap()).collect();
    let domain = Domain::new(quantity, false);
    let sets = evaluate(&phrases.iter().collect::<Vec<_>>(), Some(&limits), &domain);
    sets.iter().map(|set| set.words(Unit::default_of(quantity), &domain)).collect()
}

#[test]
fn bands_of_the_step_push_below_and_above_spec_outwards() {
    let spec = [("in spec", "12.4 to 12.9 V"), ("weak", "12.0 to below 12.2 V"), ("flat", "below 10 V")];
    let volts = |results: &[&str]| step(Quantity::DcVoltage, &spec, results);
    assert_eq!(volts(&["in spec", "below spec", "above spec"]), ["12.4 V to 12.9 V", "below 12.4 V", "above 12.9 V"]);
    assert_eq!(volts(&["in spec", "weak", "below spec"]), ["12.4 V to 12.9 V", "12 V to below 12.2 V", "below 12 V"]);
    assert_eq!(volts(&["weak or in spec", "out of spec"])[1], "below 12 V or above 12.9 V");
    assert_eq!(volts(&["flat", "below spec"]), ["below 10 V", "no reading"]);
    assert_eq!(volts(&["lost", "any other reading"]), ["no reading", "any reading"]);
}

#[test]
fn nothing_is_below_a_spec_without_a_lower_end() {
    let spec = [("in spec", "at most 0.1 V")];
    assert_eq!(
        step(Quantity::DcVoltage, &spec, &["in spec", "below spec", "above spec"]),
        ["at most 0.1 V", "no reading", "above 0.1 V"]
    );
}

#[test]
fn a_shared_end_point_belongs_to_in_spec() {
    let spec = [("in spec", "30 to 70 ohm"), ("high", "70 to 90 ohm")];
    let ohms = |results: &[&str]| step(Quantity::Resistance, &spec, results);
    assert_eq!(ohms(&["in spec", "high", "at most 30 ohm"])[1..], ["above 70 Ω to 90 Ω", "below 30 Ω"]);
    assert_eq!(ohms(&["high", "30 to 70 ohm"]), ["70 Ω to 90 Ω", "30 Ω to 70 Ω"]);
    assert_eq!(ohms(&["in spec", "exactly 70 ohm"])[1], "exactly 70 Ω");
}

#[test]
fn open_circuit_goes_where_it_is_named_else_above() {
    let spec = [("in spec", "30 to 70 ohm"), ("cut", "open circuit")];
    let ohms = |results: &[&str]| step(Quantity::Resistance, &spec, results);
    assert_eq!(ohms(&["above spec"]), ["above 70 Ω or open circuit"]);
    assert_eq!(ohms(&["above spec", "open circuit"]), ["above 70 Ω", "open circuit"]);
    assert_eq!(ohms(&["out of spec", "cut"]), ["below 30 Ω or above 70 Ω", "open circuit"]);
    assert_eq!(ohms(&["in spec", "any other reading"])[1], "below 30 Ω or above 70 Ω or open circuit");
    assert_eq!(ohms(&["at least 70 ohm", "any other reading"])[1], "below 70 Ω");
}
