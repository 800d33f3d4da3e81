//! What else would be said of a text that a problem stands in: it follows from that problem, and is left out.
//!
//! In: the tree and the problems. Out: the problems, each with the key or text that it hides.

use super::node::{Kind, Node};
use crate::parse::problem::Problem;
use crate::source::Span;

/// Gives each problem inside a key or a text that whole key or text to hide.
pub fn hide(node: &Node, problems: &mut [Problem]) {
    // The last may stand for those that were not kept, and stands in no order.
    let kept = problems.iter().position(|p| p.more > 0).unwrap_or(problems.len());
    if kept > 0 {
        visit(node, &mut problems[..kept]);
    }
}

fn visit(node: &Node, problems: &mut [Problem]) {
    match &node.kind {
        Kind::Empty => {}
        Kind::Scalar(_) => within(node.span, problems),
        Kind::List(items) => items.iter().for_each(|item| visit(item, problems)),
        Kind::Map(entries) => {
            for entry in entries {
                within(entry.key.span, problems);
                visit(&entry.value, problems);
            }
        }
    }
}

/// The problems that begin in a text; one that is about the whole of it, such as a key written twice, hides nothing.
fn within(text: Span, problems: &mut [Problem]) {
    let from = problems.partition_point(|p| p.span.start < text.start);
    for problem in problems[from..].iter_mut().take_while(|p| p.span.start < text.end) {
        if problem.span != text {
            problem.hides.get_or_insert(text);
        }
    }
}
