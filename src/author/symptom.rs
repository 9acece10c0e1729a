//! A symptom: what callers report.

use super::interview::{Interview, Question, Stop};

pub(super) fn ask(iv: &mut Interview<'_>) -> Result<(), Stop> {
    iv.title("A new symptom: what callers report");
    iv.say("Esc goes back one question; ? says what is meant; Ctrl-C leaves and writes nothing.");
    let title = iv.text(Question::new(
        "in one line, what does the gate do:",
        "As it would stand on a job sheet, such as: Bell at the gate rings by itself",
    ))?;
    let id = iv.id("symptoms", &title)?;
    let at = iv.draft.begin("symptoms", &id);
    iv.put_text(at, "title", &title);
    let help = "In their own words, slips and all: the walk finds the symptom by these words.";
    let says = iv.lines(Question::new("how callers put it", help), 1)?;
    iv.put_lines(at, "says", says);
    let gone = iv.text(Question::new(
        "question that proves it gone:",
        "Asked when the gate was run after a repair; yes means gone. Such as: Has it stayed silent for a whole cycle?",
    ))?;
    iv.put_text(at, "gone", &gone);
    let source = iv.source()?;
    iv.put_text(at, "source", &source);
    Ok(())
}
