//! Where the boxes and arrows of a picture go: a layered drawing, top to bottom.
//!
//! In: sizes of boxes, and arrows with the sizes of their labels. Out: a place for each box and label, and a line for each
//! arrow. `rust-sugiyama` keeps the dummies of long arrows to itself; so the layers are ours, with a dummy on every layer that an
//! arrow passes, and it decides what stands beside what. A label is such a dummy too, so that nothing is ever written over it.

use rust_sugiyama::configure::Config;
use rust_sugiyama::from_vertices_and_edges;

/// Width and height.
pub type Size = (f64, f64);
/// A point; y grows downward.
pub type Point = (f64, f64);

/// An arrow to be laid out.
#[derive(Clone, Copy, Debug)]
pub struct Arrow {
    /// Index of the box it leaves.
    pub from: usize,
    /// Index of the box it enters.
    pub to: usize,
    /// Size of its label; zero where it has none.
    pub label: Size,
}

/// A finished drawing.
#[derive(Clone, Debug, Default)]
pub struct Drawing {
    /// Centre of each box.
    pub boxes: Vec<Point>,
    /// Centre of each arrow's label.
    pub labels: Vec<Point>,
    /// Each arrow's points, from the box it leaves to the box it enters, ends left out.
    pub lines: Vec<Vec<Point>>,
    /// Width and height of all.
    pub size: Size,
}

/// Space between boxes, and between layers.
const GAP: f64 = 14.0;

/// Lays out a picture.
pub fn layout(boxes: &[Size], arrows: &[Arrow]) -> Drawing {
    if boxes.is_empty() {
        return Drawing::default();
    }
    let backward = backward(boxes.len(), arrows);
    // Arrows that lead back are turned round, so that the graph has no ring.
    let turned = arrows.iter().zip(&backward);
    let ends: Vec<(usize, usize)> =
        turned.map(|(arrow, back)| if *back { (arrow.to, arrow.from) } else { (arrow.from, arrow.to) }).collect();
    let layers = layers(boxes.len(), &ends);
    // Vertices: boxes, then one label an arrow, then a dummy on every layer more that an arrow passes.
    let mut sizes: Vec<Size> = boxes.to_vec();
    sizes.extend(arrows.iter().map(|a| a.label));
    let mut chains: Vec<Vec<usize>> = Vec::new();
    let mut edges = Vec::new();
    for (at, &(upper, lower)) in ends.iter().enumerate() {
        let mut chain = Vec::new();
        if upper != lower {
            // The label stands beside the box that the arrow leaves.
            let between = layers[upper] + 1..layers[lower];
            let label = if backward[at] { between.end - 1 } else { between.start };
            chain.push(upper);
            for layer in between {
                if layer == label {
                    chain.push(boxes.len() + at);
                } else {
                    sizes.push((2.0, 2.0));
                    chain.push(sizes.len() - 1);
                }
            }
            chain.push(lower);
            edges.extend(chain.windows(2).map(|pair| (pair[0], pair[1])));
        }
        chains.push(chain);
    }
    let points = place(&sizes, &edges);
    finish(boxes, arrows, &backward, &chains, points)
}

fn finish(boxes: &[Size], arrows: &[Arrow], backward: &[bool], chains: &[Vec<usize>], points: Vec<Point>) -> Drawing {
    let inner = |chain: &[usize]| match chain {
        [_, inner @ .., _] => inner.iter().map(|v| points[*v]).collect(),
        _ => Vec::new(),
    };
    let mut lines: Vec<Vec<Point>> = chains.iter().map(|chain| inner(chain)).collect();
    lines.iter_mut().zip(backward).filter(|(_, back)| **back).for_each(|(line, _)| line.reverse());
    let size = boxes
        .iter()
        .chain(arrows.iter().map(|a| &a.label))
        .zip(&points)
        .fold((0.0_f64, 0.0_f64), |(w, h), (size, at)| (w.max(at.0 + size.0 / 2.0), h.max(at.1 + size.1 / 2.0)));
    let labels = points[boxes.len()..boxes.len() + arrows.len()].to_vec();
    let mut boxes_at = points;
    boxes_at.truncate(boxes.len());
    Drawing { boxes: boxes_at, labels, lines, size }
}

/// Which arrows lead back to a box that the way there came from: found walking depth first in written order.
fn backward(count: usize, arrows: &[Arrow]) -> Vec<bool> {
    #[derive(Clone, Copy, PartialEq)]
    enum State {
        New,
        Open,
        Done,
    }
    let mut back = vec![false; arrows.len()];
    let mut state = vec![State::New; count];
    for start in 0..count {
        if state[start] != State::New {
            continue;
        }
        state[start] = State::Open;
        let mut stack = vec![(start, 0)];
        while let Some((at, from)) = stack.pop() {
            let Some((index, arrow)) = arrows.iter().enumerate().skip(from).find(|(_, arrow)| arrow.from == at) else {
                state[at] = State::Done;
                continue;
            };
            stack.push((at, index + 1));
            match state[arrow.to] {
                State::Open => back[index] = true,
                State::New => {
                    state[arrow.to] = State::Open;
                    stack.push((arrow.to, 0));
                }
                State::Done => {}
            }
        }
    }
    back
}

/// The layer of each box, from the top, for arrows that lead down: each box below all that lead to it, with a layer for labels
/// between, and as far down again as shortens more arrows than it lengthens.
fn layers(boxes: usize, arrows: &[(usize, usize)]) -> Vec<usize> {
    let mut below = vec![Vec::new(); boxes];
    let mut above = vec![0; boxes];
    for &(upper, lower) in arrows.iter().filter(|(upper, lower)| upper != lower) {
        below[upper].push(lower);
        above[lower] += 1;
    }
    let mut layers = vec![0; boxes];
    let mut moved = true;
    while std::mem::take(&mut moved) {
        for upper in 0..boxes {
            for &lower in &below[upper] {
                if layers[lower] < layers[upper] + 2 {
                    layers[lower] = layers[upper] + 2;
                    moved = true;
                }
            }
        }
    }
    moved = true;
    while std::mem::take(&mut moved) {
        for at in (0..boxes).rev().filter(|at| below[*at].len() > above[*at]) {
            let lowest = below[at].iter().map(|lower| layers[*lower] - 2).min().unwrap_or_default();
            moved |= lowest > layers[at];
            layers[at] = lowest;
        }
    }
    layers
}

/// The centre of each vertex. Parts that hang together stand side by side.
fn place(sizes: &[Size], edges: &[(usize, usize)]) -> Vec<Point> {
    let vertices: Vec<(u32, Size)> = (0..).zip(sizes.iter().copied()).collect();
    let edges: Vec<(u32, u32)> = edges.iter().map(|&(a, b)| (a as u32, b as u32)).collect();
    let config = Config { vertex_spacing: GAP, ..Config::default() };
    let mut points = vec![(0.0, 0.0); sizes.len()];
    let mut parts = from_vertices_and_edges(&vertices, &edges, &config);
    parts.sort_by_key(|(part, _, _)| part.iter().map(|(v, _)| *v).min());
    let mut left = 0.0;
    for (part, _, _) in parts {
        let edge = |pick: fn(&Point, &Size) -> f64, best: fn(f64, f64) -> f64, start: f64| {
            part.iter().fold(start, |so_far, (v, at)| best(so_far, pick(at, &sizes[*v])))
        };
        let low = edge(|at, size| at.0 - size.0 / 2.0, f64::min, f64::INFINITY);
        let high = edge(|at, size| at.0 + size.0 / 2.0, f64::max, f64::NEG_INFINITY);
        let top = edge(|at, size| at.1 - size.1 / 2.0, f64::min, f64::INFINITY);
        for (v, at) in &part {
            points[*v] = (at.0 - low + left, at.1 - top);
        }
        left += high - low + GAP;
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arrow(from: usize, to: usize) -> Arrow {
        Arrow { from, to, label: (60.0, 18.0) }
    }

    fn ladder() -> (Vec<Size>, Vec<Arrow>) {
        let boxes = vec![(160.0, 56.0); 9];
        let arrows = [(0, 1), (0, 5), (1, 2), (1, 5), (2, 3), (2, 6), (3, 4), (3, 7), (4, 8), (4, 1), (0, 8)];
        (boxes, arrows.iter().map(|&(a, b)| arrow(a, b)).collect())
    }

    #[test]
    fn nothing_overlaps() {
        let (boxes, arrows) = ladder();
        let drawing = layout(&boxes, &arrows);
        let mut all: Vec<(Point, Size)> = drawing.boxes.iter().copied().zip(boxes).collect();
        all.extend(drawing.labels.iter().copied().zip(arrows.iter().map(|a| a.label)));
        for (i, (a, size_a)) in all.iter().enumerate() {
            for (b, size_b) in &all[i + 1..] {
                let apart = (a.0 - b.0).abs() >= f64::midpoint(size_a.0, size_b.0) - 0.5
                    || (a.1 - b.1).abs() >= f64::midpoint(size_a.1, size_b.1) - 0.5;
                assert!(apart, "{a:?} {size_a:?} and {b:?} {size_b:?}");
            }
        }
    }

    #[test]
    fn the_same_picture_every_time() {
        let (boxes, arrows) = ladder();
        let first = format!("{:?}", layout(&boxes, &arrows));
        for _ in 0..40 {
            assert_eq!(format!("{:?}", layout(&boxes, &arrows)), first);
        }
    }
}
