//! Drawings for the printable page: plain numbers that a template writes as SVG. No colour: hatching, outline, dashes, marks and words.

mod gauge;
mod ranking;

pub(super) use gauge::GaugeDrawing;
pub(super) use ranking::RankingDrawing;

/// Width of a character of the drawings' sans-serif letters, as a share of their size; a generous mean.
const LETTER: f64 = 0.56;

/// About how wide a text is, in the units of `size`.
fn width_of(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * LETTER
}

/// To a tenth: finer than any printer.
fn tenth(x: f64) -> f64 {
    (x * 10.0).round() / 10.0
}
