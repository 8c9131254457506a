//! What a cause makes of everything that was witnessed, in eight worlds.
//!
//! The network yields voltages and impedances; a mistake of measuring changes what is made of them; voltages are kept to
//! be weighed together (`likelihood`), observations are weighed on the spot (`claims`).

use network::Seen;

use crate::causes::Cause;
use crate::fault::Misreads;
use crate::likelihood::{Readings, Room, Slips};
use crate::seeing::{Lanes, Seeing};
use crate::study::{Claim, Study};

/// What was looked at so far; used again for cause after cause.
#[derive(Clone, Debug, Default)]
pub(crate) struct Looked {
    /// By told voltage: what is predicted for it, at nominal service voltage.
    pub volts: Vec<Lanes>,
    /// By told voltage: what a mistake of measuring adds to its variance.
    pub widen: Vec<f64>,
    /// Log probability of the observations.
    pub ln: Lanes,
    numbers: Vec<Lanes>,
    /// Smoothed: what is added to each reading's variance, and the sum.
    added: Vec<f64>,
    wide: Vec<f64>,
    room: Room,
}

/// By how much a sharp likelihood may pass what is said of it from the smoothed one where only the worst slip is
/// summed, which may be another one then: a reading's share in the determinants, up to some twenty.
const OTHER_SLIP: f64 = 3.0;

/// Log likelihood below which any is as good, and the largest that the readings can have.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Floor {
    pub ln: f64,
    pub most: f64,
}

impl Looked {
    /// Forgets what was looked at.
    pub fn clear(&mut self, study: &Study<'_>) {
        let n = study.readings.told.len();
        self.volts.clear();
        self.volts.resize(n, [0.0; 8]);
        self.widen.clear();
        self.widen.resize(n, 0.0);
        self.ln = [0.0; 8];
    }

    /// Keeps some of the voltages, by their numbers in rising order.
    pub fn keep(&mut self, kept: &[usize]) {
        for (to, from) in kept.iter().enumerate() {
            self.volts[to] = self.volts[*from];
            self.widen[to] = self.widen[*from];
        }
        self.volts.truncate(kept.len());
        self.widen.truncate(kept.len());
    }

    /// Log likelihood where part of the eight worlds' spread is added to each reading's doubt, as eight worlds stand for
    /// all; and where each world may also stand for all eight: where they fall into two heaps, what lies between them is
    /// no better than the heap that fits. What is surely below the floor may be anything below it.
    pub fn ln_likelihood_smooth(
        &mut self,
        readings: &Readings,
        smoothing: f64,
        slips: Slips,
        floor: Floor,
    ) -> Lanes {
        self.added.clear();
        self.wide.clear();
        for (x, widen) in self.volts.iter().zip(&self.widen) {
            let mean = x.iter().sum::<f64>() / 8.0;
            let spread = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 7.0;
            let added = smoothing * smoothing * spread;
            self.added.push(added);
            self.wide.push(widen + added);
        }
        let ln = self.ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let short = floor.most + ln - floor.ln;
        if slips == Slips::Worst && readings.is_hopeless(&self.volts, &self.wide, short) {
            return [f64::NEG_INFINITY; 8];
        }
        let smooth = readings.ln_likelihood_in(&mut self.room, &self.volts, &self.wide, slips);
        let smooth = self.whole(smooth);
        if floor.ln > f64::NEG_INFINITY {
            let rise = readings.rise(&self.volts, &self.wide, &self.added);
            let most = smooth.iter().zip(rise).map(|(ln, rise)| ln + rise);
            if most.fold(f64::NEG_INFINITY, f64::max) + OTHER_SLIP < floor.ln {
                return smooth;
            }
        }
        let sharp = self.ln_likelihood(readings, slips);
        core::array::from_fn(|k| sharp[k].max(smooth[k]))
    }

    /// Log likelihood of everything; minus infinity where the network has no answer.
    pub fn ln_likelihood(&mut self, readings: &Readings, slips: Slips) -> Lanes {
        let volts = readings.ln_likelihood_in(&mut self.room, &self.volts, &self.widen, slips);
        self.whole(volts)
    }

    /// How far the service is off nominal, given what was read: the posterior mean of the deviation that all voltages
    /// share, `s = Σ (t − x) x / v / (1/σ² + Σ x² / v)`. Readings that the world does not explain say nothing of it, nor
    /// does one that is better taken for a slip.
    pub fn service(&self, readings: &Readings) -> Lanes {
        let slips = readings.slips(&self.volts, &self.widen);
        core::array::from_fn(|k| {
            let (mut pull, mut stiff) = (0.0, readings.service.powi(-2));
            for (i, (t, shown)) in readings.told.iter().zip(&self.volts).enumerate() {
                let x = shown[k];
                if (t.value - x).abs() > 0.2 * x || slips[k] == Some(i) {
                    continue;
                }
                let gain = t.gain.map_or(0.0, |(_, g)| g);
                let v = t.variance + (t.relative * x).powi(2) + (gain * x).powi(2);
                pull += (t.value - x) * x / v;
                stiff += x * x / v;
            }
            pull / stiff
        })
    }

    fn whole(&self, volts: Lanes) -> Lanes {
        core::array::from_fn(|k| match self.ln[k] + volts[k] {
            ln if ln.is_nan() => f64::NEG_INFINITY,
            ln => ln,
        })
    }
}

impl Study<'_> {
    /// By what a cause multiplies all voltages.
    #[inline]
    pub fn factor(&self, cause: &Cause, severities: &[Lanes; 2], condition: usize) -> Lanes {
        let mut factor = [1.0; 8];
        for (single, severity) in cause.faults.iter().zip(severities) {
            let scales = |i: &u32| self.singles[*i as usize].recipes[condition].volts.is_some();
            if single.as_ref().is_some_and(scales) {
                for (f, s) in factor.iter_mut().zip(severity) {
                    *f *= s;
                }
            }
        }
        factor
    }

    /// Looks at everything witnessed under a condition, where the network shows `seen`.
    pub fn look(
        &self,
        cause: &Cause,
        severities: &[Lanes; 2],
        condition: usize,
        seen: &Seen,
        out: &mut Looked,
    ) {
        let factor = self.factor(cause, severities, condition);
        let mistaken = self.is_mistake(cause);
        let here = self.witnesses.iter().enumerate();
        for (i, witness) in here.filter(|(_, w)| w.condition == condition) {
            let seeing = match mistaken {
                true => self.misread_as(cause, i).unwrap_or(&witness.seeing),
                false => &witness.seeing,
            };
            out.numbers.clear();
            seeing.numbers(seen, &mut out.numbers);
            for number in &mut out.numbers {
                for (x, f) in number.iter_mut().zip(&factor) {
                    *x *= f;
                }
            }
            if let Claim::Volts(r) = witness.claim {
                out.volts[r] = out.numbers[0];
                if mistaken {
                    self.mistake(cause, severities, &mut out.volts[r], &mut out.widen[r]);
                }
            } else {
                for k in 0..8 {
                    let claim = &witness.claim;
                    out.ln[k] += self.ln_told(claim, &out.numbers, k, cause, severities, condition);
                }
            }
        }
    }

    /// How a witness is seen where contacts were named wrongly.
    fn misread_as(&self, cause: &Cause, witness: usize) -> Option<&Seeing> {
        cause.faults.iter().flatten().find_map(|i| {
            let list = &self.misread[*i as usize];
            list.iter().find(|(w, _)| *w == witness).map(|(_, s)| s)
        })
    }

    /// What mistakes of measuring make of a voltage.
    fn mistake(&self, cause: &Cause, severities: &[Lanes; 2], x: &mut Lanes, widen: &mut f64) {
        for (i, severity) in cause.faults.iter().zip(severities) {
            let Some(i) = i else { continue };
            match self.singles[*i as usize].fault.misreads {
                Misreads::LeadOpen => {
                    *x = [0.003 * self.nominal; 8];
                    *widen += (0.006 * self.nominal).powi(2);
                }
                Misreads::WrongFunction => {
                    *x = [0.0; 8];
                    *widen += (0.005 * self.nominal).powi(2);
                }
                Misreads::Factor => {
                    for (x, s) in x.iter_mut().zip(severity) {
                        *x *= s;
                    }
                }
                Misreads::Nothing | Misreads::NamesExchanged(..) => {}
            }
        }
    }
}
