//! Solved jobs that end elsewhere.
//!
//! In: a procedure on both sides. Out: each case whose readings, walked on both sides, end differently: old cases in the new
//! base and new ones in the old.

use super::side::{Held, Side};
use crate::model::Case;
use crate::resolve::{self, Cx};
use crate::walk::{self, Readings, Trace};

/// A case that ends elsewhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaseChange {
    /// The case's id.
    pub case: String,
    /// Which base's readings were walked.
    pub of: &'static str,
    /// Where they end in the old base.
    pub old: String,
    /// Where they end in the new base.
    pub new: String,
}

/// A case without the indexes of its base.
#[derive(PartialEq)]
struct Job {
    id: String,
    vehicle: String,
    readings: Vec<(String, Vec<String>)>,
}

/// Walks the cases of both sides on both sides.
pub fn compare(old: Held<'_>, new: Held<'_>) -> Vec<CaseChange> {
    let (before, after) = (jobs(old), jobs(new));
    let mut found = Vec::new();
    for job in &before {
        found.extend(differs(old, new, job, "old"));
    }
    for job in after.iter().filter(|job| !before.contains(job)) {
        found.extend(differs(old, new, job, "new"));
    }
    found.sort_by(|a, b| (&a.case, a.of).cmp(&(&b.case, b.of)));
    found
}

/// The cases of a procedure that is gone.
pub fn homeless(old: Held<'_>) -> Vec<CaseChange> {
    let gone = || "the procedure is gone".to_owned();
    jobs(old).into_iter().map(|job| CaseChange { old: end(old, &job), case: job.id, of: "old", new: gone() }).collect()
}

fn differs(old: Held<'_>, new: Held<'_>, job: &Job, of: &'static str) -> Option<CaseChange> {
    let (was, is) = (end(old, job), end(new, job));
    (was != is).then(|| CaseChange { case: job.id.clone(), of, old: was, new: is })
}

fn jobs(held: Held<'_>) -> Vec<Job> {
    let side: &Side = held.side;
    let mut cx = Cx::new(&side.linted.loaded, side.rules());
    let cases = side.cases(&held.procedure.id);
    cases.filter_map(|file| resolve::case(&mut cx, file, side.base(), held.procedure)).map(|c| job(held, &c)).collect()
}

fn job(held: Held<'_>, case: &Case) -> Job {
    let readings = case.readings.iter().map(|row| {
        let texts = row.readings.iter().map(|r| r.value.clone()).collect();
        (held.procedure.steps.id(row.step.value).to_owned(), texts)
    });
    Job { id: case.id.clone(), vehicle: held.base().vehicles.id(case.vehicle).to_owned(), readings: readings.collect() }
}

/// Where the readings end, in words. A step that is not there is never asked for.
fn end(held: Held<'_>, job: &Job) -> String {
    let (base, procedure) = (held.base(), held.procedure);
    let Some(vehicle) = base.vehicles.find(&job.vehicle).filter(|v| procedure.applies.contains(*v)) else {
        return format!("the procedure is not for the {}", job.vehicle);
    };
    let mut readings = Readings::new();
    for (step, texts) in &job.readings {
        if let Some(step) = procedure.steps.find(step) {
            readings.insert(step, texts.clone());
        }
    }
    match walk::run(base, procedure, vehicle, &readings) {
        Ok(trace) => words(&trace),
        Err(why) => format!("the reading `{}` of step {} can't be read", why.typed, why.step),
    }
}

fn words(trace: &Trace) -> String {
    let end = &trace.end;
    match end.kind {
        "shows" => format!("shows {}", end.causes.join(", ")),
        "found" => format!("found: {}", end.causes.join(", ")),
        "jump" => format!("on to procedure {}", end.text.as_deref().unwrap_or_default()),
        "needs-reading" => format!("needs a reading at step {}", end.step),
        "no-result" => format!("no result at step {}", end.step),
        kind => format!("{kind} at step {}", end.step),
    }
}
