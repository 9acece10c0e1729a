//! Formulas against an independent implementation of the language they are a subset of, the Common Expression Language.
//!
//! Inside the subset, with literals written as doubles and every number without a unit, both must agree to the last
//! bit. The deliberate differences (no integers, units, caps, no infinities) are shown one by one below.

use cel::{Context, Program, Value as CelValue};
use pintle::formula::{Answer, Formula, Value, VarType};
use pintle::quantity::Unit;
use proptest::prelude::*;

/// Values of `a`, `b`, `c`; `power` is "solar" throughout.
type Numbers = [f64; 3];

fn ours(text: &str, numbers: Numbers) -> Result<Answer, String> {
    let formula = Formula::parse(text).map_err(|e| e.to_string())?;
    formula
        .check(&|name| match name {
            "a" | "b" | "c" => Some(VarType::Number(Unit::One)),
            "power" => Some(VarType::Text),
            _ => None,
        })
        .map_err(|e| e.to_string())?;
    formula
        .answer(&|name| match name {
            "a" => Some(Value::Number(numbers[0], Unit::One)),
            "b" => Some(Value::Number(numbers[1], Unit::One)),
            "c" => Some(Value::Number(numbers[2], Unit::One)),
            "power" => Some("solar".into()),
            _ => None,
        })
        .map_err(|e| e.to_string())
}

fn theirs(text: &str, numbers: Numbers) -> Result<Answer, String> {
    let mut context = Context::default();
    for (name, n) in ["a", "b", "c"].into_iter().zip(numbers) {
        context.add_variable_from_value(name, n);
    }
    context.add_variable_from_value("power", "solar");
    // CEL leaves these to its host; the meaning is that of f64.
    context.add_function("abs", f64::abs).map_err(|e| e.to_string())?;
    context.add_function("sqrt", f64::sqrt).map_err(|e| e.to_string())?;
    context
        .add_function("clamp", |x: f64, low: f64, high: f64| x.max(low).min(high))
        .map_err(|e| e.to_string())?;
    match Program::compile(text)
        .map_err(|e| e.to_string())?
        .execute(&context)
        .map_err(|e| e.to_string())?
    {
        CelValue::Float(n) => Ok(Answer::Number(n)),
        CelValue::Bool(b) => Ok(Answer::Bool(b)),
        other => Err(format!("{other:?}")),
    }
}

/// A number formula, as text. Brackets come and go, so that precedence is put to the test on both sides.
fn number() -> impl Strategy<Value = String> + Clone {
    let leaf = prop_oneof![
        3 => prop_oneof![Just("a"), Just("b"), Just("c")].prop_map(str::to_owned),
        2 => (0..4000_u32).prop_map(|n| format!("{:?}", f64::from(n) / 8.0)),
        1 => Just("2.5e-3".to_owned()),
    ];
    leaf.prop_recursive(4, 24, 3, |inner| {
        let truth = truth_over(inner.clone());
        prop_oneof![
            6 => (inner.clone(), prop_oneof![Just("+"), Just("-"), Just("*"), Just("/")], inner.clone())
                .prop_map(|(a, op, b)| format!("{a} {op} {b}")),
            2 => inner.clone().prop_map(|a| format!("({a})")),
            1 => inner.clone().prop_map(|a| format!("-({a})")),
            1 => inner.clone().prop_map(|a| format!("abs({a})")),
            1 => inner.clone().prop_map(|a| format!("sqrt(abs({a}))")),
            1 => inner.clone().prop_map(|a| format!("clamp({a}, 1.0, 9.5)")),
            1 => (truth, inner.clone(), inner).prop_map(|(t, a, b)| format!("({t} ? {a} : {b})")),
        ]
    })
}

/// A yes-or-no formula over the given numbers.
fn truth_over(number: impl Strategy<Value = String> + Clone + 'static) -> impl Strategy<Value = String> {
    let order = prop_oneof![Just("<"), Just("<="), Just(">"), Just(">="), Just("=="), Just("!=")];
    let leaf = prop_oneof![
        6 => (number.clone(), order, number).prop_map(|(a, op, b)| format!("{a} {op} {b}")),
        1 => prop_oneof![Just("true"), Just("false"), Just("power == \"solar\""), Just("'mains' != power")]
            .prop_map(str::to_owned),
    ];
    leaf.prop_recursive(2, 6, 2, |inner| {
        prop_oneof![
            2 => (inner.clone(), prop_oneof![Just("&&"), Just("||")], inner.clone())
                .prop_map(|(a, op, b)| format!("{a} {op} {b}")),
            1 => inner.clone().prop_map(|a| format!("({a})")),
            1 => inner.prop_map(|a| format!("!({a})")),
        ]
    })
}

/// A refusal that CEL would not make, allowed because it is one of the documented differences.
fn is_documented(refusal: &str) -> bool {
    [
        "division by zero",
        "too large to calculate with",
        "more than 64 operators",
        "longer than 512",
        "more than 16 deep",
    ]
    .iter()
    .any(|difference| refusal.contains(difference))
}

fn agree(text: &str, numbers: Numbers) -> Result<(), TestCaseError> {
    match ours(text, numbers) {
        Ok(answer) => prop_assert_eq!(Ok(answer), theirs(text, numbers), "{}", text),
        Err(refusal) => prop_assert!(is_documented(&refusal), "{}: {}", text, refusal),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn numbers_agree(text in number(), a in -50.0..50.0_f64, b in 0.01..30.0_f64, c in prop_oneof![Just(0.0), Just(1.0), 0.1..9.0_f64]) {
        agree(&text, [a, b, c])?;
    }

    #[test]
    fn truths_agree(text in truth_over(number()), a in -50.0..50.0_f64, b in 0.01..30.0_f64, c in 0.0..3.0_f64) {
        agree(&text, [a, b, c])?;
    }

    /// What CEL takes as text, we take, and the other way round: a formula with one of its signs changed.
    #[test]
    fn the_same_texts_parse(
        text in truth_over(number()),
        at in any::<prop::sample::Index>(),
        with in prop_oneof![
            Just(""), Just("("), Just(")"), Just("-"), Just("!"), Just("?"), Just(":"), Just("<"), Just("&&"), Just("*"), Just(" "),
        ],
    ) {
        let signs: Vec<usize> = text.match_indices(|c: char| " ()!?:<>=&|+*/".contains(c)).map(|(i, _)| i).collect();
        prop_assume!(!signs.is_empty());
        let i = *at.get(&signs);
        let text = format!("{}{with}{}", &text[..i], &text[i + 1..]);
        let here = Formula::parse(&text);
        let there = Program::compile(&text).is_ok();
        let fits = match &here {
            // `!-a` and `-!a` have no type; CEL refuses them already as text.
            Ok(_) => there || ["!-", "-!"].iter().any(|mixed| text.replace(' ', "").contains(mixed)),
            // CEL looks up functions and counts arguments only when it runs.
            Err(e) => {
                let at_run_time = ["there is no function", "does not take"].iter().any(|m| e.message.contains(m));
                !there || at_run_time || is_documented(&e.to_string())
            }
        };
        prop_assert!(fits, "{}: here {:?}, there {}", text, here.err(), there);
    }
}

#[test]
fn precedence_and_grouping_by_example() {
    let numbers = [12.34, 2.5, 3.0];
    let cases = [
        "a - b - c",
        "a / b / c",
        "a - b * c + a / b",
        "a < b == false",
        "a > b && b > c || c > 2.0",
        "a > b || b > c && c > 20.0",
        "!(a > b) || c == 3.0",
        "a > b ? b > c ? 1.0 : 2.0 : 3.0",
        "a < b ? 1.0 : b < c ? 2.0 : 3.0",
        "-a + b",
        "--a",
        "power == \"solar\" ? a : b",
    ];
    for text in cases {
        match (ours(text, numbers), theirs(text, numbers)) {
            (Ok(here), Ok(there)) => assert_eq!(here, there, "{text}"),
            (Err(_), Err(_)) => {}
            (here, there) => panic!("{text}: here {here:?}, there {there:?}"),
        }
    }
}

#[test]
fn difference_one_there_are_no_integers() {
    let numbers = [2.5, 0.0, 0.0];
    assert_eq!(ours("a * 2", numbers), Ok(Answer::Number(5.0)));
    assert!(theirs("a * 2", numbers).is_err());
    assert_eq!(ours("7 / 2", numbers), Ok(Answer::Number(3.5)));
}

#[test]
fn difference_two_numbers_have_units() {
    let formula = Formula::parse("volts - amps").expect("parses");
    let declared = |name: &str| match name {
        "volts" => Some(VarType::Number(Unit::Volt)),
        "amps" => Some(VarType::Number(Unit::Ampere)),
        _ => None,
    };
    assert_eq!(formula.check(&declared).map_err(|e| e.column), Err(7));
}

#[test]
fn difference_three_size_is_capped() {
    let long = format!("a{}", " + 1.0".repeat(65));
    assert!(ours(&long, [1.0; 3]).is_err_and(|e| is_documented(&e)));
}

#[test]
fn no_infinity_comes_out() {
    assert!(ours("a / c", [1.0, 1.0, 0.0]).is_err_and(|e| e.contains("division by zero: `c` comes to 0")));
    assert_eq!(theirs("a / c", [1.0, 1.0, 0.0]), Ok(Answer::Number(f64::INFINITY)));
}
