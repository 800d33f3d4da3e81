//! In: causes with their odds, tests with their minutes and outcomes. Out: the best order, what it costs, how far it
//! isolates, whether testing pays at all, and what solved cases say about the odds.
//!
//! 1. [`problem`] states the question without names: a [`problem::Problem`]
//! 2. [`outline`] says what of it can matter; [`space`] makes it small, in sets as narrow as [`bits`] has them, and says which states lead to which
//! 3. [`bound`] says what no order can beat; [`guess`] finds good orders, [`search`] and [`dense`] the best one; [`grow`] follows it, [`settle`] sorts what is of equal worth
//! 4. [`best`] puts them together: a [`best::Best`] with its [`tree::Tree`]
//!
//! Between the procedure and the question: [`authored`] gives the order as written, [`shares`] gives the odds, [`roads`] says which steps come before which, [`translate`] takes the names away,
//! [`named`] gives them back, [`written`] weighs the procedure as it stands, [`weigh`] puts all of it together for one vehicle.
//!
//! Beside it: [`joint`] makes one test of those that take one reading, [`advice`] names the first step to move,
//! [`part_first`] weighs a part against the tests, [`testability`] gives the figures of the standards, [`posterior`] says what solved cases teach.

pub mod bits;
pub mod problem;
pub mod tree;
pub mod outline;
pub mod space;
pub mod bound;
pub mod guess;
pub mod grow;
pub mod search;
pub mod dense;
pub mod settle;
pub mod best;
pub mod part_first;
pub mod testability;
pub mod posterior;
pub mod shares;
pub mod roads;
pub mod translate;
pub mod named;
pub mod authored;
pub mod written;
pub mod bays;
pub mod weigh;
pub mod faster;
pub mod joint;
pub mod advice;
