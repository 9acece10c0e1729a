//! Things that wait for each other: tests by `after`, covers by `inside`.
//!
//! Both are directed graphs; a strongly connected component with more than one node, or a node with an edge to
//! itself, can never be begun. Method: Tarjan's components (SIAM J. Comput. 1(2), 1972), linear in nodes and edges.

use petgraph::algo::tarjan_scc;
use petgraph::graphmap::DiGraphMap;

use super::Found;
use crate::finding::Code;

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    let mut tests: DiGraphMap<usize, ()> = DiGraphMap::new();
    for (i, test) in k.tests.values().enumerate() {
        tests.add_node(i);
        for before in test.after.iter().filter_map(|t| k.tests.get_index_of(t)) {
            tests.add_edge(i, before, ());
        }
    }
    for cycle in cycles(&tests) {
        let ids: Vec<&str> = cycle
            .iter()
            .filter_map(|&i| k.tests.get_index(i))
            .map(|(id, _)| id.as_str())
            .collect();
        let (first, second) = (cycle[0], cycle[1 % cycle.len()]);
        let Some(((id, test), (next, _))) = k.tests.get_index(first).zip(k.tests.get_index(second)) else {
            continue;
        };
        let item = test.after.iter().position(|t| t == next).unwrap_or(0).to_string();
        let message = format!("tests wait for each other: {}", chain(&ids));
        let help = "take one of them out of the other's `after:`; none of them can ever be done";
        found.at(Code::PrerequisiteCycle, ("tests", id), &["after", &item], message, help);
    }
    let mut covers: DiGraphMap<usize, ()> = DiGraphMap::new();
    for (i, cover) in k.covers.values().enumerate() {
        covers.add_node(i);
        if let Some(around) = cover.inside.as_ref().and_then(|c| k.covers.get_index_of(c)) {
            covers.add_edge(i, around, ());
        }
    }
    for cycle in cycles(&covers) {
        let ids: Vec<&str> = cycle
            .iter()
            .filter_map(|&i| k.covers.get_index(i))
            .map(|(id, _)| id.as_str())
            .collect();
        let message = format!("covers lie inside each other: {}", chain(&ids));
        let help = "the outermost cover has no `inside:`";
        found.at(Code::PrerequisiteCycle, ("covers", ids[0]), &["inside"], message, help);
    }
}

/// One cycle out of each component that has any, beginning with its earliest node.
fn cycles(graph: &DiGraphMap<usize, ()>) -> Vec<Vec<usize>> {
    let mut cycles: Vec<Vec<usize>> = tarjan_scc(graph)
        .into_iter()
        .filter(|part| part.len() > 1 || part.first().is_some_and(|&n| graph.contains_edge(n, n)))
        .map(|part| shortest(graph, &part))
        .collect();
    cycles.sort();
    cycles
}

/// The shortest way from the earliest node of a component back to itself, breadth first.
fn shortest(graph: &DiGraphMap<usize, ()>, part: &[usize]) -> Vec<usize> {
    let start = part.iter().copied().min().unwrap_or_default();
    let mut ways = vec![vec![start]];
    let mut seen = vec![start];
    while !ways.is_empty() {
        let mut longer = Vec::new();
        for way in ways {
            let end = way.last().copied().unwrap_or(start);
            for next in graph.neighbors(end).filter(|n| part.contains(n)) {
                if next == start {
                    return way;
                }
                if !seen.contains(&next) {
                    seen.push(next);
                    longer.push(way.iter().copied().chain([next]).collect());
                }
            }
        }
        ways = longer;
    }
    vec![start]
}

fn chain(ids: &[&str]) -> String {
    let mut names: Vec<&str> = ids.to_vec();
    names.extend(ids.first());
    names.join(" → ")
}
