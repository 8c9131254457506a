//! Where a machine runs: the voltage of its outlet, and the circuit behind it where it stands in a site.

use metrology::{Amps, Volts};
use site::machine::Machine;
use site::model::Site;
use site::region::Region;

/// Where a machine is to run.
#[derive(Clone, Debug)]
pub struct Place {
    /// What findings are about, as `machine:front-desk-pc`.
    pub element: String,
    /// Nominal voltage of the outlet.
    pub nominal: Volts,
    /// Lowest and highest voltage of the region at an outlet.
    pub range: (Volts, Volts),
    /// The circuit, where the machine stands in a site.
    pub circuit: Option<Branch>,
    /// The UPS between, where there is one.
    pub behind: Option<String>,
}

/// The circuit that feeds a machine.
#[derive(Clone, Debug)]
pub struct Branch {
    /// Identifier.
    pub id: String,
    /// Rating of its overcurrent device.
    pub breaker: Amps,
    /// What else is known to draw from it.
    pub others: Amps,
}

impl Place {
    /// Anywhere in a region.
    pub fn in_region(region: &'static Region) -> Place {
        let system = &region.systems[0];
        let range = region.range(system, 0, None);
        Place {
            element: "machine".to_owned(),
            nominal: system.volts(0, None),
            range: (range.low.value, range.high.value),
            circuit: None,
            behind: None,
        }
    }

    /// Where a machine of a site stands.
    pub fn of(site: &Site, machine: &Machine) -> Place {
        let outlet = &site.outlets[machine.at.0];
        let circuit = &site.circuits[outlet.circuit.0];
        let system = site.service.system;
        let nominal = system.volts(circuit.leg, circuit.second_leg);
        let range = site.region.range(system, circuit.leg, circuit.second_leg);
        let on_it = site
            .loads
            .iter()
            .filter(|it| it.id != machine.id && site.outlets[it.at.0].circuit == outlet.circuit);
        let amps = on_it.map(|it| it.power.si() / (it.power_factor.si() * nominal.si()));
        let usual = site.region.usual.breaker.value;
        Place {
            element: format!("machine:{}", machine.id),
            nominal,
            range: (range.low.value, range.high.value),
            circuit: Some(Branch {
                id: circuit.id.clone(),
                breaker: circuit.breaker.unwrap_or(usual),
                others: Amps::from_si(amps.sum()),
            }),
            behind: machine.behind.clone(),
        }
    }
}
