//! Whatever text arrives, an answer or an error comes out.

use super::*;
use proptest::prelude::*;

proptest! {
    #[test]
    fn no_text_stops_the_program(text in "\\PC{0,600}") {
        let _ = Formula::parse(&text);
    }

    #[test]
    fn nor_does_one_that_looks_like_a_formula(
        words in proptest::collection::vec(prop_oneof![
            Just("volts"), Just("drop"), Just("amps"), Just("inside"), Just("porch"), Just("strength"), Just("turns"),
            Just("power"), Just("\"solar\""), Just("1"), Just("0"), Just("2.5"), Just("+"), Just("-"), Just("*"),
            Just("/"), Just("<"), Just("=="), Just("&&"), Just("||"), Just("!"), Just("?"), Just(":"), Just("("),
            Just(")"), Just("min("), Just("sqrt("), Just("clamp("), Just("charge_percent("), Just(","), Just("true"),
        ], 0..24),
    ) {
        let text = words.join(" ");
        if let Ok(formula) = Formula::parse(&text) {
            let checked = formula.check(&declared);
            let answer = formula.answer(&values);
            // A check that passes leaves only errors of value, and one that fails stops evaluation as well.
            match (checked, answer) {
                (Err(_), Ok(_)) => prop_assert!(false, "{text}: evaluated though refused"),
                (Ok(ValueType::Number(_)), Ok(Answer::Number(n))) => prop_assert!(n.is_finite()),
                (Ok(ValueType::Number(_)), Ok(Answer::Bool(_))) | (Ok(ValueType::Bool), Ok(Answer::Number(_))) => {
                    prop_assert!(false, "{text}: another type than checked");
                }
                (Ok(_), Err(error)) => prop_assert!(!error.message.contains("does not fit"), "{text}: {error}"),
                _ => {}
            }
        }
    }
}
