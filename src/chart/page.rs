//! The two sides of a card placed in points, each with the largest type that fits: the boxes in front, what holds for all of them on the back.

use super::Chart;
use super::layout::{Drawing, LEADING, Text, pack, strips};
use super::measure::wrap;

/// Smallest type in points; smaller is not read at a gate.
pub const SMALLEST: f64 = 6.5;
/// Largest type of boxes and back.
const LARGEST: f64 = 9.5;
/// Step from size to size.
const FINER: f64 = 0.25;
/// Type of the lines above the boxes.
pub const SMALL: f64 = 7.0;
/// Type of the title.
pub const TITLE: f64 = 13.0;
/// Between the parts of the page.
const GAP: f64 = 6.0;
/// Between columns of text.
const GUTTER: f64 = 10.0;
/// Frame to text of the head.
pub const INSIDE: f64 = 4.0;
/// Millimetres of margin; few printers reach nearer to the edge.
pub const MARGIN: f64 = 7.0;
/// Points in a millimetre.
pub const POINTS: f64 = 72.0 / 25.4;
/// Widths of boxes that are tried, in type sizes.
const WIDTHS: [f64; 16] = [
    9.5, 10.0, 10.5, 11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0, 15.0, 16.0, 17.0, 18.0, 21.0, 25.0,
];
/// Depths of strips that are tried.
const LEVELS: [usize; 9] = [0, 9, 8, 7, 6, 5, 4, 3, 2];

/// How the paper lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lie {
    /// Upright.
    Portrait,
    /// On its side.
    Landscape,
}

impl Lie {
    /// Width and height in points that both an A4 (210 by 297 mm, ISO 216) and a Letter sheet (8.5 by 11 in, 215.9 by 279.4 mm) have inside the margin.
    #[must_use]
    pub fn room(self) -> (f64, f64) {
        // A point less, so that rounding never makes a second page.
        let inside = |mm: f64| (mm - 2.0 * MARGIN) * POINTS - 1.0;
        let (short, long) = (inside(210.0), inside(279.4));
        match self {
            Self::Portrait => (short, long),
            Self::Landscape => (long, short),
        }
    }

    /// The word that style sheets use.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Portrait => "portrait",
            Self::Landscape => "landscape",
        }
    }

    fn columns(self) -> usize {
        match self {
            Self::Portrait => 2,
            Self::Landscape => 3,
        }
    }
}

/// A column of text: lines from the top down.
pub type Column = Vec<Text>;

/// A card with everything placed, in points.
#[derive(Debug, Clone)]
pub struct Page {
    /// How both sides lie.
    pub lie: Lie,
    /// Front: lines under the title, of [`SMALL`] type.
    pub front: Vec<Text>,
    /// Front: top of the boxes.
    pub boxes_top: f64,
    /// Front: type size of the boxes.
    pub size: f64,
    /// Front: the boxes, in type sizes.
    pub drawing: Drawing,
    /// The other side.
    pub back: Back,
}

/// The back of a card: the framed head, and the foot under it.
#[derive(Debug, Clone)]
pub struct Back {
    /// Type size of all of it.
    pub size: f64,
    /// Top of the head.
    pub head_top: f64,
    /// The head in columns.
    pub head: Vec<Column>,
    /// Height of the head with its frame.
    pub head_height: f64,
    /// Top of the foot.
    pub foot_top: f64,
    /// The foot in columns.
    pub foot: Vec<Column>,
    /// Width of a column.
    pub column: f64,
}

impl Page {
    /// The best card of a chart; `None` where the front has no room for the boxes or the back none for its text.
    #[must_use]
    pub fn fit(chart: &Chart) -> Option<Self> {
        let lies = [Lie::Landscape, Lie::Portrait];
        let mut sides = Vec::new();
        for lie in lies {
            if let Some(back) = Back::fit(chart, lie) {
                sides.push((lie, front(chart, lie), back));
            }
        }
        let mut best: Option<(f64, usize, Drawing)> = None;
        for levels in LEVELS {
            for box_width in WIDTHS {
                let pieces = strips(chart, box_width, levels);
                for (i, (lie, front, _)) in sides.iter().enumerate() {
                    let (wide, high) = lie.room();
                    let room = (wide, high - boxes_top(front));
                    let least = best.as_ref().map_or(SMALLEST, |b| b.0 + FINER);
                    if let Some((size, drawing)) = largest(&pieces, room, least) {
                        best = Some((size, i, drawing));
                    }
                }
            }
        }
        let (size, i, drawing) = best?;
        let (lie, front, back) = sides.swap_remove(i);
        Some(Self {
            lie,
            boxes_top: boxes_top(&front),
            front,
            size,
            drawing,
            back,
        })
    }
}

/// The largest type of at least `least` points with which the strips fit.
fn largest(pieces: &[Drawing], room: (f64, f64), least: f64) -> Option<(f64, Drawing)> {
    sizes(least).find_map(|size| pack(pieces.to_vec(), (room.0 / size, room.1 / size)).map(|drawing| (size, drawing)))
}

/// Type sizes down to `least`, the largest first.
fn sizes(least: f64) -> impl Iterator<Item = f64> {
    (0_u32..)
        .map(|i| LARGEST - f64::from(i) * FINER)
        .take_while(move |size| *size >= least)
}

/// The lines under the title of the front: what comes first of all in bold.
fn front(chart: &Chart, lie: Lie) -> Vec<Text> {
    let most = lie.room().0 / SMALL;
    let mut out = Vec::new();
    for (i, line) in chart.front.iter().enumerate() {
        out.extend(lines(line, most, i == 0, ""));
    }
    out.extend(lines(&chart.extent, most, true, ""));
    out.extend(lines(&chart.about.join(". "), most, false, ""));
    out
}

fn boxes_top(front: &[Text]) -> f64 {
    TITLE * 1.2 + front.len() as f64 * SMALL * LEADING + GAP
}

impl Back {
    /// The back in the largest type that its text has room for.
    fn fit(chart: &Chart, lie: Lie) -> Option<Self> {
        let high = lie.room().1;
        sizes(SMALLEST)
            .map(|size| Self::new(chart, lie, size))
            .find(|b| b.foot_top + height(&b.foot, b.size) <= high)
    }

    fn new(chart: &Chart, lie: Lie, size: f64) -> Self {
        let n = lie.columns();
        let inner = lie.room().0 - 2.0 * INSIDE;
        let column = (inner - GUTTER * (n as f64 - 1.0)) / n as f64;
        let most = column / size;
        let part = |to: &mut Vec<Text>, heading: &str, of: &[String]| {
            to.extend(lines(heading, most, true, ""));
            of.iter().for_each(|l| to.extend(lines(l, most, false, "- ")));
        };
        let mut head = Vec::new();
        chart.head.iter().for_each(|p| part(&mut head, &p.heading, &p.lines));
        let mut foot = Vec::new();
        if !chart.cautions.is_empty() {
            part(&mut foot, "Cautions, by the numbers in the boxes", &[]);
        }
        for (i, caution) in chart.cautions.iter().enumerate() {
            foot.extend(lines(caution, most, false, &format!("{}. ", i + 1)));
        }
        chart.foot.iter().for_each(|p| part(&mut foot, &p.heading, &p.lines));
        let (head, foot) = (balanced(head, n), balanced(foot, n));
        let head_top = TITLE * 1.2 + GAP / 2.0;
        let head_height = height(&head, size) + 2.0 * INSIDE;
        Self {
            size,
            head_top,
            head_height,
            foot_top: head_top + head_height + GAP,
            head,
            foot,
            column,
        }
    }

    /// Left of a column of the head or the foot.
    #[must_use]
    pub fn left(&self, at: usize) -> f64 {
        INSIDE + at as f64 * (self.column + GUTTER)
    }
}

/// Height of columns set in a type size.
fn height(columns: &[Column], size: f64) -> f64 {
    let deepest = columns.iter().map(Vec::len).max().unwrap_or(0);
    deepest as f64 * size * LEADING
}

fn lines(text: &str, most: f64, bold: bool, mark: &str) -> Vec<Text> {
    let lines = wrap(&format!("{mark}{text}"), most, bold);
    lines.into_iter().map(|line| Text { line, bold }).collect()
}

/// Lines in columns as equal as can be; a heading does not stand at the foot of a column.
fn balanced(lines: Vec<Text>, columns: usize) -> Vec<Column> {
    let deep = lines.len().div_ceil(columns);
    let mut out: Vec<Column> = vec![Vec::new()];
    let mut left = lines.into_iter().peekable();
    while let Some(line) = left.next() {
        let full = out
            .last()
            .is_none_or(|c| c.len() >= deep || (line.bold && c.len() + 1 >= deep));
        if full && out.len() < columns && left.peek().is_some() {
            out.push(Vec::new());
        }
        if let Some(last) = out.last_mut() {
            last.push(line);
        }
    }
    out
}
