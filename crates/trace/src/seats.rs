//! Conditions read from one factored network.
//!
//! Switching a test load on at one outlet changes one or two branches of some hundred: `Y_c = Y_1 + A D Aᵀ` as for a cause
//! (`network::Probes::under`), so that such a condition is a further change to the network of the first condition and not
//! one to be factored. Held by: the test below, `brute`.

use network::{Asked, Batch, BranchIx, Cx8, Factors, Order, Probe, Probes, Spot};

use crate::study::Study;

/// Branches in which a condition may differ from the first, to be read from the network of that one.
const MOST_DIFFERING: usize = 4;

/// Where each of some conditions is read.
pub(crate) struct Seats {
    each: Vec<Seat>,
    factored: Vec<Factored>,
    spots: Vec<Spot>,
}

/// Where a condition is read: in a network that is factored for this or another condition, and what differs from that one.
pub(crate) struct Seat {
    /// Place among the networks.
    pub network: usize,
    /// What is read there.
    pub asked: Asked,
    /// By spot.
    differs: Vec<(usize, Cx8)>,
}

/// A condition whose network is factored, and all that is read there.
struct Factored {
    nth: usize,
    pairs: Vec<Probe>,
    mutual: Vec<(usize, usize)>,
}

impl Seats {
    /// Seats of conditions, of which one batch of worlds is given each; `probes` tells how many pairs and mutual impedances
    /// of a condition's list are read. Further spots come behind those given.
    pub fn of(
        study: &Study<'_>,
        conditions: &[usize],
        batches: &[Batch],
        probes: impl Fn(usize) -> (usize, usize),
        spots: &[Spot],
    ) -> Self {
        let mut out = Seats {
            each: Vec::with_capacity(conditions.len()),
            factored: Vec::new(),
            spots: spots.to_vec(),
        };
        for (nth, (batch, condition)) in batches.iter().zip(conditions).enumerate() {
            // EMFs are the same under all conditions.
            let differs = |b: &BranchIx| batch.y[b.index()] != batches[0].y[b.index()];
            let differing = study.wiring.topology.branch_ixs().filter(differs);
            let mut differing: Vec<BranchIx> = differing.take(MOST_DIFFERING + 1).collect();
            let mut network = 0;
            if nth == 0 || differing.len() > MOST_DIFFERING {
                differing.clear();
                network = out.factored.len();
                out.factored.push(Factored {
                    nth,
                    pairs: Vec::new(),
                    mutual: Vec::new(),
                });
            }
            let (pairs, mutual) = probes(*condition);
            let list = &study.probes[*condition];
            let asked = out.factored[network].ask(&list.pairs[..pairs], &list.mutual[..mutual]);
            let differs = differing
                .iter()
                .map(|b| (out.place(Spot::Branch(*b)), batch.y[b.index()]))
                .collect();
            out.each.push(Seat {
                network,
                asked,
                differs,
            });
        }
        out
    }

    fn place(&mut self, spot: Spot) -> usize {
        let known = self.spots.iter().position(|s| *s == spot);
        known.unwrap_or_else(|| {
            self.spots.push(spot);
            self.spots.len() - 1
        })
    }

    /// Factors the networks; `None` where one has no answer.
    pub fn factors<'o>(&self, order: &'o Order, batches: &'o [Batch]) -> Option<Vec<Factors<'o>>> {
        let factor = |f: &Factored| order.factor(&batches[f.nth..=f.nth]).ok();
        self.factored.iter().map(factor).collect()
    }

    /// Makes the factored networks ready to be read.
    pub fn probes<'f>(&self, factors: &'f [Factors<'f>]) -> Option<Vec<Probes<'f>>> {
        let networks = factors.iter().zip(&self.factored);
        networks
            .map(|(f, of)| f.probes(&of.pairs, &of.mutual, &[], &self.spots).ok())
            .collect()
    }

    /// The seat of a condition, by its place among those given.
    pub fn seat(&self, nth: usize) -> &Seat {
        &self.each[nth]
    }
}

impl Seat {
    /// Adds to what a cause changes under this condition what the condition itself does.
    pub fn complete(&self, changes: &mut Vec<(usize, Cx8)>) {
        let of_cause = changes.len();
        for (spot, y) in &self.differs {
            if !changes[..of_cause].iter().any(|c| c.0 == *spot) {
                changes.push((*spot, *y));
            }
        }
    }
}

impl Factored {
    fn ask(&mut self, pairs: &[Probe], mutual: &[(usize, usize)]) -> Asked {
        let (p, m) = (self.pairs.len(), self.mutual.len());
        self.pairs.extend_from_slice(pairs);
        self.mutual
            .extend(mutual.iter().map(|(a, b)| (p + a, p + b)));
        Asked {
            probes: p..self.pairs.len(),
            mutual: m..self.mutual.len(),
        }
    }
}

#[cfg(test)]
mod tests {
    use chain::worlds::Worlds;
    use network::{Scratch, Seen};
    use site::region::Region;
    use site::visit::Skill;

    use super::*;
    use crate::Question;

    /// The same network factored for itself. Rough updates are good to 10 mV, the test load's drop is volts.
    #[test]
    fn exact_a_loaded_outlet_reads_as_if_it_were_factored() {
        let region = Region::find("north-america").expect("a region of the project");
        let line =
            "desk: H-N 119 V; H-N 116 V with test load 1000 W, N-G 1.5 V with test load 1000 W";
        let (site, visit) = site::quick::quick(line, region).unwrap_or_else(|it| panic!("{it}"));
        let question = Question {
            site: &site,
            visit: &visit,
            skill: Skill::Technician,
            seed: 1,
        };
        let study = Study::of(question, question.visit);
        let conditions: Vec<usize> = (0..study.conditions.len()).collect();
        let loaded = |c: &usize| study.conditions[*c].test_load.is_some();
        let nth = conditions.iter().position(loaded).expect("it was told");
        let order = Order::of(&study.wiring.topology).expect("a site's network is one piece");
        let worlds = Worlds::draw(study.wiring.dims, 8, 7);
        let batches = study.batches(&worlds, 0, &conditions);
        let all = |c: usize| study.probes[c].counts();
        let seats = Seats::of(&study, &conditions, &batches, all, &[]);
        let factors = seats
            .factors(&order, &batches)
            .expect("leaks join everything");
        assert_eq!(factors.len(), 1, "one network does for all conditions");
        let probes = seats.probes(&factors).expect("the study's own");
        let (mut scratch, mut seen) = (Scratch::rough(), Seen::default());
        let (seat, mut changes) = (seats.seat(nth), Vec::new());
        seat.complete(&mut changes);
        probes[0]
            .under_for(&seat.asked, 0, &changes, &mut scratch, &mut seen)
            .expect("nothing floats");
        let alone = order
            .factor(&batches[nth..=nth])
            .expect("leaks join everything");
        let list = &study.probes[conditions[nth]];
        let alone = alone
            .probes(&list.pairs, &list.mutual, &[], &[])
            .expect("known");
        let mut want = Seen::default();
        alone
            .under(0, &[], &mut scratch, &mut want)
            .expect("nothing floats");
        assert!(!want.v.is_empty());
        for (seen, want) in [(&seen.v, &want.v), (&seen.z, &want.z), (&seen.zm, &want.zm)] {
            assert_eq!(seen.len(), want.len());
            for (seen, want) in seen.iter().zip(want) {
                for k in 0..8 {
                    let off = (seen.lane(k) - want.lane(k)).norm();
                    assert!(
                        off <= 1e-4 * want.lane(k).norm() + 1e-2,
                        "{off} in lane {k}"
                    );
                }
            }
        }
    }
}
