//! Printable pages: templates that escape what they are given, the style they share, and what stands at their head.
//!
//! A page is one file: no script, nothing fetched from anywhere, readable in black and white.

use clap::ValueEnum;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value};
use serde::Serialize;

/// What a page is printed on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 × 297 mm, ISO 216.
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// What stands at the head of a page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Letterhead {
    /// Who did the work; a line to write on where left out.
    pub company: Option<String>,
    /// What the page is printed on.
    pub paper: Paper,
    /// What the call is kept under, so that it can be found again.
    pub call: Option<String>,
}

/// A template by its name and its text.
pub(crate) type Template = (&'static str, &'static str);

/// An environment that refuses what is not there and escapes for HTML, with the style that all pages share as `page.css`.
///
/// # Errors
/// When a template can't be read, which is a fault of the program.
pub(crate) fn environment(templates: &[Template]) -> Result<Environment<'static>, minijinja::Error> {
    let mut env = Environment::new();
    env.set_undefined_behavior(UndefinedBehavior::Strict);
    env.set_auto_escape_callback(|_| AutoEscape::Html);
    env.add_template("page.css", include_str!("templates/page.css.jinja"))?;
    for (name, text) in templates {
        env.add_template(name, text)?;
    }
    Ok(env)
}

/// Fills the template of that name.
///
/// # Errors
/// When it can't be filled, which is a fault of the program.
pub(crate) fn render(name: &'static str, text: &'static str, context: Value) -> Result<String, minijinja::Error> {
    environment(&[(name, text)])?.get_template(name)?.render(context)
}
