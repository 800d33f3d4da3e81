//! Proofs: the shortest way to a state, and the smallest set of earlier results that exclude one.
//!
//! In: an analysis. Out: [`PathStep`]s and places.

use super::classes::{Class, Meets};
use super::paths::{Next, Paths, StateAt, Via};
use crate::finding::PathStep;
use crate::model::{Procedure, StepIx};
use crate::quantity::CellSet;
use crate::source::Span;

/// A way as a column of steps.
pub fn column(procedure: &Procedure, paths: &Paths, way: &[(StateAt, Via)]) -> Vec<PathStep> {
    way.iter().map(|(state, via)| line(procedure, paths.step(*state), Some(*via))).collect()
}

/// One line of a column: the step, the result taken there.
pub fn line(procedure: &Procedure, step: StepIx, via: Option<Via>) -> PathStep {
    let row = &procedure.steps[step];
    let (result, span) = match via {
        Some(Via::Result(at)) => {
            let result = &row.results[at];
            ((!result.text.value.is_empty()).then(|| result.text.value.clone()), result.text.span)
        }
        Some(Via::Without) => (Some("not taken".to_owned()), row.without.as_ref().map_or(row.place.key, |w| w.span)),
        None => (None, row.place.key),
    };
    PathStep { step: procedure.steps.id(step).to_owned(), result, span }
}

/// The way to a state, and the step it stands at.
pub fn column_to(procedure: &Procedure, paths: &Paths, to: StateAt) -> Vec<PathStep> {
    let mut column = column(procedure, paths, &paths.way(to));
    column.push(line(procedure, paths.step(to), None));
    column
}

/// The way to a state and out of it by a move.
pub fn column_through(procedure: &Procedure, paths: &Paths, to: StateAt, via: Via) -> Vec<PathStep> {
    let mut column = column(procedure, paths, &paths.way(to));
    column.push(line(procedure, paths.step(to), Some(via)));
    column
}

/// A walk from the start over some of the states, breadth first.
pub struct Search {
    from: Vec<Option<(StateAt, Via)>>,
    met: Vec<StateAt>,
}

impl Search {
    /// Walks from the start. A state that `goes_on` refuses is met, but not left.
    pub fn new(paths: &Paths, goes_on: impl Fn(StateAt) -> bool) -> Self {
        let mut search = Self { from: vec![None; paths.len()], met: (0..paths.len().min(1)).collect() };
        let mut next = 0;
        while let Some(at) = search.met.get(next).copied() {
            next += 1;
            if !goes_on(at) {
                continue;
            }
            for m in paths.moves(at) {
                let Next::State(to) = m.next else { continue };
                if to != 0 && search.from[to].is_none() {
                    search.from[to] = Some((at, m.via));
                    search.met.push(to);
                }
            }
        }
        search
    }

    /// The states that were met, nearest first.
    pub fn met(&self) -> impl Iterator<Item = StateAt> + '_ {
        self.met.iter().copied()
    }

    /// The shortest such way to a state.
    pub fn way(&self, to: StateAt) -> Vec<(StateAt, Via)> {
        let mut way: Vec<_> = std::iter::successors(self.from[to], |(s, _)| self.from[*s]).collect();
        way.reverse();
        way
    }
}

/// An earlier result that learned something of a key.
#[derive(Clone, Debug)]
pub struct Lesson {
    /// The step.
    pub step: StepIx,
    /// Its result.
    pub result: usize,
    /// Where the result stands.
    pub span: Span,
    cells: CellSet,
}

/// The smallest set of earlier results on the way to a state that leave nothing of `wanted` under the key: those since
/// the key was last changed whose cells together miss it. Empty where `wanted` is empty by itself.
pub fn excluding(
    procedure: &Procedure,
    class: &Class,
    paths: &Paths,
    to: StateAt,
    key: usize,
    wanted: &CellSet,
) -> Vec<Lesson> {
    let mut lessons: Vec<Lesson> = Vec::new();
    for (state, via) in paths.way(to) {
        let step = paths.step(state);
        match (via, &class.meets[step.raw()]) {
            (Via::Result(result), Meets::Test { key: read, takes }) if *read == key => {
                let span = procedure.steps[step].results[result].text.span;
                lessons.push(Lesson { step, result, span, cells: takes[result].clone() });
            }
            _ => {}
        }
        if via != Via::Without && class.forgets[step.raw()].contains(key) {
            lessons.clear();
        }
    }
    smallest(&lessons, wanted)
}

/// One that misses `wanted`, else two that do together, else as few as leaving out one after the other gives (ranges never
/// need more than two).
fn smallest(lessons: &[Lesson], wanted: &CellSet) -> Vec<Lesson> {
    let misses = |some: &[&Lesson]| some.iter().fold(wanted.clone(), |left, l| left.intersect(&l.cells)).is_empty();
    // The latest first: it is what the reader has just passed.
    let latest = || lessons.iter().rev();
    if let Some(one) = latest().find(|l| misses(&[l])) {
        return vec![one.clone()];
    }
    for (at, later) in lessons.iter().enumerate().rev() {
        if let Some(earlier) = lessons[..at].iter().rev().find(|earlier| misses(&[earlier, later])) {
            return vec![earlier.clone(), later.clone()];
        }
    }
    let mut few: Vec<&Lesson> = lessons.iter().collect();
    let mut at = 0;
    while at < few.len() {
        let mut fewer = few.clone();
        fewer.remove(at);
        if misses(&fewer) {
            few = fewer;
        } else {
            at += 1;
        }
    }
    if misses(&few) { few.into_iter().cloned().collect() } else { Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::FileId;

    fn lesson(at: usize, cells: &[usize]) -> Lesson {
        let span = Span::new(FileId(0), at, at);
        Lesson { step: StepIx::new(at), result: 0, span, cells: cells.iter().copied().collect() }
    }

    fn steps(lessons: &[Lesson], wanted: &[usize]) -> Vec<usize> {
        smallest(lessons, &wanted.iter().copied().collect()).iter().map(|l| l.step.raw()).collect()
    }

    #[test]
    fn the_smallest_set_excludes() {
        // Each of the first two leaves one of the wanted cells, the oldest alone leaves none.
        let some = [lesson(0, &[5]), lesson(1, &[1, 5]), lesson(2, &[2, 5])];
        assert_eq!(steps(&some, &[1, 2]), [0]);
        assert_eq!(steps(&some[1..], &[1, 2]), [1, 2]);
        let three = [lesson(0, &[1, 2]), lesson(1, &[2, 3]), lesson(2, &[1, 3])];
        assert_eq!(steps(&three, &[1, 2, 3]), [0, 1, 2]);
        assert!(steps(&some, &[5]).is_empty(), "they don't exclude it");
    }
}
