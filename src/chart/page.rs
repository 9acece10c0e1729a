//! The card as one page: head, boxes and foot placed in points, with the largest type that fits.

use super::Chart;
use super::layout::{Drawing, LEADING, Text, pack, strips};
use super::measure::wrap;

/// Smallest type in points; smaller is not read at a gate.
pub const SMALLEST: f64 = 7.0;
/// Largest type of the boxes.
const LARGEST: f64 = 9.5;
/// Step from size to size.
const FINER: f64 = 0.25;
/// Type of head and foot.
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
const WIDTHS: [f64; 7] = [11.0, 12.5, 14.0, 16.0, 18.0, 21.0, 25.0];
/// Depths of strips that are tried.
const LEVELS: [usize; 7] = [0, 7, 6, 5, 4, 3, 2];

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

/// A page with everything placed.
#[derive(Debug, Clone)]
pub struct Page {
    /// How it lies.
    pub lie: Lie,
    /// Lines under the title.
    pub about: Vec<Text>,
    /// Top of the head.
    pub head_top: f64,
    /// The head in columns.
    pub head: Vec<Column>,
    /// Height of the head with its frame.
    pub head_height: f64,
    /// Top of the boxes.
    pub boxes_top: f64,
    /// Type size of the boxes.
    pub size: f64,
    /// The boxes, in type sizes.
    pub drawing: Drawing,
    /// Top of the foot.
    pub foot_top: f64,
    /// The foot in columns.
    pub foot: Vec<Column>,
    /// Width of a column.
    pub column: f64,
}

impl Page {
    /// The best page of a chart; `None` where none has room for it.
    #[must_use]
    pub fn fit(chart: &Chart) -> Option<Self> {
        let frames = [Frame::new(chart, Lie::Landscape), Frame::new(chart, Lie::Portrait)];
        let mut best: Option<(f64, usize, Drawing)> = None;
        for levels in LEVELS {
            for box_width in WIDTHS {
                let pieces = strips(chart, box_width, levels);
                for (i, frame) in frames.iter().enumerate() {
                    let least = best.as_ref().map_or(SMALLEST, |b| b.0 + FINER);
                    if let Some((size, drawing)) = largest(&pieces, frame.room(), least) {
                        best = Some((size, i, drawing));
                    }
                }
            }
        }
        let (size, i, drawing) = best?;
        let [landscape, portrait] = frames;
        Some(if i == 0 { landscape } else { portrait }.page(size, drawing))
    }
}

/// The largest type of at least `least` points with which the strips fit.
fn largest(pieces: &[Drawing], room: (f64, f64), least: f64) -> Option<(f64, Drawing)> {
    let mut size = LARGEST;
    while size >= least {
        if let Some(drawing) = pack(pieces.to_vec(), (room.0 / size, room.1 / size)) {
            return Some((size, drawing));
        }
        size -= FINER;
    }
    None
}

/// A page without its boxes.
struct Frame {
    lie: Lie,
    about: Vec<Text>,
    head: Vec<Column>,
    foot: Vec<Column>,
    column: f64,
}

impl Frame {
    fn new(chart: &Chart, lie: Lie) -> Self {
        let (wide, _) = lie.room();
        let n = lie.columns();
        let inner = wide - 2.0 * INSIDE;
        let column = (inner - GUTTER * (n as f64 - 1.0)) / n as f64;
        let most = column / SMALL;
        let mut about = lines(&chart.extent, wide / SMALL, true, "");
        about.extend(lines(&chart.about.join(". "), wide / SMALL, false, ""));
        let mut head = Vec::new();
        for part in &chart.head {
            head.extend(lines(&part.heading, most, true, ""));
            part.lines.iter().for_each(|l| head.extend(lines(l, most, false, "- ")));
        }
        let mut foot = Vec::new();
        if !chart.cautions.is_empty() {
            foot.extend(lines("Cautions", most, true, ""));
        }
        for (i, caution) in chart.cautions.iter().enumerate() {
            foot.extend(lines(caution, most, false, &format!("{}. ", i + 1)));
        }
        for part in &chart.foot {
            foot.extend(lines(&part.heading, most, true, ""));
            part.lines.iter().for_each(|l| foot.extend(lines(l, most, false, "- ")));
        }
        Self {
            lie,
            about,
            head: balanced(head, n),
            foot: balanced(foot, n),
            column,
        }
    }

    fn head_top(&self) -> f64 {
        TITLE * 1.2 + height(self.about.len()) + GAP / 2.0
    }

    fn head_height(&self) -> f64 {
        deepest(&self.head) + 2.0 * INSIDE
    }

    fn boxes_top(&self) -> f64 {
        self.head_top() + self.head_height() + GAP
    }

    /// Room for the boxes in points.
    fn room(&self) -> (f64, f64) {
        let (wide, high) = self.lie.room();
        (wide, high - self.boxes_top() - GAP - deepest(&self.foot))
    }

    fn page(self, size: f64, drawing: Drawing) -> Page {
        let (_, high) = self.lie.room();
        Page {
            lie: self.lie,
            head_top: self.head_top(),
            head_height: self.head_height(),
            boxes_top: self.boxes_top(),
            foot_top: high - deepest(&self.foot),
            about: self.about,
            head: self.head,
            foot: self.foot,
            column: self.column,
            size,
            drawing,
        }
    }
}

/// Left of a column of the head or the foot.
#[must_use]
pub fn column_left(page: &Page, at: usize) -> f64 {
    INSIDE + at as f64 * (page.column + GUTTER)
}

fn height(lines: usize) -> f64 {
    lines as f64 * SMALL * LEADING
}

fn deepest(columns: &[Column]) -> f64 {
    height(columns.iter().map(Vec::len).max().unwrap_or(0))
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
