//! How the ranking moved, as lines that read without colour: a dash pattern and a mark each, and its name at its end.

use serde::Serialize;

use super::super::phrases::percent;
use super::super::record::Ranking;
use super::tenth;

/// Size of the drawing and of its plot, in px of the drawing.
const WIDTH: f64 = 720.0;
const LEFT: f64 = 40.0;
const RIGHT: f64 = 478.0;
const TOP: f64 = 18.0;
const BOTTOM: f64 = 130.0;
/// Below the plot: the labels of the points, at a slant.
const LABELS: f64 = 76.0;
/// Where the names begin, how many characters they get on a line, and the height of a line.
const NAMES: f64 = 508.0;
const NAME: usize = 42;
const LINE: f64 = 10.5;
/// Room between two names.
const APART: f64 = 4.0;
/// Dash patterns; the marks go by the same number.
const DASHES: [&str; 5] = ["none", "8 3", "2 3", "9 3 2 3", "4 4"];

/// A ranking, laid out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(in super::super) struct RankingDrawing {
    width: f64,
    height: f64,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    rules: Vec<Rule>,
    points: Vec<Point>,
    lines: Vec<Line>,
    /// Between the phone and the gate.
    borders: Vec<Border>,
    words: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Rule {
    y: f64,
    label: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Point {
    x: f64,
    label: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Border {
    x: f64,
    before: String,
    after: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Line {
    dash: &'static str,
    mark: usize,
    path: String,
    marks: Vec<(f64, f64)>,
    names: Vec<Name>,
    /// From the last mark to the name.
    leader: (f64, f64, f64, f64),
    sample: (f64, f64),
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Name {
    x: f64,
    y: f64,
    text: String,
}

impl RankingDrawing {
    /// Lays a ranking out; nothing to draw before the first answer.
    pub(in super::super) fn of(ranking: &Ranking) -> Option<Self> {
        if ranking.points.len() < 2 || ranking.lines.is_empty() {
            return None;
        }
        let step = (RIGHT - LEFT - 20.0) / (ranking.points.len() - 1) as f64;
        let x = |i: usize| tenth(LEFT + 10.0 + step * i as f64);
        let points = ranking.points.iter().enumerate().map(|(i, p)| Point {
            x: x(i),
            label: p.number.map_or_else(|| p.label.clone(), |n| format!("{n} {}", p.label)),
        });
        let borders = ranking
            .points
            .windows(2)
            .enumerate()
            .filter(|(_, w)| w[0].taken != w[1].taken);
        let borders = borders.map(|(i, w)| Border {
            x: tenth(x(i) + step / 2.0),
            before: w[0].taken.clone(),
            after: w[1].taken.clone(),
        });
        let words: Vec<String> = ranking
            .lines
            .iter()
            .filter_map(|l| {
                Some(format!(
                    "{}: {} at first, {} at last",
                    l.cause,
                    percent(*l.chances.first()?),
                    percent(*l.chances.last()?)
                ))
            })
            .collect();
        Some(Self {
            width: WIDTH,
            height: BOTTOM + LABELS,
            left: LEFT,
            right: RIGHT,
            top: TOP,
            bottom: BOTTOM,
            rules: [0, 25, 50, 75, 100]
                .map(|p| Rule {
                    y: y(f64::from(p) / 100.0),
                    label: format!("{p} %"),
                })
                .to_vec(),
            points: points.collect(),
            lines: lines(ranking, &x),
            borders: borders.collect(),
            words: words.join(". "),
        })
    }
}

fn y(chance: f64) -> f64 {
    tenth(BOTTOM - chance.clamp(0.0, 1.0) * (BOTTOM - TOP))
}

fn lines(ranking: &Ranking, x: &impl Fn(usize) -> f64) -> Vec<Line> {
    // Most likely first, so that the names come from the top down in the order of the ends.
    let mut floor = TOP - 4.0;
    let mut placed: Vec<(f64, Vec<String>)> = Vec::new();
    for line in &ranking.lines {
        let last = line.chances.last().copied().unwrap_or(0.0);
        let name = format!("{}  {}", percent(last), line.cause);
        let wrapped: Vec<String> = textwrap::wrap(&name, NAME).into_iter().map(String::from).collect();
        let begin = (y(last) - LINE / 2.0 * wrapped.len() as f64).max(floor);
        floor = begin + LINE * wrapped.len() as f64 + APART;
        placed.push((begin, wrapped));
    }
    // What was pushed out below goes up again.
    let mut ceiling = BOTTOM + 24.0;
    for (begin, wrapped) in placed.iter_mut().rev() {
        *begin = begin.min(ceiling - LINE * wrapped.len() as f64);
        ceiling = *begin - APART;
    }
    let end = ranking.points.len() - 1;
    ranking
        .lines
        .iter()
        .zip(placed)
        .enumerate()
        .map(|(i, (line, (begin, wrapped)))| {
            let marks: Vec<(f64, f64)> = line.chances.iter().enumerate().map(|(at, p)| (x(at), y(*p))).collect();
            let path: Vec<String> = marks.iter().map(|(x, y)| format!("{x},{y}")).collect();
            let middle = tenth(begin + LINE / 2.0 * wrapped.len() as f64);
            let last = marks.last().copied().unwrap_or((x(end), BOTTOM));
            let names = wrapped.into_iter().enumerate().map(|(row, text)| Name {
                x: NAMES,
                y: tenth(begin + LINE * row as f64 + 8.5),
                text,
            });
            Line {
                dash: DASHES[i % DASHES.len()],
                mark: i % DASHES.len(),
                path: path.join(" "),
                names: names.collect(),
                leader: (last.0 + 6.0, last.1, NAMES - 16.0, middle),
                sample: (NAMES - 9.0, middle),
                marks,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::super::record::{Ranking, RankingLine, RankingPoint};
    use super::{LINE, RankingDrawing};

    fn ranking(ends: &[f64]) -> Ranking {
        let point = |taken: &str| RankingPoint {
            number: None,
            label: "a".to_owned(),
            text: "a".to_owned(),
            time: String::new(),
            taken: taken.to_owned(),
        };
        let line = |end: &f64| RankingLine {
            cause: "a cause with a name that is rather long and takes two lines".to_owned(),
            chances: vec![0.2, *end],
        };
        Ranking {
            points: vec![point("on the phone"), point("at the gate")],
            lines: ends.iter().map(line).collect(),
        }
    }

    #[test]
    fn names_never_cover_each_other_and_stay_on_the_drawing() {
        for ends in [&[0.0; 5][..], &[1.0; 5], &[0.9, 0.03, 0.02, 0.01, 0.0], &[0.5]] {
            let drawing = RankingDrawing::of(&ranking(ends)).expect("two points");
            let rows: Vec<f64> = drawing.lines.iter().flat_map(|l| &l.names).map(|n| n.y).collect();
            assert!(rows.windows(2).all(|w| w[1] - w[0] >= LINE - 0.11), "{rows:?}");
            assert!(rows.iter().all(|y| (0.0..drawing.height).contains(y)), "{rows:?}");
            assert_eq!(drawing.borders.len(), 1);
        }
    }

    #[test]
    fn one_point_is_no_drawing() {
        let mut one = ranking(&[0.5]);
        one.points.pop();
        assert_eq!(RankingDrawing::of(&one), None);
    }
}
