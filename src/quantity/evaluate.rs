//! What the results of one step mean on one vehicle: the language's rules about specs, shared end points and "open circuit".

use super::{Domain, Edge, End, Phrase, ReadingSet, Span};

/// A spec's limits on one vehicle. The phrases are ranges, "open circuit" and unions of them; anything else in them means nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SpecLimits {
    /// The band `in spec`.
    pub in_spec: Option<Phrase>,
    /// The other bands by name, in the order of the file.
    pub bands: Vec<(String, Phrase)>,
}

impl SpecLimits {
    /// The phrase of a band; `in spec` is one.
    pub fn band(&self, name: &str) -> Option<&Phrase> {
        if name == "in spec" {
            return self.in_spec.as_ref();
        }
        self.bands.iter().find(|(known, _)| known == name).map(|(_, phrase)| phrase)
    }

    /// All bands, `in spec` first.
    pub fn phrases(&self) -> impl Iterator<Item = &Phrase> {
        self.in_spec.iter().chain(self.bands.iter().map(|(_, phrase)| phrase))
    }
}

/// The possible readings of a range that stands alone: a band, an instrument's range. "Open circuit" belongs to it where it has no upper end.
pub fn limit_set(phrase: &Phrase, domain: &Domain) -> ReadingSet {
    domain.limit(&union(phrase.parts().iter().map(|part| range_set(part, true))))
}

/// The readings of each result of one step, in their order. Without a spec, what speaks of one means nothing;
/// a band that the vehicle lacks is empty.
pub fn evaluate(phrases: &[&Phrase], spec: Option<&SpecLimits>, domain: &Domain) -> Vec<ReadingSet> {
    let step = Step::new(phrases, spec);
    let mut sets: Vec<ReadingSet> = phrases.iter().map(|phrase| step.set(phrase)).collect();
    step.give_shared_points_to_spec(phrases, &mut sets);
    for set in &mut sets {
        *set = domain.limit(set);
    }
    let is_rest = |phrase: &Phrase| phrase.parts().contains(&Phrase::AnyOther);
    let named = union(sets.iter().zip(phrases).filter(|(_, phrase)| !is_rest(phrase)).map(|(set, _)| set.clone()));
    let rest = domain.complement(&named);
    for (set, phrase) in sets.iter_mut().zip(phrases) {
        if is_rest(phrase) {
            *set = domain.limit(&set.union(&rest));
        }
    }
    sets
}

/// What all results of a step have to know of each other.
struct Step<'a> {
    spec: Option<&'a SpecLimits>,
    in_spec: ReadingSet,
    below: ReadingSet,
    above: ReadingSet,
    /// No result names "open circuit", so it belongs to whatever has no upper end.
    open_circuit_is_above: bool,
}

impl<'a> Step<'a> {
    fn new(phrases: &[&Phrase], spec: Option<&'a SpecLimits>) -> Step<'a> {
        let band = |part: &Phrase| match part {
            Phrase::Band(name) => spec.and_then(|spec| spec.band(name)),
            Phrase::InSpec => spec.and_then(|spec| spec.in_spec.as_ref()),
            _ => None,
        };
        let parts = || phrases.iter().flat_map(|phrase| phrase.parts());
        let open_circuit_is_above =
            !parts().any(|part| *part == Phrase::OpenCircuit || band(part).is_some_and(Phrase::names_open_circuit));
        let numbers = |phrase: &Phrase| union(phrase.parts().iter().map(|part| range_set(part, open_circuit_is_above)));
        let in_spec = spec.and_then(|spec| spec.in_spec.as_ref()).map(numbers).unwrap_or_default();
        let bands: Vec<ReadingSet> =
            parts().filter(|part| matches!(part, Phrase::Band(_))).filter_map(band).map(numbers).collect();
        let (below, above) = outside(&in_spec, &bands, open_circuit_is_above);
        Step { spec, in_spec, below, above, open_circuit_is_above }
    }

    /// The readings of a phrase; "any other reading" is left out.
    fn set(&self, phrase: &Phrase) -> ReadingSet {
        union(phrase.parts().iter().map(|part| match part {
            Phrase::InSpec => self.in_spec.clone(),
            Phrase::BelowSpec => self.below.clone(),
            Phrase::AboveSpec => self.above.clone(),
            Phrase::OutOfSpec => self.below.union(&self.above),
            Phrase::Band(name) => match self.spec.and_then(|spec| spec.band(name)) {
                Some(band) => union(band.parts().iter().map(|part| range_set(part, self.open_circuit_is_above))),
                None => ReadingSet::empty(),
            },
            other => range_set(other, self.open_circuit_is_above),
        }))
    }

    /// One end point shared with `in spec` belongs to `in spec`, where that is a result of the step. Judged on the ranges as
    /// written, before the possible readings limit them: of a count, `below 7` and `5.6 to 8` share more than a point.
    fn give_shared_points_to_spec(&self, phrases: &[&Phrase], sets: &mut [ReadingSet]) {
        let is_spec = |phrase: &Phrase| phrase.parts().contains(&Phrase::InSpec);
        if !phrases.iter().any(|phrase| is_spec(phrase)) {
            return;
        }
        for (set, _) in sets.iter_mut().zip(phrases).filter(|(_, phrase)| !is_spec(phrase)) {
            *set = set.minus(&shared_points(set, &self.in_spec));
        }
    }
}

/// The points that end a range of one set and begin one of the other.
fn shared_points(set: &ReadingSet, spec: &ReadingSet) -> ReadingSet {
    let wide = |set: &ReadingSet| {
        ReadingSet::of_spans(set.spans().iter().filter(|span| span.point().is_none()).cloned(), false)
    };
    let both = wide(set).intersect(&wide(spec));
    ReadingSet::of_spans(both.spans().iter().filter(|span| span.point().is_some()).cloned(), false)
}

/// `below spec` and `above spec`: outside the lowest and highest of `in spec` and of those bands of the step that lie beyond it.
fn outside(in_spec: &ReadingSet, bands: &[ReadingSet], open_circuit: bool) -> (ReadingSet, ReadingSet) {
    let (Some(lowest), Some(highest)) = (in_spec.lowest(), in_spec.highest()) else {
        return (ReadingSet::empty(), ReadingSet::empty());
    };
    let lies_below = |band: &&ReadingSet| band.highest().is_some_and(|top| at_most(top, lowest));
    let lies_above = |band: &&ReadingSet| band.lowest().is_some_and(|bottom| at_most(highest, bottom));
    let floor = bands.iter().filter(lies_below).filter_map(ReadingSet::lowest).fold(lowest, std::cmp::min);
    let ceiling = bands.iter().filter(lies_above).filter_map(ReadingSet::highest).fold(highest, std::cmp::max);
    let below = ReadingSet::between(Edge::Bottom, floor.clone());
    let mut above = ReadingSet::between(ceiling.clone(), Edge::Top);
    above.open_circuit = open_circuit && !above.is_empty();
    (below, above)
}

/// Whether an upper edge is no higher than a lower one, a shared end point aside.
fn at_most(upper: &Edge, lower: &Edge) -> bool {
    match (upper.value(), lower.value()) {
        (Some(upper), Some(lower)) => upper <= lower,
        _ => upper < lower,
    }
}

fn range_set(part: &Phrase, open_circuit: bool) -> ReadingSet {
    match part {
        Phrase::OpenCircuit => ReadingSet::only_open_circuit(),
        Phrase::Range { low, high } => {
            let from = low.as_ref().map_or(Edge::Bottom, |end: &End| Edge::At(end.amount.value.clone(), !end.included));
            let to = high.as_ref().map_or(Edge::Top, |end| Edge::At(end.amount.value.clone(), end.included));
            let mut set = ReadingSet::of_spans(Span::new(from, to), false);
            set.open_circuit = open_circuit && high.is_none();
            set
        }
        _ => ReadingSet::empty(),
    }
}

fn union(sets: impl IntoIterator<Item = ReadingSet>) -> ReadingSet {
    sets.into_iter().fold(ReadingSet::empty(), |all, set| all.union(&set))
}
