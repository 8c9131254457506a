//! What ngspice found, kept with the admittances that it was given, so that a changed guess does not make it stale.
//!
//! What does: another topology, another order of branches, a fault that changes other things. Then the file has to be written
//! anew by the ignored test of tests/sim.rs, where ngspice is installed.

use network::{Batch, Cx8};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::path::PathBuf;

use super::rig::{Case, Rig};

const STALE: &str = "the wiring is no longer the one of tests/data/ngspice.json: \
    cargo test -p trace --test sim -- --ignored, with ngspice installed";

/// The file.
#[derive(Serialize, Deserialize)]
pub struct Kept {
    pub simulator: String,
    pub how: String,
    pub sites: Vec<KeptSite>,
}

/// One site in one sampled world.
#[derive(Serialize, Deserialize)]
pub struct KeptSite {
    pub id: String,
    /// Of every branch: from, to.
    ends: Vec<[usize; 2]>,
    /// Of every branch: real and imaginary part of the admittance in siemens.
    y: Vec<[f64; 2]>,
    /// Branch, then real and imaginary part of its EMF in volts.
    emf: Vec<(usize, [f64; 2])>,
    /// Contacts, in the order of the volts.
    contacts: Vec<String>,
    pub cases: Vec<KeptCase>,
}

/// One fault.
#[derive(Serialize, Deserialize)]
pub struct KeptCase {
    /// Fault, place, leg, severity; without faults the site is sound.
    faults: Vec<(String, String, usize, f64)>,
    /// Potential of every contact: real and imaginary part, volts.
    volts: Vec<[f64; 2]>,
}

impl KeptSite {
    /// The admittances that ngspice was given, in every lane.
    pub fn batch(&self, rig: &Rig<'_>) -> Batch {
        let ends = rig
            .wiring
            .topology
            .branches()
            .iter()
            .map(|(a, b)| [a.index(), b.index()]);
        assert!(ends.eq(self.ends.iter().copied()), "{STALE}");
        assert!(
            rig.contacts.iter().map(|it| &it.0).eq(&self.contacts),
            "{STALE}"
        );
        let splat = |[re, im]: [f64; 2]| Cx8::splat(Complex64::new(re, im));
        let mut batch = Batch::zero(self.ends.len());
        batch.y = self.y.iter().map(|y| splat(*y)).collect();
        for (branch, emf) in &self.emf {
            batch.emf[*branch] = splat(*emf);
        }
        batch
    }
}

impl KeptCase {
    /// The case in a rig.
    pub fn case(&self, rig: &Rig<'_>) -> Case {
        let one = |(id, at, leg, severity): &(String, String, usize, f64)| {
            let found = rig.singles.iter().position(|s| {
                s.fault.id == id && s.leg == *leg && s.at.key(rig.wiring.site) == *at
            });
            (
                found.unwrap_or_else(|| panic!("no {id} at {at}: {STALE}")),
                *severity,
            )
        };
        Case {
            faults: self.faults.iter().map(one).collect(),
        }
    }

    /// Voltages of all pairs of a rig.
    pub fn across(&self, rig: &Rig<'_>) -> Vec<Complex64> {
        let of = |k: usize| Complex64::new(self.volts[k][0], self.volts[k][1]);
        let pair = |&(a, b): &(usize, Option<usize>)| of(a) - b.map_or(Complex64::ZERO, of);
        rig.pairs.iter().map(pair).collect()
    }
}

/// A site to keep, with cases and what ngspice found: potentials of all nodes.
pub fn site(id: &str, rig: &Rig<'_>, found: Vec<(Case, Vec<Complex64>)>) -> KeptSite {
    let lane = |it: &Cx8| {
        let it = it.lane(0);
        [it.re, it.im]
    };
    let nano = |x: f64| (x * 1e9).round() / 1e9;
    let case = |(case, volts): (Case, Vec<Complex64>)| {
        let one = |&(k, severity): &(usize, f64)| {
            let single = &rig.singles[k];
            let at = single.at.key(rig.wiring.site);
            (single.fault.id.to_owned(), at, single.leg, severity)
        };
        let of = |(_, node): &(String, network::NodeIx)| {
            let v = volts[node.index()];
            [nano(v.re), nano(v.im)]
        };
        KeptCase {
            faults: case.faults.iter().map(one).collect(),
            volts: rig.contacts.iter().map(of).collect(),
        }
    };
    let emf = rig.batches[0].emf.iter().enumerate();
    KeptSite {
        id: id.to_owned(),
        ends: rig
            .wiring
            .topology
            .branches()
            .iter()
            .map(|(a, b)| [a.index(), b.index()])
            .collect(),
        y: rig.batches[0].y.iter().map(lane).collect(),
        emf: emf
            .map(|(b, it)| (b, lane(it)))
            .filter(|(_, it)| *it != [0.0; 2])
            .collect(),
        contacts: rig.contacts.iter().map(|it| it.0.clone()).collect(),
        cases: found.into_iter().map(case).collect(),
    }
}

fn file() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/ngspice.json")
}

/// The kept file.
pub fn read() -> Kept {
    let text = std::fs::read_to_string(file()).expect("kept file");
    serde_json::from_str(&text).expect("kept file")
}

/// Writes the kept file, a case to a line.
pub fn write(sites: &[KeptSite]) {
    let kept = serde_json::json!({
        "simulator": "ngspice-39 (Debian 12, package ngspice 39.3+ds-1)",
        "how": "AC analysis, reltol 1e-12, gmin 1e-30; invented sites; cargo test -p trace --test sim -- --ignored",
        "sites": sites,
    });
    let text = kept
        .to_string()
        .replace("{\"faults\"", "\n{\"faults\"")
        .replace("],\"contacts\"", "],\n\"contacts\"");
    std::fs::write(file(), text + "\n").expect("tests/data");
}
