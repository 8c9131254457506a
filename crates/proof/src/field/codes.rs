//! Fault codes of the cases as fault kinds of the engine, with the hazard that each is: one table for all cases.

use site::finding::Use;

/// A code: the kinds that are it, and the mildest use that is right.
#[derive(Clone, Copy, Debug)]
pub struct Code {
    /// The code.
    pub code: &'static str,
    /// Kinds.
    pub kinds: &'static [&'static str],
    /// Mildest use.
    pub at_least: Use,
}

const fn code(code: &'static str, at_least: Use, kinds: &'static [&'static str]) -> Code {
    Code {
        code,
        kinds,
        at_least,
    }
}

/// Every wiring code. A code whose fault the engine does not have (third harmonics) stands with no kinds and cannot be
/// right. A neutral that comes and goes counts as open or poor where the code says a feeder or service; an outlet cannot
/// tell feeder and service apart where no panel between is told.
pub const CODES: [Code; 30] = [
    code(
        "open_neutral_branch",
        Use::Stop,
        &[
            "open-neutral-run",
            "open-neutral-circuit",
            "open-neutral-terminal",
            "cord-open-neutral",
        ],
    ),
    code(
        "open_neutral_mwbc",
        Use::Stop,
        &["shared-neutral-open", "shared-neutral-poor"],
    ),
    code(
        "open_neutral_feeder",
        Use::Stop,
        &[
            "feeder-neutral-open",
            "service-neutral-open",
            "feeder-neutral-poor",
            "service-neutral-poor",
        ],
    ),
    code(
        "open_neutral_service",
        Use::Stop,
        &["service-neutral-open", "service-neutral-poor"],
    ),
    code(
        "high_resistance_neutral",
        Use::Stop,
        &[
            "poor-neutral-run",
            "poor-neutral-circuit",
            "poor-neutral-terminal",
            "shared-neutral-poor",
            "service-neutral-poor",
            "feeder-neutral-poor",
            "cord-poor-neutral",
            "worn-contacts",
        ],
    ),
    code(
        "high_resistance_line",
        Use::Stop,
        &[
            "poor-line-run",
            "poor-line-circuit",
            "poor-line-terminal",
            "service-leg-poor",
            "feeder-line-poor",
            "cord-poor-line",
            "worn-contacts",
        ],
    ),
    code(
        "open_conductor_branch",
        Use::Stop,
        &[
            "open-line-run",
            "open-line-circuit",
            "open-line-terminal",
            "open-neutral-run",
            "open-neutral-circuit",
            "open-neutral-terminal",
            "open-earth-run",
            "open-earth-circuit",
            "open-earth-terminal",
        ],
    ),
    code(
        "line_neutral_reversed",
        Use::Restricted,
        &[
            "line-neutral-reversed-outlet",
            "line-neutral-reversed-run",
            "line-neutral-reversed-circuit",
            "cord-reversed",
        ],
    ),
    code(
        "line_neutral_reversed_service",
        Use::Stop,
        &["line-neutral-reversed-service"],
    ),
    code("switched_neutral", Use::Restricted, &["switched-neutral"]),
    code(
        "improper_shared_neutral",
        Use::Restricted,
        &[
            "neutral-borrowed",
            "multiwire-same-leg",
            "shared-neutral-poor",
            "shared-neutral-open",
        ],
    ),
    code(
        "wrong_voltage_outlet",
        Use::Stop,
        &["wrong-voltage-outlet", "wrong-voltage-circuit"],
    ),
    code(
        "network_fault",
        Use::Restricted,
        &[
            "service-neutral-open",
            "service-neutral-poor",
            "service-leg-open",
            "service-leg-poor",
            "supply-low",
            "supply-high",
            "supply-dead",
        ],
    ),
    code(
        "missing_neutral_earth_bond",
        Use::Restricted,
        &["bond-missing"],
    ),
    code(
        "worn_contact",
        Use::Restricted,
        &["worn-contacts", "worn-earth-contact"],
    ),
    code("overload_circuit", Use::Yes, &["circuit-overloaded"]),
    code("harmonic_neutral_current", Use::Yes, &[]),
    code(
        "open_earth",
        Use::Restricted,
        &[
            "open-earth-terminal",
            "open-earth-run",
            "open-earth-circuit",
            "no-earth-run",
            "cord-open-earth",
            "feeder-earth-open",
            "service-earth-open",
            "worn-earth-contact",
        ],
    ),
    code(
        "open_earth_upstream",
        Use::Restricted,
        &[
            "open-earth-run",
            "open-earth-circuit",
            "no-earth-run",
            "feeder-earth-open",
            "service-earth-open",
        ],
    ),
    code("open_earth_cord", Use::Restricted, &["cord-open-earth"]),
    code(
        "reversed_bootleg",
        Use::Stop,
        &["neutral-earth-jumper-reversed"],
    ),
    code(
        "earth_on_line",
        Use::Stop,
        &[
            "live-earth-outlet",
            "live-earth-run",
            "live-earth-circuit",
            "line-earth-reversed-outlet",
        ],
    ),
    code(
        "hot_ground_exchanged",
        Use::Stop,
        &["line-earth-reversed-outlet", "line-earth-reversed-service"],
    ),
    code(
        "leakage_fault_neighbour",
        Use::Stop,
        &["standing-leakage", "live-earth-run", "live-earth-circuit"],
    ),
    code("leakage_filter", Use::Yes, &["standing-leakage"]),
    code(
        "leakage_sum",
        Use::Yes,
        &[
            "residual-device-open-panel",
            "residual-device-open-outlet",
            "standing-leakage",
        ],
    ),
    code("supply_voltage_low", Use::Yes, &["supply-low"]),
    code("supply_voltage_high", Use::Yes, &["supply-high"]),
    code(
        "sustained_overvoltage",
        Use::Stop,
        &[
            "supply-high",
            "service-neutral-open",
            "service-neutral-poor",
        ],
    ),
    code(
        "frequency_out_of_window",
        Use::Yes,
        &["supply-frequency-off"],
    ),
];

/// The code of a name, where it is one of the wiring.
#[must_use]
pub fn find(name: &str) -> Option<&'static Code> {
    static ALL: [Code; 30] = CODES;
    ALL.iter().find(|c| c.code == name)
}
