//! Where an entry is written, and which file won where several have a part in it.

use serde::Serialize;
use serde_yaml::Value;

use crate::finding::Location;
use crate::knowledge::Knowledge;

/// A file's part in an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Part {
    /// The file.
    pub file: String,
    /// Line of the entry's id.
    pub line: usize,
    /// Title of the pack.
    pub pack: String,
    /// Fields that stand as this file has them; empty where it is the only file.
    pub won: Vec<String>,
    /// Fields that a later pack has overwritten.
    pub lost: Vec<String>,
}

/// The files of an entry, first to last.
pub(super) fn parts(k: &Knowledge, section: &'static str, id: &str) -> Vec<Part> {
    let places: Vec<(usize, Vec<String>)> = if section == "codes" {
        let tables = super::find::codes(k)
            .into_iter()
            .filter(|(_, c)| c.entries.contains_key(id));
        let path = ["codes", "entries", id].map(str::to_owned).to_vec();
        tables.map(|(file, _)| (file, path.clone())).collect()
    } else {
        let path = k.locate(section, id, &[]).path;
        let files = k.origins.files(section, id);
        // A file of the cause that says nothing of the repair inside it has no part in that.
        let has_part = |file: &&usize| k.sources.depth(**file, &path) == path.len();
        files
            .iter()
            .filter(has_part)
            .map(|&file| (file, path.clone()))
            .collect()
    };
    let fields: Vec<Vec<String>> = places.iter().map(|(file, path)| fields(k, *file, path)).collect();
    let part = |(at, (file, path)): (usize, &(usize, Vec<String>))| {
        let later = |field: &String| fields[at + 1..].iter().any(|f| f.contains(field));
        // Cautions of every pack stand: they add up.
        let (lost, won): (Vec<String>, Vec<String>) =
            fields[at].iter().cloned().partition(|f| later(f) && f != "cautions");
        let line = k.sources.position(&Location::new(*file, path.clone()).on_key()).line;
        Part {
            file: k.sources.files[*file].name.clone(),
            line,
            pack: pack_title(k, *file),
            won: if places.len() > 1 { won } else { Vec::new() },
            lost,
        }
    };
    places.iter().enumerate().map(part).collect()
}

/// The fields that a file writes of an entry.
fn fields(k: &Knowledge, file: usize, path: &[String]) -> Vec<String> {
    let parsed = serde_yaml::from_str::<Value>(&k.sources.files[file].text).ok();
    let inner = path
        .iter()
        .try_fold(parsed.as_ref(), |value, key| Some(value?.get(key.as_str())))
        .flatten();
    let keys = inner.and_then(Value::as_mapping).map(|map| map.keys());
    keys.map(|keys| keys.filter_map(Value::as_str).map(str::to_owned).collect())
        .unwrap_or_default()
}

/// The title of the pack that a file belongs to.
fn pack_title(k: &Knowledge, file: usize) -> String {
    let pack = k.sources.files[file].pack;
    let mut of_pack = k.sources.files.iter().filter(|f| f.pack == pack);
    let title = of_pack.find_map(|f| {
        if !f.text.lines().any(|l| l.starts_with("pack:")) {
            return None;
        }
        let value = serde_yaml::from_str::<Value>(&f.text).ok()?;
        Some(value.get("pack")?.get("title")?.as_str()?.to_owned())
    });
    title.unwrap_or_else(|| "a pack without a title".to_owned())
}
