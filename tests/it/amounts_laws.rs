//! Laws that sets of readings and reading phrases keep, on random ones.

use proptest::prelude::*;
use ruleout::parse::phrase;
use ruleout::quantity::{Cells, Domain, Edge, Phrase, Quantity, Rational, ReadingSet, Span, Unit, evaluate, number};

const BANDS: [&str; 2] = ["in spec", "weak"];

fn edge() -> impl Strategy<Value = Edge> {
    prop_oneof![
        1 => Just(Edge::Bottom),
        1 => Just(Edge::Top),
        8 => (-6i128..40, any::<bool>()).prop_map(|(half, after)| Edge::At(number::ratio(half, 2), after)),
    ]
}

fn set() -> impl Strategy<Value = ReadingSet> {
    (proptest::collection::vec((edge(), edge()), 0..5), any::<bool>())
        .prop_map(|(ends, open)| ReadingSet::of_spans(ends.into_iter().filter_map(|(a, b)| Span::new(a, b)), open))
}

fn domain() -> impl Strategy<Value = Domain> {
    let kinds = [Quantity::DcVoltage, Quantity::Resistance, Quantity::Count, Quantity::DutyCycle];
    (proptest::sample::select(kinds.to_vec()), any::<bool>()).prop_map(|(kind, negative)| Domain::new(kind, negative))
}

/// Numbers at, beside and between all end points.
fn probes() -> impl Iterator<Item = Rational> {
    (-16..90).map(|quarter| number::ratio(quarter, 4))
}

proptest! {
    #[test]
    fn sets_obey_the_laws(a in set(), b in set(), c in set()) {
        prop_assert_eq!(a.complement().complement(), a.clone());
        prop_assert_eq!(a.union(&b).complement(), a.complement().intersect(&b.complement()));
        prop_assert_eq!(a.intersect(&b.union(&c)), a.intersect(&b).union(&a.intersect(&c)));
        prop_assert!(a.minus(&b).intersect(&b).is_empty());
        prop_assert_eq!(a.minus(&b).union(&a.intersect(&b)), a.clone());
        prop_assert_eq!(a.is_subset(&b), a.union(&b) == b);
        for probe in probes() {
            let (in_a, in_b) = (a.contains_value(&probe), b.contains_value(&probe));
            prop_assert_eq!(a.union(&b).contains_value(&probe), in_a || in_b);
            prop_assert_eq!(a.intersect(&b).contains_value(&probe), in_a && in_b);
            prop_assert_eq!(a.complement().contains_value(&probe), !in_a);
        }
    }

    #[test]
    fn cells_say_the_same_as_sets(domain in domain(), a in set(), b in set()) {
        let cells = Cells::new(domain.clone(), [&a, &b]);
        let (left, right) = (cells.select(&a), cells.select(&b));
        prop_assert_eq!(cells.readings(&left), domain.limit(&a));
        prop_assert_eq!(cells.readings(&left.intersect(&right)), domain.limit(&a.intersect(&b)));
        prop_assert_eq!(cells.readings(&left.union(&right)), domain.limit(&a.union(&b)));
        prop_assert_eq!(cells.readings(&cells.all().minus(&left)), domain.complement(&a));
        prop_assert_eq!(left.meets(&right), !left.intersect(&right).is_empty());
        prop_assert_eq!(left.is_subset(&right), domain.limit(&a).is_subset(&domain.limit(&b)));
        prop_assert_eq!(left.iter().count(), left.len());
    }

    #[test]
    fn the_words_of_a_set_read_back_as_the_set(domain in domain(), a in set()) {
        let a = domain.limit(&a);
        let unit = Unit::default_of(domain.quantity());
        let words = a.words(unit, &domain);
        prop_assume!(!["no reading", "any reading", "any amount"].contains(&words.as_str()));
        let read = phrase::parse(&words, domain.quantity(), &[]).map_err(|p| TestCaseError::fail(format!("{words}: {p:?}")))?;
        let back = evaluate(&[&read], None, &domain).remove(0);
        // "above A" brings "open circuit" along unless another result names it, so only the numbers are compared.
        let numbers = |set: &ReadingSet| ReadingSet::of_spans(set.spans().iter().cloned(), false);
        prop_assert_eq!(numbers(&back), numbers(&a), "{}", words);
    }

    #[test]
    fn a_mend_leaves_no_problem(text in phrase_like()) {
        for quantity in [Quantity::DcVoltage, Quantity::Resistance, Quantity::Temperature, Quantity::Count] {
            let Err(problem) = phrase::parse(&text, quantity, &BANDS) else { continue };
            prop_assert!(text.get(problem.range.clone()).is_some(), "{:?} in {}", problem, text);
            if let Some(new) = problem.replacement {
                let mended = format!("{}{new}{}", &text[..problem.range.start], &text[problem.range.end..]);
                prop_assert!(phrase::parse(&mended, quantity, &BANDS).is_ok(), "{} became {}", text, mended);
            }
        }
    }

    #[test]
    fn results_with_the_rest_leave_no_gap(texts in proptest::collection::vec(phrase_like(), 1..4)) {
        let mut phrases: Vec<Phrase> =
            texts.iter().filter_map(|text| phrase::parse(text, Quantity::Resistance, &[]).ok()).collect();
        phrases.push(Phrase::AnyOther);
        let domain = Domain::new(Quantity::Resistance, false);
        let sets = evaluate(&phrases.iter().collect::<Vec<_>>(), None, &domain);
        let all = sets.iter().fold(ReadingSet::empty(), |all, set| all.union(set));
        prop_assert_eq!(&all, domain.readings());
    }
}

/// Texts that look much like readings.
fn phrase_like() -> impl Strategy<Value = String> {
    let words = [
        "below", "above", "at", "most", "least", "5", "12.4", "12,4", "1,250", "-3", "- 3", "to", "and", "between",
        "or", "less", "more", "than", "V", "mV", "ohm", "Ω", "°C", "%", "±", "+/-", "<", ">=", "–", "-", "in", "spec",
        "out", "of", "weak", "open", "circuit", "any", "other", "reading", "1e3", "v", "volts", "psi", "exactly",
        "bellow", ",", "5-6", "µ", "",
    ];
    proptest::collection::vec((proptest::sample::select(words.to_vec()), any::<bool>()), 0..7)
        .prop_map(|words| words.into_iter().flat_map(|(word, space)| [word, if space { " " } else { "" }]).collect())
}
