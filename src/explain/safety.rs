//! What is of safety: hazard signs, standing cautions, retest lines; and codes, which are read like signs.

use super::step::{severity, sites, steps_that};
use super::{Block, Ref, cause_ref, refs, test_ref, text};
use crate::call::Engine;
use crate::knowledge::schema::tasks_of;

pub(super) fn sign(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let sign = engine.knowledge.signs.get(id)?;
    let mut out = Vec::new();
    text(&mut out, "danger", severity(sign.severity));
    out.extend(sign.act.iter().map(|line| Block::Caution { text: line.clone() }));
    Some(out)
}

pub(super) fn standing(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let standing = engine.knowledge.standing.get(id)?;
    let mut out = vec![Block::Caution {
        text: standing.text.clone(),
    }];
    let attached = steps_that(engine, |s| {
        standing.attaches(s.place, &tasks_of(s.tasks, s.moves, s.inside.is_some()))
    });
    refs(&mut out, "said with", attached);
    text(&mut out, "source", &standing.source);
    Some(out)
}

pub(super) fn retest(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let line = k.retest.get(id)?;
    let mut out = Vec::new();
    text(&mut out, "ask", &line.ask);
    text(&mut out, "sites", &sites(engine, &line.when));
    if !line.steps.is_empty() {
        out.push(Block::Steps {
            steps: line.steps.clone(),
        });
    }
    let failing = k.causes.iter().filter(|(_, c)| c.fails.iter().any(|l| l == id));
    refs(&mut out, "failed by", failing.map(|(c, _)| cause_ref(k, c)).collect());
    text(&mut out, "source", &line.source);
    Some(out)
}

pub(super) fn kit(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let piece = engine.knowledge.kit.get(id)?;
    let mut out = Vec::new();
    text(&mut out, "covers", &piece.covers.join("; "));
    text(&mut out, "sites", &sites(engine, &piece.when));
    text(&mut out, "source", &piece.source);
    Some(out)
}

pub(super) fn shortcut(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let shortcut = k.shortcuts.get(id)?;
    let mut out = vec![Block::Caution {
        text: "Never done: only put before a trainee, among everything else.".to_owned(),
    }];
    text(&mut out, "could", &shortcut.could);
    text(&mut out, "rule", &shortcut.rule);
    text(&mut out, "danger", severity(shortcut.severity));
    text(&mut out, "sites", &sites(engine, &shortcut.when));
    let symptom = |s: &String| Ref::plain("symptoms", s, k.symptoms.get(s).map_or(s.as_str(), |s| &s.title));
    let line = |l: &String| Ref::plain("retest", l, k.retest.get(l).map_or(l.as_str(), |l| &l.title));
    refs(&mut out, "tempting", shortcut.symptoms.iter().map(symptom).collect());
    refs(&mut out, "at retest", shortcut.at_retest.iter().map(line).collect());
    refs(&mut out, "hides", shortcut.hides.iter().map(symptom).collect());
    refs(&mut out, "fails", shortcut.fails.iter().map(line).collect());
    text(&mut out, "source", &shortcut.source);
    Some(out)
}

pub(super) fn code(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let tables = super::find::codes(k);
    let (table, code) = tables.iter().find_map(|(_, t)| Some((t, t.entries.get(id)?)))?;
    let mut out = Vec::new();
    refs(&mut out, "read with", vec![test_ref(k, &table.test)]);
    let causes = code.causes.iter().map(|(c, f)| cause_ref(k, c).share(f.chance));
    refs(&mut out, "shown by", causes.collect());
    Some(out)
}
