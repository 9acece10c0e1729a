//! A test: who does what where, what is read or seen, what a sound gate shows.

use super::draft::At;
use super::interview::{Interview, Question, Stop};
use super::questions::{kebab, plain_number};
use super::step;
use super::yaml::{Field, Node};
use crate::knowledge::Knowledge;
use crate::knowledge::frequency::distribution;
use crate::knowledge::schema::Who;
use crate::quantity::{Dimension, Unit};

/// A test as far as causes need it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct KnownTest {
    pub(super) id: String,
    pub(super) title: String,
    /// Id of each outcome and what is shown for it.
    pub(super) outcomes: Vec<(String, String)>,
    /// Chance of each on a sound gate.
    pub(super) healthy: Vec<f64>,
}

impl KnownTest {
    /// Of a test that is written already.
    pub(super) fn of(knowledge: &Knowledge, id: &str) -> Option<Self> {
        let test = knowledge.tests.get(id)?;
        let bands = test.bands.iter().map(|(id, b)| (id.clone(), b.say.clone()));
        let seen = test.outcomes.iter().map(|(id, o)| (id.clone(), o.say.clone()));
        let outcomes: Vec<(String, String)> = bands.chain(seen).collect();
        let ids: Vec<&str> = outcomes.iter().map(|(id, _)| id.as_str()).collect();
        let written = test.healthy.iter().map(|(o, f)| (o.as_str(), *f));
        let healthy = distribution(written, &ids, None).ok()?;
        Some(Self {
            id: id.to_owned(),
            title: test.title.clone(),
            outcomes,
            healthy,
        })
    }
}

pub(super) fn ask_alone(iv: &mut Interview<'_>) -> Result<(), Stop> {
    ask(iv).map(|_| ())
}

/// Asks for a test; gives what causes need of it.
pub(super) fn ask(iv: &mut Interview<'_>) -> Result<KnownTest, Stop> {
    iv.title("A new test: something to read, or to see");
    iv.say("Esc goes back one question; ? says what is meant; Ctrl-C leaves and writes nothing.");
    let title = iv.text(Question::new(
        "in one line, what is tested:",
        "Such as: Volts at the bell's terminals",
    ))?;
    let id = iv.id("tests", &title)?;
    let at = iv.draft.begin("tests", &id);
    iv.put_text(at, "title", &title);
    let help = "The question that the technician answers, such as: What does the meter read at the bell's terminals?";
    let question = iv.text(Question::new("the question for the technician:", help))?;
    iv.put_text(at, "ask", &question);
    let who = step::who_and_where(iv, at)?;
    if who == Who::Anyone {
        let help = "In plain words, with where to stand: an untrained caller may be asked this on the phone.";
        let words = iv.text(Question::new("words to read out to a caller:", help))?;
        iv.put_text(at, "caller", &words);
    }
    let help = "A lamp, a code or a count that a reset wipes out is read before other work.";
    if iv.yes(Question::new(
        "does pressing or switching anything wipe it out? (y/n)",
        help,
    ))? {
        iv.draft.put(at, Field::new("first", Node::Word("true".to_owned())));
    }
    step::work(iv, at)?;
    let help = "What a sound gate shows here and why, for whoever does not know it. Enter leaves it out.";
    if let Some(why) = iv.maybe(Question::new("what is healthy, and why (Enter for nothing):", help))? {
        iv.put_text(at, "why", &why);
    }
    iv.title("What comes of it");
    let kinds = ["A number that is read", "Something that is seen, heard or asked"];
    let number = iv.one_of(
        Question::new("1 or 2:", "A number is judged by limits; anything else is a choice."),
        &kinds,
    )? == 0;
    let outcomes = if number { numbers(iv, at)? } else { seen(iv, at)? };
    let healthy = sound(iv, at, &outcomes)?;
    let source = iv.source()?;
    iv.put_text(at, "source", &source);
    let done = KnownTest {
        id,
        title,
        outcomes,
        healthy,
    };
    iv.new_tests.push(done.clone());
    Ok(done)
}

/// One reading with its bands.
fn numbers(iv: &mut Interview<'_>, at: At) -> Result<Vec<(String, String)>, Stop> {
    let (unit, written) = iv.answer(
        Question::new("unit (V, A, ohm, mm, s, N …):", &format!("One of {}.", Unit::list())),
        &|text| {
            let unit = Unit::parse(text).map(|unit| (unit, text.trim().to_owned()));
            unit.ok_or_else(|| format!("\"{}\" is no unit here: {}.", text.trim(), Unit::list()))
        },
    )?;
    let help = "A reading outside is questioned, because it is probably a slip. Such as: 0 60";
    let range = iv.answer(
        Question::new("lowest and highest to believe (Enter for any):", help),
        &|text| {
            let limits = numbers_in(text)?;
            match limits.as_slice() {
                [] => Ok(None),
                [low, high] if low < high => Ok(Some([*low, *high])),
                _ => Err("Two numbers, the lower first, such as: 0 60".to_owned()),
            }
        },
    )?;
    let suffix = unit.suffix();
    let help = "Where one answer ends and the next begins. Two numbers make three answers. Such as: 11.5 12.4";
    let limits = iv.answer(
        Question::new("limits between the answers, lowest first:", help),
        &|text| {
            let limits = numbers_in(text)?;
            if limits.is_empty() || limits.windows(2).any(|w| w[0] >= w[1]) {
                return Err("One number at least, each larger than the one before.".to_owned());
            }
            let inside = |x: &f64| range.is_none_or(|[low, high]| low < *x && *x < high);
            match limits.iter().find(|x| !inside(x)) {
                Some(x) => Err(format!("{x} is outside what is to be believed.")),
                None => Ok(limits),
            }
        },
    )?;
    let mut outcomes: Vec<(String, String)> = Vec::new();
    let mut bands = Vec::new();
    for i in 0..=limits.len() {
        let from = i.checked_sub(1).map(|i| limits[i]);
        let below = limits.get(i).copied();
        let prompt = match (from, below) {
            (None, Some(below)) => format!("below {below}{suffix} is called:"),
            (Some(from), Some(below)) => format!("{from} to {below}{suffix} is called:"),
            (Some(from), None) => format!("{from}{suffix} or more is called:"),
            (None, None) => "it is called:".to_owned(),
        };
        let say = iv.text(Question::new(
            &prompt,
            "A word or two, such as: flat, part charged, charged",
        ))?;
        let id = new_outcome(&outcomes, &say);
        let mut band = vec![("say".to_owned(), Node::Text(say.clone()))];
        let mut limit = |key: &str, x: Option<f64>| {
            if let Some(x) = x {
                band.push((key.to_owned(), Node::Word(x.to_string())));
            }
        };
        limit("from", from);
        limit("below", below);
        bands.push(Field::new(id.clone(), Node::Short(band)));
        outcomes.push((id, say));
    }
    let mut reading = vec![("unit".to_owned(), Node::Text(written))];
    if let Some([low, high]) = range {
        let limits = [low, high].map(|x| Node::Word(x.to_string()));
        reading.push(("range".to_owned(), Node::List(limits.to_vec())));
    }
    if unit.dimension() == Dimension::RESISTANCE {
        let mut choices: Vec<&str> = outcomes.iter().map(|(_, say)| say.as_str()).collect();
        choices.push("none of these");
        iv.say("The meter shows OL:");
        let n = iv.one_of(
            Question::new("which is that:", "On ohms OL is usually an open circuit."),
            &choices,
        )?;
        if let Some((id, _)) = outcomes.get(n) {
            reading.push(("ol".to_owned(), Node::Text(id.clone())));
        }
    }
    let readings = vec![(reading_name(unit).to_owned(), Node::Short(reading))];
    let comment = "further readings may stand here, with `value:` for the formula that makes one number of them";
    iv.draft
        .put(at, Field::new("readings", Node::Short(readings)).saying(comment));
    let comment = "they meet without gap or overlap: `from` belongs to a band, `below` does not";
    iv.draft.put(at, Field::new("bands", Node::Map(bands)).saying(comment));
    Ok(outcomes)
}

fn reading_name(unit: Unit) -> &'static str {
    match unit {
        Unit::Volt | Unit::Millivolt => "volts",
        Unit::Ampere | Unit::Milliampere => "amps",
        Unit::Ohm | Unit::Kilohm | Unit::Megohm => "ohms",
        Unit::Second | Unit::Minute | Unit::Hour => "time",
        Unit::Newton | Unit::PoundForce => "force",
        _ => "reading",
    }
}

/// What may be seen.
fn seen(iv: &mut Interview<'_>, at: At) -> Result<Vec<(String, String)>, Stop> {
    let help = "Everything that may be seen there, each in a few words, two at least. Such as: Lamp is lit";
    let says = iv.lines(Question::new("may be seen", help), 2)?;
    let mut outcomes: Vec<(String, String)> = Vec::new();
    let mut fields = Vec::new();
    for say in says {
        let id = new_outcome(&outcomes, &say);
        let entry = Node::Short(vec![("say".to_owned(), Node::Text(say.clone()))]);
        fields.push(Field::new(id.clone(), entry));
        outcomes.push((id, say));
    }
    iv.draft.put(at, Field::new("outcomes", Node::Map(fields)));
    Ok(outcomes)
}

/// An id for an outcome that no other of the test has.
fn new_outcome(others: &[(String, String)], say: &str) -> String {
    let base = match kebab(say) {
        empty if empty.is_empty() => "outcome".to_owned(),
        id => id,
    };
    let taken = |id: &str| others.iter().any(|(other, _)| other == id);
    let numbered = (2..).map(|n| format!("{base}-{n}"));
    let free = std::iter::once(base.clone()).chain(numbered).find(|id| !taken(id));
    free.unwrap_or(base)
}

/// What a sound gate shows.
fn sound(iv: &mut Interview<'_>, at: At, outcomes: &[(String, String)]) -> Result<Vec<f64>, Stop> {
    iv.title("A gate with nothing wrong");
    let says: Vec<&str> = outcomes.iter().map(|(_, say)| say.as_str()).collect();
    let normal = iv.one_of(
        Question::new("which of these does it show:", "The one that means: nothing here."),
        &says,
    )?;
    iv.scale();
    let help = "Of a hundred sound gates, how many show it? What is left is shared by the other answers.";
    let read = |text: &str| {
        let (frequency, node) = super::questions::read_frequency(text)?;
        if frequency.chance < 0.5 {
            return Err("A sound gate shows it half the time at least, or it is not the normal answer.".to_owned());
        }
        Ok((frequency, node))
    };
    let (frequency, node) = iv.answer(Question::new("how often does a sound gate show it:", help), &read)?;
    let ids: Vec<&str> = outcomes.iter().map(|(id, _)| id.as_str()).collect();
    let healthy = distribution(std::iter::once((ids[normal], frequency)), &ids, None);
    let comment = "on a gate with nothing wrong that bears on it; the others share what is left";
    let field = Field::new("healthy", Node::Short(vec![(ids[normal].to_owned(), node)])).saying(comment);
    iv.draft.put(at, field);
    Ok(healthy.unwrap_or_else(|_| vec![1.0 / ids.len() as f64; ids.len()]))
}

fn numbers_in(text: &str) -> Result<Vec<f64>, String> {
    let words = text.split([' ', ';']).filter(|w| !w.is_empty());
    words.map(|w| plain_number(w, -1e9, 1e9)).collect()
}
