//! What the README shows is what people see.

use assert_cmd::Command;

/// The walk that the README shows stands word for word in what the command prints that it names.
#[test]
fn the_walk_in_the_readme_is_what_the_command_prints() {
    let readme = include_str!("../../README.md");
    let shown = readme
        .split("```text\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("the README shows a walk");
    let output = Command::new(env!("CARGO_BIN_EXE_pintle"))
        .args([
            "diagnose",
            "--case",
            "examples/cases/worn-battery.yaml",
            "--color",
            "never",
        ])
        .output()
        .expect("the program runs");
    let printed = String::from_utf8_lossy(&output.stdout);
    for part in shown.split("[...]\n") {
        assert!(printed.contains(part), "the README shows what is not printed:\n{part}");
    }
    assert!(printed.contains("Battery worn out"), "the record names the cause");
}
