//! Energy of a year.
//!
//! `E = 365 (h P_on + (24 − h) P_off)`; h: hours on in a day, always where nobody told; P: at the inlet, on a usual day and
//! off (W). Held by: tests/ref.rs (worked example).

use metrology::Watts;
use site::machine::Build;
use site::supply::Supply;
use site::typical::Moment;

use crate::demand::Demand;
use crate::inlet::inlet;
use crate::place::Place;

/// Energy of a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Year {
    /// In kilowatt-hours.
    pub kilowatt_hours: f64,
    /// Its standard uncertainty.
    pub u_kilowatt_hours: f64,
    /// Hours on in a day.
    pub hours_on: f64,
    /// What that costs, where a price of a kilowatt-hour was told, in its money.
    pub cost: Option<f64>,
}

/// Energy of a year, where the efficiency of the supply can be told.
pub(crate) fn year(
    demand: &Demand,
    build: &Build,
    supply: &Supply,
    place: &Place,
    price: Option<f64>,
) -> Option<Year> {
    const DAYS: f64 = 365.0;
    let on = inlet(demand, supply, Moment::Typical, place.nominal)?;
    let off = inlet(demand, supply, Moment::Off, place.nominal)?;
    let hours_on = build.on.map_or(24.0, |it| it.si() / 3600.0);
    let hours_off = 24.0 - hours_on;
    let energy = |on: Watts, off: Watts| (on.si() * hours_on + off.si() * hours_off) * DAYS / 1e3;
    let kilowatt_hours = energy(on.power.value, off.power.value);
    let u = energy(on.power.u, Watts::from_si(0.0)).hypot(energy(Watts::from_si(0.0), off.power.u));
    Some(Year {
        kilowatt_hours,
        u_kilowatt_hours: u,
        hours_on,
        cost: price.map(|it| it * kilowatt_hours),
    })
}
