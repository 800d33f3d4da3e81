//! The steps of the new procedure as YAML: every key as the author wrote it, but for where things lead and what they name.
//!
//! In: the steps with their ids, and the old source. Out: the block under `steps:`.

use std::collections::BTreeMap;

use super::plan::{Laid, Row, Said, To};
use super::{At, Plan, Trims};
use crate::model::{Cause, CauseIx, Outcome, Procedure, Set, StepIx, Vehicle, VehicleIx, Way};
use crate::parse::yaml::{Entry, Node};

const CONTRADICTION: &str = "This contradicts an earlier reading. Take both again, then hand the job over.";
const NORMAL: &str = "No listed cause is left.";
const HAND_OVER: &str = "This bay lacks what the step needs. Go on in a bay that has it.";
const NO_RESULT: &str = "No listed cause gives this reading. Take it again, then hand the job over.";
const REST: &str = "any other reading";
const OTHERS: &str = "any other vehicle";

/// The keys that say where a result leads.
const ENDS: [&str; 6] = ["then", "shows", "found", "normal", "unproven", "refer"];

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
                Row::Which(parts) => self.which(*at, parts, &mut out),
                Row::Do(step, _) | Row::Ask { step, .. } => self.step(*at, *step, row, &mut out),
            };
            steps.insert(id.clone(), (*at, kept));
        }
        (out, steps)
    }

    /// Each vehicle of the procedure has one way: those that never come here go with the last.
    fn which(&self, at: At, parts: &[(Set<Vehicle>, To)], out: &mut String) -> Vec<usize> {
        out.push_str("    which: vehicle\n    results:\n");
        let kept: Vec<usize> = (0..parts.len()).filter(|part| !self.trims.dead.contains(&(at, *part))).collect();
        let all = kept.iter().fold(Set::new(), |all, part| all.or(&parts[*part].0));
        let whole = self.procedure.applies.is_subset(&all);
        for part in &kept {
            let (vehicles, to) = &parts[*part];
            let ids: Vec<String> = vehicles.iter().map(|v| (self.vehicles)(v)).collect();
            let last = kept.last() == Some(part);
            let named = if last && !whole { OTHERS.to_owned() } else { format!("[{}]", ids.join(", ")) };
            out.push_str(&format!("      - for: {named}\n{}", self.way(to)));
        }
        kept
    }

    fn step(&self, at: At, step: StepIx, row: &Row, out: &mut String) -> Vec<usize> {
        let entries = self.old(step).map_or(&[][..], Node::entries);
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
            Row::Do(_, to) => out.push_str(&self.way(to)["    ".len()..]),
            Row::Ask { results, .. } => {
                out.push_str("    results:\n");
                let items = entries.iter().find(|e| e.key.value == "results").map_or(&[][..], |e| e.value.as_list());
                for (result, (said, item)) in results.iter().zip(items).enumerate() {
                    if !self.trims.dead.contains(&(at, result)) {
                        kept.push(result);
                        self.result((at, result), &self.procedure.steps[step].results[result], said, item, out);
                    }
                }
                if self.trims.gaps.contains(&at) {
                    out.push_str(&format!("      - if: {REST}\n        refer: {}\n", quoted(NO_RESULT)));
                }
            }
            Row::Which(_) => {}
        }
        kept
    }

    fn result(&self, place: (At, usize), outcome: &Outcome, said: &Said, item: &Node, out: &mut String) {
        let unproven = match (&outcome.way, &said.to) {
            (Way::Normal(text), To::As(..)) => Some(text.as_str()),
            (_, To::Normal) => Some(NORMAL),
            _ => None,
        };
        let unproven = unproven.filter(|_| self.trims.unproven.contains(&place));
        let unproven = unproven.map(|text| To::Unproven(text.to_owned()));
        let to = unproven.as_ref().unwrap_or(&said.to);
        let vain = |cause: &CauseIx| self.trims.vain.contains(&(place, *cause));
        let ruled_out: Set<Cause> = said.out.iter().filter(|cause| !vain(cause)).collect();
        let otherwise = ruled_out != outcome.rules_out(self.procedure.causes.len());
        let mut evidence = otherwise.then(|| self.evidence(outcome, &ruled_out));
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
                key if ENDS.contains(&key) => {
                    put(&evidence.take().unwrap_or_default());
                    put(&self.way(to));
                    // what the author says at this ending stands beside the verdict
                    if let (To::Kept(..), Way::Refer(text) | Way::Unproven(text) | Way::Normal(text)) =
                        (to, &outcome.way)
                        && self.named_here(to).is_some()
                        && item.get("note").is_none()
                    {
                        put(&format!("        note: {}\n", quoted(text)));
                    }
                }
                _ => put(&self.entry(entry, 8)),
            }
        }
    }

    /// What a result rules out.
    fn evidence(&self, outcome: &Outcome, out: &Set<Cause>) -> String {
        let ids = |ruled_out: bool| -> Vec<&str> {
            let causes = self.procedure.causes.iter().filter(|(ix, ..)| out.contains(*ix) == ruled_out);
            causes.map(|(_, id, _)| id).collect()
        };
        let (key, named) = if outcome.leaves.is_some() { ("leaves", ids(false)) } else { ("clears", ids(true)) };
        if named.is_empty() { String::new() } else { format!("        {key}: [{}]\n", named.join(", ")) }
    }

    /// The causes that an ending names after all, since no other way does.
    fn named_here<'t>(&self, to: &'t To) -> Option<&'t [CauseIx]> {
        let To::Kept(_, _, left) = to else { return None };
        Some(left.as_slice()).filter(|left| left.iter().any(|cause| self.trims.named.contains(cause)))
    }

    /// Where a result leads, as it stands in a result.
    fn way(&self, to: &To) -> String {
        let found = |causes: &[CauseIx]| {
            let ids: Vec<&str> = causes.iter().map(|c| self.procedure.causes.id(*c)).collect();
            if ids.len() == 1 { format!("found: {}", ids[0]) } else { format!("found: [{}]", ids.join(", ")) }
        };
        let line = match to {
            To::As(step, result) | To::Kept(step, result, _) => match self.named_here(to) {
                Some(causes) => found(causes),
                None => return self.as_written(*step, *result),
            },
            To::Step(at) => format!("then: {}", self.laid.id(*at)),
            To::Found(causes) => found(causes),
            To::Normal => format!("normal: {}", quoted(NORMAL)),
            To::Unproven(text) => format!("unproven: {}", quoted(text)),
            To::HandOver(text) => format!("refer: {}", quoted(text)),
            To::Contradiction => format!("refer: {}", quoted(CONTRADICTION)),
        };
        format!("        {line}\n")
    }

    /// The ending of a result, as the author wrote it.
    fn as_written(&self, step: StepIx, result: usize) -> String {
        let row = self.old(step).and_then(|row| row.get("results"));
        let entries = row.and_then(|results| results.as_list().get(result)).map_or(&[][..], |item| item.entries());
        let end = entries.iter().find(|entry| ENDS.contains(&entry.key.value.as_str()));
        end.map_or_else(String::new, |entry| self.entry(entry, 8))
    }

    /// A step of the old procedure in its front matter.
    fn old(&self, step: StepIx) -> Option<&Node> {
        self.tree.get("steps").and_then(|steps| steps.get(self.procedure.steps.id(step)))
    }

    /// What must come before: the start, and what the author named, as far as every way passes it.
    fn after(&self, at: At, step: StepIx) -> Vec<String> {
        let before = self.laid.before.get(&at).map_or(&[][..], Vec::as_slice);
        let rows = &self.procedure.steps;
        // where another test of its reading was taken instead, that one comes before
        let same = |old: StepIx| {
            rows.indexes().filter(move |other| rows[*other].is_test() && rows[*other].key == rows[old].key)
        };
        let passed = |old: StepIx| {
            let places = |step| self.laid.places(step).find(|(place, _)| before.contains(place));
            places(old).or_else(|| same(old).filter(|_| rows[old].is_test()).find_map(places))
        };
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
