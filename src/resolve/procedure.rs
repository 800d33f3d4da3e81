//! One procedure.
//!
//! In: its file and the base. Out: [`Resolved`]: the procedure, its Markdown, findings.

use super::causes::{causes, fixes};
use super::confirm::after_repair;
use super::cx::{Cx, plain, plains, text, texts};
use super::step;
use super::tables::shop_rule;
use super::way::Names;
use crate::finding::{Allowance, Finding, Level};
use crate::model::{
    Base, Condition, FactKey, Kind, Procedure, ProcedureIx, Reviewed, Section, Set, Step, Table, Vehicle, Way,
};
use crate::parse::keys::PROCEDURE;
use crate::parse::markdown::Body;
use crate::parse::yaml::{Entry, Kind as NodeKind, Node};
use crate::parse::{page, shape};
use crate::source::{FileId, Span, Spanned};

/// A procedure as far as its file could be read.
#[derive(Debug)]
pub struct Resolved {
    /// The procedure; nothing where its front matter did not parse or has no steps.
    pub procedure: Option<Procedure>,
    /// Its Markdown.
    pub body: Body,
    /// The front matter as written, for mends and editors.
    pub tree: Option<Node>,
    /// Faults of text, shape and names.
    pub findings: Vec<Finding>,
}

/// Reads one procedure.
pub fn procedure(cx: &mut Cx<'_>, base: &Base, id: &str, ix: ProcedureIx, file: FileId) -> Resolved {
    let source = cx.loaded.sources.file(file);
    let mut findings = Vec::new();
    if cx.loaded.unreadable.contains(&file) {
        return Resolved { procedure: None, body: Body::empty(file), tree: None, findings };
    }
    let page = page::read(file, source, &PROCEDURE, &mut findings);
    let first = super::tables::file_place(file, source.text()).key;
    let procedure = page.tree.as_ref().and_then(|tree| {
        let owner = tree.entries().first().map_or(first, |e| e.key.span);
        shape::check(tree, &PROCEDURE, owner, &mut findings);
        // What the shape check told is not sound; what follows tells only what it did not.
        cx.lost = findings.iter().any(|f| f.level == Level::Error);
        build(cx, base, id, ix, file, tree, &page.body)
    });
    findings.append(&mut cx.out);
    let rows = ["steps", "causes"].iter().filter_map(|key| page.tree.as_ref()?.get(key));
    let robbed: Vec<Span> = rows.flat_map(|rows| shape::robbed(rows.entries())).collect();
    findings.retain(|f| f.rule != "bad-value" || !robbed.contains(&f.span));
    for finding in &mut findings {
        if finding.procedure.is_none() {
            finding.procedure = Some(id.to_owned());
        }
    }
    place_in_steps(&mut findings, procedure.as_ref());
    Resolved { procedure, body: page.body, tree: page.tree, findings }
}

/// Findings that stand within a step or cause say so.
fn place_in_steps(findings: &mut [Finding], procedure: Option<&Procedure>) {
    let Some(procedure) = procedure else { return };
    let holds = |whole: Span, span: Span| whole.file == span.file && whole.start <= span.start && span.end <= whole.end;
    for finding in findings {
        if finding.step.is_none() {
            let step = procedure.steps.iter().find(|(_, _, s)| holds(s.place.whole, finding.span));
            finding.step = step.map(|(_, id, _)| id.to_owned());
        }
        if finding.cause.is_none() {
            let cause = procedure.causes.iter().find(|(_, _, c)| holds(c.place.whole, finding.span));
            finding.cause = cause.map(|(_, id, _)| id.to_owned());
        }
    }
}

fn build(
    cx: &mut Cx<'_>,
    base: &Base,
    id: &str,
    ix: ProcedureIx,
    file: FileId,
    tree: &Node,
    body: &Body,
) -> Option<Procedure> {
    let applies_text = texts(tree, "applies");
    let applies = cx.vehicles(tree, "applies", base).unwrap_or_else(|| Set::all(base.vehicles.len()));
    let mut causes = causes(cx, tree, base);
    let rows: &[Entry] = tree.get("steps").map(Node::entries).unwrap_or_default();
    if rows.is_empty() {
        return None;
    }
    let ids: Table<()> = ids(rows);
    let sections = body.sections.clone();
    namespace(cx, rows, &causes, &sections);
    fixes(cx, tree, base, &mut causes, &sections, id);
    let cause_rows = tree.get("causes").map(Node::entries).unwrap_or_default();
    let causes_told = cause_rows.is_empty() || cause_rows.iter().any(|e| !matches!(e.value.kind, NodeKind::Map(_)));
    let names = Names { base, causes: &causes, causes_told, steps: &ids };
    let steps = steps(cx, rows, &names, &applies, &sections);
    let mut procedure = Procedure {
        id: id.to_owned(),
        ix,
        file,
        title: String::new(),
        complaint: text(tree, "complaint").unwrap_or_else(|| Spanned::new(String::new(), tree.span)),
        also: plains(tree, "also"),
        codes: codes(cx, tree, base),
        applies,
        applies_text,
        system: text(tree, "system").and_then(|name| {
            let broken = base.broken.contains("systems");
            cx.find(&name, &base.systems, "system", broken).map(|ix| Spanned::new(ix, name.span))
        }),
        hazards: cx.names(tree, "hazards", &base.hazards, "hazard", base.broken.contains("hazards.yaml")),
        after_repair: crate::model::AfterRepair::default(),
        allow: allow(cx, tree, id),
        reviewed: reviewed(cx, tree),
        intro: body.intro,
        sections,
        steps,
        causes,
        sound: false,
    };
    procedure.title = body.title.clone().unwrap_or_else(|| procedure.complaint.value.clone());
    procedure.after_repair = after_repair(cx, tree, base, &procedure);
    super::confirm::shared_repairs(cx, tree, base, &procedure);
    if procedure.applies.is_empty() {
        cx.lost = true;
    }
    procedure.sound = !cx.lost && !unknown(&procedure);
    for allowance in &mut procedure.allow {
        allowance.judged = procedure.sound;
    }
    Some(procedure)
}

fn ids(rows: &[Entry]) -> Table<()> {
    let mut ids = Table::default();
    for row in rows {
        ids.insert(row.key.value.clone(), ());
    }
    ids
}

/// Whether some result could not be read or leads nowhere.
fn unknown(procedure: &Procedure) -> bool {
    procedure.steps.iter().any(|(_, _, step)| {
        step.results.is_empty()
            || step.results.iter().any(|r| matches!(r.condition, Condition::Unknown) || matches!(r.way, Way::Unknown))
            || step.without.as_ref().is_some_and(|w| matches!(w.way, Way::Unknown))
    })
}

/// A step and a cause are both an anchor on the page. A cause and its repair may have one id: the repair's heading is the anchor.
fn namespace(cx: &mut Cx<'_>, rows: &[Entry], causes: &Table<crate::model::Cause>, sections: &[Section]) {
    for row in rows {
        if let Some(cause) = causes.get(&row.key.value) {
            let message = format!("`{}` names a step and a cause", row.key.value);
            let finding = Finding::new("duplicate-id", Level::Error, row.key.span, message);
            cx.push(finding.label(cause.place.key, "the cause").help("give one of them another id"));
        }
    }
    let mut first: std::collections::BTreeMap<&str, Span> = std::collections::BTreeMap::new();
    for id in sections.iter().filter_map(|s| s.id.as_ref()) {
        let other = first.entry(id.value.as_str()).or_insert(id.span);
        if *other != id.span {
            let message = format!("two headings have the id `{}`", id.value);
            let finding = Finding::new("duplicate-id", Level::Error, id.span, message);
            cx.push(finding.label(*other, "first here").help("give one of them another id"));
        }
    }
}

fn steps(
    cx: &mut Cx<'_>,
    rows: &[Entry],
    names: &Names<'_>,
    applies: &Set<Vehicle>,
    sections: &[Section],
) -> Table<Step> {
    let mut steps: Table<Step> = Table::default();
    let mut kept: Vec<&Entry> = Vec::new();
    for row in rows {
        if steps.find(&row.key.value).is_some() {
            continue; // told as a key written twice
        }
        let at = step::index(steps.len());
        let heading = sections
            .iter()
            .position(|s| s.level == 2 && s.id.as_ref().is_some_and(|i| i.value == row.key.value))
            .map(|i| (i, sections[i].title.clone()));
        let section = heading.as_ref().map(|(section, _)| *section);
        let read = step::step(cx, row, at, heading, names, applies);
        let step = read.unwrap_or_else(|| Step { section, ..stand_in(cx, row, at) });
        steps.insert(row.key.value.clone(), step);
        kept.push(row);
    }
    let keys: Vec<Option<FactKey>> = steps.iter().map(|(_, _, s)| s.is_test().then(|| s.key.clone())).collect();
    for (at, row) in kept.iter().enumerate() {
        let ix = step::index(at);
        let changes = step::changes(cx, row, &steps[ix], &keys, names);
        steps[ix].changes = changes;
    }
    steps
}

/// A step that could not be read keeps its place, so that the others keep theirs; the procedure is not sound.
fn stand_in(cx: &mut Cx<'_>, row: &Entry, at: crate::model::StepIx) -> Step {
    cx.lost = true;
    Step {
        place: super::tables::place(row),
        title: row.key.value.clone(),
        section: None,
        kind: Kind::Do(Spanned::new(String::new(), row.key.span)),
        check: None,
        key: FactKey::Step(at),
        results: Vec::new(),
        shared: crate::model::Shared::default(),
        without: None,
        after: Vec::new(),
        changes: crate::model::Changes::default(),
        undoes: Vec::new(),
        own_away_from: Vec::new(),
    }
}

fn codes(cx: &mut Cx<'_>, tree: &Node, base: &Base) -> Vec<Spanned<crate::model::CodeIx>> {
    let broken = base.broken.contains("codes.yaml");
    let mut codes: Vec<Spanned<crate::model::CodeIx>> = Vec::new();
    for name in texts(tree, "codes") {
        let upper = name.value.to_ascii_uppercase();
        if base.codes.find(&name.value).is_none() && super::tables::is_fault_code(&upper) && upper != name.value {
            cx.bad(
                name.span,
                format!("a fault code is written in capitals: expected `{upper}`, found `{}`", name.value),
            )
            .help
            .push(format!("write `{upper}`"));
            continue;
        }
        if let Some(ix) = cx.find(&name, &base.codes, "fault code", broken) {
            codes.push(Spanned::new(ix, name.span));
        }
    }
    codes
}

fn allow(cx: &mut Cx<'_>, tree: &Node, id: &str) -> Vec<Allowance> {
    let mut all = Vec::new();
    for entry in tree.get("allow").map(Node::entries).unwrap_or_default() {
        let lost = cx.lost;
        let rule = shop_rule(cx, &entry.key);
        cx.lost = lost; // a misspelt allowance does not make the steps unsound
        if let (Some((rule, _)), Some(reason)) = (rule, entry.value.as_text()) {
            all.push(Allowance {
                procedure: id.to_owned(),
                rule,
                reason: reason.to_owned(),
                span: entry.key.span,
                judged: true,
            });
        }
    }
    all
}

fn reviewed(cx: &mut Cx<'_>, tree: &Node) -> Option<Reviewed> {
    let entry = tree.entry("reviewed")?;
    let on = text(&entry.value, "on");
    if let Some(on) = on.as_ref().filter(|on| !is_date(&on.value)) {
        let lost = cx.lost;
        cx.bad(on.span, format!("expected a date as 2031-05-04, found `{}`", on.value));
        cx.lost = lost;
    }
    Some(Reviewed {
        by: plain(&entry.value, "by")?,
        on: on?.value,
        of: text(&entry.value, "of"),
        span: entry.key.span.to(entry.value.span),
    })
}

/// Whether a text is a day, YYYY-MM-DD.
pub fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let number = |part: &str, digits: usize| {
        (part.len() == digits && part.bytes().all(|b| b.is_ascii_digit())).then(|| part.parse::<u32>().ok()).flatten()
    };
    match parts.as_slice() {
        [y, m, d] => {
            let (Some(year), Some(month), Some(day)) = (number(y, 4), number(m, 2), number(d, 2)) else { return false };
            let leap = (year.is_multiple_of(4) && !year.is_multiple_of(100)) || year.is_multiple_of(400);
            let days = match month {
                2 if leap => 29,
                2 => 28,
                4 | 6 | 9 | 11 => 30,
                1..=12 => 31,
                _ => return false,
            };
            (1..=days).contains(&day)
        }
        _ => false,
    }
}
