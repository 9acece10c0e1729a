//! A placed card as SVG, and as HTML that prints it. Everything that is put into a template is escaped.

use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value, context};
use serde::Serialize;

use super::layout::{Block, LEADING, PAD, SIGN, Text, line_width, middle, whole};
use super::page::{Back, Column, INSIDE, MARGIN, Page, SMALL, TITLE};
use super::{Arrow, Chart, Kind, Step, percent};

/// A template that can't be filled, which is a fault of the program.
pub type DrawError = minijinja::Error;

/// Something on the page, in points.
#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case", tag = "what")]
enum Mark {
    Frame {
        x: f64,
        y: f64,
        w: f64,
        h: f64,
        round: f64,
        thick: f64,
        fill: &'static str,
    },
    Line {
        points: String,
        thick: f64,
        broken: bool,
    },
    Area {
        points: String,
    },
    Words {
        x: f64,
        y: f64,
        size: f64,
        bold: bool,
        middle: bool,
        white: bool,
        long: f64,
        text: String,
    },
}

/// From the top of a line to the foot of its letters, in type sizes.
const FOOT: f64 = 0.93;

/// The front of the card as SVG.
///
/// # Errors
/// When the template can't be filled.
pub fn svg(chart: &Chart, page: &Page) -> Result<String, DrawError> {
    let about = format!("{} {}", chart.extent, chart.about.join(". "));
    side("front", (&chart.title, &about), page, Pen::default().front(chart, page))
}

/// The back of the card as SVG.
fn svg_of_back(chart: &Chart, page: &Page) -> Result<String, DrawError> {
    let title = format!("{}: the back", chart.title);
    let marks = Pen::default().back(&title, page);
    side("back", (&title, "Hazard signs, cautions, retest."), page, marks)
}

/// A side with its name, its title and what it is about.
fn side(name: &str, (title, about): (&str, &str), page: &Page, marks: Vec<Mark>) -> Result<String, DrawError> {
    let (width, height) = page.lie.room();
    let template = include_str!("templates/card.svg.jinja");
    let values = context! {
        width => round(width), height => round(height), side => name, title, about,
        marks => Value::from(Serde(marks)),
    };
    render("card.svg", template, values)
}

/// A box in words.
#[derive(Serialize)]
struct InWords<'c> {
    step: &'c Step,
    arrows: Vec<&'c Arrow>,
    minutes: Option<String>,
    reach: String,
}

/// The card as one HTML file that needs nothing else: the picture for the printer, the same in words for the screen.
///
/// # Errors
/// When the template can't be filled.
pub fn html(chart: &Chart, page: &Page) -> Result<String, DrawError> {
    let (width, height) = page.lie.room();
    let words = |step| InWords {
        step,
        arrows: chart.arrows.iter().filter(|a| a.from == step.number).collect(),
        minutes: step.minutes.map(|m| format!("{} min", whole(m))),
        reach: format!("{} of walks", percent(step.reach)),
    };
    let boxes: Vec<InWords<'_>> = chart.boxes.iter().map(words).collect();
    let template = include_str!("templates/card.html.jinja");
    let values = context! {
        width => round(width), height => round(height), lie => page.lie.word(), margin => MARGIN,
        front => svg(chart, page)?, back => svg_of_back(chart, page)?, chart => Value::from(Serde(chart)), boxes => Value::from(Serde(boxes)),
    };
    render("card.html", template, values)
}

fn render(name: &str, template: &str, values: Value) -> Result<String, DrawError> {
    let mut env = Environment::new();
    env.set_undefined_behavior(UndefinedBehavior::Strict);
    env.set_auto_escape_callback(|_| AutoEscape::Html);
    env.add_template(name, template)?;
    env.get_template(name)?.render(values)
}

/// Hundredths of a point.
fn round(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}

fn points(of: &[(f64, f64)]) -> String {
    let each: Vec<String> = of.iter().map(|(x, y)| format!("{},{}", round(*x), round(*y))).collect();
    each.join(" ")
}

/// Gathers marks.
#[derive(Default)]
struct Pen {
    marks: Vec<Mark>,
}

/// Where a line of text stands.
#[derive(Clone, Copy)]
struct Place {
    x: f64,
    /// Top of the line.
    y: f64,
    size: f64,
    middle: bool,
    white: bool,
}

/// Black, from the left.
fn at(x: f64, y: f64, size: f64) -> Place {
    Place {
        x,
        y,
        size,
        middle: false,
        white: false,
    }
}

impl Pen {
    fn front(mut self, chart: &Chart, page: &Page) -> Vec<Mark> {
        let (wide, _) = page.lie.room();
        self.title(&chart.title, wide);
        for (i, line) in page.front.iter().enumerate() {
            self.words(line, at(0.0, TITLE * 1.2 + i as f64 * SMALL * LEADING, SMALL));
        }
        let left = (wide - page.drawing.width * page.size) / 2.0;
        let place = |(x, y): (f64, f64)| (left + x * page.size, page.boxes_top + y * page.size);
        for line in &page.drawing.lines {
            let line: Vec<(f64, f64)> = line.iter().map(|p| place(*p)).collect();
            self.line(&line, 0.7, false);
        }
        for block in &page.drawing.blocks {
            self.block(block, page.size, &place);
        }
        self.marks
    }

    fn back(mut self, title: &str, page: &Page) -> Vec<Mark> {
        let (wide, _) = page.lie.room();
        let back = &page.back;
        self.title(title, wide);
        self.frame(0.75, back.head_top, wide - 1.5, back.head_height, (0.0, 1.5), "#fff");
        self.columns(back, &back.head, back.head_top + INSIDE);
        self.columns(back, &back.foot, back.foot_top);
        self.marks
    }

    /// The title; one that is too long for the page is set smaller.
    fn title(&mut self, title: &str, wide: f64) {
        let title = Text {
            line: title.to_owned(),
            bold: true,
        };
        let size = TITLE.min(wide / line_width(&title).max(1.0));
        self.words(&title, at(0.0, 0.0, size));
    }

    fn columns(&mut self, back: &Back, columns: &[Column], top: f64) {
        for (c, column) in columns.iter().enumerate() {
            for (i, line) in column.iter().enumerate() {
                let y = top + i as f64 * back.size * LEADING;
                self.words(line, at(back.left(c), y, back.size));
            }
        }
    }

    /// A box with its label and arrow; `place` turns type sizes into points.
    fn block(&mut self, block: &Block, size: f64, place: &dyn Fn((f64, f64)) -> (f64, f64)) {
        let (x, y) = place((block.frame.x, block.frame.y));
        let (w, h) = (block.frame.w * size, block.frame.h * size);
        let centre = place((middle(&block.label), block.label.y));
        for (i, line) in block.label_lines.iter().enumerate() {
            let line = Text {
                line: line.clone(),
                bold: false,
            };
            let y = centre.1 + i as f64 * LEADING * size;
            self.words(
                &line,
                Place {
                    x: centre.0,
                    y,
                    size,
                    middle: true,
                    white: false,
                },
            );
        }
        if !block.label_lines.is_empty() {
            let top = centre.1 + block.label.h * size + 0.15 * size;
            self.line(&[(centre.0, top), (centre.0, y - 0.4 * size)], 0.7, false);
            let head = [
                (centre.0, y),
                (centre.0 - 0.3 * size, y - 0.6 * size),
                (centre.0 + 0.3 * size, y - 0.6 * size),
            ];
            self.area(&head);
        }
        match block.kind {
            Kind::Test => self.frame(x, y, w, h, (0.0, 0.8), "#fff"),
            Kind::Ask => self.frame(x, y, w, h, (0.8 * size, 0.8), "#fff"),
            Kind::Repair => self.frame(x, y, w, h, (0.0, 2.2), "#fff"),
            Kind::End => {
                self.frame(x, y, w, h, (0.0, 0.6), "#fff");
                self.frame(x + 1.4, y + 1.4, w - 2.8, h - 2.8, (0.0, 0.6), "#fff");
            }
        }
        self.inside(block, size, (x, y, w));
    }

    /// Bar, text and stub of a box.
    fn inside(&mut self, block: &Block, size: f64, (x, y, w): (f64, f64, f64)) {
        let pad = PAD * size;
        let mut place = Place {
            x: x + pad,
            y: y + pad,
            size,
            middle: false,
            white: true,
        };
        if !block.bar.is_empty() {
            let high = (block.bar.len() as f64 * LEADING + 2.0 * PAD) * size;
            self.frame(x, y, w, high, (0.0, 0.8), "#000");
            for line in &block.bar {
                let line = Text {
                    line: line.clone(),
                    bold: true,
                };
                self.words(&line, place);
                place.y += LEADING * size;
            }
            place.y += 2.0 * pad;
        }
        place.white = false;
        for (i, line) in block.text.iter().enumerate() {
            let sign = block.sign_at == Some(i);
            if sign {
                self.sign(place);
            }
            let indent = if sign { SIGN * size } else { 0.0 };
            self.words(
                line,
                Place {
                    x: place.x + indent,
                    ..place
                },
            );
            place.y += LEADING * size;
        }
        if !block.stub.is_empty() {
            place.y += pad;
            self.line(&[(x, place.y), (x + w, place.y)], 0.7, true);
            place.y += pad;
            for line in &block.stub {
                let line = Text {
                    line: line.clone(),
                    bold: false,
                };
                self.words(&line, place);
                place.y += LEADING * size;
            }
        }
    }

    /// A triangle with a stroke in it: mind a caution.
    fn sign(&mut self, place: Place) {
        let (s, foot) = (place.size, place.y + FOOT * place.size);
        let middle = place.x + 0.5 * s;
        self.area(&[(middle, foot - 0.9 * s), (place.x, foot), (place.x + s, foot)]);
        let text = Text {
            line: "!".to_owned(),
            bold: true,
        };
        let size = 0.75 * s;
        self.words(
            &text,
            Place {
                x: middle,
                y: foot - 0.06 * s - FOOT * size,
                size,
                middle: true,
                white: true,
            },
        );
    }

    fn words(&mut self, text: &Text, place: Place) {
        self.marks.push(Mark::Words {
            x: round(place.x),
            y: round(place.y + FOOT * place.size),
            size: round(place.size),
            bold: text.bold,
            middle: place.middle,
            white: place.white,
            long: round(line_width(text) * place.size),
            text: text.line.clone(),
        });
    }

    fn frame(&mut self, x: f64, y: f64, w: f64, h: f64, (corner, thick): (f64, f64), fill: &'static str) {
        self.marks.push(Mark::Frame {
            x: round(x),
            y: round(y),
            w: round(w),
            h: round(h),
            round: round(corner),
            thick,
            fill,
        });
    }

    fn line(&mut self, of: &[(f64, f64)], thick: f64, broken: bool) {
        self.marks.push(Mark::Line {
            points: points(of),
            thick,
            broken,
        });
    }

    fn area(&mut self, of: &[(f64, f64)]) {
        self.marks.push(Mark::Area { points: points(of) });
    }
}
