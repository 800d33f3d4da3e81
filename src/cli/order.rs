//! `ruleout order`.
//!
//! In: the arguments. Out: minutes as written, the best order, what each cause costs, test first or part first.

use std::path::Path;

use super::args::{Format, OrderArgs};
use super::one;
use super::output::Output;
use crate::graph::{self, Analysis, Bounds};
use crate::model::{Base, Procedure, Set, VehicleIx};
use crate::order::bays::bays;
use crate::order::best::THOROUGH;
use crate::order::named::Named;
use crate::order::weigh::{NOT_WALKED, Weighed, weigh};
use crate::report::escape;

/// As many lines of the best order as someone reads.
const MOST_LINES: usize = 200;

/// Runs it.
pub fn run(args: &OrderArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let one = one::read(kb, &args.procedure)?;
    if !one.is_sound(output) {
        return Ok(1);
    }
    let Some(procedure) = &one.resolved.procedure else { return Ok(1) };
    let base = &one.tables.base;
    let vehicle = one.vehicle(args.vehicle.as_deref())?;
    let analysis = graph::analyse(base, procedure, Bounds::default());
    let mut weighed = weigh(&analysis, vehicle, THOROUGH)
        .ok_or_else(|| format!("no way through `{}` is possible on this vehicle", procedure.id))?;
    if let Some((_, paths)) = analysis.classes.iter().find(|(c, _)| c.vehicles.contains(vehicle)) {
        weighed.bays = bays(base, procedure, paths, &weighed.odds);
    }
    if let Some(bay) = &args.bay {
        if base.shop.bays.find(bay).is_none() {
            return Err(format!("there is no bay `{bay}` in shop.yaml{}", one::meant(bay, base.shop.bays.ids())));
        }
        weighed.bays.retain(|row| row.bay == *bay);
    }
    if let Some(new) = &args.write {
        super::reorder::run(&one, new, vehicle, kb, output)?;
    }
    match args.format {
        Format::Json => output.json(&format!("{:#}\n", weighed.json(base, procedure, vehicle))),
        Format::Text => {
            let others = if args.vehicle.is_some() { Vec::new() } else { others(base, &analysis, vehicle) };
            output.result(&text(base, procedure, vehicle, &weighed, &others));
        }
    }
    Ok(0)
}

/// The vehicles whose jobs go other ways: all the procedure's but those that differ in nothing but the amounts of their limits.
fn others(base: &Base, analysis: &Analysis, vehicle: VehicleIx) -> Vec<String> {
    let classes = || analysis.classes.iter().map(|(class, _)| class);
    let Some(own) = classes().find(|class| class.vehicles.contains(vehicle)) else { return Vec::new() };
    let others = classes().filter(|class| !class.walks_like(own));
    base.vehicle_ids(&others.fold(Set::new(), |all, class| all.or(&class.vehicles)))
}

fn text(base: &Base, procedure: &Procedure, vehicle: VehicleIx, weighed: &Weighed, others: &[String]) -> String {
    let id = base.vehicles.id(vehicle);
    let mut text = escape(&procedure.title);
    if !id.is_empty() {
        text.push_str(&format!(", on the {id}"));
    }
    if !others.is_empty() {
        text.push_str(&format!(" (differs on: {})", others.join(", ")));
    }
    text.push_str("\n\n");
    text.push_str(&minutes(weighed));
    text.push_str(&causes(procedure, weighed));
    if let Some(order) = weighed.order() {
        let best = weighed.best.as_ref().is_ok_and(|best| best.exact);
        text.push_str(if best { "\nBest order\n" } else { "\nA good order (an estimate)\n" });
        let mut lines = String::new();
        tree(procedure, &order, 1, &mut lines);
        for line in lines.lines().take(MOST_LINES) {
            text.push_str(line);
            text.push('\n');
        }
        let more = lines.lines().count().saturating_sub(MOST_LINES);
        if more > 0 {
            text.push_str(&format!("  ... and {more} more lines (`--format json` holds them all)\n"));
        }
    }
    text.push_str(&parts(&base.shop.currency, weighed));
    text.push_str(&equipment(weighed));
    let assumed: Vec<&str> = weighed.assumed.iter().map(|s| procedure.steps.id(*s)).collect();
    if !assumed.is_empty() {
        let taken = match &base.shop.default_minutes {
            Some(_) => "the shop's default taken",
            None => "and shop.yaml has no `default-minutes`, so they count as none",
        };
        text.push_str(&format!("\nNo minutes given, {taken}: {}\n", assumed.join(", ")));
    }
    text
}

fn minutes(weighed: &Weighed) -> String {
    let mut text = String::new();
    match &weighed.written {
        Some(written) => text.push_str(&format!("As written   {:6.1} minutes on average\n", written.minutes)),
        None => text.push_str(&format!("As written   not known: {NOT_WALKED}\n")),
    }
    match &weighed.best {
        Ok(best) if best.exact => text.push_str(&format!("Best order   {:6.1} minutes\n", best.figures.minutes)),
        Ok(best) => text.push_str(&format!(
            "Best order   {:6.1} minutes (an estimate; no order takes less than {:.1})\n",
            best.figures.minutes, best.bound
        )),
        Err(unfit) => text.push_str(&format!("Best order   not worked out: {unfit}\n")),
    }
    let isolated = |figures: [f64; 3]| {
        let [one, two, three] = figures.map(|f| f * 100.0);
        format!("to one cause {one:.0} %, to two at most {two:.0} %, to three at most {three:.0} %")
    };
    if let Some(written) = &weighed.written {
        text.push_str(&format!("Isolated     {}\n", isolated(written.isolation)));
    }
    if let (Some(written), Ok(best)) = (&weighed.written, &weighed.best) {
        let differs = written.isolation.iter().zip(&best.figures.isolation).any(|(a, b)| (a - b).abs() > 1e-9);
        if differs {
            text.push_str(&format!("  best order {}\n", isolated(best.figures.isolation)));
        }
        if best.figures.minutes > written.minutes + 1e-9 {
            text.push_str(
                "The order as written takes less time because it stops earlier: the best order goes on until no test tells more.\n",
            );
        }
    }
    text
}

fn causes(procedure: &Procedure, weighed: &Weighed) -> String {
    let width = weighed.odds.causes.iter().map(|c| procedure.causes.id(*c).len()).max().unwrap_or(0).max(5);
    let best = if weighed.best.as_ref().is_ok_and(|best| !best.exact) { "estimate" } else { "best order" };
    let mut text = format!("\n{:width$}   odds   as written   {best:>10} (minutes)\n", "Cause");
    for (at, cause) in weighed.odds.causes.iter().enumerate() {
        let written = weighed.written.as_ref().map_or_else(|| "-".to_owned(), |w| format!("{:.1}", w.per_cause[at]));
        let best = weighed.best.as_ref().map_or_else(|_| "-".to_owned(), |b| format!("{:.1}", b.figures.per_cause[at]));
        text.push_str(&format!(
            "{:width$}  {:4.0} %   {written:>10}   {best:>10}\n",
            procedure.causes.id(*cause),
            weighed.odds.odds[at] * 100.0
        ));
    }
    if weighed.odds.weights.len() > 1 && procedure.causes.iter().all(|(_, _, c)| c.share.is_none()) {
        text.push_str("No shares given: all causes count as equally likely.\n");
    } else if weighed.odds.weights.len() > 1 && weighed.odds.weights.iter().all(|weight| *weight <= 0.0) {
        text.push_str("No share is above zero: all causes count as equally likely.\n");
    }
    text
}

fn tree(procedure: &Procedure, node: &Named, depth: usize, text: &mut String) {
    let indent = "  ".repeat(depth);
    match node {
        Named::Stop(causes) => {
            let ids: Vec<&str> = causes.iter().map(|c| procedure.causes.id(*c)).collect();
            let said = if ids.len() > 1 { format!("can't tell apart: {}", ids.join(", ")) } else { ids.join("") };
            text.push_str(&format!("{indent}= {said}\n"));
        }
        Named::All { steps, .. } => {
            let ids: Vec<&str> = steps.iter().map(|s| procedure.steps.id(*s)).collect();
            text.push_str(&format!("{indent}then, as far as they still tell something: {}\n", ids.join(", ")));
        }
        Named::Do(step, then) => {
            text.push_str(&format!("{indent}{} (do)\n", procedure.steps.id(*step)));
            tree(procedure, then, depth, text);
        }
        Named::Ask { step, taken, results } => {
            let taken = if *taken { " (the same reading)" } else { "" };
            text.push_str(&format!("{indent}{}{taken}\n", procedure.steps.id(*step)));
            for answer in results {
                let label = &procedure.steps[*step].results[answer.result].text.value;
                text.push_str(&format!("{indent}  {}:\n", escape(label)));
                tree(procedure, &answer.next, depth + 2, text);
            }
        }
    }
}

fn parts(currency: &str, weighed: &Weighed) -> String {
    if weighed.part_first.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nTest first, or fit the part first? (odds are no proof: test before you fit)\n");
    let money = |amount: f64| format!("{amount:.0} {currency}").trim_end().to_owned();
    for row in &weighed.part_first {
        let pays = match row.break_even * 100.0 {
            above if above > 99.5 => "the part untested hardly ever pays".to_owned(),
            above => format!("the part pays above {above:.0} in 100"),
        };
        let better = if row.cost_part_first < row.cost_test_first { "the part first" } else { "testing first" };
        text.push_str(&format!(
            "  {}: the guess is right {:.0} times in 100; part first {}, test first {}: {better} is cheaper on average; {pays}\n",
            row.cause,
            row.cures * 100.0,
            money(row.cost_part_first),
            money(row.cost_test_first),
        ));
    }
    text
}

/// What each bay's equipment is worth: minutes of a job with and without it.
fn equipment(weighed: &Weighed) -> String {
    let mut text = String::new();
    for row in &weighed.bays {
        text.push_str(&format!(
            "\nIn bay {}: {:.1} minutes on average, isolated to one cause {:.0} %\n",
            row.bay,
            row.minutes,
            row.isolated * 100.0
        ));
        for one in &row.equipment {
            let there = if one.at_hand { "at hand" } else { "missing" };
            text.push_str(&format!(
                "  {} ({there}): {:.1} minutes with it, {:.1} without; isolated {:.0} % with it, {:.0} % without\n",
                one.equipment,
                one.with,
                one.without,
                one.isolated.0 * 100.0,
                one.isolated.1 * 100.0
            ));
        }
    }
    text
}
