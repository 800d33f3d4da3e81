//! In: tests that take one reading, each with the readings that lead to its outcomes. Out: [`Joint`] outcomes of the one
//! test that they are.
//!
//! Who takes a reading knows the answers to all questions about it: two steps with one key and no change between are one
//! test, whose outcomes are the pairs of theirs that some reading leads to. Each of them is an outcome for the `1/k`.

use crate::order::bits::Bits;
use crate::order::problem::Set;

/// One outcome of a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Side {
    /// The readings (cells of the key) that lead to it.
    pub readings: Set,
    /// The causes that it leaves.
    pub leaves: Set,
}

/// One outcome of several tests together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joint {
    /// The outcome of each test, by position.
    pub answers: Vec<usize>,
    /// The readings that lead to it, and the causes that all of them leave.
    pub side: Side,
}

/// Joins tests that take one reading. Outcomes come in the order of the first test's, then of the second's, and so on.
pub fn join(tests: &[Vec<Side>]) -> Vec<Joint> {
    let start = Joint { answers: Vec::new(), side: Side { readings: !Set::NONE, leaves: !Set::NONE } };
    tests.iter().fold(vec![start], |so_far, test| {
        let both = |known: &Joint| {
            let known = known.clone();
            test.iter().enumerate().filter_map(move |(index, side)| meet(&known, index, *side))
        };
        so_far.iter().flat_map(both).collect()
    })
}

fn meet(known: &Joint, index: usize, side: Side) -> Option<Joint> {
    let readings = known.side.readings & side.readings;
    let answers = known.answers.iter().copied().chain([index]).collect();
    (!readings.is_none()).then_some(Joint { answers, side: Side { readings, leaves: known.side.leaves & side.leaves } })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(readings: u128, leaves: u128) -> Side {
        Side { readings: readings.into(), leaves: leaves.into() }
    }

    /// Cells: below, in, above. The first test asks below or not, the second above or not.
    #[test]
    fn two_questions_of_one_reading_have_the_answers_that_a_reading_gives() {
        let below = vec![side(0b001, 0b0011), side(0b110, 0b1110)];
        let above = vec![side(0b100, 0b1000), side(0b011, 0b0111)];
        let found = join(&[below, above]);
        let outcomes: Vec<(Vec<usize>, Side)> = found.iter().map(|joint| (joint.answers.clone(), joint.side)).collect();
        let one = |answers: [usize; 2], readings, leaves| (answers.to_vec(), side(readings, leaves));
        assert_eq!(outcomes, [one([0, 1], 0b001, 0b0011), one([1, 0], 0b100, 0b1000), one([1, 1], 0b010, 0b0110)]);
    }

    #[test]
    fn a_test_joined_with_itself_is_itself() {
        let test = vec![side(0b01, 0b01), side(0b10, 0b11)];
        let found: Vec<Side> = join(&[test.clone(), test.clone()]).iter().map(|joint| joint.side).collect();
        assert_eq!(found, test);
    }
}
