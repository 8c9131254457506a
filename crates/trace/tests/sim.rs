//! The catalogue of faults against an independent circuit simulator: ngspice 39 (Debian package `ngspice`), AC analysis.
//!
//! Every fault at every place of every region and earthing, at its middle severity, is put into a netlist as wires
//! (`support::deck`) and into ours as a low-rank update of the sound network. Asked for: 1 µV, and 1e-6 of the voltage, at
//! every pair of contacts of every outlet and panel and at each to true earth. Found so for 95 % of 1400 single faults, and for
//! five of six pairs of faults. The others leave contacts behind an open switch of 1e10 Ω with nothing but some
//! picofarads to anything: ngspice assembles its matrix in doubles, so that 1e-10 S beside the 300 S of a contact
//! keeps three digits, and is off by up to 3e-3 V (1e-5 of the voltage) against a dense solution in 32 digits. There
//! ours is held to that solution, at 1e-8 V (see the tests of `network`, where this was found first).
//!
//! Voltages found by ngspice for the told site and for a 230 V site with its own electrode stand in
//! tests/data/ngspice.json, so that the comparison runs where ngspice is not installed; `cargo test -p trace --test sim --
//! --ignored` writes the file anew.

mod support;

use metrology::{Farads, Ohms};
use network::{Factors, Probe};
use num_complex::Complex64;
use site::visit::{Contact, Pin};
use support::deck::Deck;
use support::rig::{Case, Rig, Solved, order};
use support::sites::Setting;
use support::{kept, ngspice, sites};
use trace::seeing::{LAMP_OHMS, ProbeList, Seeing, input_admittance};

/// Misses, and how the rest came out.
#[derive(Default)]
struct Tally {
    misses: Vec<String>,
    worst: f64,
    n: usize,
    n_by_truth: usize,
    lost: f64,
}

impl Tally {
    /// Compares what is read in one case; where ngspice is off, the dense solution decides.
    fn compare(
        &mut self,
        says: &dyn Fn(usize) -> String,
        ours: &[f64],
        theirs: &[f64],
        truth: &dyn Fn() -> Vec<f64>,
    ) {
        self.n += 1;
        let agrees = |(a, b): (&f64, &f64)| (a - b).abs() <= 1e-6 * b.abs().max(1.0);
        assert_eq!(ours.len(), theirs.len());
        if ours.iter().zip(theirs).all(agrees) {
            let off = ours.iter().zip(theirs).map(|(a, b)| (a - b).abs());
            self.worst = off.fold(self.worst, f64::max);
            return;
        }
        self.n_by_truth += 1;
        for (k, (truth, (a, b))) in truth().iter().zip(ours.iter().zip(theirs)).enumerate() {
            self.lost = self.lost.max((b - truth).abs());
            let holds = (a - truth).abs() <= 1e-8 + 1e-9 * truth.abs();
            let near = (b - truth).abs() <= 5e-3 + 1e-4 * truth.abs();
            if !holds || !near {
                let says = says(k);
                self.misses
                    .push(format!("{says}: {a} for {truth}, ngspice {b}"));
                return;
            }
        }
    }

    fn close(&self, what: &str) {
        println!(
            "{what}: {} cases within {:.1e} V of ngspice, {} by 32 digits (ngspice off by up to {:.1e} V)",
            self.n - self.n_by_truth,
            self.worst,
            self.n_by_truth,
            self.lost
        );
    }

    fn end(&self) {
        // A comparison that is mostly with our own arithmetic would be none.
        assert!(
            4 * self.n_by_truth < self.n,
            "{} of {}",
            self.n_by_truth,
            self.n
        );
        let n = self.misses.len();
        assert!(
            n == 0,
            "{n} misses\n{}",
            self.misses[..n.min(40)].join("\n")
        );
    }
}

/// Real parts, then imaginary parts.
fn parts(volts: &[Complex64]) -> Vec<f64> {
    volts
        .iter()
        .map(|v| v.re)
        .chain(volts.iter().map(|v| v.im))
        .collect()
}

/// Compares all pairs of contacts in given cases; `false` without ngspice.
fn compare_contacts(
    setting: &Setting,
    rig: &Rig<'_>,
    factors: &Factors<'_>,
    cases: &[(Case, Option<chain::alter::Recipe>)],
    tally: &mut Tally,
) -> bool {
    let solved = Solved::of(rig, factors, &[], &[]);
    let decks: Vec<Deck> = cases.iter().map(|(case, _)| rig.deck(case)).collect();
    let Some(theirs) = ngspice::solve(&decks) else {
        ngspice::missing();
        return false;
    };
    for (((case, merged), deck), theirs) in cases.iter().zip(&decks).zip(&theirs) {
        let ours = solved.volts(rig, case, merged.as_ref());
        let says = |k: usize| {
            format!(
                "{}: {}: {}",
                setting.id,
                rig.says(case),
                rig.pair_says(k % rig.pairs.len())
            )
        };
        let truth = || parts(&rig.across(&deck.truth()));
        tally.compare(&says, &parts(&ours), &parts(&rig.across(theirs)), &truth);
    }
    true
}

/// ngspice as installed.
#[test]
fn sim_every_fault_in_every_region_has_the_voltages_that_ngspice_finds() {
    let mut tally = Tally::default();
    for setting in sites::all() {
        let rig = Rig::of(&setting.site, &setting.condition);
        let order = order(&rig);
        let factors = order.factor(&rig.batches).expect("regular");
        let sound = Case { faults: Vec::new() };
        let cases: Vec<_> = rig
            .cases()
            .into_iter()
            .chain([sound])
            .map(|case| (case, None))
            .collect();
        if !compare_contacts(&setting, &rig, &factors, &cases, &mut tally) {
            return;
        }
        tally.close(setting.id);
    }
    tally.end();
}

/// ngspice as installed. Two faults at once, at any severity: 200 drawn at random, and 100 at one and the same place, where
/// exchanged wires and broken ones meet.
#[test]
fn sim_two_faults_at_once_have_the_voltages_that_ngspice_finds() {
    let mut tally = Tally::default();
    let mut chance = fastrand::Rng::with_seed(7);
    let settings = sites::all();
    for (nth, setting) in settings.iter().enumerate() {
        let mut rig = Rig::of(&setting.site, &setting.condition);
        let share = |n: usize| n / settings.len() + usize::from(nth < n % settings.len());
        let mut cases = Vec::new();
        for (n, together) in [(share(200), false), (share(100), true)] {
            let wanted = cases.len() + n;
            while cases.len() < wanted {
                let (one, other) = (
                    chance.usize(..rig.singles.len()),
                    chance.usize(..rig.singles.len()),
                );
                if together && rig.singles[one].at != rig.singles[other].at {
                    continue;
                }
                cases.extend(rig.pair(one, other, [chance.f64(), chance.f64()]));
            }
        }
        let order = order(&rig);
        let factors = order.factor(&rig.batches).expect("regular");
        if !compare_contacts(setting, &rig, &factors, &cases, &mut tally) {
            return;
        }
        tally.close(setting.id);
    }
    assert_eq!(tally.n, 300);
    tally.end();
}

/// ngspice as installed. Three lamps are three resistors at the outlet, a meter one with its capacitance.
#[test]
fn sim_lamps_and_meters_at_a_faulty_outlet_are_as_ngspice_finds_them() {
    let mut tally = Tally::default();
    for setting in sites::all() {
        let rig = Rig::of(&setting.site, &setting.condition);
        let desk = setting
            .site
            .outlet("desk")
            .expect("every setting has a desk");
        let [line, neutral, earth] = [Pin::Line, Pin::Neutral, Pin::Earth].map(|pin| {
            rig.wiring
                .contact(Contact::Outlet(desk, pin))
                .expect("contact")
        });
        let mut list = ProbeList::default();
        let (line_earth, neutral_earth) = (list.probe(line, earth), list.probe(neutral, earth));
        let line_neutral = list.probe(line, neutral);
        let mutual = list.mutual(line_earth, neutral_earth);
        let volts = setting.site.service.system.legs[0].volts.si();
        let ohms = LAMP_OHMS * volts / 120.0;
        let lamps = Seeing::Lamps {
            line_earth,
            neutral_earth,
            mutual,
            y: 1.0 / ohms,
        };
        let meter = |ohms, farads| {
            input_admittance(
                Ohms::from_si(ohms),
                Farads::from_si(farads),
                rig.wiring.omega,
            )
        };
        let metered = [
            (line_neutral, meter(1e7, 1e-10)),
            (line_earth, meter(1e7, 1e-10)),
            (neutral_earth, meter(1e7, 1e-10)),
            (neutral_earth, meter(3e3, 0.0)),
        ];
        let order = order(&rig);
        let factors = order.factor(&rig.batches).expect("regular");
        let solved = Solved::of(&rig, &factors, &list.pairs, &list.mutual);
        let mut asked: Vec<(Case, Deck, Seeing, Vec<Probe>)> = Vec::new();
        for case in rig.cases() {
            let circuit = rig.singles[case.faults[0].0].at.circuit(&setting.site);
            if circuit.is_some_and(|c| c != setting.site.outlets[desk.0].circuit) {
                continue;
            }
            let deck = rig.deck(&case);
            let mut hung = deck.clone();
            let nodes = [line, neutral, earth].map(|n| n.index());
            for (a, b) in [(0, 1), (0, 2), (1, 2)] {
                hung.resistor(nodes[a], nodes[b], ohms);
            }
            let seen = [line_neutral, line_earth, neutral_earth].map(|p| list.pairs[p]);
            asked.push((case.clone(), hung, lamps.clone(), seen.to_vec()));
            for (probe, y) in metered {
                let pair = list.pairs[probe];
                let mut hung = deck.clone();
                hung.admittance(pair.plus.index(), pair.minus.index(), y);
                asked.push((case.clone(), hung, Seeing::Volts { probe, y }, vec![pair]));
            }
        }
        let decks: Vec<Deck> = asked.iter().map(|(_, deck, ..)| deck.clone()).collect();
        let Some(theirs) = ngspice::solve(&decks) else {
            return ngspice::missing();
        };
        for ((case, deck, seeing, pairs), theirs) in asked.iter().zip(&theirs) {
            let (seen, factor) = solved.see(&rig, case, None);
            let mut lanes = Vec::new();
            seeing.numbers(&seen, &mut lanes);
            let ours: Vec<f64> = lanes.iter().map(|it| it[0] * factor).collect();
            let across = |volts: &[Complex64]| -> Vec<f64> {
                let one = |p: &Probe| (volts[p.plus.index()] - volts[p.minus.index()]).norm();
                pairs.iter().map(one).collect()
            };
            let says = |_| format!("{}: {}: {seeing:?}", setting.id, rig.says(case));
            tally.compare(&says, &ours, &across(theirs), &|| across(&deck.truth()));
        }
        tally.close(setting.id);
    }
    tally.end();
}

/// A supply whose frequency is off is read in the network of the nominal one. ngspice as installed, every capacitance and
/// inductance kept, from 42 Hz to 68 Hz: no reading of a sound outlet moves by more than what a meter's pick-up is taken
/// to be, 4e-4 of nominal.
#[test]
fn sim_a_frequency_off_moves_no_reading_of_a_sound_outlet() {
    let mut misses = Vec::new();
    for setting in sites::all() {
        let rig = Rig::of(&setting.site, &setting.condition);
        let nominal = setting.site.service.system.legs[0].volts.si();
        let sound = rig.deck(&Case { faults: Vec::new() });
        let decks: Vec<Deck> = [sound.hertz, 42.0, 68.0]
            .into_iter()
            .map(|hertz| {
                let mut deck = sound.clone();
                deck.at_hertz(hertz);
                deck
            })
            .collect();
        let Some(theirs) = ngspice::solve(&decks) else {
            return ngspice::missing();
        };
        let sizes = |volts: &Vec<Complex64>| {
            rig.across(volts)
                .iter()
                .map(|v| v.norm())
                .collect::<Vec<_>>()
        };
        let at_nominal = sizes(&theirs[0]);
        let mut most: f64 = 0.0;
        for (deck, theirs) in decks.iter().zip(&theirs).skip(1) {
            for (k, (a, b)) in sizes(theirs).iter().zip(&at_nominal).enumerate() {
                most = most.max((a - b).abs());
                if (a - b).abs() > 4e-4 * nominal {
                    misses.push(format!(
                        "{} at {} Hz: {}: {a} V, not {b} V",
                        setting.id,
                        deck.hertz,
                        rig.pair_says(k)
                    ));
                }
            }
        }
        println!("{}: {most:.1e} V at most", setting.id);
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// ngspice 39.3, tests/data/ngspice.json. Kept to 1e-9 V; asked for as above.
#[test]
fn sim_kept_voltages_of_every_fault_are_those_of_ngspice() {
    let mut misses = Vec::new();
    let kept = kept::read();
    let mut n = 0;
    for site in kept.sites {
        let setting = sites::all()
            .into_iter()
            .find(|it| it.id == site.id)
            .expect("a setting of this name");
        let mut rig = Rig::of(&setting.site, &setting.condition);
        rig.batches = [site.batch(&rig)];
        let order = order(&rig);
        let factors = order.factor(&rig.batches).expect("regular");
        let solved = Solved::of(&rig, &factors, &[], &[]);
        for kept in &site.cases {
            let case = kept.case(&rig);
            let ours = solved.volts(&rig, &case, None);
            let theirs = kept.across(&rig);
            n += 1;
            for (k, (a, b)) in ours.iter().zip(&theirs).enumerate() {
                if (a - b).norm() > 1e-6 * b.norm().max(1.0) {
                    misses.push(format!(
                        "{}: {}: {}: {a} for {b}",
                        site.id,
                        rig.says(&case),
                        rig.pair_says(k)
                    ));
                    break;
                }
            }
        }
    }
    assert!(n > 100, "only {n} cases are kept");
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// Not a test: writes tests/data/ngspice.json.
#[test]
#[ignore = "writes tests/data with the ngspice that is installed"]
fn write_the_kept_voltages() {
    let mut out = Vec::new();
    for setting in sites::all()
        .into_iter()
        .filter(|it| ["told", "iec-tt"].contains(&it.id))
    {
        let rig = Rig::of(&setting.site, &setting.condition);
        // The first place of each fault, and the sound site; none where ngspice loses digits.
        let mut cases = rig.cases();
        let mut ids = Vec::new();
        cases.retain(|case| {
            let fault = rig.singles[case.faults[0].0].fault;
            let first = !ids.contains(&fault.id) && !fault.is_misreading();
            ids.push(fault.id);
            first
        });
        cases.push(Case { faults: Vec::new() });
        let decks: Vec<Deck> = cases.iter().map(|case| rig.deck(case)).collect();
        let theirs = ngspice::solve(&decks).expect("apt-get install ngspice");
        let sure = cases
            .into_iter()
            .zip(theirs)
            .zip(&decks)
            .filter(|((_, theirs), deck)| {
                let truth = deck.truth();
                theirs
                    .iter()
                    .zip(&truth)
                    .all(|(a, b)| (a - b).norm() < 1e-7)
            });
        out.push(kept::site(
            setting.id,
            &rig,
            sure.map(|(kept, _)| kept).collect(),
        ));
    }
    kept::write(&out);
}
