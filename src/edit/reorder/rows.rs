//! The steps of the new procedure as YAML: every key as the author wrote it, but for where things lead and what they name.
//!
//! In: the steps with their ids, and the old source. Out: the block under `steps:`.

use std::collections::BTreeMap;

use super::plan::{Laid, Row, To, ruled_out};
use super::{At, Plan, Trims};
use crate::model::{Cause, Outcome, Procedure, Set, StepIx, VehicleIx, Way};
use crate::parse::yaml::{Entry, Node};

const CONTRADICTION: &str = "This contradicts an earlier reading. Take both again, then hand the job over.";
const NORMAL: &str = "No listed cause is left.";
const HAND_OVER: &str = "This bay lacks what the step needs. Go on in a bay that has it.";

/// Which results of a step stand in the new file, by their old positions.
pub type Steps = BTreeMap<String, (At, Vec<usize>)>;

/// Writes the steps.
pub struct Rows<'a> {
    /// The old procedure.
    pub procedure: &'a Procedure,
    /// Its text.
    pub text: &'a str,
    /// Its front matter.
    pub tree: &'a Node,
    /// The steps.
    pub laid: &'a Laid,
    /// What they were made from.
    pub plan: &'a Plan,
    /// The vehicles' ids.
    pub vehicles: &'a dyn Fn(VehicleIx) -> String,
    /// What is written otherwise.
    pub trims: &'a Trims,
}

impl Rows<'_> {
    /// The block, and which results of each step stand in it.
    pub fn write(&self) -> (String, Steps) {
        let mut out = String::from("steps:\n");
        let mut steps = Steps::new();
        for (at, id, row) in &self.laid.rows {
            out.push_str(&format!("  {id}:\n"));
            let kept = match row {
                Row::Which(parts) => self.which(parts, &mut out),
                Row::Do(step, _) | Row::Ask { step, .. } => self.step(*at, *step, row, &mut out),
            };
            steps.insert(id.clone(), (*at, kept));
        }
        (out, steps)
    }

    fn which(&self, parts: &[(Vec<VehicleIx>, To)], out: &mut String) -> Vec<usize> {
        out.push_str("    which: vehicle\n    results:\n");
        for (vehicles, to) in parts {
            let ids: Vec<String> = vehicles.iter().map(|v| (self.vehicles)(*v)).collect();
            out.push_str(&format!("      - for: [{}]\n", ids.join(", ")));
            out.push_str(&format!("        {}\n", self.way(to)));
        }
        (0..parts.len()).collect()
    }

    fn step(&self, at: At, step: StepIx, row: &Row, out: &mut String) -> Vec<usize> {
        let old = self.tree.get("steps").and_then(|steps| steps.get(self.procedure.steps.id(step)));
        let entries = old.map_or(&[][..], Node::entries);
        let taken = matches!(row, Row::Ask { taken: true, .. });
        let mut kept = Vec::new();
        let mut after = self.after(at, step);
        for (place, entry) in entries.iter().enumerate() {
            match entry.key.value.as_str() {
                "results" | "then" | "after" => {}
                "minutes" | "wait" | "setup" if taken => {}
                "without" => out.push_str(&self.without(at, entry)),
                "changes" | "undoes" => out.push_str(&self.named(entry)),
                _ => out.push_str(&self.entry(entry, 4)),
            }
            if place == 0 && !after.is_empty() {
                out.push_str(&format!("    after: [{}]\n", std::mem::take(&mut after).join(", ")));
            }
        }
        if taken {
            out.push_str("    minutes: 0\n");
        }
        match row {
            Row::Do(_, to) => out.push_str(&format!("    {}\n", self.way(to))),
            Row::Ask { ways, .. } => {
                out.push_str("    results:\n");
                let items = entries.iter().find(|e| e.key.value == "results").map_or(&[][..], |e| e.value.as_list());
                for (result, (to, item)) in ways.iter().zip(items).enumerate() {
                    if !self.trims.dead.contains(&(at, result)) {
                        kept.push(result);
                        self.result(at, step, result, row, to, item, out);
                    }
                }
            }
            Row::Which(_) => {}
        }
        kept
    }

    #[allow(clippy::too_many_arguments, reason = "one result of one row")]
    fn result(&self, at: At, step: StepIx, result: usize, row: &Row, to: &To, item: &Node, out: &mut String) {
        let outcome = &self.procedure.steps[step].results[result];
        let unproven = match (&outcome.way, to) {
            (Way::Normal(text), To::Same) => Some(text.as_str()),
            (_, To::Normal) => Some(NORMAL),
            _ => None,
        };
        let unproven = unproven.filter(|_| self.trims.unproven.contains(&(at, result)));
        let unproven = unproven.map(|text| To::Unproven(text.to_owned()));
        let to = unproven.as_ref().unwrap_or(to);
        let (silent, also): (Set<Cause>, &[_]) = match row {
            Row::Ask { silent, also, .. } => (silent.iter().copied().collect(), &also[result]),
            _ => (Set::new(), &[]),
        };
        let otherwise = !silent.is_empty() || !also.is_empty();
        let mut evidence = otherwise.then(|| self.evidence(step, outcome, also, &silent));
        let mut lead = "      - ";
        let mut put = |text: &str| {
            if !text.is_empty() {
                out.push_str(lead);
                out.push_str(text.strip_prefix("        ").unwrap_or(text));
                lead = "        ";
            }
        };
        for entry in item.entries() {
            match entry.key.value.as_str() {
                "clears" | "leaves" if otherwise => {}
                "then" | "shows" | "found" | "normal" | "unproven" | "refer" => {
                    put(&evidence.take().unwrap_or_default());
                    match to {
                        To::Same => put(&self.entry(entry, 8)),
                        _ => put(&format!("        {}\n", self.way(to))),
                    }
                }
                _ => put(&self.entry(entry, 8)),
            }
        }
    }

    /// The causes that a result rules out, without those that the test says nothing of, and with those that other tests of the
    /// same reading rule out.
    fn evidence(&self, step: StepIx, outcome: &Outcome, also: &[(StepIx, usize)], silent: &Set<Cause>) -> String {
        let out = ruled_out(self.procedure, step, outcome, also, silent);
        let ids = |ruled_out: bool| -> Vec<&str> {
            let causes = self.procedure.causes.iter().filter(|(ix, ..)| out.contains(*ix) == ruled_out);
            causes.map(|(_, id, _)| id).collect()
        };
        let (key, named) = if outcome.leaves.is_some() { ("leaves", ids(false)) } else { ("clears", ids(true)) };
        if named.is_empty() { String::new() } else { format!("        {key}: [{}]\n", named.join(", ")) }
    }

    /// Where a result leads, as one line.
    fn way(&self, to: &To) -> String {
        match to {
            To::Step(at) => format!("then: {}", self.laid.id(*at)),
            To::Found(causes) => {
                let ids: Vec<&str> = causes.iter().map(|c| self.procedure.causes.id(*c)).collect();
                if ids.len() == 1 { format!("found: {}", ids[0]) } else { format!("found: [{}]", ids.join(", ")) }
            }
            To::Normal => format!("normal: {}", quoted(NORMAL)),
            To::Unproven(text) => format!("unproven: {}", quoted(text)),
            To::HandOver(text) => format!("refer: {}", quoted(text)),
            To::Contradiction | To::Same => format!("refer: {}", quoted(CONTRADICTION)),
        }
    }

    /// What must come before: the start, and what the author named, as far as every way passes it.
    fn after(&self, at: At, step: StepIx) -> Vec<String> {
        let before = self.laid.before.get(&at).map_or(&[][..], Vec::as_slice);
        let passed = |old: StepIx| self.laid.places(old).find(|(place, _)| before.contains(place));
        let named = self.procedure.steps[step].after.iter().map(|a| a.value);
        // whatever follows "verify the complaint"
        let first = self.procedure.start().into_iter();
        let mut ids: Vec<String> = Vec::new();
        for (_, id) in named.chain(first).filter_map(passed) {
            if !ids.iter().any(|known| known == id) {
                ids.push(id.to_owned());
            }
        }
        ids
    }

    fn without(&self, at: At, entry: &Entry) -> String {
        let Some(step) = entry.value.as_text() else { return self.entry(entry, 4) };
        if self.procedure.steps.find(step).is_none() {
            return self.entry(entry, 4);
        }
        match self.laid.without(self.plan, self.procedure, at, self.trims) {
            Some(id) => format!("    without: {id}\n"),
            None => format!("    without: {{refer: {}}}\n", quoted(HAND_OVER)),
        }
    }

    /// A list that names steps: each at all its places.
    fn named(&self, entry: &Entry) -> String {
        let mut ids: Vec<String> = Vec::new();
        let mut moved = false;
        for item in entry.value.as_list() {
            let Some(text) = item.as_text() else { continue };
            match self.procedure.steps.find(text) {
                Some(step) => {
                    let places: Vec<&str> = self.laid.places(step).map(|(_, id)| id).collect();
                    moved |= places != [text];
                    ids.extend(places.into_iter().map(str::to_owned));
                }
                None => ids.push(text.to_owned()),
            }
        }
        match (moved, ids.is_empty()) {
            (false, _) => self.entry(entry, 4),
            (true, true) => String::new(),
            (true, false) => format!("    {}: [{}]\n", entry.key.value, ids.join(", ")),
        }
    }

    /// A key with its value as it stands in the source, at another depth.
    fn entry(&self, entry: &Entry, depth: usize) -> String {
        let (from, to) = (entry.key.span.start as usize, entry.value.span.end.max(entry.key.span.end) as usize);
        let source = self.text.get(from..to).unwrap_or_default();
        let line = self.text[..from].rfind('\n').map_or(0, |at| at + 1);
        let lead = &self.text[line..from];
        // a key that begins its line (behind a dash, at most): what hangs below it keeps its depth beneath it
        let own = lead.chars().all(|c| c == ' ' || c == '-').then_some(lead.len());
        let mut out = " ".repeat(depth);
        for (at, row) in source.trim_end().lines().enumerate() {
            if at > 0 {
                out.push('\n');
                if !row.trim().is_empty() {
                    let had = row.len() - row.trim_start_matches(' ').len();
                    let deeper = own.map_or(2, |own| had.saturating_sub(own));
                    out.push_str(&" ".repeat(depth + deeper));
                    out.push_str(row.trim_start_matches(' '));
                }
            } else {
                out.push_str(row);
            }
        }
        out.push('\n');
        out
    }
}

/// A text in double quotes.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"").replace(['\r', '\n'], " "))
}
