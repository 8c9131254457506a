//! The catalogue of faults, one file each.
//!
//! From the panel outwards a conductor may be broken, poor, exchanged with another or touching another; what people do
//! to an outlet, what devices do by design and what goes wrong with a meter stand beside it. Of a circuit across two
//! lines the second line stands where the neutral is: what needs a neutral cannot be had there.

mod joint;
#[cfg(test)]
mod patterns;
mod place;
mod step;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod trials;

use crate::fault::{Fault, catalogue};

catalogue! {
    Fault:
    open_line_run,
    open_neutral_run,
    open_earth_run,
    open_line_terminal,
    open_neutral_terminal,
    open_earth_terminal,
    open_line_circuit,
    open_neutral_circuit,
    open_earth_circuit,
    poor_line_run,
    poor_neutral_run,
    poor_earth_run,
    poor_line_terminal,
    poor_neutral_terminal,
    poor_earth_terminal,
    poor_line_circuit,
    poor_neutral_circuit,
    poor_earth_circuit,
    line_neutral_reversed_outlet,
    line_neutral_reversed_run,
    line_neutral_reversed_circuit,
    line_neutral_reversed_service,
    line_earth_reversed_service,
    line_earth_reversed_outlet,
    neutral_earth_reversed_outlet,
    neutral_earth_jumper_no_earth,
    neutral_earth_jumper_reversed,
    second_bond_outlet,
    second_bond_sub_panel,
    bond_missing,
    service_neutral_open,
    service_neutral_poor,
    service_leg_open,
    service_leg_poor,
    service_earth_open,
    feeder_neutral_open,
    feeder_neutral_poor,
    feeder_line_open,
    feeder_line_poor,
    feeder_earth_open,
    shared_neutral_open,
    shared_neutral_poor,
    multiwire_same_leg,
    neutral_borrowed,
    switched_neutral,
    switched_outlet_off,
    wrong_voltage_outlet,
    wrong_voltage_circuit,
    supply_high,
    supply_low,
    supply_frequency_off,
    supply_dead,
    circuit_overloaded,
    breaker_open,
    residual_device_open_panel,
    residual_device_open_outlet,
    arc_device_open,
    no_earth_run,
    earth_through_poor_path,
    live_earth_outlet,
    live_earth_run,
    live_earth_circuit,
    standing_leakage,
    worn_contacts,
    worn_earth_contact,
    cord_open_line,
    cord_open_neutral,
    cord_open_earth,
    cord_reversed,
    strip_switch_off,
    cord_poor_line,
    cord_poor_neutral,
    contacts_named_wrongly,
    line_earth_named_wrongly,
    neutral_earth_named_wrongly,
    lead_open,
    wrong_function,
    flat_battery,
}

/// The fault of an identifier.
#[must_use]
pub fn find(id: &str) -> Option<&'static Fault> {
    ALL.iter().copied().find(|f| f.id == id)
}
