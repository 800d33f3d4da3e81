//! `ruleout trace`.
//!
//! In: the arguments, on a terminal also what is typed. Out: the path and the ending.

use std::io::{BufRead, IsTerminal};
use std::path::Path;

use super::args::{Format, TraceArgs};
use super::one::{self, One};
use super::output::Output;
use crate::model::{Procedure, Set, VehicleIx};
use crate::report::escape;
use crate::walk::{self, Readings, Trace};

/// Runs it.
pub fn run(args: &TraceArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let one = one::read(kb, &args.procedure)?;
    if !one.is_sound(output) {
        return Ok(1);
    }
    let Some(procedure) = &one.resolved.procedure else { return Ok(1) };
    let vehicle = one.vehicle(args.vehicle.as_deref())?;
    let mut readings = readings(procedure, &args.readings)?;
    let mut trace = follow(&one, procedure, vehicle, &readings)?;
    let asks = std::io::stdin().is_terminal() && std::io::stdout().is_terminal() && args.format == Format::Text;
    while asks && trace.end.kind == "needs-reading" {
        let Some(step) = procedure.steps.find(&trace.end.step) else { break };
        let Some(typed) = ask(procedure, &trace.end.step, output) else { break };
        let before = readings.clone();
        readings.entry(step).or_default().push(typed);
        match follow(&one, procedure, vehicle, &readings) {
            Ok(next) => trace = next,
            Err(why) => {
                output.fault(&why);
                readings = before;
            }
        }
    }
    match args.format {
        Format::Json => {
            let json = serde_json::to_string_pretty(&trace).map_err(|e| e.to_string())?;
            output.json(&format!("{json}\n"));
        }
        Format::Text => {
            let others = if args.vehicle.is_some() { Vec::new() } else { others(&one, procedure, &trace, &readings) };
            output.result(&text(procedure, &trace, &others));
        }
    }
    Ok(0)
}

fn follow(one: &One, procedure: &Procedure, vehicle: VehicleIx, readings: &Readings) -> Result<Trace, String> {
    walk::run(&one.tables.base, procedure, vehicle, readings).map_err(|why| {
        let help = why.help.iter().fold(String::new(), |all, h| all + "; " + h);
        format!("the reading `{}` of step `{}` can't be read: {}{help}", why.typed, why.step, why.message)
    })
}

fn readings(procedure: &Procedure, given: &[String]) -> Result<Readings, String> {
    let mut readings = Readings::new();
    for text in given {
        let (step, reading) =
            text.split_once('=').ok_or_else(|| format!("expected STEP=READING behind --reading, found `{text}`"))?;
        let Some(ix) = procedure.steps.find(step.trim()) else {
            let hint = one::meant(step.trim(), procedure.steps.ids());
            return Err(format!("procedure `{}` has no step `{}`{hint}", procedure.id, step.trim()));
        };
        readings.entry(ix).or_default().push(reading.trim().to_owned());
    }
    Ok(readings)
}

/// Asks for a reading; nothing at the end of the input.
fn ask(procedure: &Procedure, step: &str, output: &Output) -> Option<String> {
    let row = procedure.steps.get(step)?;
    let choices: Vec<&str> = row.results.iter().map(|r| r.text.value.as_str()).collect();
    output.say(&format!("{}\n  {}\n{step}: ", escape(&row.title), escape(&choices.join(" | "))));
    let mut line = String::new();
    let read = std::io::stdin().lock().read_line(&mut line).ok()?;
    (read > 0 && !line.trim().is_empty()).then(|| line.trim().to_owned())
}

/// The vehicles on which the same readings go another way, or can't be taken.
fn others(one: &One, procedure: &Procedure, trace: &Trace, readings: &Readings) -> Vec<String> {
    let base = &one.tables.base;
    let is_same = |other: &Trace| other.path == trace.path && other.end == trace.end && other.undo == trace.undo;
    let classes = crate::graph::classes::classes(base, procedure).into_iter();
    let differ =
        classes.filter(|class| !follow(one, procedure, class.one, readings).is_ok_and(|other| is_same(&other)));
    base.vehicle_ids(&differ.fold(Set::new(), |all, class| all.or(&class.vehicles)))
}

fn text(procedure: &Procedure, trace: &Trace, others: &[String]) -> String {
    let mut text = escape(&procedure.id);
    if let Some(vehicle) = &trace.vehicle {
        text.push_str(&format!(" on the {vehicle}"));
        if !others.is_empty() {
            text.push_str(&format!(" (differs on: {})", others.join(", ")));
        }
    }
    text.push('\n');
    let width = trace.path.iter().map(|v| v.step.len()).max().unwrap_or(0);
    for visit in &trace.path {
        let said = match (&visit.reading, &visit.result) {
            (Some(reading), Some(result)) if reading == result => reading.clone(),
            (Some(reading), Some(result)) => format!("{reading}: {result}"),
            (Some(reading), None) => reading.clone(),
            (None, Some(result)) => result.clone(),
            (None, None) => "done".to_owned(),
        };
        text.push_str(&format!("  {:width$}  {}\n", visit.step, escape(&said)));
        if !visit.ruled_out.is_empty() {
            text.push_str(&format!("  {:width$}  rules out {}\n", "", visit.ruled_out.join(", ")));
        }
    }
    text.push_str(&ending(procedure, trace));
    for undo in &trace.undo {
        text.push_str(&format!("put back: {} ({})\n", escape(&undo.text), undo.step));
    }
    text
}

fn ending(procedure: &Procedure, trace: &Trace) -> String {
    let end = &trace.end;
    let titles: Vec<String> = end
        .causes
        .iter()
        .map(|id| procedure.causes.get(id).map_or_else(|| id.clone(), |c| format!("{id} ({})", escape(&c.title))))
        .collect();
    let said = end.text.as_deref().map(escape).unwrap_or_default();
    match end.kind {
        "shows" => format!("shown: {}\n", titles.join(", ")),
        "found" if titles.len() > 1 => format!("found, can't tell apart: {}\n", titles.join(", ")),
        "found" => format!("found: {}\n", titles.join(", ")),
        "jump" => format!("goes on with {said}\n"),
        "needs-reading" => format!("needs a reading at `{}`\n", end.step),
        "no-result" => format!("no result at `{}` for that reading\n", end.step),
        kind => format!("{kind}: {said}\n"),
    }
}
