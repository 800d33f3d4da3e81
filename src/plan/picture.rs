//! The decision graph as nodes and edges, for the picture and its text equivalent.
//!
//! In: a procedure. Out: [`Picture`]: one node a step and one an ending, one edge a result. Shapes follow ISO 5807: a test is a
//! decision, an action a process, an ending a terminator.

use super::frame::Frame;
use super::ways::{self, condition_text};
use crate::model::{Kind, Procedure, Set, StepIx, Vehicle, Way};

/// The shape of a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A test, or a route by vehicle.
    Decision,
    /// An action.
    Process,
    /// An ending.
    Terminator,
}

/// A box of the picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Node {
    /// Its text.
    pub text: String,
    /// Where it leads: `#ID` on the page, or another page's address.
    pub to: String,
    /// Its shape.
    pub shape: Shape,
    /// Vehicles that come here.
    pub on: Option<String>,
    /// The kind of ending (`shows`, `refer`, ...), or of step.
    pub kind: String,
}

/// An arrow of the picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edge {
    /// Index of the node it leaves.
    pub from: usize,
    /// Index of the node it enters.
    pub to: usize,
    /// The result; empty for an action.
    pub label: String,
    /// Whether it is the way of a bay that lacks the equipment.
    pub without: bool,
}

/// The decision graph.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Picture {
    /// Steps in written order, then endings.
    pub nodes: Vec<Node>,
    /// Results in written order.
    pub edges: Vec<Edge>,
}

/// The graph of a procedure.
pub fn picture(frame: &Frame<'_>, procedure: &Procedure, come: impl Fn(StepIx) -> Set<Vehicle>) -> Picture {
    let mut picture = Picture::default();
    for (ix, id, step) in procedure.steps.iter() {
        let (shape, kind) = match step.kind {
            Kind::Measure(_) => (Shape::Decision, "measure"),
            Kind::Observe(_) => (Shape::Decision, "observe"),
            Kind::Which => (Shape::Decision, "which"),
            Kind::Do(_) => (Shape::Process, "do"),
        };
        picture.nodes.push(Node {
            text: step.title.clone(),
            to: format!("#{id}"),
            shape,
            on: frame.on(&come(ix)),
            kind: kind.into(),
        });
    }
    for (ix, id, step) in procedure.steps.iter() {
        for result in &step.results {
            let label = condition_text(frame, result).unwrap_or_default();
            picture.add(frame, procedure, (ix.raw(), id), &result.way, label, false);
        }
        if let Some(without) = &step.without {
            picture.add(frame, procedure, (ix.raw(), id), &without.way, "can't take it".into(), true);
        }
    }
    picture
}

impl Picture {
    fn add(
        &mut self,
        frame: &Frame<'_>,
        procedure: &Procedure,
        (from, id): (usize, &str),
        way: &Way,
        label: String,
        without: bool,
    ) {
        let to = match way {
            Way::Then(step) => step.raw(),
            Way::Unknown => return,
            ending => {
                let on = self.nodes[from].on.clone();
                self.ending(from, Node { on, ..ways::ending_node(frame, procedure, ending, id) })
            }
        };
        match self.edges.iter_mut().find(|e| e.from == from && e.to == to && e.without == without) {
            Some(edge) => edge.label = format!("{}, {label}", edge.label),
            None => self.edges.push(Edge { from, to, label, without }),
        }
    }

    /// One node an ending of a step: endings that look alike stand apart, each below the step it ends, so that no arrow
    /// has to cross the picture.
    fn ending(&mut self, from: usize, node: Node) -> usize {
        let mut ends = self.edges.iter().filter(|e| e.from == from).map(|e| e.to);
        ends.find(|at| self.nodes[*at] == node).unwrap_or_else(|| {
            self.nodes.push(node);
            self.nodes.len() - 1
        })
    }
}
