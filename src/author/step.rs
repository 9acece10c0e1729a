//! What tests and repairs are both asked: who, where, what moves, what must hold first. Nothing of safety is taken for granted.

use super::draft::At;
use super::interview::{Interview, Question, Stop};
use super::pick::Picked;
use super::questions::words_of;
use super::yaml::{Field, Node};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Condition, Moves, Who};

const WHO: [(&str, &str, Who); 3] = [
    ("Anyone, from outside: look and listen", "anyone", Who::Anyone),
    (
        "A gate technician: low voltage and battery",
        "technician",
        Who::Technician,
    ),
    (
        "A licensed electrician: anything behind a mains cover",
        "electrician",
        Who::Electrician,
    ),
];

const MOVES: [(&str, &str, Moves); 3] = [
    ("No: it stays where it is", "no", Moves::No),
    ("Yes: its motor runs on command", "commanded", Moves::Commanded),
    (
        "Yes: a hand moves the leaf, or is in its travel or the arm",
        "by-hand",
        Moves::ByHand,
    ),
];

const NEEDS: [&str; 4] = [
    "Powered as it normally is",
    "Isolated: mains, battery and solar off at every leaf, one command tried",
    "Other commands held off: schedule, auto-close, app, exit loop, remotes",
    "Leaf secured against wind, slope and hands",
];

const TASKS: [(&str, &str); 6] = [
    ("Mains voltage is near", "mains"),
    ("Work on the battery", "battery"),
    ("Insulation tester", "megger"),
    ("Digging or saw-cutting", "digging"),
    ("Welding", "welding"),
    ("A leaf that one person should not hold", "heavy-leaf"),
];

/// Who, place, cover, movement, conditions; gives who it was.
pub(super) fn who_and_where(iv: &mut Interview<'_>, at: At) -> Result<Who, Stop> {
    iv.title("Who does it, and where");
    let help = "Mains behind a cover is an electrician's; a caller only looks and listens, from outside.";
    let picked = iv.one_of(Question::new("who may do it, 1-3:", help), &WHO.map(|w| w.0))?;
    let (_, word, who) = WHO[picked];
    iv.draft.put(at, Field::new("who", Node::Word(word.to_owned())));
    let places = iv.candidates("places");
    if let Picked::One(place) = iv.pick("where is it done", &places, true, false)? {
        iv.put_text(at, "place", &place.id);
        let covers = covers(iv.knowledge, &place.id, who);
        if !covers.is_empty() {
            iv.say("Covers there that they may open:");
            let among = iv.candidates("covers");
            let among: Vec<_> = among.into_iter().filter(|c| covers.contains(&c.id)).collect();
            if let Picked::One(cover) = iv.pick("inside which cover", &among, true, false)? {
                iv.put_text(at, "inside", &cover.id);
            }
        }
    }
    movement(iv, at, who)?;
    let entitled = Question::new(
        "does it open, hold, release or reprogram the gate? (y/n)",
        "If so, whoever asks for it is verified first.",
    );
    if iv.yes(entitled)? {
        iv.draft.put(at, Field::new("entitled", Node::Word("true".to_owned())));
    }
    Ok(who)
}

/// Covers of a place that somebody may open, covers around them included.
fn covers(knowledge: &Knowledge, place: &str, who: Who) -> Vec<String> {
    // A ring of covers, which `check` refuses, is nobody's.
    let may = |id: &str| {
        let mut next = Some(id);
        for _ in 0..=knowledge.covers.len() {
            let Some(cover) = next.and_then(|id| knowledge.covers.get(id)) else {
                return true;
            };
            if cover.who > who {
                return false;
            }
            next = cover.inside.as_deref();
        }
        false
    };
    let there = knowledge
        .covers
        .iter()
        .filter(|(_, c)| c.place.as_deref() == Some(place));
    there.filter(|(id, _)| may(id)).map(|(id, _)| id.clone()).collect()
}

fn movement(iv: &mut Interview<'_>, at: At, who: Who) -> Result<(), Stop> {
    iv.title("Does the gate move?");
    iv.choices(MOVES.iter().map(|m| m.0));
    let help = "A commanded movement needs the whole travel in sight; a hand in the travel needs the gate isolated.";
    let (_, word, moves) = iv.answer(Question::new("1-3:", help), &|text| match text.trim() {
        "1" => Ok(MOVES[0]),
        "2" | "3" if who == Who::Anyone => {
            Err("Whoever moves the gate is a technician at least: answer 1, or Esc and say who does it.".to_owned())
        }
        "2" => Ok(MOVES[1]),
        "3" => Ok(MOVES[2]),
        other => Err(format!("\"{other}\" is not one of the numbers 1 to 3.")),
    })?;
    iv.title("What must hold first");
    let question = Question::new(
        "numbers, 0 for none:",
        "Conditions are brought about before the step, with their own steps, and given back after it.",
    );
    let needs = iv.any_of(question, &NEEDS, &|picked| needs_fit(moves, picked))?;
    let words: Vec<&str> = needs.iter().map(|&n| Condition::ALL[n].id()).collect();
    iv.draft.put(at, Field::new("needs", words_of(&words)));
    iv.draft.put(at, Field::new("moves", Node::Word(word.to_owned())));
    Ok(())
}

fn needs_fit(moves: Moves, picked: &[usize]) -> Result<(), String> {
    let has = |c: Condition| picked.iter().any(|&n| Condition::ALL[n] == c);
    if has(Condition::Powered) && has(Condition::Isolated) {
        return Err("It can't be powered and isolated at once: keep one of the two.".to_owned());
    }
    match moves {
        Moves::Commanded if !(has(Condition::Powered) && has(Condition::HeldOff)) => {
            Err("A commanded movement needs 1 and 3: powered, and nobody else's command can move it.".to_owned())
        }
        Moves::ByHand if !has(Condition::Isolated) => {
            Err("A hand in the travel or the arm needs 2: isolated, proven by a command that moves nothing.".to_owned())
        }
        _ => Ok(()),
    }
}

/// Sites, minutes, tools, kinds of work, cautions, steps.
pub(super) fn work(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    sites(iv, at, "it makes sense")?;
    iv.title("The work");
    let help = "Of the work alone. The way there, covers and conditions have their own minutes.";
    let minutes = iv.number(Question::new("minutes it takes:", help), 0.0, 600.0)?;
    iv.draft.put(at, Field::new("minutes", Node::Word(minutes.to_string())));
    let help = "What must be at hand, such as: multimeter, pull scale. Where it is missing the step is not offered.";
    let tools = iv
        .maybe(Question::new("tools, with commas (Enter for none):", help))?
        .unwrap_or_default();
    let tools: Vec<&str> = tools.split(',').map(str::trim).filter(|t| !t.is_empty()).collect();
    iv.put_words(at, "tools", &tools);
    let question = Question::new(
        "numbers, 0 for none:",
        "The standing cautions for such work are then said with it.",
    );
    iv.say("Is any of this part of it?");
    let tasks = iv.any_of(question, &TASKS.map(|t| t.0), &|_| Ok(()))?;
    let tasks: Vec<&str> = tasks.iter().map(|&n| TASKS[n].1).collect();
    iv.put_words(at, "tasks", &tasks);
    let help = "What to mind that no standing caution says; shown before the steps.";
    let cautions = iv.lines(Question::new("caution", help), 0)?;
    iv.put_lines(at, "cautions", cautions);
    let steps = iv.lines(Question::new("step", "What to do, in order, a sentence a line."), 1)?;
    iv.put_lines(at, "steps", steps);
    Ok(())
}

/// Facts of the site that must hold.
pub(super) fn sites(iv: &mut Interview<'_>, at: At, what: &str) -> Result<(), Stop> {
    iv.title("On which sites");
    iv.say(&format!(
        "Name facts of the site only where {what} on some sites and not on others."
    ));
    let knowledge = iv.knowledge;
    let mut facts = iv.candidates("facts");
    facts.retain(|f| knowledge.facts.get(&f.id).is_some_and(|f| !f.values.is_empty()));
    let mut when = Vec::new();
    while let Picked::One(fact) = iv.pick("fact", &facts, true, false)? {
        let values = &knowledge.facts[&fact.id].values;
        let says: Vec<&str> = values.values().map(|v| v.say.as_str()).collect();
        iv.say(&fact.title);
        let question = Question::new("with which of these, numbers:", "Every value under which it applies.");
        let picked = iv.any_of(question, &says, &|picked| {
            if picked.is_empty() {
                Err("Name one at least.".to_owned())
            } else {
                Ok(())
            }
        })?;
        let ids: Vec<&str> = picked
            .iter()
            .filter_map(|&n| values.get_index(n))
            .map(|(id, _)| id.as_str())
            .collect();
        facts.retain(|f| f.id != fact.id);
        when.push((fact.id, words_of(&ids)));
    }
    if !when.is_empty() {
        iv.draft.put(at, Field::new("when", Node::Short(when)));
    }
    Ok(())
}
