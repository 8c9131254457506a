//! Which outlets of a large network are worth a closer look.
//!
//! All where there are few. Else those where something was told, those one and two steps before and after them, and
//! then evenly spread ones, so that a long branch can be halved. Judgement.

use site::model::OutletIx;

use crate::study::Study;

/// Outlets that checks are proposed at, at most: four times a branch of six.
pub(crate) const TO_CHECK: usize = 24;
/// Outlets whose unknowns are fitted to the readings, at most.
pub(crate) const TO_FIT: usize = 12;

impl Study<'_> {
    /// Outlets worth a closer look, at most so many, in the order of the network.
    pub fn outlets_near(&self, most: usize) -> Vec<OutletIx> {
        let all = &self.wiring.outlets;
        if all.len() <= most {
            return all.clone();
        }
        let site = self.question.site;
        let told = |o: OutletIx| self.witnesses.iter().any(|w| w.outlet == Some(o));
        let mut near: Vec<bool> = site.outlets.iter().map(|_| false).collect();
        let mut n = 0;
        let mut take = |near: &mut Vec<bool>, o: OutletIx| {
            if !near[o.0] && n < most {
                near[o.0] = true;
                n += 1;
            }
        };
        for o in all.iter().filter(|o| told(**o)) {
            take(&mut near, *o);
        }
        for _ in 0..2 {
            let from = near.clone();
            for (i, outlet) in site.outlets.iter().enumerate() {
                if let Some(before) = outlet.after.filter(|b| from[i] != from[b.0]) {
                    take(&mut near, if from[i] { before } else { OutletIx(i) });
                }
            }
        }
        let step = all.len().div_ceil(most);
        for o in all.iter().step_by(step) {
            take(&mut near, *o);
        }
        all.iter().copied().filter(|o| near[o.0]).collect()
    }
}
