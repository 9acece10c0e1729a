//! Reach of a remote, obstacles, noise, power, its cell.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::function::Parameter;
use crate::trade::{radio, radio_path as path};

const FREQUENCY: Parameter = param("frequency", U::Megahertz, (20.0, 6000.0), "433.92MHz", "of the remote");
const REMOTE: Parameter = param("remote", U::Metre, (0.3, 30.0), "1m", "height of the remote").usually(1.0);
const AERIAL: Parameter = param("aerial", U::Metre, (0.3, 30.0), "2m", "height of the receiver's aerial").usually(2.0);
const TO_REMOTE: Parameter = param(
    "to-remote",
    U::Metre,
    (0.5, 10_000.0),
    "50m",
    "from there to the remote",
);
const TO_AERIAL: Parameter = param(
    "to-aerial",
    U::Metre,
    (0.5, 10_000.0),
    "50m",
    "from there to the aerial",
);

pub(super) static FUNCTIONS: [Function; 7] = [
    Function {
        name: "radio_reach_m",
        subject: "radio-reach",
        params: &[
            FREQUENCY,
            param(
                "budget",
                U::Decibel,
                (20.0, 160.0),
                "68dB",
                "power − receiver − obstacles − 10 dB to spare",
            ),
            REMOTE,
            AERIAL,
        ],
        gives: U::Metre,
        about: "how far a remote reaches near the ground; free-space figures promise too much",
        formula: "the nearer of free space and 10^((budget + 20 log(remote · aerial))/40)",
        source: path::REACH_SOURCE,
        call: |a| path::reach(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "wanted",
                U::Metre,
                (1.0, 100_000.0),
                "60m",
                "from which it must work",
            )],
            about: "as far as it must work; twice the height of the aerial is 1.41 times the reach",
            source: "what the site needs",
            bounds: |a, _| (arg(a, 4), f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "radio_crossover_m",
        subject: "radio-crossover",
        params: &[FREQUENCY, REMOTE, AERIAL],
        gives: U::Metre,
        about: "distance from which the ground counts, and loss begins to grow with the fourth power",
        formula: "4 · remote · aerial/wavelength",
        source: path::REACH_SOURCE,
        call: |a| path::crossover(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "fresnel_m",
        subject: "fresnel",
        params: &[FREQUENCY, TO_REMOTE, TO_AERIAL],
        gives: U::Metre,
        about: "radius of the first Fresnel zone: room that a radio path wants about its straight line",
        formula: "√(wavelength · to-remote · to-aerial/(to-remote + to-aerial))",
        source: path::EDGE_SOURCE,
        call: |a| path::fresnel_radius(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Input("clear"),
            needs: &[param(
                "clear",
                U::Metre,
                (0.0, 100.0),
                "1m",
                "from the line to ground, hedge or roof",
            )],
            about: "six tenths of it clear; a remote in a hand has less, which is why reach is short",
            source: path::EDGE_SOURCE,
            bounds: |_, radius| (0.6 * radius, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "edge_decibels",
        subject: "radio-edge",
        params: &[
            FREQUENCY,
            param(
                "above",
                U::Metre,
                (-50.0, 50.0),
                "1m",
                "its top over the straight line, negative below",
            ),
            TO_REMOTE,
            TO_AERIAL,
        ],
        gives: U::Decibel,
        about: "loss over the edge of a wall, roof or bank that stands in the way",
        formula: "v = above · √(2/wavelength · (1/to-remote + 1/to-aerial)); 6.9 + 20 log(√((v − 0.1)² + 1) + v − 0.1)",
        source: path::EDGE_SOURCE,
        call: |a| path::edge_loss(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "noise_dbm",
        subject: "radio-noise",
        params: &[
            param("bandwidth", U::Kilohertz, (0.1, 20_000.0), "200kHz", "of the receiver"),
            param("figure", U::Decibel, (0.0, 30.0), "6dB", "its noise figure").usually(0.0),
        ],
        gives: U::DecibelMilliwatt,
        about: "noise that a receiver can't get under; lamp drivers and chargers nearby make more",
        formula: "−174 + 10 log(bandwidth in Hz) + figure",
        source: path::NOISE_SOURCE,
        call: |a| path::noise_floor(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "power_allowed_dbm",
        subject: "remote-power",
        params: &[param(
            "frequency",
            U::Megahertz,
            (260.0, 470.0),
            "315MHz",
            "of the remote",
        )],
        gives: U::DecibelMilliwatt,
        about: "most that a remote may radiate in the US, 260 to 470 MHz; a key held down stops within 5 s of release",
        formula: "20 log(41.6667 · frequency − 7083.3333) − 95.2",
        source: path::POWER_SOURCE,
        call: |a| path::power_allowed(arg(a, 0)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "remote_cell_percent",
        subject: "remote-cell",
        params: &[
            param("nominal", U::Volt, (1.2, 12.0), "3V", "printed on the cell"),
            param(
                "reading",
                U::Volt,
                (0.0, 15.0),
                "2.45V",
                "with the key held; a coin cell taken out, 1 kΩ across it",
            ),
        ],
        gives: U::Percent,
        about: "the cell of a remote under load; read without a load a spent one shows its full volts",
        formula: "100 · reading/nominal",
        source: "arithmetic",
        call: |a| radio::cell_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "83 %: 2.5 V of 3 V, 10 V of 12 V; cold takes more off",
            source: radio::CELL_SOURCE,
            bounds: |_, _| (83.0, f64::INFINITY),
        }),
        meaning: Some(|a| {
            Some(match radio::cell_percent(arg(a, 0), arg(a, 1)).ok()? {
                p if p < 83.0 => "weak: replace it",
                p if p < 93.0 => "fair: replace it before the winter",
                _ => "good",
            })
        }),
    },
];
