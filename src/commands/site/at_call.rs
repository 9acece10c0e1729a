//! What a site file does for a call: its opening, and what is kept at the end.

use std::io::{IsTerminal as _, Write};

use super::{left, today, today_text};
use crate::author::{Ask as _, Show, Stop};
use crate::call::{Call, Entry, Event};
use crate::commands::report::put;
use crate::commands::{CommandError, clock};
use crate::knowledge::schema::Each;
use crate::report::plain_text;
use crate::site::{Offer, Protection, SiteFile, Store, Travel, Typed, Visit, earlier, events, keep, offers, visits};
use crate::terminal::{Author, ShownVisit, Style, Taken, known_site, offer_page, visit_lines};

/// Visits that are shown before the first question.
const SHOWN: usize = 3;

/// Name of the site that a call was opened for.
#[must_use]
pub(in crate::commands) fn site_of_call<'c>(call: &'c Call<'_>) -> Option<&'c str> {
    call.entries.iter().find_map(|e| match &e.event {
        Event::Opened { site, .. } => site.as_deref(),
        _ => None,
    })
}

/// Records what the site file says, and shows it with the last visits; a complaint from now on may be a callback.
///
/// # Errors
/// When the file is damaged, or the journal can't be written.
pub(in crate::commands) fn open(
    call: &mut Call<'_>,
    id: &str,
    (store, calls): (&Store, &std::path::Path),
    style: &Style,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let Some(name) = site_of_call(call).map(str::to_owned) else {
        return Ok(());
    };
    let all = know_visits(call, id, calls);
    let shown: Vec<ShownVisit<'_>> = all
        .iter()
        .rev()
        .take(SHOWN)
        .map(|visit| ShownVisit {
            cause: visit.cause(call.engine),
            visit,
        })
        .collect();
    if !store.has(&name) {
        let mut text = format!(
            "There is no site file for {} yet; `pintle site new` makes one.\n",
            plain_text(&name)
        );
        if !shown.is_empty() {
            text += "Last visits:\n";
            text += &visit_lines(&shown, style);
        }
        return put(out, &style.signs(text));
    }
    let site = store.load(&name)?;
    let mut taken = Taken::default();
    for event in events(&site, &call.engine.knowledge, today()) {
        match &event {
            Event::Fact { .. } => taken.facts += 1,
            Event::Remembered { .. } => taken.again += 1,
            Event::Baseline { .. } => taken.baselines += 1,
            _ => {}
        }
        call.record(Entry { time: clock(), event })?;
    }
    put(out, &style.signs(known_site(&site, &taken, &shown, style)))
}

/// Tells a call of the earlier ones at its site, so that it can be a callback of one.
pub(in crate::commands) fn know_visits(call: &mut Call<'_>, id: &str, calls: &std::path::Path) -> Vec<Visit> {
    let Some(name) = site_of_call(call) else {
        return Vec::new();
    };
    let all = visits(call.engine, calls, name, Some(id));
    call.know_earlier(earlier(&all));
    all
}

/// A new site file with what a call learnt of its site.
pub(in crate::commands) fn file_from(call: &Call<'_>, name: &str) -> SiteFile {
    let mut site = SiteFile {
        name: plain_text(name),
        updated: Some(today_text()),
        ..SiteFile::default()
    };
    site.facts.extend(lasting(call));
    // "by the left post, 18 in: stopped it at three places": what stands before the colon is where it is.
    let places = |each| retested(call, each).filter_map(|text| text.split_once(':'));
    let where_it_is = |each| places(each).map(|(place, _)| plain_text(place)).collect::<Vec<_>>();
    site.eyes = where_it_is(Each::Eye);
    site.edges = where_it_is(Each::Edge);
    for (each, travel) in [
        (Each::ClosingPlace, Travel::Closing),
        (Each::OpeningPlace, Travel::Opening),
    ] {
        site.protection.extend(places(each).map(|(place, by)| Protection {
            travel,
            place: plain_text(place),
            by: plain_text(by),
        }));
    }
    site
}

/// What was written of each device or place when the retest was done.
fn retested<'c>(call: &'c Call<'_>, each: Each) -> impl Iterator<Item = &'c str> + 'c {
    let lines = call
        .engine
        .knowledge
        .retest
        .iter()
        .filter(move |(_, line)| line.each == Some(each));
    lines.flat_map(|(id, _)| call.retested(id)).map(|one| one.what.as_str())
}

/// Facts that a call was told and that last longer than a day.
fn lasting<'c>(call: &'c Call<'_>) -> impl Iterator<Item = (String, Typed)> + 'c {
    let facts = &call.engine.knowledge.facts;
    call.situation()
        .site
        .iter()
        .filter(|(id, _)| facts.get(*id).is_some_and(|f| !f.of_the_moment))
        .map(|(id, value)| (id.to_owned(), Typed(value.to_owned())))
}

/// At the end of a call: asks once what is to be kept, readings as baselines and what was found to be otherwise than the file says.
///
/// # Errors
/// When the file is damaged or can't be written.
pub(in crate::commands) fn close(
    call: &Call<'_>,
    id: &str,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let Some(name) = site_of_call(call) else {
        return Ok(());
    };
    let offers = offers(call, id);
    let new = !store.has(name);
    let mut site = if new { file_from(call, name) } else { store.load(name)? };
    let changed: Vec<(String, Typed)> = lasting(call)
        .filter(|(id, value)| site.facts.get(id) != Some(value))
        .collect();
    if !std::io::stdin().is_terminal() || (offers.is_empty() && changed.is_empty() && (!new || site.facts.is_empty())) {
        return Ok(());
    }
    let before = site.clone();
    let asked = {
        let mut ask = Author::new(*style, &mut *out);
        keep_some(&mut ask, call, &mut site, (offers, changed), new)
    };
    match asked {
        Ok(true) if new => put(out, &format!("Written: {}\n", store.create(&site)?.display())),
        Ok(true) if site != before => put(out, &format!("Written: {}\n", store.replace(&site)?.display())),
        Ok(_) => Ok(()),
        // The call is on disk; leaving this question loses nothing of it.
        Err(Stop::Interrupted) => put(out, "Nothing is kept in the site file.\n"),
        Err(stop) => Err(left(&stop)),
    }
}

/// Whether anything is to be written.
fn keep_some(
    ask: &mut Author<'_>,
    call: &Call<'_>,
    site: &mut SiteFile,
    (offers, changed): (Vec<Offer>, Vec<(String, Typed)>),
    new: bool,
) -> Result<bool, Stop> {
    let mut write = false;
    if !offers.is_empty() {
        let page = offer_page(&site.name, &offers, ask.style());
        ask.show(Show::AsItIs(&page));
        let picked = numbers(ask, "1 all, 0 none, or numbers:", offers.len() + 1)?;
        let all = picked.contains(&1);
        let chosen = offers
            .into_iter()
            .enumerate()
            .filter(|(i, _)| all || picked.contains(&(i + 2)));
        let chosen: Vec<Offer> = chosen.map(|(_, offer)| offer).collect();
        if !chosen.is_empty() {
            write = true;
            let meter = ask
                .line("meter (Enter: not written down):", "")?
                .filter(|m| !m.is_empty());
            for mut offer in chosen {
                if offer.judges && offer.kept.of.is_none() {
                    let prompt = "of which: opening, closing, a loop, a leaf (Enter: there is only one):";
                    ask.show(Show::Text(&crate::terminal::offer_line(&offer)));
                    offer.kept.of = ask.line(prompt, "")?.filter(|of| !of.is_empty());
                }
                offer.kept.meter.clone_from(&meter);
                keep(site, offer.kept);
            }
        }
    }
    if new {
        if write {
            return Ok(true);
        }
        let question = format!("There is no site file for {} yet. Make one from this call?", site.name);
        return yes(ask, &question);
    }
    if !changed.is_empty() {
        ask.show(Show::Text("Found at this call, and not so in the site file:"));
        for (id, value) in &changed {
            let fact = call.engine.knowledge.facts.get(id);
            let question = fact.map_or(id.as_str(), |f| f.ask.as_str());
            let say = fact
                .and_then(|f| f.values.get(&value.0))
                .map_or(value.0.as_str(), |v| &v.say);
            ask.show(Show::Text(&format!("  {question} {say}")));
        }
        if yes(ask, "Write that into the site file?")? {
            site.facts.extend(changed);
            site.updated = Some(today_text());
            write = true;
        }
    }
    Ok(write)
}

fn yes(ask: &mut Author<'_>, question: &str) -> Result<bool, Stop> {
    ask.show(Show::Text(question));
    Ok(numbers(ask, "1 yes, 0 no:", 1)? == [1])
}

/// Numbers in one line; none for 0, an empty line or back.
fn numbers(ask: &mut Author<'_>, prompt: &str, most: usize) -> Result<Vec<usize>, Stop> {
    let mut typed = String::new();
    loop {
        let Some(text) = ask.line(prompt, &typed)? else {
            return Ok(Vec::new());
        };
        let words = text.split([' ', ',']).filter(|w| !w.is_empty() && *w != "0");
        let read: Result<Vec<usize>, &str> = words
            .map(|w| w.parse().ok().filter(|n| (1..=most).contains(n)).ok_or(w))
            .collect();
        match read {
            Ok(numbers) => return Ok(numbers),
            Err(word) => {
                ask.show(Show::Problem(&format!(
                    "\"{word}\" is not one of the numbers 0 to {most}"
                )));
                typed.clone_from(&text);
            }
        }
    }
}
