//! A repair: inside its cause, or of several causes that are there already.

use super::draft::At;
use super::interview::{Interview, Question, Stop};
use super::pick::Picked;
use super::questions::words_of;
use super::step;
use super::yaml::{Field, Node};

const TOUCHES: [&str; 15] = [
    "board", "force", "limits", "speed", "arm", "leaf", "eye", "edge", "wiring", "battery", "charger", "radio",
    "keypad", "loop", "mains",
];

const WIPES: [&str; 6] = ["settings", "limits", "codes", "remotes", "timers", "force"];

/// A repair with a title of its own, for causes that exist.
pub(super) fn ask_alone(iv: &mut Interview<'_>) -> Result<(), Stop> {
    iv.title("A new repair");
    iv.say("Esc goes back one question; ? says what is meant; Ctrl-C leaves and writes nothing.");
    let title = title(iv)?;
    let id = iv.id("repairs", &title)?;
    let at = iv.draft.begin("repairs", &id);
    iv.put_text(at, "title", &title);
    let mut causes = iv.candidates("causes");
    let mut cures = Vec::new();
    loop {
        let may_end = !cures.is_empty();
        let Picked::One(cause) = iv.pick("a cause that it cures", &causes, may_end, false)? else {
            break;
        };
        let (_, chance) = iv.frequency(Question::new("how often does it cure that for good:", CURES))?;
        causes.retain(|c| c.id != cause.id);
        cures.push((cause.id, chance));
    }
    iv.draft.put(at, Field::new("cures", Node::Short(cures)));
    rest(iv, at)?;
    let source = iv.source()?;
    iv.put_text(at, "source", &source);
    Ok(())
}

const CURES: &str = "Done well, of a hundred gates that have this fault, how many are cured by it?";

/// The repair of one cause, as a block inside it.
pub(super) fn ask_inside(iv: &mut Interview<'_>, cause: At) -> Result<(), Stop> {
    iv.title("Its repair");
    let title = title(iv)?;
    let at = iv.draft.open(cause, "repair", "a repair that cures only this cause");
    iv.put_text(at, "title", &title);
    let (_, chance) = iv.frequency(Question::new("how often does it cure this for good:", CURES))?;
    iv.draft.put(at, Field::new("chance", chance));
    rest(iv, at)
}

fn title(iv: &mut Interview<'_>) -> Result<String, Stop> {
    iv.text(Question::new(
        "in one line, what is done:",
        "Such as: Replace the bell's relay",
    ))
}

fn rest(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    step::who_and_where(iv, at)?;
    step::work(iv, at)?;
    parts(iv, at)?;
    iv.title("What it touches");
    let question = Question::new(
        "numbers, 0 for none:",
        "Work on board, force, limits, speed, arm, leaf, eye, edge or wiring voids the safety retest: it is done again.",
    );
    let touches = iv.any_of(question, &TOUCHES, &|_| Ok(()))?;
    let touches: Vec<&str> = touches.iter().map(|&n| TOUCHES[n]).collect();
    let comment = "board, force, limits, speed, arm, leaf, eye, edge and wiring void the safety retest";
    iv.draft
        .put(at, Field::new("touches", words_of(&touches)).saying(comment));
    iv.say("What does it wipe out, so that somebody must set it again?");
    let question = Question::new(
        "numbers, 0 for none:",
        "It is then said before the work: note this first.",
    );
    let wipes = iv.any_of(question, &WIPES, &|_| Ok(()))?;
    let wipes: Vec<&str> = wipes.iter().map(|&n| WIPES[n]).collect();
    iv.put_words(at, "wipes", &wipes);
    iv.say("Tests that must be answered before it is done (for dear parts: what proves that they are bad):");
    let mut tests = iv.candidates("tests");
    let mut after = Vec::new();
    while let Picked::One(test) = iv.pick("test", &tests, true, false)? {
        tests.retain(|t| t.id != test.id);
        after.push(test.id);
    }
    let after: Vec<&str> = after.iter().map(String::as_str).collect();
    iv.put_words(at, "after", &after);
    let help = "What to look at when the gate is run afterwards, such as: The bell stays silent for three cycles.";
    let proof = iv.text(Question::new("what to watch afterwards:", help))?;
    iv.put_text(at, "proof", &proof);
    Ok(())
}

fn parts(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("Parts");
    let mut parts = Vec::new();
    let help = "As it would be ordered, without a maker's name. Enter when that is all.";
    while let Some(name) = iv.maybe(Question::new("part (Enter for none):", help))? {
        let price = iv.number(
            Question::new("its price:", "In your own currency; it counts against minutes."),
            0.0,
            1e6,
        )?;
        let help = "So that the new one fits, such as: volts, Ah, terminals";
        let read = iv.maybe(Question::new("to be read off the old one (Enter for nothing):", help))?;
        let mut part = vec![
            ("name".to_owned(), Node::Text(name)),
            ("price".to_owned(), Node::Word(price.to_string())),
        ];
        part.extend(read.map(|read| ("read".to_owned(), Node::Text(read))));
        parts.push(Node::Short(part));
    }
    if !parts.is_empty() {
        iv.draft.put(at, Field::new("parts", Node::List(parts)));
    }
    Ok(())
}
