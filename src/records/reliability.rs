//! The reliability picture: what was said against what came true, as SVG without colour to be read and without script.

use std::fmt::Write as _;

use super::scores::{Bin, Scores};

/// Side of the square of the plot, and where it begins.
const SIDE: f64 = 400.0;
const LEFT: f64 = 70.0;
const TOP: f64 = 60.0;

/// The picture. Boxes: where 95 % of honest shares lie; dots: what came true; the line: perfectly honest.
#[must_use]
pub fn picture(scores: &Scores) -> String {
    let mut svg = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 560 560\" role=\"img\" aria-labelledby=\"title desc\" \
         font-family=\"sans-serif\" font-size=\"13\">\n",
    );
    let _ = writeln!(
        svg,
        "<title id=\"title\">Were the percentages honest? {} calls</title>",
        scores.calls
    );
    let _ = writeln!(svg, "<desc id=\"desc\">{}</desc>", in_words(scores));
    svg.push_str("<rect width=\"560\" height=\"560\" fill=\"white\"/>\n");
    svg.push_str(
        "<text x=\"70\" y=\"28\" font-size=\"16\" font-weight=\"bold\">What was said, and what came true</text>\n",
    );
    svg.push_str("<text x=\"70\" y=\"47\">Dot: came true. Box: where it lies in 95 of 100 cases if honest.</text>\n");
    axes(&mut svg);
    for bin in scores.bins.iter().filter(|b| b.calls > 0) {
        draw_bin(&mut svg, bin);
    }
    svg.push_str("</svg>\n");
    svg
}

fn in_words(scores: &Scores) -> String {
    let bins = scores.bins.iter().filter(|b| b.calls > 0).map(|b| {
        format!(
            "Where it said {:.0} to {:.0} %: {} calls, {:.0} % came true, {} the interval.",
            b.from * 100.0,
            b.to * 100.0,
            b.calls,
            b.observed * 100.0,
            if b.inside { "inside" } else { "OUTSIDE" }
        )
    });
    bins.collect::<Vec<_>>().join(" ")
}

fn x(share: f64) -> f64 {
    LEFT + SIDE * share
}

fn y(share: f64) -> f64 {
    TOP + SIDE * (1.0 - share)
}

fn axes(svg: &mut String) {
    let _ = writeln!(
        svg,
        "<rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{SIDE}\" height=\"{SIDE}\" fill=\"none\" stroke=\"black\"/>"
    );
    let _ = writeln!(
        svg,
        "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"black\" stroke-dasharray=\"5 4\"/>",
        x(0.0),
        y(0.0),
        x(1.0),
        y(1.0)
    );
    for tick in 0..=5 {
        let share = f64::from(tick) / 5.0;
        let percent = tick * 20;
        let _ = writeln!(
            svg,
            "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\">{percent} %</text>",
            x(share),
            y(0.0) + 34.0
        );
        let _ = writeln!(
            svg,
            "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{percent} %</text>",
            LEFT - 8.0,
            y(share) + 4.0
        );
    }
    let middle = x(0.5);
    let _ = writeln!(
        svg,
        "<text x=\"{middle}\" y=\"{:.0}\" text-anchor=\"middle\">it said (small figures: calls)</text>",
        y(0.0) + 56.0
    );
    let _ = writeln!(
        svg,
        "<text x=\"18\" y=\"{0:.0}\" text-anchor=\"middle\" transform=\"rotate(-90 18 {0:.0})\">came true</text>",
        y(0.5)
    );
}

fn draw_bin(svg: &mut String, bin: &Bin) {
    let (low, high) = (y(bin.expected[0]), y(bin.expected[1]));
    let _ = writeln!(
        svg,
        "<rect x=\"{:.1}\" y=\"{high:.1}\" width=\"24\" height=\"{:.1}\" fill=\"none\" stroke=\"black\"/>",
        x(bin.predicted) - 12.0,
        (low - high).max(1.0)
    );
    let _ = writeln!(
        svg,
        "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"4\" fill=\"black\"/>",
        x(bin.predicted),
        y(bin.observed)
    );
    if !bin.inside {
        let _ = writeln!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" font-weight=\"bold\">outside</text>",
            x(bin.predicted) + 15.0,
            y(bin.observed) + 4.0
        );
    }
    let _ = writeln!(
        svg,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"10\">{}</text>",
        x(bin.from.midpoint(bin.to)),
        y(0.0) + 14.0,
        bin.calls
    );
}
