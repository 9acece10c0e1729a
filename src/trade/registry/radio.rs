//! Remotes, receivers and aerials.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::radio;

pub(super) static FUNCTIONS: [Function; 6] = [
    Function {
        name: "free_space_decibels",
        subject: "radio-loss",
        params: &[
            param("frequency", U::Megahertz, (1.0, 10_000.0), "433.92MHz", "of the remote"),
            param("distance", U::Metre, (1.0, 100_000.0), "50m", "remote to receiver"),
        ],
        gives: U::Decibel,
        about: "loss over free space; near the ground it is more (radio-ground)",
        formula: "20 log(4 π · distance · frequency/c)",
        source: radio::FREE_SPACE_SOURCE,
        call: |a| radio::free_space_loss(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "ground_decibels",
        subject: "radio-ground",
        params: &[
            param("frequency", U::Megahertz, (1.0, 10_000.0), "433.92MHz", "of the remote"),
            param("distance", U::Metre, (1.0, 100_000.0), "100m", "remote to receiver"),
            param("remote", U::Metre, (0.3, 30.0), "1m", "height of the remote").usually(1.0),
            param("aerial", U::Metre, (0.3, 30.0), "2m", "height of the receiver's aerial").usually(2.0),
        ],
        gives: U::Decibel,
        about: "loss near the ground; twice the height of the aerial gains 6 dB",
        formula: "the larger of free space and 40 log(distance) − 20 log(remote · aerial)",
        source: radio::GROUND_SOURCE,
        call: |a| radio::ground_loss(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "radio_margin_decibels",
        subject: "radio-margin",
        params: &[
            param(
                "power",
                U::DecibelMilliwatt,
                (-40.0, 30.0),
                "-14.4dBm",
                "radiated by the remote",
            ),
            param(
                "loss",
                U::Decibel,
                (0.0, 200.0),
                "59.2dB",
                "on the way (radio-loss, radio-ground)",
            ),
            param(
                "obstacles",
                U::Decibel,
                (0.0, 100.0),
                "15dB",
                "walls, coax, a metal box",
            )
            .usually(0.0),
            param(
                "receiver",
                U::DecibelMilliwatt,
                (-130.0, -50.0),
                "-105dBm",
                "least that it hears",
            )
            .usually(-105.0),
        ],
        gives: U::Decibel,
        about: "what is left over at the receiver",
        formula: "power − loss − obstacles − receiver",
        source: "a budget in decibels; receivers of -95 to -115 dBm are common practice",
        call: |a| radio::margin(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "10 dB to spare for a hand over the remote, rain and leaves",
            source: "common practice",
            bounds: |_, _| (10.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "range_left_percent",
        subject: "radio-range",
        params: &[param(
            "lost",
            U::Decibel,
            (0.0, 60.0),
            "3dB",
            "a weak cell, a bad aerial, a wall",
        )],
        gives: U::Percent,
        about: "share of a remote's range near the ground that is left after a loss",
        formula: "100 · 10^(−lost/40); in free space /20",
        source: radio::GROUND_SOURCE,
        call: |a| radio::range_left(arg(a, 0), true),
        limit: None,
        meaning: None,
    },
    Function {
        name: "quarter_wave_mm",
        subject: "quarter-wave",
        params: &[
            param(
                "frequency",
                U::Megahertz,
                (20.0, 6000.0),
                "433.92MHz",
                "of the receiver",
            ),
            param(
                "share",
                U::Percent,
                (60.0, 100.0),
                "95%",
                "of the length in air at which a wire is cut",
            )
            .usually(95.0),
        ],
        gives: U::Millimetre,
        about: "length of a quarter-wave wire aerial",
        formula: "c/(4 · frequency) · share/100",
        source: radio::AERIAL_SOURCE,
        call: |a| radio::quarter_wave(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("wire"),
            needs: &[param(
                "wire",
                U::Millimetre,
                (1.0, 4000.0),
                "237mm",
                "the aerial that is there",
            )],
            about: "within a tenth of that; another length is cut, or made for another band",
            source: "common practice",
            bounds: |_, mm| (0.9 * mm, 1.1 * mm),
        }),
        meaning: None,
    },
    Function {
        name: "coax_decibels",
        subject: "coax",
        params: &[
            param("length", U::Metre, (0.0, 100.0), "5m", "of small 50 Ω cable"),
            param("frequency", U::Megahertz, (20.0, 1000.0), "433MHz", "of the receiver"),
        ],
        gives: U::Decibel,
        about: "loss in an aerial's cable, give or take a fifth",
        formula: "0.25 dB per metre · √(frequency/433 MHz)",
        source: radio::COAX_SOURCE,
        call: |a| radio::coax_loss(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "3 dB, half of the power; a bad connector costs more than the cable",
            source: "common practice",
            bounds: |_, _| (0.0, 3.0),
        }),
        meaning: None,
    },
];
