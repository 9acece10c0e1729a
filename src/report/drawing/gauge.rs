//! A reading as a bar against its limits.

use serde::Serialize;

use super::super::reading_lines::digits;
use super::super::record::Gauge;
use super::{tenth, width_of};

/// Width of the drawing and of the bar's margin on both sides, in px of the drawing.
const WIDTH: f64 = 240.0;
const MARGIN: f64 = 6.0;
/// Where the bar is, from the top.
const BAR_TOP: f64 = 19.0;
const BAR_HEIGHT: f64 = 13.0;
/// Size of the numbers, the height of a line of words, and how many characters go on one.
const SIZE: f64 = 9.0;
const LINE: f64 = 10.5;
const WORDS: usize = 46;
/// From this ratio of the largest to the smallest number on, the scale goes by tens.
const BY_TENS: f64 = 20.0;
/// Room beyond the outermost number, as a share of the whole.
const BEYOND: f64 = 0.18;
/// Hatchings of the page's style.
const HATCHINGS: usize = 4;

/// A gauge, laid out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(in super::super) struct GaugeDrawing {
    width: f64,
    height: f64,
    bar_top: f64,
    bar_height: f64,
    segments: Vec<Segment>,
    ticks: Vec<Tick>,
    mark: Option<Mark>,
    legend: Vec<Legend>,
    by_tens: bool,
    /// The drawing in words.
    words: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Segment {
    x: f64,
    width: f64,
    hatching: usize,
    holds: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Tick {
    x: f64,
    text_x: f64,
    text_y: f64,
    label: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Mark {
    x: f64,
    from: f64,
    to: f64,
    text_x: f64,
    anchor: &'static str,
    label: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Legend {
    y: f64,
    hatching: usize,
    holds: bool,
    lines: Vec<(f64, String)>,
}

impl GaugeDrawing {
    /// Lays a gauge out.
    pub(in super::super) fn of(gauge: &Gauge) -> Self {
        let scale = Scale::of(gauge);
        // 0 is left white: where a gate with nothing wrong would be.
        let mut next = 0;
        let hatchings: Vec<usize> = gauge
            .bands
            .iter()
            .map(|band| {
                if band.normal {
                    return 0;
                }
                next = next % HATCHINGS + 1;
                next
            })
            .collect();
        let segments = gauge.bands.iter().zip(&hatchings).filter_map(|(band, hatching)| {
            let x = band.from.map_or(MARGIN, |f| scale.x(f));
            let end = band.below.map_or(WIDTH - MARGIN, |b| scale.x(b));
            (end > x).then_some(Segment {
                x,
                width: tenth(end - x),
                hatching: *hatching,
                holds: band.holds,
            })
        });
        let segments = segments.collect();
        let (ticks, rows) = ticks(gauge, &scale);
        let top = BAR_TOP + BAR_HEIGHT + 12.0 * rows as f64 + 12.0;
        let mut bottom = top;
        let mut words: Vec<String> = Vec::new();
        let mut legend: Vec<Legend> = Vec::new();
        for (band, hatching) in gauge.bands.iter().zip(&hatchings) {
            let normal = if band.normal { " (nothing wrong)" } else { "" };
            let text = format!("{}: {}{normal}", band.range, band.says);
            let here = if band.holds { "the reading: " } else { "" };
            words.push(format!("{here}{text}"));
            let arrow = if band.holds { " \u{25c4}" } else { "" };
            let shown = format!("{text}{arrow}");
            let wrapped = textwrap::wrap(&shown, WORDS).into_iter().map(String::from);
            let y = bottom;
            let lines: Vec<(f64, String)> = wrapped
                .zip(0..)
                .map(|(l, row)| (y + LINE * f64::from(row), l))
                .collect();
            bottom += LINE * lines.len() as f64;
            legend.push(Legend {
                y,
                hatching: *hatching,
                holds: band.holds,
                lines,
            });
        }
        Self {
            width: WIDTH,
            height: bottom - 6.0,
            bar_top: BAR_TOP,
            bar_height: BAR_HEIGHT,
            segments,
            ticks,
            mark: mark(gauge, &scale),
            by_tens: scale.by_tens,
            words: words.join("; "),
            legend,
        }
    }
}

/// Numbers to places along the bar.
struct Scale {
    low: f64,
    high: f64,
    by_tens: bool,
}

impl Scale {
    fn of(gauge: &Gauge) -> Self {
        let limits = gauge.bands.iter().flat_map(|b| [b.from, b.below]).flatten();
        let numbers: Vec<f64> = limits.chain(gauge.value).filter(|n| n.is_finite()).collect();
        let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
        let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if numbers.is_empty() {
            return Self {
                low: 0.0,
                high: 1.0,
                by_tens: false,
            };
        }
        if low > 0.0 && high / low >= BY_TENS {
            let (low, high) = (low.log10(), high.log10());
            let room = BEYOND * (high - low);
            return Self {
                low: low - room,
                high: high + room,
                by_tens: true,
            };
        }
        let span = match high - low {
            span if span > 0.0 => span,
            _ if high == 0.0 => 1.0,
            _ => high.abs(),
        };
        let room = BEYOND * span;
        // A scale of things that can't be below zero begins at zero where that is near.
        let begin = if low >= 0.0 { (low - room).max(0.0) } else { low - room };
        Self {
            low: begin,
            high: high + room,
            by_tens: false,
        }
    }

    fn x(&self, number: f64) -> f64 {
        let at = if self.by_tens { number.log10() } else { number };
        let share = ((at - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        tenth(MARGIN + share * (WIDTH - 2.0 * MARGIN))
    }
}

/// The limits below the bar, on as many rows as they need so that none covers another; with the number of rows.
fn ticks(gauge: &Gauge, scale: &Scale) -> (Vec<Tick>, usize) {
    let mut limits: Vec<f64> = gauge.bands.iter().flat_map(|b| [b.from, b.below]).flatten().collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup_by(|a, b| (*a - *b).abs() < f64::EPSILON);
    let mut ends: Vec<f64> = Vec::new();
    let ticks = limits.into_iter().map(|limit| {
        let label = with_unit(&digits(limit, 3), &gauge.unit);
        let half = width_of(&label, SIZE) / 2.0;
        let x = scale.x(limit);
        let text_x = x.clamp(half, WIDTH - half);
        let row = ends
            .iter()
            .position(|end| text_x - half > end + 4.0)
            .unwrap_or(ends.len());
        if row == ends.len() {
            ends.push(0.0);
        }
        ends[row] = text_x + half;
        Tick {
            x,
            text_x: tenth(text_x),
            text_y: BAR_TOP + BAR_HEIGHT + 11.0 + 12.0 * row as f64,
            label,
        }
    });
    let ticks: Vec<Tick> = ticks.collect();
    (ticks, ends.len())
}

fn mark(gauge: &Gauge, scale: &Scale) -> Option<Mark> {
    let value = gauge.value.filter(|v| v.is_finite())?;
    let label = with_unit(&digits(value, 4), &gauge.unit);
    let x = scale.x(value);
    let near = width_of(&label, SIZE) / 2.0;
    let (anchor, text_x) = match x {
        x if x < near => ("start", 0.0),
        x if x > WIDTH - near => ("end", WIDTH),
        x => ("middle", x),
    };
    let least = if scale.by_tens {
        f64::MIN_POSITIVE
    } else {
        f64::NEG_INFINITY
    };
    Some(Mark {
        x,
        from: scale.x((value - gauge.error).max(least)),
        to: scale.x(value + gauge.error),
        text_x,
        anchor,
        label,
    })
}

fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::record::{Gauge, GaugeBand};
    use super::{GaugeDrawing, MARGIN, WIDTH};

    fn gauge(value: Option<f64>, limits: &[f64]) -> Gauge {
        let band = |from: Option<f64>, below: Option<f64>| GaugeBand {
            from,
            below,
            range: String::new(),
            says: String::new(),
            normal: false,
            holds: value.is_some_and(|v| from.is_none_or(|f| v >= f) && below.is_none_or(|b| v < b)),
        };
        let mut bands = vec![band(None, limits.first().copied())];
        bands.extend(limits.windows(2).map(|w| band(Some(w[0]), Some(w[1]))));
        bands.push(band(limits.last().copied(), None));
        Gauge {
            value,
            unit: "V".to_owned(),
            error: 0.1,
            formula: None,
            bands,
        }
    }

    #[test]
    fn the_mark_stands_in_the_band_that_holds_it_on_every_scale() {
        for (value, limits) in [
            (24.0, &[22.0, 25.5][..]),
            (0.0, &[22.0, 25.5]),
            (-4.0, &[0.0]),
            (0.004, &[0.5, 2000.0]),
            (5e7, &[100.0, 1e6, 1e7]),
            (0.0, &[0.0, 1.0]),
            (1.0, &[1.0]),
        ] {
            let drawing = GaugeDrawing::of(&gauge(Some(value), limits));
            let mark = drawing.mark.expect("a value");
            assert!(
                (MARGIN..=WIDTH - MARGIN).contains(&mark.x),
                "{value} {limits:?}: {}",
                mark.x
            );
            assert!(mark.from <= mark.x && mark.x <= mark.to, "{value} {limits:?}");
            let holds = drawing.segments.iter().find(|s| s.holds).expect("its band is drawn");
            let (from, to) = (holds.x - 0.11, holds.x + holds.width + 0.11);
            assert!(
                (from..=to).contains(&mark.x),
                "{value} {limits:?}: {} not in {from}..{to}",
                mark.x
            );
        }
    }

    #[test]
    fn a_display_over_its_range_has_no_mark_and_close_limits_get_rows() {
        let drawing = GaugeDrawing::of(&gauge(None, &[23.9, 24.0, 24.1, 60.0]));
        assert_eq!(drawing.mark, None);
        let rows: Vec<f64> = drawing.ticks.iter().map(|t| t.text_y).collect();
        assert!(rows[0] < rows[1] && rows[1] < rows[2], "{rows:?}");
        assert!(drawing.ticks.iter().all(|t| t.text_y < drawing.legend[0].y - 6.0));
    }
}
