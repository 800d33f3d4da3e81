//! In: a procedure on one class of vehicles, and how few minutes an order must take to be worth a word. Out: [`Faster`], the best
//! order if it does, beside the one as written.
//!
//! Most procedures are written about as well as they can be: the search then only has to show that no order takes so few minutes,
//! which is far less work than to find the best one.

use super::best::{Best, LIGHT, best_within};
use super::shares::Odds;
use super::translate::{Minutes, Translated, translate};
use super::written::{Written, written_with};
use crate::graph::Analysis;
use crate::graph::classes::Class;
use crate::graph::paths::Paths;

/// An order that is faster than the one as written.
pub struct Faster {
    /// The odds.
    pub odds: Odds,
    /// As written.
    pub written: Written,
    /// The question that was asked.
    pub translated: Translated,
    /// The order.
    pub best: Best,
}

/// Looks for an order that takes at most `enough` minutes, given the minutes as written.
pub fn faster(
    analysis: &Analysis<'_>,
    class: &Class,
    paths: &Paths,
    minutes: &Minutes,
    enough: impl Fn(f64) -> f64,
) -> Option<Faster> {
    let (base, procedure) = (analysis.base, analysis.procedure);
    let odds = Odds::new(procedure, class.one);
    let written = written_with(base, procedure, paths, &odds, minutes, None)?;
    let limit = enough(written.minutes);
    if limit < 0.0 {
        return None;
    }
    let translated = translate(base, procedure, &analysis.arrows, class, paths, &odds, minutes);
    let best = best_within(&translated.problem, limit, LIGHT).ok()??;
    Some(Faster { odds, written, translated, best })
}
