//! A gate that moves, and its motor.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::function::Parameter;
use crate::trade::motion;

const LENGTH: Parameter = param("length", U::Metre, (0.3, 10.0), "3.6m", "of the leaf");
const SECONDS: Parameter = param("time", U::Second, (2.0, 120.0), "15s", "from stop to stop");
const SWING: Parameter = param("angle", U::Degree, (10.0, 180.0), "90", "that it swings").usually(90.0);

pub(super) static FUNCTIONS: [Function; 7] = [
    Function {
        name: "toe_speed",
        subject: "toe-speed",
        params: &[LENGTH, SECONDS, SWING],
        gives: U::MetrePerSecond,
        about: "mean speed of a leaf's toe; soft start and stop make the peak 1.3 to 1.6 times that",
        formula: "length · angle in radians/time",
        source: motion::ENERGY_SOURCE,
        call: |a| motion::toe_speed(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "leaf_energy",
        subject: "leaf-energy",
        params: &[
            param("mass", U::Kilogram, (5.0, 1500.0), "120kg", "of the leaf"),
            LENGTH,
            SECONDS,
            SWING,
        ],
        gives: U::NewtonMetre,
        about: "energy in joules (N·m) of a leaf at its mean speed; at the peak 1.7 to 2.6 times that",
        formula: "mass · toe speed²/6",
        source: motion::ENERGY_SOURCE,
        call: |a| motion::leaf_energy(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "slide_energy",
        subject: "slide-energy",
        params: &[
            param("mass", U::Kilogram, (20.0, 3000.0), "400kg", "of the gate"),
            param("speed", U::MetrePerSecond, (0.01, 2.0), "0.3m/s", "1 ft/s is usual"),
        ],
        gives: U::NewtonMetre,
        about: "energy in joules (N·m) of a slide gate",
        formula: "mass · speed²/2",
        source: "mechanics",
        call: |a| motion::slide_energy(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "energy_push_newtons",
        subject: "stopping-push",
        params: &[
            param(
                "energy",
                U::NewtonMetre,
                (0.0, 2000.0),
                "18Nm",
                "of the gate (leaf-energy, slide-energy)",
            ),
            param(
                "way",
                U::Millimetre,
                (1.0, 1000.0),
                "50mm",
                "in which it stops: the give of edge and what it meets",
            ),
        ],
        gives: U::Newton,
        about: "mean push of a gate that is stopped, without the motor's own, which comes on top",
        formula: "energy/way",
        source: "mechanics",
        call: |a| motion::stopping_push(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "stall_amps",
        subject: "motor-stall",
        params: &[
            param("volts", U::Volt, (5.0, 60.0), "24V", "of the supply"),
            param(
                "winding",
                U::Ohm,
                (0.01, 100.0),
                "0.8ohm",
                "of the motor, meter leads taken off",
            ),
            param("rest", U::Ohm, (0.0, 10.0), "0.1ohm", "wires, fuse and battery").usually(0.0),
        ],
        gives: U::Ampere,
        about: "current of a dc motor that stands still",
        formula: "volts/(winding + rest)",
        source: motion::MOTOR_SOURCE,
        call: |a| motion::stall_amps(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Ampere,
                (0.0, 500.0),
                "24A",
                "on a clamp, within a second of starting",
            )],
            about: "well under it: 80 % or more at once is a leaf that is jammed, on its stop, or still locked",
            source: "common practice",
            bounds: |_, amps| (0.0, 0.8 * amps),
        }),
        meaning: None,
    },
    Function {
        name: "run_percent",
        subject: "motor-run",
        params: &[
            param("amps", U::Ampere, (0.0, 100.0), "6.5A", "running, at mid travel"),
            param(
                "commissioned",
                U::Ampere,
                (0.05, 100.0),
                "4A",
                "the same when the gate was new, from its record",
            ),
        ],
        gives: U::Percent,
        about: "running current against that of the day it was commissioned",
        formula: "100 · amps/commissioned",
        source: "arithmetic; a dc motor's current rises with its torque",
        call: |a| motion::run_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "50 to 150 %; more is drag (hinge, wheel, wind, ice): find it, never raise the force. Far less is a broken coupling, pin or chain",
            source: motion::RUN_SOURCE,
            bounds: |_, _| (50.0, 150.0),
        }),
        meaning: None,
    },
    Function {
        name: "off_mark_mm",
        subject: "stop-mark",
        params: &[param(
            "off",
            U::Millimetre,
            (-2000.0, 2000.0),
            "40mm",
            "from its mark, short of it or beyond",
        )],
        gives: U::Millimetre,
        about: "how far from its mark a gate stopped",
        formula: "|off|",
        source: "arithmetic",
        call: |a| motion::off_mark(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "25 mm (1 in); more is a limit that was lost or moved, a bracket that slips, or a leaf that strains on its stop",
            source: motion::STOP_SOURCE,
            bounds: |_, _| (0.0, 25.4),
        }),
        meaning: None,
    },
];
