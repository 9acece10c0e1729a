//! Two versions of a small whole knowledge, and cases played from folders.

use std::path::Path;

use pintle::compare::{BUILT_IN, Side};

use super::pty::pintle;

const PACK: &str = "pack: {id: built-in, title: A small knowledge, settings: {not-listed: 0.01, nothing-wrong: 0, pairs: false, refer-minutes: 100}}
symptoms:
  dead: {title: It is dead, says: [dead], gone: Does it work now?, source: s}
tests:
  lamp: {title: The lamp, ask: Is it lit?, minutes: 1, outcomes: {lit: {say: lit}, dark: {say: dark}}, healthy: {lit: 0.95, dark: 0.05}, source: s}
causes:
  fuse:
    title: Fuse blown
    rate: 10
    severity: none
    symptoms: {dead: always}
    shows: {lamp: {dark: 0.95, lit: 0.05}}
    repair: {title: New fuse, minutes: 5}
    source: s
  motor:
    title: Motor burnt
    rate: 8
    severity: none
    symptoms: {dead: always}
    shows: {lamp: {lit: 0.9, dark: 0.1}}
    repair: {title: New motor, minutes: 40}
    source: s
";

const CASE: &str = "title: A fuse gone
says: [dead]
symptoms: [dead]
causes: [fuse]
readings: {lamp: dark}
expect: {ending: fixed, max-steps: 2}
source: s
";

/// A knowledge folder with one case.
fn folder(at: &Path, name: &str, pack: &str, case: &str) -> String {
    let folder = at.join(name);
    std::fs::create_dir_all(folder.join("cases")).expect("a folder");
    std::fs::write(folder.join("pack.yaml"), pack).expect("written");
    std::fs::write(folder.join("cases/fuse.yaml"), case).expect("written");
    folder.display().to_string()
}

/// What a command prints, and how it ends; folders by their names.
fn told(data: &Path, arguments: &[&str]) -> String {
    let output = pintle(data).arg("--plain").args(arguments).output().expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    let code = output.status.code().expect("a code");
    format!("{}{}exit {code}", text(output.stdout), text(output.stderr)).replace(&data.display().to_string(), "DATA")
}

#[test]
fn nothing_changes_between_a_knowledge_and_its_copy() {
    let data = tempfile::tempdir().expect("a folder");
    let old = folder(data.path(), "old", PACK, CASE);
    // The same knowledge, written in another order.
    let (head, causes) = PACK.split_once("causes:\n").expect("causes");
    let new = folder(data.path(), "new", &format!("causes:\n{causes}{head}"), CASE);
    assert_eq!(told(data.path(), &["compare", &old, &new]), "nothing changes\nexit 0");
    let json = told(data.path(), &["compare", &old, &new, "--json"]);
    assert!(json.contains("\"cases\": []") && json.ends_with("exit 0"), "{json}");
}

#[test]
fn a_rate_that_changes_moves_rankings_and_figures_but_breaks_nothing() {
    let data = tempfile::tempdir().expect("a folder");
    let old = folder(data.path(), "old", PACK, CASE);
    let new = folder(data.path(), "new", &PACK.replace("rate: 8", "rate: 30"), CASE);
    let text = told(data.path(), &["compare", &old, &new]);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    assert!(text.ends_with("exit 0"), "{text}");
    insta::assert_snapshot!("compare_one_rate", text);
}

#[test]
fn a_case_that_passed_and_fails_is_told_first_and_by_the_exit_code() {
    let data = tempfile::tempdir().expect("a folder");
    let old = folder(data.path(), "old", PACK, CASE);
    let swapped = PACK
        .replace(
            "{dark: 0.95, lit: 0.05}}\n    repair: {title: New fuse",
            "{dark: 0.02, lit: 0.98}}\n    repair: {title: New fuse",
        )
        .replace("{lit: 0.9, dark: 0.1}", "{lit: 0.1, dark: 0.9}");
    let new = folder(data.path(), "new", &swapped, CASE);
    let text = told(data.path(), &["compare", &old, &new]);
    assert!(text.ends_with("exit 1"), "{text}");
    insta::assert_snapshot!("compare_a_broken_case", text);
    // Not played, it can't be seen to fail.
    let text = told(data.path(), &["compare", &old, &new, "--no-cases"]);
    assert!(text.starts_with("no case played") && text.ends_with("exit 0"), "{text}");
    let text = told(data.path(), &["compare", &old, &new, "--cases", "fuse"]);
    assert!(text.starts_with("1 case that passed now fails"), "{text}");
}

#[test]
fn a_version_with_errors_is_refused_with_its_line() {
    let data = tempfile::tempdir().expect("a folder");
    let old = folder(data.path(), "old", PACK, CASE);
    let new = folder(data.path(), "new", &PACK.replace("rate: 8", "rate: -8"), CASE);
    let text = told(data.path(), &["compare", &old, &new]);
    assert!(
        text.contains("pintle: DATA/new has 1 error(s)") && text.contains("DATA/new/pack.yaml:17:11: "),
        "{text}"
    );
    assert!(text.ends_with("exit 3"), "{text}");
    let text = told(data.path(), &["compare", &old, "nowhere"]);
    assert!(
        text.starts_with("pintle: there is no folder nowhere") && text.ends_with("exit 3"),
        "{text}"
    );
}

/// A folder with the built-in pack's own id stands alone; any other pack is laid over the built-in one.
#[test]
fn a_company_pack_is_laid_over_the_built_in_one() {
    let built_in = Side::read(BUILT_IN).expect("no errors");
    let company = Side::read(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/company-pack")).expect("no errors");
    let (base, over) = (&built_in.engine.knowledge, &company.engine.knowledge);
    assert!(over.causes.contains_key("panel-relay-welded") && over.causes.contains_key("battery-worn"));
    assert!(!base.causes.contains_key("panel-relay-welded"));
    let source = Side::read(concat!(env!("CARGO_MANIFEST_DIR"), "/knowledge")).expect("no errors");
    assert_eq!(source.packs.len(), 1);
    assert_eq!(source.engine.knowledge.causes.len(), base.causes.len());
    // Cases have the same names, whether read from the folder or out of the program.
    let names = |side: &Side| -> Vec<String> {
        let files = side.engine.knowledge.cases.iter();
        let mut names: Vec<String> = files.map(|(file, _)| side.short_name(*file)).collect();
        names.sort();
        names
    };
    assert_eq!(names(&source), names(&built_in));
}

#[test]
fn cases_are_played_from_folders_and_files() {
    let data = tempfile::tempdir().expect("a folder");
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge/access/cases/remote-cell-flat.yaml");
    let text = std::fs::read_to_string(case).expect("a case");
    let below = data.path().join("loose/deeper");
    std::fs::create_dir_all(&below).expect("a folder");
    std::fs::write(below.join("mine.yaml"), &text).expect("written");
    std::fs::write(below.join("no-case.txt"), "no case").expect("written");
    let loose = data.path().join("loose").display().to_string();
    let table = told(data.path(), &["cases", &loose]);
    assert!(table.lines().all(|l| l.chars().count() <= 80), "{table}");
    insta::assert_snapshot!("cases_of_a_folder", table);
    // A word picks among them.
    let none = told(data.path(), &["cases", &loose, "other"]);
    assert!(
        none.starts_with("pintle: no case has other in its file's name"),
        "{none}"
    );
    // A broken one is told with its place.
    std::fs::write(
        below.join("mine.yaml"),
        text.replace("\ncauses: [", "\ncauses: [no-such-cause, "),
    )
    .expect("written");
    let broken = told(data.path(), &["cases", &loose]);
    assert!(
        broken.contains("mine.yaml:") && broken.contains("there is no cause `no-such-cause`"),
        "{broken}"
    );
    assert!(broken.ends_with("exit 3"), "{broken}");
    std::fs::write(below.join("mine.yaml"), "title: [\n").expect("written");
    let broken = told(data.path(), &["cases", &below.join("mine.yaml").display().to_string()]);
    assert!(
        broken.starts_with("pintle: DATA/loose/deeper/mine.yaml:2:1: "),
        "{broken}"
    );
}
