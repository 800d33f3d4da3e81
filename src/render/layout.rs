//! Where the boxes and arrows of a picture go: a layered drawing, top to bottom.
//!
//! In: sizes of boxes, and arrows with the sizes of their labels. Out: a place for each box and label, and a line for each
//! arrow. The layers come from `rust-sugiyama`, which keeps the dummies of long arrows to itself; so it is run twice: once
//! for the layers, and once more with a dummy of ours on every layer that an arrow passes. A label is such a dummy too, so that
//! nothing is ever written over it.

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
    // Vertices: boxes, then one label an arrow; arrows that lead back are turned round, so that the graph has no ring.
    let mut sizes: Vec<Size> = boxes.to_vec();
    sizes.extend(arrows.iter().map(|a| a.label));
    let label = |at: usize| boxes.len() + at;
    let mut edges = Vec::new();
    for (at, arrow) in arrows.iter().enumerate() {
        let (upper, lower) = if backward[at] { (arrow.to, arrow.from) } else { (arrow.from, arrow.to) };
        if upper != lower {
            edges.push((upper, label(at)));
            edges.push((label(at), lower));
        }
    }
    // Which layer a vertex is on does not depend on the order within the layers.
    let first = place(&sizes, &edges, false);
    let layers = layers(&first);
    // A dummy on every layer that an arrow passes.
    let mut chains: Vec<Vec<usize>> = Vec::new();
    let mut split = Vec::new();
    for &(upper, lower) in &edges {
        let mut chain = vec![upper];
        for _ in layers[upper] + 1..layers[lower] {
            sizes.push((2.0, 2.0));
            chain.push(sizes.len() - 1);
        }
        chain.push(lower);
        split.extend(chain.windows(2).map(|pair| (pair[0], pair[1])));
        chains.push(chain);
    }
    let points = place(&sizes, &split, true);
    finish(boxes, arrows, &backward, &chains, points)
}

fn finish(boxes: &[Size], arrows: &[Arrow], backward: &[bool], chains: &[Vec<usize>], points: Vec<Point>) -> Drawing {
    let mut lines = Vec::new();
    let mut next = chains.chunks(2);
    for (at, arrow) in arrows.iter().enumerate() {
        let mut line: Vec<Point> = Vec::new();
        if arrow.from != arrow.to
            && let Some([upper, lower]) = next.next()
        {
            line.extend(upper[1..].iter().chain(&lower[1..lower.len() - 1]).map(|v| points[*v]));
        }
        if backward[at] {
            line.reverse();
        }
        lines.push(line);
    }
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

/// The layer of each vertex, from the top: a layer shares one height.
fn layers(points: &[Point]) -> Vec<usize> {
    let mut heights: Vec<f64> = points.iter().map(|p| p.1).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|a, b| (*a - *b).abs() < 0.5);
    points.iter().map(|p| heights.partition_point(|h| *h < p.1 - 0.5)).collect()
}

/// The centre of each vertex. Parts that hang together stand side by side. `tidy` spends most of the time on fewer crossings.
fn place(sizes: &[Size], edges: &[(usize, usize)], tidy: bool) -> Vec<Point> {
    let vertices: Vec<(u32, Size)> = (0..).zip(sizes.iter().copied()).collect();
    let edges: Vec<(u32, u32)> = edges.iter().map(|&(a, b)| (a as u32, b as u32)).collect();
    let config = Config { vertex_spacing: GAP, transpose: tidy, ..Config::default() };
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
