//! `pintle ahead`: the decision graph from a symptom, as far as walks are likely to get.

use std::io::Write;

use super::{CommandError, Exit, Packs, site_of, symptom_named};
use crate::belief::Evidence;
use crate::call::Engine;
use crate::knowledge::WithCases;
use crate::plan::{Action, DecisionGraph, Situation, Way};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle ahead`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The symptom: its id
    pub symptom: String,
    /// A fact of the site, such as gate-type=swing; may be given several times
    #[arg(long = "fact", value_name = "FACT=VALUE")]
    pub facts: Vec<String>,
    /// Situations that fewer walks than this share reach are left out
    #[arg(long, default_value_t = 0.05)]
    pub reach: f64,
    /// Most situations
    #[arg(long, default_value_t = 40)]
    pub most: usize,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// Runs it.
///
/// # Errors
/// When the knowledge has errors, the symptom or a fact is unknown, or the output can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine_on(&settings.terms(), settings, WithCases::No)?;
    let symptom = symptom_named(&engine, &args.symptom)?;
    let mut start = Situation::starting(Evidence::reported(vec![symptom]));
    start.site = site_of(&engine, &args.facts)?;
    let planner = engine.planner();
    let mut graph = DecisionGraph::new(&planner);
    let (root, inside) = graph.compile(&start, args.reach, args.most);
    writeln!(out, "{}", style.strong(&engine.knowledge.symptoms[&args.symptom].title))?;
    let mut outline = Outline {
        engine: &engine,
        graph: &graph,
        style,
        seen: Vec::new(),
        out,
    };
    outline.node(root, 0, "")?;
    writeln!(
        out,
        "{} situations; {:.0} % of the walks end among them.",
        graph.len(),
        inside * 100.0
    )?;
    Ok(Exit::Ok)
}

/// The graph as indented lines; a situation reached twice is shown once and named again.
struct Outline<'a, 'g> {
    engine: &'a Engine,
    graph: &'a DecisionGraph<'g>,
    style: &'a Style,
    seen: Vec<petgraph::stable_graph::NodeIndex>,
    out: &'a mut dyn Write,
}

impl Outline<'_, '_> {
    fn node(&mut self, node: petgraph::stable_graph::NodeIndex, depth: usize, way: &str) -> Result<(), CommandError> {
        let content = self.graph.get(node);
        let again = self.seen.contains(&node);
        let number = self.seen.iter().position(|n| *n == node).unwrap_or(self.seen.len()) + 1;
        let title = self.title(content.choice.action);
        let indent = "  ".repeat(depth);
        let text = if again {
            format!("{indent}{way}go on at [{number}]")
        } else {
            format!(
                "{indent}{way}[{number}] {title}  ({:.0} % of walks, {:.0} min to go)",
                content.reach * 100.0,
                content.choice.cost
            )
        };
        let options = textwrap::Options::new(self.style.width).subsequent_indent(&indent);
        for line in textwrap::wrap(&text, options) {
            writeln!(self.out, "{line}")?;
        }
        if again {
            return Ok(());
        }
        self.seen.push(node);
        let action = content.choice.action;
        for (way, chance, next) in self.graph.ways(node) {
            let label = format!("{} ({:.0} %): ", self.way(action, &way), chance * 100.0);
            self.node(next, depth + 1, &label)?;
        }
        Ok(())
    }

    fn title(&self, action: Action) -> String {
        match (action, action.entry_title(&self.engine.knowledge)) {
            (Action::Repair(_), Some(title)) => format!("repair: {title}"),
            (_, Some(title)) => title.to_owned(),
            (Action::NoFaultFound, None) => "run and watch; no fault found".to_owned(),
            (_, None) => "refer".to_owned(),
        }
    }

    fn way(&self, action: Action, way: &Way) -> String {
        let knowledge = &self.engine.knowledge;
        match (action, way) {
            (Action::Test(t), Way::Outcome(o)) => {
                let test = &knowledge.tests[t.index()];
                let band = test.bands.get_index(*o).map(|(_, b)| b.say.clone());
                band.or_else(|| test.outcomes.get_index(*o).map(|(_, o)| o.say.clone()))
                    .unwrap_or_default()
            }
            (Action::Fact(f), Way::Value(v)) => knowledge.facts[f.index()]
                .values
                .get_index(*v)
                .map(|(_, v)| v.say.clone())
                .unwrap_or_default(),
            _ => "still there".to_owned(),
        }
    }
}
