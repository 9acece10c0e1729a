//! Where boxes go. Lengths are in type sizes, so that whoever draws picks the size of the type last.
//!
//! The way to each box along one arrow makes a tree; the tree is cut into strips a few levels deep. `rust-sugiyama` lays a strip out in layers,
//! which says how its boxes stand side by side; each family is then pushed up until something is over it. The strips are packed onto the page in a few
//! orders, each at the highest and leftmost place where it fits (bottom-left, as in Baker, Coffman & Rivest, "Orthogonal packings in two dimensions", SIAM J.
//! Comput. 9, 1980; from memory). An arrow that leads to another strip is said in words at both ends: "low: go to 12", "from 3".

use petgraph::stable_graph::{NodeIndex, StableDiGraph};
use rust_sugiyama::configure::{Config, RankingType};

use super::measure::{width, wrap};
use super::{Chart, Kind, Step, percent};

/// Line to line.
pub(super) const LEADING: f64 = 1.16;
/// Between the frame of a box and its text.
pub(super) const PAD: f64 = 0.35;
/// Arrow between a label and its box.
const ARROW: f64 = 0.8;
/// Between neighbours in a row.
const BESIDE: f64 = 0.7;
/// Between rows: a line runs here.
const BELOW: f64 = 0.9;
/// Between strips.
const APART: f64 = 1.1;
/// A strip of its own is made of no fewer boxes.
const STRIP: usize = 2;

/// A rectangle; x to the right, y down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left.
    pub x: f64,
    /// Top.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// Whether they share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        const LEAST: f64 = 1e-6;
        self.x + self.w > other.x + LEAST
            && other.x + other.w > self.x + LEAST
            && self.y + self.h > other.y + LEAST
            && other.y + other.h > self.y + LEAST
    }

    /// Whether the other lies inside.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        const LEAST: f64 = 1e-6;
        other.x >= self.x - LEAST
            && other.y >= self.y - LEAST
            && other.x + other.w <= self.x + self.w + LEAST
            && other.y + other.h <= self.y + self.h + LEAST
    }
}

/// A line of text in a box, below the one before.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// The line.
    pub line: String,
    /// Bold.
    pub bold: bool,
}

/// One box with what belongs to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Number of its step.
    pub number: usize,
    /// Kind of its step.
    pub kind: Kind,
    /// The frame.
    pub frame: Rect,
    /// Answers that lead here, above the arrow; no height where there is none.
    pub label: Rect,
    /// Lines of the label.
    pub label_lines: Vec<String>,
    /// Lines of the black bar at the top of the frame.
    pub bar: Vec<String>,
    /// Lines of the text under it.
    pub text: Vec<Text>,
    /// Which of them has the sign of a caution before it.
    pub sign_at: Option<usize>,
    /// Lines under the broken line.
    pub stub: Vec<String>,
}

/// Everything placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Boxes, by number.
    pub blocks: Vec<Block>,
    /// Lines from box to label, each as its corners.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Width of all of it.
    pub width: f64,
    /// Height of all of it.
    pub height: f64,
}

/// Room that a sign of caution takes before its line.
pub(super) const SIGN: f64 = 1.3;

/// Lays a chart out with boxes of one width; strips have `levels` levels at most (0: one strip). `None` where it does not fit into the room.
#[must_use]
pub fn lay_out(chart: &Chart, box_width: f64, levels: usize, room: (f64, f64)) -> Option<Drawing> {
    pack(strips(chart, box_width, levels), room)
}

/// A strip: its boxes and lines from its own corner.
pub(super) fn strips(chart: &Chart, box_width: f64, levels: usize) -> Vec<Drawing> {
    let tree = Tree::new(chart, levels);
    let blocks: Vec<Block> = chart.boxes.iter().map(|b| block(chart, &tree, b, box_width)).collect();
    let tops = (0..blocks.len()).filter(|&i| tree.parent[i].is_none());
    tops.map(|top| strip(&tree, &blocks, top)).collect()
}

/// Which arrows are drawn.
struct Tree {
    /// By box: the box above it in its strip.
    parent: Vec<Option<usize>>,
    /// By box: the boxes under it in its strip.
    children: Vec<Vec<usize>>,
}

impl Tree {
    fn new(chart: &Chart, levels: usize) -> Self {
        let n = chart.boxes.len();
        // Numbers follow the likeliest answers, so the first arrow into a box from a lower number is on its likeliest way.
        let mut parent: Vec<Option<usize>> = vec![None; n];
        for arrow in &chart.arrows {
            let (from, to) = (arrow.from - 1, arrow.to - 1);
            if from < to && parent[to].is_none() {
                parent[to] = Some(from);
            }
        }
        let mut size = vec![1_usize; n];
        let mut depth = vec![0_usize; n];
        for i in (0..n).rev() {
            if let Some(p) = parent[i] {
                size[p] += size[i];
            }
        }
        let mut children = vec![Vec::new(); n];
        for (i, above) in parent.iter_mut().enumerate() {
            let Some(p) = *above else { continue };
            if levels > 0 && depth[p] + 1 >= levels && size[i] >= STRIP {
                *above = None;
            } else {
                depth[i] = depth[p] + 1;
                children[p].push(i);
            }
        }
        Self { parent, children }
    }
}

/// A box of its width, as high as its text, at no place yet.
fn block(chart: &Chart, tree: &Tree, step: &Step, box_width: f64) -> Block {
    let at = step.number - 1;
    let inner = box_width - 2.0 * PAD;
    let bar = step.stop.as_ref().map_or_else(Vec::new, |s| wrap(s, inner, true));
    let mut text: Vec<Text> = Vec::new();
    let mut say = |line: &str, bold: bool, most: f64| {
        let lines = wrap(line, most, bold).into_iter();
        text.extend(lines.map(|line| Text { line, bold }));
        text.len()
    };
    say(&format!("{}. {}", step.number, step.title), true, inner);
    let lines = say(&measure_line(step), false, inner);
    let mut sign_at = None;
    // Cautions and conditions share their lines: the sign stands before the first.
    let mut mind = step.conditions.clone();
    if !step.cautions.is_empty() {
        sign_at = Some(lines);
        let numbers: Vec<String> = step.cautions.iter().map(ToString::to_string).collect();
        mind.insert(0, numbers.join(", "));
    }
    let most = if sign_at.is_some() { inner - SIGN } else { inner };
    say(&mind.join("; "), true, most);
    for line in &step.then {
        say(line, false, inner);
    }
    for arrow in chart.arrows.iter().filter(|a| a.from == step.number) {
        if tree.parent[arrow.to - 1] != Some(at) {
            say(&format!("{}: go to {}", arrow.label, arrow.to), false, inner);
        }
    }
    // The answer is said once, in the box that it leaves.
    let mut said: Vec<String> = Vec::new();
    for arrow in chart.arrows.iter().filter(|a| a.to == step.number) {
        let drawn = tree.parent[at] == Some(arrow.from - 1);
        let words = if drawn {
            arrow.label.clone()
        } else {
            format!("from {}", arrow.from)
        };
        if drawn {
            said.insert(0, words);
        } else {
            said.push(words);
        }
    }
    said.retain(|w| !w.trim().is_empty());
    let label_lines = wrap(&said.join("; "), box_width, false);
    let stub = step.beyond.as_ref().map_or_else(Vec::new, |s| wrap(s, inner, false));
    let rows = |lines: usize| lines as f64 * LEADING;
    let part = |lines: usize| if lines == 0 { 0.0 } else { rows(lines) + 2.0 * PAD };
    let label_height = rows(label_lines.len());
    let above = if label_lines.is_empty() {
        0.0
    } else {
        label_height + ARROW
    };
    Block {
        number: step.number,
        kind: step.kind,
        label: Rect {
            x: 0.0,
            y: 0.0,
            w: box_width,
            h: label_height,
        },
        frame: Rect {
            x: 0.0,
            y: above,
            w: box_width,
            h: part(bar.len()) + part(text.len()) + part(stub.len()),
        },
        label_lines,
        bar,
        text,
        sign_at,
        stub,
    }
}

/// Minutes, place and reach: "4 min, the operator, 12 %".
pub(super) fn measure_line(step: &Step) -> String {
    let minutes = step.minutes.map(|m| format!("{} min", whole(m)));
    let parts = minutes
        .into_iter()
        .chain(step.place.clone())
        .chain([percent(step.reach)]);
    parts.collect::<Vec<_>>().join(", ")
}

/// Minutes as a person reads them.
pub(super) fn whole(minutes: f64) -> String {
    if minutes < 0.95 {
        "under 1".to_owned()
    } else {
        format!("{minutes:.0}")
    }
}

/// A strip in layers under `top`.
fn strip(tree: &Tree, blocks: &[Block], top: usize) -> Drawing {
    let mut graph: StableDiGraph<usize, ()> = StableDiGraph::new();
    let mut rows: Vec<Vec<NodeIndex>> = Vec::new();
    let mut row = vec![(graph.add_node(top), None::<NodeIndex>)];
    while !row.is_empty() {
        rows.push(row.iter().map(|(n, _)| *n).collect());
        let mut next = Vec::new();
        for (node, _) in row {
            for &child in &tree.children[graph[node]] {
                let under = graph.add_node(child);
                graph.add_edge(node, under, ());
                next.push((under, Some(node)));
            }
        }
        row = next;
    }
    let centres = spread_out(&rows, &graph, blocks);
    let mut placed: Vec<Block> = vec![moved(&blocks[top], centres[0], 0.0)];
    let mut taken: Vec<Rect> = vec![whole_of(&placed[0])];
    for row in &rows {
        for &above in row {
            let mut under: Vec<NodeIndex> = graph.neighbors(above).collect();
            under.sort_by(|a, b| centres[a.index()].total_cmp(&centres[b.index()]));
            let Some((first, last)) = under.first().zip(under.last()) else {
                continue;
            };
            let parent = placed
                .iter()
                .find(|b| b.number == graph[above] + 1)
                .map_or(0.0, |b| b.frame.y + b.frame.h);
            // Brothers stand in one line, below everything that is over any of them or over the line to them.
            let wide = blocks[graph[*last]].frame.w;
            let from = centres[first.index()].min(centres[above.index()]) - BESIDE / 2.0;
            let to = (centres[last.index()] + wide).max(centres[above.index()] + wide) + BESIDE / 2.0;
            let over = taken.iter().filter(|t| t.x < to && from < t.x + t.w).map(|t| t.y + t.h);
            let y = over.fold(parent, f64::max) + BELOW;
            taken.push(Rect {
                x: from,
                y: parent,
                w: to - from,
                h: y - parent,
            });
            for node in under {
                let block = moved(&blocks[graph[node]], centres[node.index()], y);
                taken.push(whole_of(&block));
                placed.push(block);
            }
        }
    }
    let left = placed.iter().map(|b| b.frame.x).fold(f64::INFINITY, f64::min);
    placed = placed.iter().map(|b| moved(b, -left, 0.0)).collect();
    let lines = lines(tree, &placed);
    Drawing {
        width: placed.iter().map(|b| b.frame.x + b.frame.w).fold(0.0, f64::max),
        height: placed.iter().map(|b| b.frame.y + b.frame.h).fold(0.0, f64::max),
        lines,
        blocks: placed,
    }
}

/// A block with its label.
fn whole_of(block: &Block) -> Rect {
    Rect {
        h: block.frame.y + block.frame.h - block.label.y,
        ..block.label
    }
}

/// Left side of each box, by node: where the layout has it, and farther right where it stood too near to its neighbour.
fn spread_out(rows: &[Vec<NodeIndex>], graph: &StableDiGraph<usize, ()>, blocks: &[Block]) -> Vec<f64> {
    let mut lefts = centres(graph, blocks);
    for row in rows {
        let mut row = row.clone();
        row.sort_by(|a, b| lefts[a.index()].total_cmp(&lefts[b.index()]));
        let mut free = f64::NEG_INFINITY;
        for node in row {
            let wide = blocks[graph[node]].frame.w;
            let left = (lefts[node.index()] - wide / 2.0).max(free);
            lefts[node.index()] = left;
            free = left + wide + BESIDE;
        }
    }
    lefts
}

/// Middle of each box, left to right, by node.
fn centres(graph: &StableDiGraph<usize, ()>, blocks: &[Block]) -> Vec<f64> {
    let config = Config {
        vertex_spacing: BESIDE,
        ranking_type: RankingType::Up,
        ..Config::default()
    };
    let size = |_: NodeIndex, of: &usize| (blocks[*of].frame.w, 1.0);
    let mut centres = vec![0.0; graph.node_count()];
    for (layout, _, _) in rust_sugiyama::from_graph(graph, &size, &config) {
        for (node, (x, _)) in layout {
            centres[node.index()] = x;
        }
    }
    centres
}

fn moved(block: &Block, x: f64, y: f64) -> Block {
    let mut block = block.clone();
    for rect in [&mut block.frame, &mut block.label] {
        rect.x += x;
        rect.y += y;
    }
    block
}

/// From the middle of each frame down, across between the rows, down to the labels.
fn lines(tree: &Tree, placed: &[Block]) -> Vec<Vec<(f64, f64)>> {
    let find = |i: usize| placed.iter().find(|b| b.number == i + 1);
    let mut lines = Vec::new();
    for child in placed {
        let Some(parent) = tree.parent[child.number - 1].and_then(find) else {
            continue;
        };
        let (from, to) = (middle(&parent.frame), middle(&child.frame));
        let across = child.label.y - BELOW / 2.0;
        let start = (from, parent.frame.y + parent.frame.h);
        lines.push(vec![start, (from, across), (to, across), (to, child.label.y)]);
    }
    lines
}

/// Middle of a rectangle, left to right.
#[must_use]
pub(super) fn middle(rect: &Rect) -> f64 {
    rect.x + rect.w / 2.0
}

/// Strips side by side and below each other, the first at the top left, the others highest first, or else widest or largest first.
pub(super) fn pack(strips: Vec<Drawing>, room: (f64, f64)) -> Option<Drawing> {
    let orders: [fn(&Drawing) -> f64; 3] = [|s| s.height, |s| s.width, |s| s.width * s.height];
    orders.iter().find_map(|order| {
        pack_by(strips.clone(), order, room, Fill::Rows).or_else(|| pack_by(strips.clone(), order, room, Fill::Columns))
    })
}

/// Which of the places with room is taken.
#[derive(Clone, Copy)]
enum Fill {
    /// The highest, of those the leftmost.
    Rows,
    /// The leftmost, of those the highest.
    Columns,
}

fn pack_by(mut strips: Vec<Drawing>, order: impl Fn(&Drawing) -> f64, room: (f64, f64), fill: Fill) -> Option<Drawing> {
    if strips.len() > 1 {
        strips[1..].sort_by(|a, b| order(b).total_cmp(&order(a)).then(b.height.total_cmp(&a.height)));
    }
    let mut all = Drawing {
        blocks: Vec::new(),
        lines: Vec::new(),
        width: 0.0,
        height: 0.0,
    };
    let mut taken: Vec<Rect> = Vec::new();
    for strip in strips {
        let (x, y) = corner(&taken, &strip, room, fill)?;
        taken.push(Rect {
            x,
            y,
            w: strip.width + APART,
            h: strip.height + APART,
        });
        all.width = all.width.max(x + strip.width);
        all.height = all.height.max(y + strip.height);
        all.blocks.extend(strip.blocks.iter().map(|b| moved(b, x, y)));
        let shift = |line: Vec<(f64, f64)>| line.into_iter().map(|(a, b)| (a + x, b + y)).collect();
        all.lines.extend(strip.lines.into_iter().map(shift));
    }
    all.blocks.sort_by_key(|b| b.number);
    Some(all)
}

/// The place where a strip goes, if there is one with room.
fn corner(taken: &[Rect], strip: &Drawing, room: (f64, f64), fill: Fill) -> Option<(f64, f64)> {
    let mut xs = vec![0.0];
    let mut ys = vec![0.0];
    for t in taken {
        xs.push(t.x + t.w);
        ys.push(t.y + t.h);
    }
    xs.sort_by(f64::total_cmp);
    ys.sort_by(f64::total_cmp);
    let fits = |x: f64, y: f64| {
        let here = Rect {
            x,
            y,
            w: strip.width,
            h: strip.height,
        };
        let wide = Rect {
            w: here.w + APART,
            h: here.h + APART,
            ..here
        };
        x + here.w <= room.0 && y + here.h <= room.1 && !taken.iter().any(|t| t.overlaps(&wide))
    };
    let across = |y: f64| xs.iter().find(|&&x| fits(x, y)).map(|&x| (x, y));
    let down = |x: f64| ys.iter().find(|&&y| fits(x, y)).map(|&y| (x, y));
    match fill {
        Fill::Rows => ys.iter().find_map(|&y| across(y)),
        Fill::Columns => xs.iter().find_map(|&x| down(x)),
    }
}

/// Width of a line of a box, for whoever draws it.
#[must_use]
pub(super) fn line_width(text: &Text) -> f64 {
    width(&text.line, text.bold)
}
