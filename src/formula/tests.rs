use super::*;

/// Readings and facts of a made-up test: volts in V, drop in mV, and so on.
fn declared(name: &str) -> Option<VarType> {
    Some(match name {
        "volts" | "system-volts" => VarType::Number(Unit::Volt),
        "drop" => VarType::Number(Unit::Millivolt),
        "amps" => VarType::Number(Unit::Ampere),
        "milliamps" => VarType::Number(Unit::Milliampere),
        "kilohms" => VarType::Number(Unit::Kilohm),
        "turns" => VarType::Number(Unit::One),
        "charge" => VarType::Number(Unit::Percent),
        "side" => VarType::Number(Unit::Metre),
        "feet" => VarType::Number(Unit::Foot),
        "inside" | "outside" => VarType::Number(Unit::Celsius),
        "porch" => VarType::Number(Unit::Fahrenheit),
        "strength" | "floor" => VarType::Number(Unit::DecibelMilliwatt),
        "margin" => VarType::Number(Unit::Decibel),
        "power" => VarType::Choice(vec!["battery-mains".into(), "solar".into(), "mains".into()]),
        "maker" => VarType::Text,
        _ => return None,
    })
}

fn values(name: &str) -> Option<Value> {
    let n = match name {
        "volts" => 12.34,
        "system-volts" | "feet" => 24.0,
        "drop" => 250.0,
        "amps" => 2.5,
        "milliamps" => 40.0,
        "kilohms" => 8.2,
        "turns" => 3.0,
        "charge" => 55.0,
        "side" => 2.0,
        "inside" => 25.0,
        "outside" => -10.0,
        "porch" => 50.0,
        "strength" => -70.0,
        "floor" => -95.0,
        "margin" => 20.0,
        "power" => return Some("solar".into()),
        "maker" => return Some("unknown".into()),
        _ => return None,
    };
    match declared(name) {
        Some(VarType::Number(unit)) => Some(Value::Number(n, unit)),
        _ => None,
    }
}

fn parsed(text: &str) -> Formula {
    Formula::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

#[track_caller]
fn gives(text: &str, expected: f64) {
    let formula = parsed(text);
    formula.check(&declared).unwrap_or_else(|e| panic!("{text}: {e}"));
    let got = formula.eval(&values).unwrap_or_else(|e| panic!("{text}: {e}"));
    assert!(
        (got - expected).abs() <= 1e-12 * expected.abs().max(1.0),
        "{text} gives {got}, not {expected}"
    );
}

#[track_caller]
fn holds(text: &str, expected: bool) {
    let formula = parsed(text);
    assert_eq!(formula.check(&declared), Ok(ValueType::Bool), "{text}");
    assert_eq!(formula.answer(&values), Ok(Answer::Bool(expected)), "{text}");
}

/// The formula is refused, when parsed or when checked, at this column.
#[track_caller]
fn refused(text: &str, column: usize, part: &str) {
    let result = Formula::parse(text).and_then(|f| f.check(&declared));
    let error = result.expect_err(text);
    assert_eq!(error.column, column, "{text}: {error}");
    assert!(error.to_string().contains(part), "{text}: {error}");
    assert!(!error.help.is_empty());
}

#[test]
fn arithmetic_as_on_paper() {
    gives("1 + 2 * 3", 7.0);
    gives("(1 + 2) * 3", 9.0);
    gives("8 / 2 / 2", 2.0);
    gives("8 - 2 - 2", 4.0);
    gives("-2 * -3", 6.0);
    gives("--2", 2.0);
    gives("1.5e3 + .5", 1500.5);
    gives("amps * 2", 5.0);
    gives("volts / system-volts", 12.34 / 24.0);
    gives("volts > 12 ? 1 : volts > 11 ? 2 : 3", 1.0);
    gives("min(3, 1, 2) + max(3, 1, 2) + abs(-4) + sqrt(9) + clamp(7, 0, 5)", 16.0);
}

#[test]
fn logic_and_texts() {
    holds("volts > 11 && volts < 13", true);
    holds("!(volts > 11) || false", false);
    holds("power == \"solar\"", true);
    holds("power != 'mains'", true);
    holds("maker == \"anything\"", false);
    holds("1 + 1 == 2", true);
    gives("power == \"solar\" ? volts : system-volts", 12.34);
    // The side that is not needed is not worked out.
    holds("turns < 4 || volts / (turns - 3) > 1", true);
    gives("turns == 3 ? 1 : 1 / (turns - 3)", 1.0);
}

#[test]
fn units_of_one_kind_are_converted_to_the_leftmost() {
    gives("volts + drop", 12.34 + 0.25);
    gives("drop + volts", 250.0 + 12_340.0);
    holds("drop < volts", true);
    gives("max(drop, volts)", 12_340.0);
    gives("max(1, volts, drop)", 12.34);
    gives("clamp(drop, 0, volts)", 250.0);
    // The branch not taken still decides the unit.
    gives("turns > 5 ? drop : volts", 12_340.0);
}

#[test]
fn a_literal_takes_the_unit_beside_it() {
    holds("drop > 50", true);
    holds("0.3 > drop", false);
    gives("drop - 50", 200.0);
    gives("volts - 2 * 1", 10.34);
    gives("turns + 1", 4.0);
    holds("charge < 60", true);
    // In `drop / 1000` nothing is left to convert: pencil and paper.
    gives("drop / 1000", 0.25);
}

#[test]
fn products_combine_units_and_cancelled_prefixes_vanish() {
    gives("drop / volts", 0.25 / 12.34);
    gives("drop / amps", 100.0);
    gives("milliamps * kilohms", 40.0 * 8.2);
    gives("milliamps * kilohms - volts", 40.0 * 8.2 - 12.34);
    gives("sqrt(side * side)", 2.0);
    gives(
        "100 * (system-volts - volts) / system-volts",
        100.0 * (24.0 - 12.34) / 24.0,
    );
    let unit = |text: &str| parsed(text).unit(&declared).unwrap();
    assert_eq!(unit("drop / amps"), None);
    assert_eq!(unit("volts / amps"), Some(Unit::Ohm));
    assert_eq!(unit("milliamps * kilohms"), Some(Unit::Volt));
    assert_eq!(unit("drop * 2"), Some(Unit::Millivolt));
    assert_eq!(unit("volts / system-volts"), Some(Unit::One));
    assert_eq!(unit("max(charge, 5)"), Some(Unit::Percent));
    assert_eq!(unit("volts > 3"), None);
    assert_eq!(
        parsed("volts / amps").check(&declared),
        Ok(ValueType::Number(Dimension::RESISTANCE))
    );
}

#[test]
fn temperatures_and_levels_are_points_on_a_scale() {
    holds("porch > outside", true);
    gives("inside - porch", 15.0);
    gives("porch - inside", -27.0);
    gives("(inside + outside) / 2", 7.5);
    gives("outside + (inside - porch)", 5.0);
    gives("porch + (inside - outside)", 50.0 + 63.0);
    gives("strength - floor", 25.0);
    holds("strength - floor > margin", true);
    gives("floor + margin", -75.0);
    refused("strength > margin", 10, "scale");
    refused("inside - outside > porch", 18, "scale");
    refused("margin - strength", 8, "scale");
    // A step does not keep the name of the scale.
    assert_eq!(parsed("inside - outside").unit(&declared), Ok(None));
}

#[test]
fn trade_functions_take_units() {
    gives("loop_microhenry(feet, turns)", 72.0);
    gives("loop_microhenry(24, 3)", 72.0);
    gives("loop_microhenry(side * 3.6576, 3)", 72.0);
    gives("float_volts(6, outside)", 14.49);
    gives("float_volts(6, porch)", 13.65 + 0.024 * 15.0);
    gives("charge_percent(12.45)", 75.0);
    gives(
        "charge_percent(volts) - charge",
        50.0 + 25.0 * (12.34 - 12.24) / 0.21 - 55.0,
    );
    holds("wire_drop_volts(12, 100, 10) > 3", true);
    assert_eq!(
        parsed("float_volts(6, 20) - volts").unit(&declared),
        Ok(Some(Unit::Volt))
    );
    refused(
        "loop_microhenry(volts, 3)",
        17,
        "`perimeter` is a length, and this is a voltage",
    );
    refused("loop_microhenry(24)", 1, "write loop_microhenry(perimeter, turns)");
    let error = parsed("charge_percent(system-volts)").eval(&values).unwrap_err();
    assert!(
        error.message.contains("24 V, and this holds from 0 V to 13.2 V"),
        "{error}"
    );
    assert!(error.help.contains("`system-volts`"), "{error}");
}

#[test]
fn units_that_do_not_fit_are_refused_at_their_column() {
    refused("volts - amps", 7, "can't subtract a voltage and a current");
    refused("volts > 3 && amps < drop", 19, "can't compare a current and a voltage");
    refused("volts + turns", 7, "can't add a voltage and a plain number");
    refused("max(volts, amps)", 12, "can't compare");
    refused("turns > 1 ? volts : amps", 11, "can't choose between");
    refused("sqrt(volts)", 6, "square root of a voltage");
    refused("volts + power", 9, "a number is wanted here, and this gives a text");
    refused("power > 1", 1, "a number is wanted");
    refused("power == 1", 7, "a text is compared with a plain number");
    refused("power", 1, "compare the text");
    refused("volts && true", 1, "yes or no is wanted");
    refused("11 < volts < 13", 4, "write `low < x && x < high`");
    refused("-(volts > 3)", 9, "a number is wanted");
    refused("power == \"solr\"", 10, "did you mean \"solar\"?");
    refused("\"wind\" == power", 1, "it can be battery-mains, solar, mains");
}

#[test]
fn names_that_are_not_there() {
    refused("vlots / 2", 1, "there is no reading or fact `vlots`");
    refused("volts-drop", 1, "write `volts - drop`");
    refused("volts-2", 1, "write `volts - 2`");
    refused("mim(1, 2)", 1, "did you mean `min`?");
    refused("exp(1)", 1, "the functions are min, max");
    let known = ["volts".to_owned(), "amps".to_owned()];
    let error = parsed("2 * vlots").check_among(&declared, &known).unwrap_err();
    assert_eq!((error.column, error.help.as_str()), (5, "did you mean `volts`?"));
    let error = parsed("pressure").check_among(&declared, &known).unwrap_err();
    assert_eq!(error.help, "the names here are volts, amps");
}

#[test]
fn what_is_not_of_the_subset_is_refused_with_help() {
    refused("", 1, "no formula");
    refused("   ", 1, "no formula");
    refused("volts = 3", 7, "write ==");
    refused("volts & 3", 7, "write &&");
    refused("volts ^ 2", 7, "multiply");
    refused("volts % 2", 7, "no remainder");
    refused("12,4", 3, "written with a point");
    refused("24V", 3, "bare number");
    refused("2 * 3k", 6, "bare number");
    refused("volts and amps", 7, "write &&");
    refused("(volts", 7, "the end is not expected");
    refused("volts)", 6, "each ) needs its (");
    refused("volts amps", 7, "the end or an operator");
    refused("2(volts)", 2, "write *");
    refused("volts ? 1 ? 2 : 3 : 4", 11, "inner choice in brackets");
    refused("volts > 1 ? 2", 14, "`:`");
    refused("volts.x", 6, "no parts");
    refused("[1]", 1, "round brackets");
    refused("\"open", 1, "closing quote");
    refused("1e999", 1, "too large");
    refused("µ", 1, "no meaning");
    refused("min(1)", 1, "does not take 1 argument");
    refused("volts +", 8, "the end is not expected");
    // Columns are characters, not bytes.
    refused("power == \"µµµ\" && volts -", 26, "the end is not expected");
}

#[test]
fn bad_values_are_errors_that_name_the_reading() {
    let with = |name: &'static str, n: f64| {
        move |asked: &str| {
            if asked == name {
                Some(Value::Number(n, Unit::Ampere))
            } else {
                values(asked)
            }
        }
    };
    let error = parsed("volts / amps").eval(&with("amps", 0.0)).unwrap_err();
    assert_eq!(
        (error.column, error.message.as_str()),
        (7, "division by zero: `amps` comes to 0")
    );
    let error = parsed("volts / amps").eval(&with("amps", f64::NAN)).unwrap_err();
    assert!(error.message.contains("`amps` is not a number"), "{error}");
    let error = parsed("volts * (amps * amps)").eval(&with("amps", 1e300)).unwrap_err();
    assert_eq!(
        (error.column, error.message.contains("from `amps`")),
        (15, true),
        "{error}"
    );
    let error = parsed("volts + nothing").eval(&values).unwrap_err();
    assert!(error.message.contains("no value for `nothing`"), "{error}");
    let error = parsed("sqrt(turns - 4)").eval(&values).unwrap_err();
    assert!(error.message.contains("from `turns`"), "{error}");
    let error = parsed("clamp(turns, 5, 4)").eval(&values).unwrap_err();
    assert!(error.message.contains("wrong way round"), "{error}");
    let error = parsed("volts > 3").eval(&values).unwrap_err();
    assert!(error.help.contains("? 1 : 0"), "{error}");
    assert!(
        parsed("volts + amps").eval(&values).is_err(),
        "units are checked even without a check before"
    );
}

#[test]
fn names_come_once_in_reading_order() {
    let formula = parsed("amps > 0 ? volts / amps : max(system-volts, volts)");
    let names: Vec<(String, usize)> = formula.variables();
    assert_eq!(
        names,
        [
            ("amps".to_owned(), 1),
            ("volts".to_owned(), 12),
            ("system-volts".to_owned(), 31)
        ]
    );
    assert_eq!(formula.to_string(), formula.text());
}

#[test]
fn uncertainty_carries_over() {
    let sigmas = |name: &str| match name {
        "volts" => Some(0.05),
        "amps" => Some(0.02),
        "drop" => Some(10.0),
        _ => None,
    };
    let sigma = |text: &str| parsed(text).propagate(&values, &sigmas).unwrap();
    let near = |got: f64, want: f64| assert!((got / want - 1.0).abs() < 1e-3, "{got} against {want}");
    near(sigma("volts"), 0.05);
    near(sigma("2 * volts + 7"), 0.1);
    near(sigma("volts + drop"), (0.05_f64.powi(2) + 0.01_f64.powi(2)).sqrt());
    // R = V/I: (σ/R)² = (σV/V)² + (σI/I)² (JCGM 100:2008, 5.1.6)
    let relative = ((0.05_f64 / 12.34).powi(2) + (0.02_f64 / 2.5).powi(2)).sqrt();
    near(sigma("volts / amps"), 12.34 / 2.5 * relative);
    near(sigma("volts * volts"), 2.0 * 12.34 * 0.05);
    assert!(sigma("system-volts").abs() < 1e-15);
    // 12.34 V is in range, 12.34 ± 5 V only on one side: the other gives the slope.
    let wide = parsed("charge_percent(volts)")
        .propagate(&values, &|_| Some(5.0))
        .unwrap();
    assert!(wide.is_finite() && wide > 0.0);
}

#[test]
fn caps_hold_at_their_edge_on_a_small_stack() {
    let at_cap = [
        format!("1{}", " + 1".repeat(MAX_OPERATORS)),
        format!("{}1{}", "(".repeat(MAX_NESTING), ")".repeat(MAX_NESTING)),
        format!("{}1", "-".repeat(MAX_OPERATORS)),
        format!("{}1{}", "abs(".repeat(MAX_NESTING), ")".repeat(MAX_NESTING)),
        format!("{}1", "true?1:".repeat(MAX_OPERATORS)),
        format!("{}1{}", "(1+".repeat(MAX_NESTING), ")".repeat(MAX_NESTING)),
        format!("1{}", " ".repeat(MAX_CHARACTERS - 1)),
    ];
    let beyond = [
        (format!("1{}", " + 1".repeat(MAX_OPERATORS + 1)), "operators"),
        (
            format!("{}1{}", "(".repeat(MAX_NESTING + 1), ")".repeat(MAX_NESTING + 1)),
            "deep",
        ),
        (format!("1{}", " ".repeat(MAX_CHARACTERS)), "characters"),
        ("(".repeat(1_000_000), "characters"),
        ("-".repeat(500), "operators"),
        (format!("{}1", "true?1:".repeat(MAX_OPERATORS + 1)), "operators"),
    ];
    let work = move || {
        for text in at_cap {
            let formula = parsed(&text);
            formula.eval(&values).unwrap();
            drop(formula.clone());
        }
        for (text, part) in beyond {
            let error = Formula::parse(&text).unwrap_err();
            assert!(error.message.contains(part), "{error}");
        }
    };
    std::thread::Builder::new()
        .stack_size(1024 * 1024)
        .spawn(work)
        .unwrap()
        .join()
        .unwrap();
}

mod anything;
