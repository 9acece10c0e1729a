//! A chart in the DOT language of Graphviz. Every box that was planned is in it, whatever a page has room for.

use std::fmt::Write as _;

use petgraph::dot::{Config, Dot};
use petgraph::graph::DiGraph;

use super::layout::measure_line;
use super::{Chart, Kind, Step};

/// The chart as DOT text.
#[must_use]
pub fn dot(chart: &Chart) -> String {
    let mut graph: DiGraph<&Step, &str> = DiGraph::new();
    let nodes: Vec<_> = chart.boxes.iter().map(|b| graph.add_node(b)).collect();
    for arrow in &chart.arrows {
        graph.add_edge(nodes[arrow.from - 1], nodes[arrow.to - 1], &arrow.label);
    }
    let edge = |_, e: petgraph::graph::EdgeReference<'_, &str>| format!("label={}", quoted(e.weight()));
    let node = |_, (_, step): (_, &&Step)| format!("{}, label={}", shape(step.kind), quoted(&words(step)));
    let bare = [Config::EdgeNoLabel, Config::NodeNoLabel, Config::GraphContentOnly];
    let content = Dot::with_attr_getters(&graph, &bare, &edge, &node);
    let mut out = String::from("digraph chart {\n");
    let _ = writeln!(out, "    label={};\n    labelloc=t;", quoted(&margins(chart)));
    let _ = writeln!(
        out,
        "    node [fontname=\"Helvetica\", fontsize=10];\n    edge [fontname=\"Helvetica\", fontsize=9];"
    );
    let _ = writeln!(out, "{content:?}}}");
    out
}

fn shape(kind: Kind) -> &'static str {
    match kind {
        Kind::Test => "shape=box",
        Kind::Ask => "shape=box, style=rounded",
        Kind::Repair => "shape=box, penwidth=3",
        Kind::End => "shape=box, peripheries=2",
    }
}

fn words(step: &Step) -> String {
    let mut lines: Vec<String> = step.stop.iter().cloned().collect();
    lines.push(format!("{}. {}", step.number, step.title));
    lines.push(format!("{} of walks", measure_line(step)));
    lines.extend(step.conditions.iter().cloned());
    let numbers: Vec<String> = step.cautions.iter().map(ToString::to_string).collect();
    if !numbers.is_empty() {
        lines.push(format!("! Caution {}", numbers.join(", ")));
    }
    lines.extend(step.then.iter().chain(&step.beyond).cloned());
    lines
        .iter()
        .flat_map(|l| textwrap::wrap(l, 36))
        .map(|l| l + "\n")
        .collect()
}

/// What is said before, under and beside the boxes.
fn margins(chart: &Chart) -> String {
    let mut lines = vec![chart.title.clone(), chart.extent.clone()];
    lines.extend(chart.about.iter().cloned());
    let part = |p: &super::Part| {
        std::iter::once(p.heading.clone())
            .chain(p.lines.clone())
            .collect::<Vec<_>>()
    };
    lines.extend(chart.head.iter().flat_map(part));
    let cautions = chart.cautions.iter().enumerate();
    lines.extend(cautions.map(|(i, c)| format!("Caution {}. {c}", i + 1)));
    lines.extend(chart.foot.iter().flat_map(part));
    lines
        .iter()
        .flat_map(|l| textwrap::wrap(l, 120))
        .map(|l| l + "\n")
        .collect()
}

/// A quoted string of the DOT language; a line end becomes the escape that sets lines flush left.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' => out.push_str("\\l"),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
