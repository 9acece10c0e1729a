//! The physics against the published tables of `shared/`.

use pintle::trade::{batteries, loops, wire};

/// Rows of a table, comments and heading left out.
fn rows(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
        .collect()
}

/// Source: NBS Handbook 100 rows, tolerance 0.1 %.
#[test]
fn wire_resistance_is_that_of_the_copper_table() {
    for row in rows(include_str!("../../shared/wire.csv")) {
        let ours = wire::ohms_per_kft(row[0], 20.0).expect("in range");
        assert!(
            (ours / row[1] - 1.0).abs() < 1e-3,
            "AWG {}: {ours} against {}",
            row[0],
            row[1]
        );
    }
}

/// Source: from memory, industry council table, exact at its rows.
#[test]
fn rested_volts_give_the_charge_of_the_table() {
    for row in rows(include_str!("../../shared/battery-rest.csv")) {
        let ours = batteries::charge_percent(row[1]).expect("in range");
        assert!((ours - row[0]).abs() < 0.5, "{} V: {ours} %", row[1]);
    }
}

/// Sources in the table's heading: the rule to the microhenry, physics within the 12 % that the rule is good for.
#[test]
fn loop_inductance_follows_the_rule_and_stays_near_physics() {
    for row in rows(include_str!("../../shared/loops.csv")) {
        let perimeter = 2.0 * (row[0] + row[1]);
        let ours = loops::rule_microhenry(perimeter, row[2]).expect("in range");
        assert!((ours - row[3]).abs() < 1e-9, "{perimeter} ft, {} turns: {ours}", row[2]);
        assert!(
            (ours / row[4] - 1.0).abs() < 0.12,
            "{perimeter} ft, {} turns: {ours} against {}",
            row[2],
            row[4]
        );
    }
}
