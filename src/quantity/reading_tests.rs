use super::*;
use proptest::prelude::*;

fn value(text: &str, expected: Unit) -> Given {
    match parse_reading(text, expected) {
        Ok(Reading::Value(given)) => given,
        other => panic!("{text}: {other:?}"),
    }
}

fn number(text: &str, expected: Unit) -> f64 {
    value(text, expected).quantity.value
}

fn message(text: &str, expected: Unit) -> String {
    parse_reading(text, expected).unwrap_err().to_string()
}

#[test]
fn what_people_type_for_volts() {
    for text in [
        "12.4",
        "12,4",
        "12.4V",
        "12.4 v",
        "12,4 volts",
        " +12.4 ",
        "12.40",
        "12.4 V.",
        "12.4 VDC",
        "12400 mV",
        "12400m",
    ] {
        assert!((number(text, Unit::Volt) - 12.4).abs() < 1e-12, "{text}");
    }
    assert!((number("820 mV", Unit::Volt) - 0.82).abs() < 1e-12);
    assert!((number("0,820", Unit::Volt) - 0.82).abs() < 1e-12);
    assert!((number(".5", Unit::Volt) - 0.5).abs() < 1e-12);
    assert!((number("\u{2212}3.2", Unit::Volt) + 3.2).abs() < 1e-12);
    assert!((number("0.82 V", Unit::Millivolt) - 820.0).abs() < 1e-9);
}

#[test]
fn the_digit_typed_is_kept() {
    let given = value("12.40 V", Unit::Volt);
    assert_eq!((given.decimals, given.step, given.text.as_str()), (2, 0.01, "12.40 V"));
    let given = value("820 mV", Unit::Volt);
    assert_eq!(
        (given.typed, given.decimals),
        (Quantity::new(820.0, Unit::Millivolt), 0)
    );
    assert!((given.step - 0.001).abs() < 1e-15);
    assert!((value("27 1/4 in", Unit::Inch).step - 0.25).abs() < 1e-15);
}

#[test]
fn over_load_in_all_its_shapes() {
    for text in [
        "OL",
        "ol",
        "0L",
        "0l",
        "o.l",
        "O.L",
        "O.L.",
        ".OL",
        "0.L MΩ",
        "OL V",
        "overload",
        "Over range",
        "∞",
        "-OL",
    ] {
        assert_eq!(parse_reading(text, Unit::Ohm), Ok(Reading::OverLoad), "{text}");
    }
    assert!(parse_reading("old", Unit::Ohm).is_err());
    assert!(parse_reading("o", Unit::Ohm).is_err());
}

#[test]
fn cannot_tell_in_all_its_shapes() {
    for text in [
        "?",
        "??",
        "can't tell",
        "cant tell",
        "Can\u{2019}t tell.",
        "CANNOT TELL",
        "don't know",
        "dont  know",
        "not sure",
        "n/a",
    ] {
        assert_eq!(parse_reading(text, Unit::Volt), Ok(Reading::CantTell), "{text}");
    }
}

#[test]
fn a_letter_alone_is_the_prefix_people_mean() {
    assert!((number("1.2k", Unit::Ohm) - 1200.0).abs() < 1e-9);
    assert!((number("1.2 K", Unit::Kilohm) - 1.2).abs() < 1e-12);
    assert!((number("5M", Unit::Kilohm) - 5000.0).abs() < 1e-9);
    assert!((number("50k", Unit::Hertz) - 50_000.0).abs() < 1e-9);
    assert!((number("433.92M", Unit::Megahertz) - 433.92).abs() < 1e-9);
    assert!((number("74u", Unit::Microhenry) - 74.0).abs() < 1e-9);
    assert!((number("1.2 k Ω", Unit::Ohm) - 1200.0).abs() < 1e-9);
    assert!((number("3 M", Unit::Metre) - 3.0).abs() < 1e-12);
    assert!(parse_reading("1.2k", Unit::Volt).is_err());
    assert!(parse_reading("5m", Unit::Ohm).is_err(), "a milliohm is not guessed");
}

#[test]
fn lengths() {
    let inches = [
        ("5 ft 6 in", 66.0),
        ("5'6\"", 66.0),
        ("5' 6 1/2\"", 66.5),
        ("5ft6", 66.0),
        ("5\u{2019}6\u{201d}", 66.0),
        ("27 1/2 in", 27.5),
        ("27-1/2", 27.5),
        ("1/4 in", 0.25),
        ("27½", 27.5),
        ("½\"", 0.5),
        ("6 ft", 72.0),
        ("254 mm", 10.0),
        ("-1 ft 2 in", -14.0),
    ];
    for (text, expected) in inches {
        assert!((number(text, Unit::Inch) - expected).abs() < 1e-9, "{text}");
    }
    assert!((number("5 ft 6 in", Unit::Foot) - 5.5).abs() < 1e-12);
    assert!((number("1 ft", Unit::Millimetre) - 304.8).abs() < 1e-9);
    assert!((number("5 1/2", Unit::Foot) - 5.5).abs() < 1e-12);
}

#[test]
fn times_and_temperatures() {
    assert!((number("1 h 20 min", Unit::Minute) - 80.0).abs() < 1e-9);
    assert!((number("2 min 30", Unit::Second) - 150.0).abs() < 1e-9);
    assert!((number("3m", Unit::Minute) - 3.0).abs() < 1e-12);
    for text in ["-3", "-3 °C", "-3C", "-3 c", "\u{2212}3°", "- 3 deg C", "-3 degrees"] {
        assert!((number(text, Unit::Celsius) + 3.0).abs() < 1e-12, "{text}");
    }
    assert!((number("77 F", Unit::Celsius) - 25.0).abs() < 1e-9);
    assert!(message("-300 °C", Unit::Fahrenheit).starts_with("`-300 °C` is colder than anything can be (-273.15 °C"));
}

#[test]
fn thousands_are_questioned_with_both_ways_to_write_them() {
    assert_eq!(
        message("1,200 ohm", Unit::Ohm),
        "`1,200 ohm` can be read two ways. Type 1200 ohm if it is in the thousands, or 1.200 ohm if the comma is the decimal mark."
    );
    assert!(matches!(
        parse_reading("-1,200", Unit::Ohm),
        Err(ReadingError::Thousands { .. })
    ));
    // Nothing else these can be:
    assert!((number("1,200.5", Unit::Ohm) - 1200.5).abs() < 1e-9);
    assert!((number("1.200,5", Unit::Ohm) - 1200.5).abs() < 1e-9);
    assert!((number("1,200,000", Unit::Ohm) - 1.2e6).abs() < 1e-9);
    assert!((number("1.200", Unit::Ohm) - 1.2).abs() < 1e-12);
    assert!((number("1,20", Unit::Ohm) - 1.2).abs() < 1e-12);
}

#[test]
fn another_kind_of_thing_is_questioned() {
    assert_eq!(
        parse_reading("3 A", Unit::Volt),
        Err(ReadingError::WrongUnit {
            given: Quantity::new(3.0, Unit::Ampere),
            expected: Unit::Volt
        })
    );
    assert_eq!(
        message("3 A", Unit::Volt),
        "This reading is a voltage in V, and 3 A is a current. Look at what the meter is set to, then type the reading like 12.4 V."
    );
    assert_eq!(
        message("12 lb", Unit::PoundForce),
        "lb is a weight laid on a scale, and this reading is a push or a pull. If your pull scale shows pounds, type 12 lbf."
    );
    assert!(message("12 kg", Unit::Newton).ends_with("type 117.7 N."));
    assert!(message("12 dB", Unit::DecibelMilliwatt).starts_with("dB says how much more or less"));
    assert!(message("12 V", Unit::One).starts_with("This reading is a plain number: type 12"));
    assert!(message("12 V", Unit::Percent).contains("percent"));
}

#[test]
fn every_refusal_says_what_to_type() {
    assert_eq!(
        message("", Unit::Volt),
        "Nothing was typed. Type the number you read, such as 12.4 V, OL if the meter shows OL, or ? if you can't tell."
    );
    assert!(
        message("about 12", Unit::Volt)
            .starts_with("`about 12` is not a number. Type the number you read, such as 12.4 V")
    );
    assert!(
        message("12 volt-ish", Unit::Volt)
            .starts_with("`volt-ish` is not a unit this program knows. This reading is in V (a voltage)")
    );
    assert_eq!(
        message("4M7", Unit::Ohm),
        "`4M7` is written as on a circuit diagram. If you mean 4.7 MΩ, type 4.7 MΩ."
    );
    assert!(message("2k05", Unit::Ohm).contains("2.05 kΩ"));
    assert!(message("1 200", Unit::Ohm).contains("two numbers"));
    assert!(message("12 V 3 A", Unit::Volt).contains("two numbers"));
    assert!(message("1/3 in", Unit::Inch).contains("halves, quarters"));
    assert!(message("1/2 V", Unit::Volt).contains("fractions are taken for lengths"));
    assert!(message("5 ft 13 in", Unit::Inch).contains("carry it over"));
    assert!(message("5.5 ft 6 in", Unit::Inch).contains("only the last part"));
    assert!(message("5 ft 3 mm", Unit::Inch).contains("after ft comes in"));
    for text in [
        "1.2.3", "12..4", "--3", "12-", "/", "1/", "1/0", "'", "3 -4", "1e9999", "🔋", "\u{0}",
    ] {
        assert!(parse_reading(text, Unit::Volt).is_err(), "{text}");
    }
    assert!(parse_reading(&"9".repeat(100_000), Unit::Volt).is_err());
}

proptest! {
    /// What is printed reads back as the same reading, whatever the unit.
    #[test]
    fn printed_then_read_is_the_same(i in 0..Unit::all().count(), v in -250.0..1e6_f64) {
        let unit = Unit::all().nth(i).unwrap();
        let text = Quantity::new(v, unit).to_string();
        prop_assert_eq!(value(&text, unit).quantity, Quantity::new(v, unit));
        // and with a decimal comma, unless three digits follow it, where it is questioned
        let comma = text.replacen('.', ",", 1);
        match parse_reading(&comma, unit) {
            Ok(reading) => prop_assert_eq!(reading.value(), Some(v)),
            Err(error) => prop_assert!(matches!(error, ReadingError::Thousands { .. }), "{}", error),
        }
    }

    #[test]
    fn meter_display_reads_back_within_half_a_digit(v in -200.0..2000.0_f64, exponent in -3..2_i32) {
        let digit = 10_f64.powi(exponent);
        let shown = Quantity::new(v, Unit::Volt).shown(digit);
        let back = value(&shown, Unit::Volt);
        prop_assert!((back.quantity.value - v).abs() <= digit * 0.500_001, "{}", shown);
    }

    #[test]
    fn tape_display_reads_back(ticks in -100_000..100_000_i32, power in 0..7_u32) {
        let parts = 2_u32.pow(power);
        let inches = f64::from(ticks) / f64::from(parts);
        let text = Quantity::new(inches, Unit::Inch).feet_inches(parts).unwrap();
        prop_assert_eq!(value(&text, Unit::Inch).quantity, Quantity::new(inches, Unit::Inch), "{}", text);
    }

    #[test]
    fn no_text_stops_the_program(text in "\\PC{0,80}", i in 0..Unit::all().count()) {
        let unit = Unit::all().nth(i).unwrap();
        if let Ok(Reading::Value(given)) = parse_reading(&text, unit) {
            prop_assert!(given.quantity.value.is_finite());
        }
    }

    #[test]
    fn nor_does_text_that_looks_like_readings(text in "[-+0-9.,/ '\"kMmVftinOL½°C?]{0,24}", i in 0..Unit::all().count()) {
        let unit = Unit::all().nth(i).unwrap();
        if let Err(error) = parse_reading(&text, unit) {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}
