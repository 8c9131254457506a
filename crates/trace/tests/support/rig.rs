//! Our side: the wiring of a site in one sampled world, every fault at every place, and what all contacts then have.

use chain::alter::{Recipe, Spots};
use chain::wiring::Wiring;
use chain::worlds::Worlds;
use network::{Batch, Cx8, Factors, NodeIx, Order, Probe, Probes, Scratch, Seen};
use num_complex::Complex64;
use site::model::{CircuitIx, OutletIx, PanelIx, Site};
use site::visit::{Bar, Condition, Contact, Pin};
use trace::causes::{self, Single, singles};
use trace::fault::Place;

use super::deck::{Altered, Deck};

/// The world that is looked at: lane 0 of the first batch.
const LANE: usize = 0;
const SEED: u64 = 20_260_401;

type Contacts = Vec<(String, NodeIx)>;
type Pairs = Vec<(usize, Option<usize>)>;

/// A site ready for faults.
pub struct Rig<'a> {
    pub wiring: Wiring<'a>,
    pub condition: Condition,
    pub singles: Vec<Single>,
    pub spots: Spots,
    pub batches: [Batch; 1],
    /// Every contact by its words, datum left out.
    pub contacts: Contacts,
    /// Every pair that is compared, as numbers into `contacts`; `None` is the datum.
    pub pairs: Pairs,
}

/// Up to two faults, each with its severity.
#[derive(Clone)]
pub struct Case {
    /// Numbers into [`Rig::singles`], and severities.
    pub faults: Vec<(usize, f64)>,
}

impl<'a> Rig<'a> {
    pub fn of(site: &'a Site, condition: &Condition) -> Self {
        let all: Vec<CircuitIx> = (0..site.circuits.len()).map(CircuitIx).collect();
        let wiring = Wiring::of(site, &all);
        let mut spots = Spots::default();
        let singles = singles(&wiring, std::slice::from_ref(condition), &mut spots);
        let worlds = Worlds::draw(wiring.dims, 8, SEED);
        let batches = [wiring.batch(&worlds, 0, condition)];
        let (contacts, pairs) = contacts(&wiring);
        Rig {
            wiring,
            condition: condition.clone(),
            singles,
            spots,
            batches,
            contacts,
            pairs,
        }
    }

    /// Words for a case.
    pub fn says(&self, case: &Case) -> String {
        let one = |&(k, severity): &(usize, f64)| {
            let single = &self.singles[k];
            let at = single.at.key(self.wiring.site);
            format!(
                "{} at {at} leg {} ({severity:.3e})",
                single.fault.id, single.leg
            )
        };
        match case.faults.is_empty() {
            true => "sound".to_owned(),
            false => case
                .faults
                .iter()
                .map(one)
                .collect::<Vec<_>>()
                .join(" and "),
        }
    }

    /// The number of a fault at a place, by identifier and key.
    pub fn find(&self, fault: &str, at: &str) -> usize {
        let is_it = |s: &Single| s.fault.id == fault && s.at.key(self.wiring.site) == at;
        let found = self.singles.iter().position(is_it);
        found.unwrap_or_else(|| panic!("no {fault} at {at}"))
    }

    /// Every fault at every place at its middle severity.
    pub fn cases(&self) -> Vec<Case> {
        let one = |k: usize| Case {
            faults: vec![(k, self.singles[k].fault.severity.at(0.5))],
        };
        (0..self.singles.len()).map(one).collect()
    }

    /// Two faults together, where they can be, at severities at these levels.
    pub fn pair(
        &mut self,
        one: usize,
        other: usize,
        levels: [f64; 2],
    ) -> Option<(Case, Option<Recipe>)> {
        let at = |k: usize, level| (k, self.singles[k].fault.severity.at(level));
        self.both(at(one, levels[0]), at(other, levels[1]))
    }

    /// Two faults together, each with its severity, where they can be.
    pub fn both(
        &mut self,
        one: (usize, f64),
        other: (usize, f64),
    ) -> Option<(Case, Option<Recipe>)> {
        let cause = causes::pair(&self.wiring, &self.singles, one.0, other.0, &mut self.spots)?;
        let case = Case {
            faults: vec![one, other],
        };
        let merged = cause.merged.and_then(|them| them.into_iter().next());
        Some((case, merged))
    }

    /// What the simulator is given.
    pub fn deck(&self, case: &Case) -> Deck {
        let mut deck = Deck::of(&self.wiring, &self.batches[0], LANE);
        let altered: Vec<Altered> = case
            .faults
            .iter()
            .flat_map(|&(k, severity)| {
                let single = &self.singles[k];
                let place = Place {
                    site: self.wiring.site,
                    at: single.at,
                    leg: single.leg,
                };
                let them = (single.fault.alters)(&place, &self.condition);
                let them = them.expect("a single that was tried");
                them.into_iter().map(move |it| (severity, it))
            })
            .collect();
        deck.alter(&self.wiring, &altered);
        deck
    }

    /// Voltages of all pairs of a list of potentials by node number.
    pub fn across(&self, potentials: &[Complex64]) -> Vec<Complex64> {
        let of = |k: usize| potentials[self.contacts[k].1.index()];
        let pair = |&(a, b): &(usize, Option<usize>)| of(a) - b.map_or(Complex64::ZERO, of);
        self.pairs.iter().map(pair).collect()
    }

    /// Words for a pair.
    pub fn pair_says(&self, pair: usize) -> String {
        let (a, b) = self.pairs[pair];
        let b = b.map_or("true earth", |b| &self.contacts[b].0);
        format!("{} to {b}", self.contacts[a].0)
    }

    /// The pairs as probes.
    pub fn probes(&self) -> Vec<Probe> {
        let of = |k: usize| self.contacts[k].1;
        let probe = |&(a, b): &(usize, Option<usize>)| Probe {
            plus: of(a),
            minus: b.map_or(NodeIx::DATUM, of),
        };
        self.pairs.iter().map(probe).collect()
    }
}

/// The rig's network factored, with everything prepared for faults; apart from [`Rig`], from which it borrows.
pub struct Solved<'a> {
    pub probes: Probes<'a>,
}

impl<'a> Solved<'a> {
    /// Watches all pairs; the further probes are read with their impedances.
    pub fn of(
        rig: &Rig<'_>,
        factors: &'a Factors<'a>,
        probes: &[Probe],
        mutual: &[(usize, usize)],
    ) -> Self {
        let probes = factors.probes(probes, mutual, &rig.probes(), rig.spots.list());
        Solved {
            probes: probes.expect("nodes of this network"),
        }
    }

    /// What is seen in a case, all of it scaled where the supply's voltage is at fault. `merged` is the recipe of two faults
    /// that change the same spot.
    pub fn see(&self, rig: &Rig<'_>, case: &Case, merged: Option<&Recipe>) -> (Seen, f64) {
        let mut changes: Vec<(usize, Cx8)> = Vec::new();
        let mut factor = 1.0;
        for &(k, severity) in &case.faults {
            let recipe = &rig.singles[k].recipes[0];
            if recipe.volts.is_some() {
                factor *= severity;
            }
            if merged.is_none() {
                recipe.write(&rig.batches[0], &[[severity; 8]], &mut changes);
            }
        }
        if let Some(recipe) = merged {
            let severities: Vec<[f64; 8]> = case.faults.iter().map(|f| [f.1; 8]).collect();
            recipe.write(&rig.batches[0], &severities, &mut changes);
        }
        let mut seen = Seen::default();
        let done = self
            .probes
            .under(0, &changes, &mut Scratch::default(), &mut seen);
        done.unwrap_or_else(|e| panic!("{}: {e}", rig.says(case)));
        (seen, factor)
    }

    /// Voltages of all pairs in a case.
    pub fn volts(&self, rig: &Rig<'_>, case: &Case, merged: Option<&Recipe>) -> Vec<Complex64> {
        let (seen, factor) = self.see(rig, case, merged);
        seen.watch.iter().map(|v| v.lane(LANE) * factor).collect()
    }
}

/// The order of a rig's network.
pub fn order(rig: &Rig<'_>) -> Order {
    Order::of(&rig.wiring.topology).expect("a network in one piece")
}

/// Every contact, and the pairs: within an outlet, within a panel, and each to the datum.
fn contacts(wiring: &Wiring<'_>) -> (Contacts, Pairs) {
    let site = wiring.site;
    let (mut contacts, mut pairs) = (Vec::new(), Vec::new());
    let mut add = |group: Vec<(String, NodeIx)>| {
        let first = contacts.len();
        let n = group.len();
        contacts.extend(group);
        for a in first..first + n {
            pairs.push((a, None));
            pairs.extend((a + 1..first + n).map(|b| (a, Some(b))));
        }
    };
    for p in (0..site.panels.len()).map(PanelIx) {
        let legs = (0..site.service.system.legs.len()).map(Bar::Leg);
        let bars = legs.chain([Bar::Neutral, Bar::Earth]);
        let node = |bar| {
            wiring
                .contact(Contact::Panel(p, bar))
                .map(|node| (bar, node))
        };
        let named = bars.filter_map(node).map(|(bar, node)| {
            let bar = format!("{bar:?}").to_ascii_lowercase();
            (format!("{} {bar}", site.panels[p.0].id), node)
        });
        add(named.collect());
    }
    for o in (0..site.outlets.len()).map(OutletIx) {
        let node = |pin| {
            wiring
                .contact(Contact::Outlet(o, pin))
                .map(|node| (pin, node))
        };
        let pins = [Pin::Line, Pin::Neutral, Pin::Earth];
        let named = pins.into_iter().filter_map(node).map(|(pin, node)| {
            let pin = format!("{pin:?}").to_ascii_lowercase();
            (format!("{} {pin}", site.outlets[o.0].id), node)
        });
        add(named.collect());
    }
    (contacts, pairs)
}
