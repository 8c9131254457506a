//! Readings taken together: what is new with each of them, and what they share.
//!
//! `V = diag(d²) + Σ_k g_k g_kᵀ`; d: independent standard uncertainty of each reading, `g_k`: signed standard uncertainty
//! that shared error k gives each reading (0 where it has no part). A gain error gives `u_gain x`, so it cancels in
//! differences of equal readings. Source: JCGM 100:2008, F.1.2.3. Held by: tests/prop_uncertainty.rs.

use crate::covariance::Covariance;
use crate::doubt::doubt;
use crate::meter::{Function, Meter, RangeId};

/// An error that several readings share: the gain of one meter on one range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SharedId {
    /// Which meter, by its place in the visit's list.
    pub meter: usize,
    /// Which range of it.
    pub range: RangeId,
}

/// One reading among others, in the unit of its function.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// What was read.
    pub value: f64,
    /// Standard uncertainty that no other reading shares.
    pub independent_u: f64,
    /// Signed standard uncertainties from shared errors.
    pub shared: Vec<(SharedId, f64)>,
}

/// Readings taken together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ensemble {
    /// The readings, in order.
    pub members: Vec<Member>,
}

impl Ensemble {
    /// Adds a reading of a meter; `wording_u` is the standard uncertainty of how it was told (0 for a display whose
    /// digits are within the meter's counts).
    pub fn read(
        &mut self,
        meter_place: usize,
        meter: &Meter,
        function: Function,
        value: f64,
        wording_u: f64,
    ) {
        let it = doubt(meter, function, value);
        let shared = SharedId {
            meter: meter_place,
            range: it.range,
        };
        self.members.push(Member {
            value,
            independent_u: it.independent_u.hypot(wording_u),
            shared: vec![(shared, it.shared_gain_u * value)],
        });
    }

    /// Every shared error once, in order of its id, with what it gives each reading: the columns `g_k`.
    pub fn shared(&self) -> Vec<(SharedId, Vec<f64>)> {
        let mut columns = std::collections::BTreeMap::new();
        for (place, member) in self.members.iter().enumerate() {
            for (id, u) in &member.shared {
                columns
                    .entry(*id)
                    .or_insert_with(|| vec![0.0; self.members.len()])[place] += u;
            }
        }
        columns.into_iter().collect()
    }

    /// The covariance of all readings.
    pub fn covariance(&self) -> Covariance {
        let columns = self.shared();
        Covariance::of(self.members.len(), |i, j| {
            let own = if i == j {
                self.members[i].independent_u.powi(2)
            } else {
                0.0
            };
            own + columns.iter().map(|(_, g)| g[i] * g[j]).sum::<f64>()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two readings of 120 V on one range: the gain (1 %) cancels, 3 counts of 0.1 V stay twice: 0.3 √(2/3) V. With two
    /// meters the gain stays, too: √(2 (1.2² + 0.3²) / 3) V.
    #[test]
    fn exact_one_meters_gain_cancels_in_a_difference() {
        let mid = Meter::class("mid").unwrap();
        let difference = |second_meter| {
            let mut both = Ensemble::default();
            both.read(0, mid, Function::AcVolts, 120.0, 0.0);
            both.read(second_meter, mid, Function::AcVolts, 120.0, 0.0);
            both.covariance().u_of(&[1.0, -1.0])
        };
        // 1e-7: the shared parts (0.48 V² each) cancel to 1e-16 of themselves, whose root is 1e-8.
        assert!((difference(0) - 0.3 * (2.0f64 / 3.0).sqrt()).abs() < 1e-7);
        assert!((difference(1) - (2.0 * (1.44 + 0.09) / 3.0f64).sqrt()).abs() < 1e-12);
    }

    /// Leads exchanged: 120 V and -120 V have opposite gain errors, which cancel in the sum.
    #[test]
    fn exact_a_gain_error_has_the_sign_of_its_reading() {
        let mid = Meter::class("mid").unwrap();
        let mut both = Ensemble::default();
        both.read(0, mid, Function::AcVolts, 120.0, 0.0);
        both.read(0, mid, Function::AcVolts, -120.0, 0.0);
        assert!((both.covariance().u_of(&[1.0, 1.0]) - 0.3 * (2.0f64 / 3.0).sqrt()).abs() < 1e-7);
    }

    #[test]
    fn another_range_shares_no_gain() {
        let mid = Meter::class("mid").unwrap();
        let mut both = Ensemble::default();
        both.read(0, mid, Function::AcVolts, 120.0, 0.0);
        both.read(0, mid, Function::AcVolts, 2.0, 0.0);
        assert_eq!(both.shared().len(), 2);
        assert_eq!(both.covariance().correlation(0, 1), 0.0);
    }
}
