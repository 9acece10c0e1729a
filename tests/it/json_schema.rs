//! The generated JSON Schema takes every YAML file of ours and refuses what a schema can know to be wrong.

use std::path::{Path, PathBuf};

use jsonschema::Validator;
use pintle::knowledge::json_schema::{case_file, pack_file};
use serde_json::Value;

fn validators() -> (Validator, Validator) {
    let compiled = |schema: &Value| {
        jsonschema::meta::validate(schema).expect("a schema by its own rules");
        jsonschema::draft202012::new(schema).expect("a schema")
    };
    (compiled(&pack_file()), compiled(&case_file()))
}

fn yaml_below(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            yaml_below(&path, found);
        } else if path.extension().is_some_and(|e| e == "yaml") {
            found.push(path);
        }
    }
}

fn value(path: &Path) -> Value {
    let text = std::fs::read_to_string(path).expect("text");
    serde_json::to_value(serde_yaml::from_str::<serde_yaml::Value>(&text).expect("YAML")).expect("keys are text")
}

fn problems(validator: &Validator, value: &Value) -> Vec<String> {
    let problems = validator.iter_errors(value);
    problems.map(|e| format!("{}: {e}", e.instance_path())).collect()
}

#[test]
fn every_file_of_ours_is_as_the_schema_says() {
    let (pack, case) = validators();
    let mut files = Vec::new();
    for folder in ["knowledge", "examples", "tests/packs/invalid/base.yaml"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        if path.is_dir() {
            yaml_below(&path, &mut files);
        } else {
            files.push(path);
        }
    }
    assert!(files.len() > 90, "{}", files.len());
    for file in files {
        let is_case = file
            .components()
            .any(|c| c.as_os_str() == "cases" || c.as_os_str() == "drills");
        let found = problems(if is_case { &case } else { &pack }, &value(&file));
        assert!(found.is_empty(), "{}: {found:#?}", file.display());
    }
}

/// Which fixtures of wrong entries a schema can know to be wrong: not what depends on other fields, entries or packs.
const BAD_ENTRIES: [(&str, bool); 4] = [
    ("misspelt-field.yaml", true),
    ("when-never.yaml", true),
    ("brings-itself-on.yaml", false),
    ("fact-without-values.yaml", false),
];

#[test]
fn wrong_entries_fail_where_a_schema_can_know() {
    let (pack, _) = validators();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/packs/invalid/bad-entry");
    let mut files = Vec::new();
    yaml_below(&folder, &mut files);
    for file in files {
        let name = file.file_name().and_then(|n| n.to_str()).expect("a name");
        let known = BAD_ENTRIES.iter().find(|(listed, _)| *listed == name);
        let (_, fails) = known.expect("every fixture is in the table");
        let found = problems(&pack, &value(&file));
        assert_eq!(found.is_empty(), !fails, "{name}: {found:#?}");
    }
}

#[test]
fn what_is_read_by_hand_written_code_is_described_as_it_is_read() {
    let (pack, case) = validators();
    let judge = |validator: &Validator, yaml: &str| {
        let value: serde_yaml::Value = serde_yaml::from_str(yaml).expect("YAML");
        problems(validator, &serde_json::to_value(value).expect("keys are text")).is_empty()
    };
    let chance = |chance: &str| judge(&pack, &format!("causes: {{a: {{symptoms: {{b: {chance}}}}}}}"));
    assert!(["often", "never", "0", "1", "0.25"].into_iter().all(chance));
    assert!(!["mostly", "1.5", "-1", "[often]"].into_iter().any(chance));
    let unit = |unit: &str| {
        judge(
            &pack,
            &format!("facts: {{a: {{number: {{unit: {unit}, range: [0, 1]}}}}}}"),
        )
    };
    assert!(["V", "ohm", "1", "'%'", "volts"].into_iter().all(unit));
    assert!(!["parsec", "2", "[V]"].into_iter().any(unit));
    assert!(
        !judge(&pack, "facts: {a: {number: {unit: V, range: [0]}}}"),
        "two limits"
    );
    assert!(!judge(&pack, "tests: {Upper Case: {}}"), "ids are kebab-case");
    assert!(
        !judge(&pack, "causes: {a: {repair: {minutes: 1}}}"),
        "a repair block is whole"
    );
    let whole = "title: t\nsays: []\nsymptoms: []\ncauses: []\nsource: s\n";
    assert!(judge(
        &case,
        &format!("{whole}site: {{volts: 24, kind: old, loop: yes}}")
    ));
    assert!(judge(
        &case,
        &format!("{whole}readings: {{a: cannot, b: {{volts: 1.5}}}}")
    ));
    assert!(!judge(&case, &format!("{whole}readings: {{a: {{volts: [1]}}}}")));
    assert!(!judge(&case, "title: t\n"), "a case is whole");
}
