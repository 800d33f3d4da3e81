//! Where results lead, in the technician's words.
//!
//! In: results and ways. Out: [`WayView`]s, and the endings of the picture.

use super::address::PageKind;
use super::frame::Frame;
use super::limits::capital;
use super::page::Link;
use super::picture::{Node, Shape};
use super::procedure_page::WayView;
use crate::model::{CauseIx, Condition, Kind, Outcome, Procedure, Way};

/// The result as written; the vehicles' titles for a `for`; nothing for an action.
pub fn condition_text(frame: &Frame<'_>, result: &Outcome) -> Option<String> {
    match &result.condition {
        Condition::Done => None,
        Condition::Vehicles(set) => Some(frame.vehicle_titles(set)),
        _ => Some(result.text.value.clone()),
    }
}

/// A link to a cause on the page.
pub fn cause(procedure: &Procedure, ix: CauseIx) -> Link {
    Link::to(&procedure.causes[ix].title, format!("#{}", procedure.causes.id(ix)))
}

/// Where a way leads.
pub fn way(frame: &Frame<'_>, procedure: &Procedure, way: &Way) -> WayView {
    let mut view = WayView { kind: way.word(), lead: "", links: Vec::new(), text: None, put_back: Vec::new() };
    match way {
        Way::Then(to) => {
            view.lead = "Go to";
            view.links.push(Link::to(&procedure.steps[*to].title, format!("#{}", procedure.steps.id(*to))));
        }
        Way::Jump(to) => {
            view.lead = "Go on with";
            view.links.push(frame.procedure(*to));
        }
        Way::Shows(ix) => {
            view.lead = "This is the fault:";
            view.links.push(cause(procedure, *ix));
        }
        Way::Found(list) => {
            view.lead = if list.len() > 1 { "Can't tell apart:" } else { "Nothing else is left:" };
            view.links.extend(list.iter().map(|ix| cause(procedure, *ix)));
        }
        Way::FoundLeft => {
            view.lead = "What is left is the fault.";
        }
        Way::Normal(text) => {
            view.lead = "Works as it should.";
            view.text = Some(text.clone());
        }
        Way::Unproven(text) => {
            view.lead = "The fault did not show itself.";
            view.text = Some(text.clone());
        }
        Way::Refer(text) => {
            view.lead = "Hand over.";
            view.text = Some(text.clone());
        }
        Way::Unknown => {}
    }
    view
}

/// The terminator of an ending of the step `id`.
pub fn ending_node(frame: &Frame<'_>, procedure: &Procedure, way: &Way, id: &str) -> Node {
    let titles =
        |list: &[CauseIx]| list.iter().map(|ix| procedure.causes[*ix].title.as_str()).collect::<Vec<_>>().join(" or ");
    let (text, to) = match way {
        Way::Shows(ix) => (titles(&[*ix]), format!("#{}", procedure.causes.id(*ix))),
        Way::Found(list) => {
            (titles(list), list.first().map_or(format!("#{id}"), |ix| format!("#{}", procedure.causes.id(*ix))))
        }
        Way::FoundLeft => ("What is left".into(), "#causes_".into()),
        Way::Normal(_) => ("Works as it should".into(), format!("#{id}")),
        Way::Unproven(_) => ("Did not show itself".into(), format!("#{id}")),
        Way::Refer(_) => ("Hand over".into(), format!("#{id}")),
        Way::Jump(to) => {
            let title = frame.digest(*to).map_or_else(|| frame.base.procedures.id(*to), |d| d.title.as_str());
            (format!("Go on: {title}"), PageKind::Procedures.page(frame.base.procedures.id(*to)))
        }
        Way::Then(_) | Way::Unknown => (String::new(), String::new()),
    };
    // A verdict is the same place whether shown or left over.
    let kind = if matches!(way, Way::Shows(_)) { "found" } else { way.word() };
    Node { text, to, shape: Shape::Terminator, on: None, kind: kind.into() }
}

/// What to look at or do, where the title does not say the same.
pub fn ask(kind: &Kind, title: &str) -> Option<String> {
    match kind {
        Kind::Observe(text) | Kind::Do(text) if !text.value.eq_ignore_ascii_case(title) => Some(capital(&text.value)),
        _ => None,
    }
}
