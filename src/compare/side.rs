//! One version of the knowledge.

use std::path::Path;

use crate::call::{Engine, check_cases};
use crate::finding::Finding;
use crate::knowledge::{Knowledge, PackText, WithCases, built_in_text, load};

/// The word that names the knowledge in the program itself.
pub const BUILT_IN: &str = "built-in";

/// A version: its packs as text, and compiled.
#[derive(Debug)]
pub struct Side {
    /// The packs, first to last.
    pub packs: Vec<PackText>,
    /// Compiled.
    pub engine: Engine,
    /// What the names of the files of each pack begin with.
    roots: Vec<String>,
}

impl Side {
    /// Reads a version: the built-in knowledge, a whole knowledge (a folder that carries the built-in pack's own id), or a pack
    /// laid over the built-in one.
    ///
    /// # Errors
    /// Everything that is wrong with it, warnings too, with the knowledge to show it by, when some of it is an error.
    pub fn read(name: &str) -> Result<Self, Box<(Knowledge, Vec<Finding>)>> {
        let (mut packs, mut roots) = (Vec::new(), Vec::new());
        let built_in = built_in_text(WithCases::Yes);
        let own = (name != BUILT_IN).then(|| PackText::read(Path::new(name)));
        let whole = own.as_ref().is_some_and(|own| own.id() == built_in.id());
        if !whole {
            packs.push(built_in);
            roots.push("knowledge/".to_owned());
        }
        if let Some(own) = own {
            packs.push(own);
            roots.push(format!("{}/", name.trim_end_matches('/')));
        }
        let (knowledge, mut findings) = load(packs.clone(), WithCases::Yes);
        findings.extend(crate::knowledge::check::check(&knowledge));
        findings.extend(check_cases(&knowledge));
        if findings.iter().any(|f| f.level() == crate::finding::Level::Error) {
            let findings = crate::knowledge::check::sorted(&knowledge, findings);
            return Err(Box::new((knowledge, findings)));
        }
        Ok(Self {
            packs,
            engine: Engine::new(knowledge),
            roots,
        })
    }

    /// The name of a file without the folder of its pack, so that two versions in two folders have the same names.
    #[must_use]
    pub fn short_name(&self, file: usize) -> String {
        let Some(file) = self.engine.knowledge.sources.files.get(file) else {
            return String::new();
        };
        let root = self.roots.get(file.pack).map_or("", String::as_str);
        file.name.strip_prefix(root).unwrap_or(&file.name).to_owned()
    }
}
