//! The decision graph for other programs: JSON and DOT.
//!
//! In: a procedure. Out: [`Export`], and its DOT text. Endings are nodes of their own, `STEP/N` for the Nth way on.

use serde::Serialize;

use super::arrows::{Arrows, Node};
use super::paths::{Via, way_of};
use crate::model::{Base, CauseIx, Condition, Kind, Procedure, StepIx, Way};
use petgraph::visit::EdgeRef;

/// The graph.
#[derive(Debug, Serialize)]
pub struct Export {
    /// The procedure's id.
    pub procedure: String,
    /// The first step.
    pub start: Option<String>,
    /// Steps and endings.
    pub nodes: Vec<ExportNode>,
    /// Ways on.
    pub edges: Vec<ExportEdge>,
}

/// A step or an ending.
#[derive(Debug, Serialize)]
pub struct ExportNode {
    /// A step's id; an ending's is `STEP/N`.
    pub id: String,
    /// `measure`, `observe`, `do`, `which`, or the ending's word.
    pub kind: &'static str,
    /// What people read.
    pub title: String,
}

/// A way on.
#[derive(Debug, Serialize)]
pub struct ExportEdge {
    /// From this node.
    pub from: String,
    /// To this node.
    pub to: String,
    /// The reading or label.
    #[serde(rename = "if", skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
    /// The vehicles.
    #[serde(rename = "for", skip_serializing_if = "Option::is_none")]
    pub who: Option<Vec<String>>,
    /// Causes ruled out by name.
    pub clears: Vec<String>,
    /// The only causes left, where `leaves` stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leaves: Option<Vec<String>>,
    /// `without`: the way of a bay that lacks the equipment.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub without: bool,
}

/// The graph of a procedure, nodes and edges in written order.
pub fn export(base: &Base, procedure: &Procedure, arrows: &Arrows) -> Export {
    let graph = &arrows.graph;
    let nodes = graph.node_weights().map(|node| node_of(base, procedure, node)).collect();
    let mut edges: Vec<_> = graph.edge_references().collect();
    edges.sort_by_key(|e| (e.source(), *e.weight()));
    let edges = edges
        .into_iter()
        .map(|e| {
            edge_of(
                base,
                procedure,
                id(procedure, &graph[e.source()]),
                id(procedure, &graph[e.target()]),
                e.source().index(),
                *e.weight(),
            )
        })
        .collect();
    let start = procedure.start().map(|s| procedure.steps.id(s).to_owned());
    Export { procedure: procedure.id.clone(), start, nodes, edges }
}

fn id(procedure: &Procedure, node: &Node) -> String {
    match node {
        Node::Step(at) => procedure.steps.id(*at).to_owned(),
        Node::End(at, Via::Result(n)) => format!("{}/{}", procedure.steps.id(*at), n + 1),
        Node::End(at, Via::Without) => format!("{}/without", procedure.steps.id(*at)),
    }
}

fn node_of(base: &Base, procedure: &Procedure, node: &Node) -> ExportNode {
    let (kind, title) = match node {
        Node::Step(at) => {
            let step = &procedure.steps[*at];
            let kind = match step.kind {
                Kind::Measure(_) => "measure",
                Kind::Observe(_) => "observe",
                Kind::Do(_) => "do",
                Kind::Which => "which",
            };
            (kind, step.title.clone())
        }
        Node::End(at, via) => match way_of(procedure, *at, *via) {
            Some(way) => (way.word(), ending_title(base, procedure, way)),
            None => ("refer", String::new()),
        },
    };
    ExportNode { id: id(procedure, node), kind, title }
}

/// What an ending says, in words.
pub fn ending_title(base: &Base, procedure: &Procedure, way: &Way) -> String {
    let title = |cause: &CauseIx| procedure.causes[*cause].title.clone();
    match way {
        Way::Shows(cause) => title(cause),
        Way::Found(causes) => causes.iter().map(title).collect::<Vec<_>>().join(" or "),
        Way::FoundLeft => "what is left".to_owned(),
        Way::Jump(to) => base.procedures.id(*to).to_owned(),
        Way::Normal(text) | Way::Unproven(text) | Way::Refer(text) => text.clone(),
        Way::Then(to) => procedure.steps[*to].title.clone(),
        Way::Unknown => String::new(),
    }
}

fn edge_of(base: &Base, procedure: &Procedure, from: String, to: String, step: usize, via: Via) -> ExportEdge {
    let step = &procedure.steps[StepIx::new(step)];
    let mut edge =
        ExportEdge { from, to, when: None, who: None, clears: Vec::new(), leaves: None, without: via == Via::Without };
    if let Via::Result(at) = via {
        let result = &step.results[at];
        match &result.condition {
            Condition::Done => {}
            Condition::Vehicles(set) => edge.who = Some(base.vehicle_ids(set)),
            _ => edge.when = Some(result.text.value.clone()),
        }
        let ids = |list: &[crate::source::Spanned<CauseIx>]| {
            list.iter().map(|c| procedure.causes.id(c.value).to_owned()).collect()
        };
        edge.clears = ids(&result.clears);
        edge.leaves = result.leaves.as_ref().map(|l| ids(l));
    }
    edge
}

/// The graph as Graphviz reads it: a test is a diamond, an action a box, an ending an oval.
pub fn dot(export: &Export) -> String {
    let mut text = format!("digraph {} {{\n", quoted(&export.procedure));
    for node in &export.nodes {
        let shape = match node.kind {
            "measure" | "observe" | "which" => "diamond",
            "do" => "box",
            _ => "oval",
        };
        text.push_str(&format!("  {} [label={}, shape={shape}];\n", quoted(&node.id), quoted(&node.title)));
    }
    for edge in &export.edges {
        let label = match (&edge.when, &edge.who) {
            (Some(when), _) => when.clone(),
            (None, Some(who)) => who.join(", "),
            (None, None) if edge.without => "not taken".to_owned(),
            (None, None) => String::new(),
        };
        text.push_str(&format!("  {} -> {} [label={}];\n", quoted(&edge.from), quoted(&edge.to), quoted(&label)));
    }
    text.push_str("}\n");
    text
}

/// A DOT string: quotes and backslashes escaped, control characters as spaces.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
