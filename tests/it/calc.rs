//! `pintle calc`: every subject with its example, what is said of wrong input, and what is typed.

use pintle::commands::calc::{Args, run};
use pintle::quantity::System;
use pintle::terminal::{Style, calc_example};
use pintle::trade::{Function, functions, groups};

use super::pty::pintle;

const PAGE: Style = Style {
    width: 80,
    colour: false,
    unicode: true,
};

fn args(line: &str) -> Args {
    let mut words = line.split_whitespace().skip(2).map(str::to_owned);
    Args {
        subject: words.next(),
        inputs: words.collect(),
        json: false,
    }
}

/// The page of a line as it is typed, or the error with its hints.
fn told(line: &str, style: &Style) -> String {
    let mut out = Vec::new();
    match run(&args(line), System::AsCounted, style, &mut out) {
        Ok(_) => String::from_utf8(out).expect("text"),
        Err(error) => format!("{}\n  {}\n", error.message, error.hints.join("\n  ")),
    }
}

fn json(line: &str) -> serde_json::Value {
    let mut out = Vec::new();
    run(
        &Args {
            json: true,
            ..args(line)
        },
        System::AsCounted,
        &PAGE,
        &mut out,
    )
    .unwrap_or_else(|e| panic!("{line}: {}", e.message));
    serde_json::from_slice(&out).expect("JSON")
}

fn result(line: &str) -> f64 {
    json(line)["result"]["value"].as_f64().expect("a number")
}

#[test]
fn the_list_of_subjects() {
    insta::assert_snapshot!("calc_list", told("pintle calc", &PAGE));
}

#[test]
fn what_a_subject_takes() {
    insta::assert_snapshot!("calc_subject", told("pintle calc wire-drop", &PAGE));
}

#[test]
fn every_subject_with_its_example() {
    for group in groups() {
        let pages: Vec<String> = group.functions.iter().map(|f| told(&calc_example(f), &PAGE)).collect();
        let name = group.title.split([' ', ',']).next().unwrap_or_default().to_lowercase();
        insta::assert_snapshot!(format!("calc_examples_{name}"), pages.concat());
    }
}

#[test]
fn every_page_fits_and_has_a_plain_form() {
    let narrow = Style::plain(60);
    let fits = |text: &str, width: usize, f: &Function| {
        let wide = text.lines().find(|l| l.chars().count() > width);
        assert_eq!(wide, None, "{}", f.subject);
    };
    for f in functions() {
        for line in [calc_example(f), format!("pintle calc {}", f.subject)] {
            fits(&told(&line, &PAGE), 80, f);
            let plain = told(&line, &narrow);
            fits(&plain, 72, f);
            assert!(plain.is_ascii(), "{plain}");
        }
    }
    assert!(told("pintle calc", &narrow).is_ascii());
}

/// Every limit can be missed, and every one of them says so in words.
#[test]
fn within_and_beyond_are_said() {
    let short = told("pintle calc wire-drop gauge=12 length=20ft amps=2A volts=24V", &PAGE);
    assert!(short.contains("within the limit"), "{short}");
    let long = told("pintle calc wire-drop gauge=14 length=120ft amps=10A volts=24V", &PAGE);
    assert!(long.contains("OVER THE LIMIT"), "{long}");
    let unjudged = told("pintle calc wire-drop gauge=14 length=120ft amps=10A", &PAGE);
    assert!(unjudged.contains("not judged: add volts=24V"), "{unjudged}");
    let flat = told("pintle calc charge volts=12,00V", &PAGE);
    assert!(flat.contains("UNDER THE LIMIT"), "{flat}");
}

#[test]
fn inputs_are_taken_as_people_type_them() {
    let close = |line: &str, want: f64| {
        let got = result(line);
        assert!((got / want - 1.0).abs() < 1e-9, "{line}: {got} against {want}");
    };
    // 5 ft 6 in, as a shell hands it over in four words.
    close("pintle calc loop-height short=5 ft 6 in", 5.5 * 2.0 / 3.0);
    close("pintle calc loop-height short=5'6\"", 5.5 * 2.0 / 3.0);
    close("pintle calc parallel one=8.2k other=8200", 4100.0);
    close(
        "pintle calc battery-time battery=7Ah amps=40mA",
        7.0 * 0.5 / 0.04 / 24.0,
    );
    close("pintle calc meter-leads reading=0,9ohm leads=0,4", 0.5);
    close("pintle calc arm-push moment=100lbf-ft post=10in leaf=30in angle=90", {
        let (post, leaf) = (0.254, 0.762_f64);
        135.581_794_833_140_04 / (post * leaf / post.hypot(leaf))
    });
}

#[test]
fn an_open_input_reads_ol() {
    let open = json("pintle calc edge-input resistor=8.2k reading=OL");
    assert_eq!(open["meaning"], "open: a broken lead or resistor");
    assert_eq!(open["limit"]["within"], false);
    assert_eq!(open["inputs"][1]["value"], serde_json::Value::Null);
    let page = told("pintle calc edge-input resistor=8.2k reading=OL", &PAGE);
    assert!(page.contains("OVER THE LIMIT") && page.contains("OL"), "{page}");
}

/// A year of sun is asked for by month, and names the worst.
#[test]
fn twelve_months_of_sun() {
    let year = |panel: &str| {
        format!(
            "pintle calc solar-year panel={panel} load=17.6Wh jan=1.6 feb=2.4 mar=3.4 apr=4.2 may=4.8 jun=5.2 jul=5.4 \
             aug=4.8 sep=3.8 oct=2.7 nov=1.8 dec=1.3"
        )
    };
    let short = json(&year("15W"));
    assert_eq!(short["meaning"], "December is worst, and runs the battery down");
    assert_eq!(short["limit"]["within"], false);
    assert_eq!(json(&year("25W"))["meaning"], "December is worst, and balances");
    let missing = told("pintle calc solar-year panel=15W load=17.6Wh jan=1.6", &PAGE);
    assert!(missing.contains("feb") && missing.contains("dec"), "{missing}");
}

/// Either side of the figures that the American standards give.
#[test]
fn gaps_are_judged_by_place_and_height() {
    for (line, within) in [
        ("entrapment-gap gap=15in height=3ft", false),
        ("entrapment-gap gap=16in height=3ft", true),
        ("entrapment-gap gap=15in height=7ft", true),
        ("bottom-gap gap=4in", true),
        ("bottom-gap gap=6in", false),
        ("bottom-gap gap=17in", true),
        ("pivot-gap distance=5in", false),
        ("gate-opening opening=4in height=30in", false),
        ("gate-opening opening=4in height=80in", true),
        ("eye-height height=28in", false),
        ("eye-plane distance=5in", true),
        ("control-distance distance=5ft", false),
        ("cable-depth depth=8in wanted=18in", false),
    ] {
        let judged = json(&format!("pintle calc {line}"));
        assert_eq!(judged["limit"]["within"], within, "{line}");
    }
}

#[test]
fn wrong_input_is_told_with_what_is_expected() {
    let lines = [
        "pintle calc wire-dorp",
        "pintle calc weather",
        "pintle calc wire-drop gage=14 length=120ft amps=10A",
        "pintle calc wire-drop length=120ft",
        "pintle calc wire-drop gauge=14 length=120V amps=10A",
        "pintle calc wire-drop gauge=14 length=far amps=10A",
        "pintle calc wire-drop gauge=14 length=9000ft amps=10A",
        "pintle calc wire-drop gauge=14 length=1,200ft amps=10A",
        "pintle calc wire-drop gauge=14 length=OL amps=10A",
        "pintle calc wire-drop gauge=14 gauge=12 length=120ft amps=10A",
        "pintle calc wire-drop 14 120ft",
        "pintle calc wire-gauge length=120ft amps=10A volts=12V",
        "pintle calc battery-ohms light-volts=12.6 light-amps=8 heavy-volts=11.4 heavy-amps=8",
    ];
    let pages: Vec<String> = lines.iter().map(|l| format!("> {l}\n{}", told(l, &PAGE))).collect();
    insta::assert_snapshot!("calc_errors", pages.join("\n"));
}

#[test]
fn json_has_all_that_the_page_has() {
    let text = json("pintle calc wire-drop gauge=14 length=120ft amps=10A volts=24V");
    insta::assert_snapshot!("calc_json", format!("{text:#}"));
    assert_eq!(json("pintle calc").as_array().map(Vec::len), Some(groups().count()));
    assert_eq!(json("pintle calc wire-drop")["name"], "wire_drop_volts");
    for f in functions() {
        let worked = json(&calc_example(f));
        assert!(worked["result"]["value"].is_number(), "{}", f.subject);
        assert_eq!(worked["limit"].is_null(), f.limit.is_none(), "{}", f.subject);
    }
}

/// The program itself: output, exit code, errors on the other stream.
#[test]
fn the_command_ends_as_commands_do() {
    let data = tempfile::tempdir().expect("a temporary folder");
    let run = |words: &[&str]| {
        let output = pintle(data.path()).arg("calc").args(words).output().expect("it runs");
        (
            output.status.code(),
            String::from_utf8(output.stdout).expect("text"),
            String::from_utf8(output.stderr).expect("text"),
        )
    };
    let (code, out, _) = run(&["panel-volts", "plate=21.6V", "cell=-10C", "--json"]);
    assert!(code == Some(0) && out.contains("23.8"), "{out}");
    let (code, out, err) = run(&["panel-volts", "plate=21.6V"]);
    assert!(code == Some(3) && out.is_empty(), "{out}");
    assert!(
        err.starts_with("pintle: cell is missing") && err.contains("cell=-10C"),
        "{err}"
    );
}

/// Published or hand-worked values, through the whole command: what a person reads at the bench.
#[test]
fn check_values_at_the_bench() {
    let cases = [
        // ITU-R P.525, printed example.
        ("radio-loss frequency=1000MHz distance=1000m", 92.45, 0.01),
        // NBS Handbook 100, 12 AWG at 1.588 ohms per 1000 ft.
        ("wire-drop gauge=12 length=100ft amps=10A", 3.176, 0.004),
        // ASCE 7 at 30 mph on 3.6 m by 1.8 m, shape 1.2.
        ("wind-force wind=30mph length=3.6m height=1.8m closed=100%", 857.0, 1.0),
        ("wind-moment wind=30mph length=3.6m height=1.8m closed=20%", 309.0, 1.0),
        // Multimeter explanations: ±(1 % + 2) at 100.0 V.
        ("meter-error reading=100.0V percent=1% counts=2 digit=0.1V", 1.2, 1e-9),
        // From memory, IEEE 485 table 1 at 40 °F.
        ("battery-cold temperature=40F", 76.9, 0.05),
        // Worked by hand from the relations that the modules name.
        ("loop long=6ft short=6ft turns=3", 74.5, 0.06),
        ("loop-frequency inductance=100uH capacitance=100nF", 50.33, 0.005),
        ("float cells=6 temperature=-10C", 14.49, 1e-9),
        (
            "battery-ohms light-volts=12.6 light-amps=0.1 heavy-volts=11.4 heavy-amps=8.1",
            0.150,
            1e-9,
        ),
        ("solar-panel load=17.6Wh sun=1.5h", 18.05, 0.01),
        ("hinge-friction mass=120kg length=3.6m apart=1.2m", 7.1, 0.05),
        ("arm-moment push=1500N post=0.25m leaf=0.8m angle=110", 308.0, 1.0),
        ("leaf-push moment=80Nm distance=0.3m", 266.7, 0.05),
        ("slide-pull mass=400kg", 39.2, 0.05),
        ("quarter-wave frequency=433.92MHz share=100%", 172.7, 0.05),
        ("leaf-energy mass=120kg length=3.6m time=15s", 2.84, 0.01),
        ("motor-stall volts=24V winding=0.8ohm rest=0.1ohm", 26.7, 0.05),
        ("transformer-dc ac=18V", 24.1, 0.05),
        ("skin-depth frequency=50kHz", 0.296, 0.0005),
        ("loop-turns long=6ft short=6ft", 3.0, 1e-9),
        (
            "wire-percent gauge=12 length=100ft amps=10A volts=24V temperature=75C more=2.3%",
            16.5,
            0.1,
        ),
        ("radio-reach frequency=433.92MHz budget=74.0dB", 100.0, 0.5),
        (
            "battery-cycles battery=7Ah running=4A seconds=15s standby=40mA hours=24h",
            152.4,
            0.05,
        ),
        // A battery maker's table: 10 % less at 10 °C on slow loads.
        ("battery-slow temperature=10C", 90.0, 1e-9),
        ("fresnel frequency=433.92MHz to-remote=50m to-aerial=50m", 4.16, 0.005),
        (
            "radio-edge frequency=433.92MHz above=2m to-remote=40m to-aerial=10m",
            15.2,
            0.1,
        ),
        ("eye-cell cell=2.5Ah mean=0.095mA", 1096.0, 1.0),
        ("eye-aim distance=10m angle=1", 175.0, 0.5),
        ("panel-short plate=0.62A cell=65C", 0.632, 0.0005),
        // From memory: 47 CFR 15.231, 6042 µV/m at 3 m.
        ("remote-power frequency=315MHz", -19.6, 0.05),
        // UL 943: one second at 20 mA.
        ("gfci leak=20mA", 1.0, 0.005),
        // A service manual: acid of 1.150 freezes at 5 °F; it is the acid of 21.4 % of charge.
        ("battery-freeze charge=21.43%", -15.0, 0.1),
        // From memory, Peukert: 100 Ah in 20 h last 8.71 h at 10 A, by hand.
        ("battery-run battery=100Ah amps=10A", 8.71, 0.005),
        // EN 12453 as service literature reports it: with 700 mm left, then by 0.75 s.
        ("stopping-force gap=700mm time=0.3s", 1400.0, 1e-9),
        ("stopping-force gap=700mm time=0.75s", 150.0, 1e-9),
    ];
    for (line, want, tolerance) in cases {
        let got = result(&format!("pintle calc {line}"));
        assert!((got - want).abs() <= tolerance, "{line}: {got} against {want}");
    }
}
