//! In: a procedure and a vehicle. Out: [`Weighed`]: as written, the best order, part first or test first; what `ruleout order` prints.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::{Map, Value, json};

use super::bays::BayRow;
use super::best::{Best, Effort, best};
use super::bits::Bits;
use super::named::{Named, named};
use super::part_first::{Part, part_first};
use super::problem::{Set, Unfit, members};
use super::shares::Odds;
use super::translate::{Minutes, Translated, translate};
use super::written::{Written, written_with};
use crate::graph::Analysis;
use crate::model::{Base, Procedure, StepIx, VehicleIx};
use crate::quantity::number::to_f64;

/// Why there are no minutes as written.
pub const NOT_WALKED: &str = "it has too many ways to walk through";

/// Test first, or fit the part first, for one cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartRow {
    /// The cause's id.
    pub cause: String,
    /// The odds that this part is it.
    pub cures: f64,
    /// Expected cost of fitting it untested.
    pub cost_part_first: f64,
    /// Expected cost of testing first.
    pub cost_test_first: f64,
    /// Fitting it untested pays above these odds.
    pub break_even: f64,
}

/// All that `order` says of a procedure on one vehicle.
pub struct Weighed {
    /// The odds.
    pub odds: Odds,
    /// As written; nothing where it is too involved to walk.
    pub written: Option<Written>,
    /// The best order, or why there is none.
    pub best: Result<Best, Unfit>,
    /// The question that was asked.
    pub translated: Translated,
    /// Per cause with a part.
    pub part_first: Vec<PartRow>,
    /// Tests that took the shop's default minutes.
    pub assumed: Vec<StepIx>,
    /// What each bay's equipment is worth here.
    pub bays: Vec<BayRow>,
}

/// Weighs a procedure on one vehicle. Nothing where no possible path exists on it.
pub fn weigh(analysis: &Analysis<'_>, vehicle: VehicleIx, effort: Effort) -> Option<Weighed> {
    let (base, procedure) = (analysis.base, analysis.procedure);
    let (class, paths) = analysis.classes.iter().find(|(c, _)| c.vehicles.contains(vehicle))?;
    let odds = Odds::new(procedure, vehicle);
    let minutes = Minutes::new(base, procedure);
    let written = written_with(base, procedure, paths, &odds, &minutes, None);
    let translated = translate(base, procedure, &analysis.arrows, class, paths, &odds, &minutes);
    let no_fault = procedure.no_fault().and_then(|c| odds.position(c));
    let best = best(&translated.problem, effort).map(|mut best| {
        best.figures = best.tree.figures_beside(&translated.problem, no_fault.map_or(Set::NONE, Set::one));
        best
    });
    let part_first = written.as_ref().map_or_else(Vec::new, |w| parts(base, procedure, &odds, w));
    let assumed = minutes.assumed.into_iter().filter(|s| paths.enters(*s)).collect();
    Some(Weighed { odds, written, best, translated, part_first, assumed, bays: Vec::new() })
}

fn parts(base: &Base, procedure: &Procedure, odds: &Odds, written: &Written) -> Vec<PartRow> {
    let rate = base.shop.labour_rate.as_ref().map_or(0.0, to_f64) / 60.0;
    let mut rows = Vec::new();
    for (at, cause) in odds.causes.iter().enumerate() {
        let Some(part) = &procedure.causes[*cause].part else { continue };
        let Some(price) = &part.price else { continue };
        let minutes = part.minutes.as_ref().map_or(0.0, to_f64);
        let found = part_first(Part { cause: at, price: to_f64(price), minutes, rate }, &odds.odds, &written.per_cause);
        rows.push(PartRow {
            cause: procedure.causes.id(*cause).to_owned(),
            cures: found.cures,
            cost_part_first: found.cost_part_first,
            cost_test_first: found.cost_test_first,
            break_even: found.break_even,
        });
    }
    rows
}

impl Weighed {
    /// The object of `order --format json`.
    pub fn json(&self, base: &Base, procedure: &Procedure, vehicle: VehicleIx) -> Value {
        let id = base.vehicles.id(vehicle);
        let mut map = Map::new();
        map.insert("procedure".into(), json!(procedure.id));
        map.insert("vehicle".into(), if id.is_empty() { Value::Null } else { json!(id) });
        map.insert("as_written".into(), self.written.as_ref().map_or(Value::Null, |w| self.written_json(procedure, w)));
        if self.written.is_none() {
            map.insert("not_walked".into(), json!(NOT_WALKED));
        }
        map.insert("best".into(), self.best.as_ref().map_or(Value::Null, |b| self.best_json(procedure, b)));
        map.insert("isolation".into(), self.written.as_ref().map_or(Value::Null, |w| isolation(w.isolation)));
        map.insert("part_first".into(), json!(self.part_first));
        let assumed: Vec<&str> = self.assumed.iter().map(|s| procedure.steps.id(*s)).collect();
        map.insert("default_minutes".into(), json!(assumed));
        map.insert("bays".into(), json!(self.bays));
        Value::Object(map)
    }

    fn per_cause(&self, procedure: &Procedure, minutes: &[f64]) -> BTreeMap<String, f64> {
        let ids = self.odds.causes.iter().map(|c| procedure.causes.id(*c).to_owned());
        ids.zip(minutes.iter().copied()).collect()
    }

    fn written_json(&self, procedure: &Procedure, written: &Written) -> Value {
        let groups: Vec<Vec<&str>> =
            written.groups.iter().map(|g| g.iter().map(|c| procedure.causes.id(*c)).collect()).collect();
        json!({
            "minutes": written.minutes,
            "per_cause": self.per_cause(procedure, &written.per_cause),
            "groups": groups,
        })
    }

    fn best_json(&self, procedure: &Procedure, best: &Best) -> Value {
        let groups: Vec<Vec<&str>> = best.figures.groups.iter().map(|g| self.ids(procedure, *g)).collect();
        json!({
            "minutes": best.figures.minutes,
            "exact": best.exact,
            "bound": best.bound,
            "per_cause": self.per_cause(procedure, &best.figures.per_cause),
            "tree": tree(procedure, &named(&self.translated, &self.odds, &best.tree)),
            "groups": groups,
            "isolation": isolation(best.figures.isolation),
        })
    }

    /// The ids of causes by their positions.
    pub fn ids<'p>(&self, procedure: &'p Procedure, set: Set) -> Vec<&'p str> {
        members(set).filter_map(|at| self.odds.causes.get(at)).map(|c| procedure.causes.id(*c)).collect()
    }

    /// The best order in the procedure's own names.
    pub fn order(&self) -> Option<Named> {
        self.best.as_ref().ok().map(|best| named(&self.translated, &self.odds, &best.tree))
    }
}

fn tree(procedure: &Procedure, order: &Named) -> Value {
    match order {
        Named::Stop(causes) => {
            json!({"causes": causes.iter().map(|c| procedure.causes.id(*c)).collect::<Vec<_>>()})
        }
        Named::All { left, steps } => json!({
            "causes": left.iter().map(|c| procedure.causes.id(*c)).collect::<Vec<_>>(),
            "all_of": steps.iter().map(|s| procedure.steps.id(*s)).collect::<Vec<_>>(),
        }),
        Named::Do(step, then) => json!({"step": procedure.steps.id(*step), "then": tree(procedure, then)}),
        Named::Ask { step, results, .. } => {
            let mut map = Map::new();
            for answer in results {
                let label = procedure.steps[*step].results[answer.result].text.value.clone();
                map.insert(label, tree(procedure, &answer.next));
            }
            json!({"step": procedure.steps.id(*step), "results": map})
        }
    }
}

fn isolation(figures: [f64; 3]) -> Value {
    json!({"1": figures[0], "2": figures[1], "3": figures[2]})
}
