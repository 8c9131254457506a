//! The site assumed around a quick trace: nobody wrote anything down, so what every site has is put around the outlet.

use crate::model::{
    Circuit, CircuitIx, EarthRun, Feed, Origin, Outlet, OutletIx, Panel, PanelIx, Service, Site,
    Switched,
};
use crate::region::{Polarity, Receptacle, Region, System};
use crate::visit::{Contact, Pin, Sign, Visit, Whereabouts};

/// Identifier of the outlet assumed before the named ones.
pub const BEFORE: &str = "outlet-before";
/// Identifier of the outlet assumed after the named ones.
pub const AFTER: &str = "outlet-after";
/// Identifier of the outlet assumed on another circuit of the same leg.
pub const SAME_LEG: &str = "outlet-same-leg";
/// Identifier of the outlet assumed on a circuit of the other leg.
pub const OTHER_LEG: &str = "outlet-other-leg";

impl Site {
    /// The site assumed around one or a few outlets.
    ///
    /// On the first leg of the region's usual system: the named places as consecutive outlets of one circuit, with an
    /// outlet before and one after them; another circuit with one outlet on the same leg, and one on the next leg
    /// where the system has one. No length is known; a place named
    /// as a strip or an extension is plugged into the one before it. Without a place, the one outlet is called `outlet`. A place named
    /// twice is one outlet.
    pub fn assumed(region: &'static Region, places: &[&str]) -> Site {
        let system = usual_system(region);
        let mut site = Site {
            name: "assumed".to_owned(),
            region,
            service: Service {
                system,
                earthing: system.earthings[0],
                frequency: region.frequencies[0],
                fault_current: None,
                drop: None,
                electrode: None,
            },
            panels: vec![Panel {
                id: "main".to_owned(),
                feeder: None,
            }],
            circuits: Vec::new(),
            outlets: Vec::new(),
            loads: Vec::new(),
            machines: Vec::new(),
            origin: Origin::Assumed,
        };
        let mut named: Vec<&str> = Vec::new();
        for place in if places.is_empty() {
            &["outlet"]
        } else {
            places
        } {
            if !named.contains(place) {
                named.push(place);
            }
        }
        let circuit = site.assume_circuit("circuit", 0);
        let mut last = site.assume_outlet(BEFORE, "an outlet before it", circuit, None);
        for place in named {
            last = site.assume_outlet(place, place, circuit, Some(last));
        }
        site.assume_outlet(AFTER, "an outlet after it", circuit, Some(last));
        let other = site.assume_circuit("circuit-same-leg", 0);
        site.assume_outlet(SAME_LEG, "an outlet of another circuit", other, None);
        if system.legs.len() > 1 {
            let across = site.assume_circuit("circuit-other-leg", 1);
            site.assume_outlet(OTHER_LEG, "an outlet on the other leg", across, None);
        }
        site
    }

    /// Gives outlets of an assumed site the receptacle that what was told of them needs: one with an earth contact where
    /// something was read at it, one that tells line from neutral where a detector was held to a slot known by name.
    pub fn fit_receptacles(&mut self, visit: &Visit) {
        let read = visit.readings.iter().flat_map(|it| [it.from, it.to]);
        let seen = visit
            .observations
            .iter()
            .filter_map(|it| match (it.at, it.what) {
                (Whereabouts::Outlet(o), Sign::Lamps { .. }) => {
                    Some(Contact::Outlet(o, Pin::Earth))
                }
                (Whereabouts::Outlet(o), Sign::Detector { pin, .. }) => {
                    Some(Contact::Outlet(o, pin))
                }
                _ => None,
            });
        let (mut earths, mut named) = (Vec::new(), Vec::new());
        earths.extend(read.clone().chain(seen.clone()).filter_map(|it| match it {
            Contact::Outlet(o, Pin::Earth) => Some(o.0),
            _ => None,
        }));
        named.extend(seen.filter_map(|it| match it {
            Contact::Outlet(o, Pin::Neutral) => Some(o.0),
            _ => None,
        }));
        let all = &self.region.receptacles;
        for (o, outlet) in self.outlets.iter_mut().enumerate() {
            let fits = |it: &Receptacle| {
                (it.earth_contact || !earths.contains(&o))
                    && (it.polarity == Polarity::Defined || !named.contains(&o))
            };
            if all.get(outlet.receptacle).is_some_and(|it| !fits(it)) {
                outlet.receptacle = all.iter().position(fits).unwrap_or(outlet.receptacle);
            }
        }
    }

    fn assume_circuit(&mut self, id: &str, leg: usize) -> CircuitIx {
        let breaker = self.region.usual.breaker.value;
        self.circuits.push(Circuit {
            id: id.to_owned(),
            panel: PanelIx(0),
            leg,
            second_leg: None,
            shares_neutral_with: None,
            breaker: Some(breaker),
            residual_current: None,
            arc_fault: false,
            cable: self.region.cable_for(Some(breaker)).value,
            earth_run: EarthRun::NotKnown,
        });
        CircuitIx(self.circuits.len() - 1)
    }

    fn assume_outlet(
        &mut self,
        id: &str,
        label: &str,
        circuit: CircuitIx,
        after: Option<OutletIx>,
    ) -> OutletIx {
        let id = match self.outlets.iter().any(|it| it.id == id) {
            true => format!("{id}-assumed"), // somebody named a place as we name ours
            false => id.to_owned(),
        };
        let plugged = ["extension", "strip", "cord", "power bar"];
        let low = label.to_lowercase();
        let feed = match plugged.iter().any(|it| low.contains(it)) {
            true => Feed::Cord(self.region.usual.cord.value),
            false => Feed::Fixed(self.circuits[circuit.0].cable),
        };
        self.outlets.push(Outlet {
            id,
            label: label.to_owned(),
            circuit,
            after,
            run: None,
            feed,
            receptacle: 0,
            switched: Switched::NotKnown,
            residual_current: None,
        });
        OutletIx(self.outlets.len() - 1)
    }
}

fn usual_system(region: &'static Region) -> &'static System {
    &region.systems[0]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quick_trace_has_neighbours_to_ask_about() {
        let mut misses = Vec::new();
        for (id, others) in [("north-america", 3), ("iec-230", 2), ("japan", 3)] {
            let region = Region::find(id).unwrap();
            let site = Site::assumed(region, &["desk", "hall"]);
            let ids: Vec<&str> = site.outlets.iter().map(|it| it.id.as_str()).collect();
            if ids[..4] != [BEFORE, "desk", "hall", AFTER] || site.circuits.len() != others {
                misses.push(format!("{id}: {ids:?}"));
            }
            assert_eq!(site.outlets[2].after, Some(OutletIx(1)));
            assert!(site.outlets.iter().all(|it| it.run.is_none()));
        }
        assert!(misses.is_empty(), "{misses:#?}");
    }

    #[test]
    fn a_place_called_like_ours_or_named_twice_stays_one_outlet() {
        let region = Region::find("north-america").unwrap();
        let site = Site::assumed(region, &[BEFORE, "x", "x"]);
        let mut ids: Vec<&str> = site.outlets.iter().map(|it| it.id.as_str()).collect();
        let n_outlets = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!((ids.len(), n_outlets), (6, 6));
    }
}
