//! What a told voltage is worth: wording, meter, counts and the gain it shares with others.
//!
//! `u² = u_wording² + u_counts² + u_pick-up²`, rectangular half-widths over √3 (JCGM 100, 4.3.7); the percent part of the
//! meter's accuracy is one error common to all its readings on a range, and so is most of the counts part: two readings on
//! one range differ by less than the data sheet would allow each of them (judgement).

use metrology::{Function, Meter, RangeId, Stated, Volts, Wording};
use num_complex::Complex64;
use site::region::{Leg, System};

use crate::likelihood::{Told, broad};

/// A gain error that readings share: which meter, which range.
pub(crate) type Shared = (usize, RangeId);

/// Pick-up on leads and other trifles of any reading at an outlet, volts over nominal. Judgement.
const PICK_UP: f64 = 4e-4;
/// Of the counts part, what is each reading's own; the rest is an offset of the range that its readings share. Judgement.
const OWN_COUNTS: f64 = 0.25;
/// From this part of its range on, a reading's shared offset is taken as a part of its gain. Judgement.
const FILLED: f64 = 0.2;
/// Half-width of a height told as "up to", fraction of it. Judgement.
const SEEN: f64 = 0.1;
/// What the model leaves out, fraction of the reading. Judgement.
const MODEL: f64 = 0.002;

/// Log density of a slip of the probe where the reading is more than any pair has: none reads more than there is.
pub(crate) const NO_SLIP: f64 = -60.0;
/// What a high supply and a meter may add to the largest voltage there is, fraction. Judgement.
const MORE: f64 = 0.15;

/// Volts that no two conductors of a system have between them, nor of the three-phase network that feeds it.
pub(crate) fn highest(system: &System) -> f64 {
    let phasor = |l: &Leg| Complex64::from_polar(l.volts.si(), l.angle);
    let of_pair = |a: &Leg, b: &Leg| (phasor(a) - phasor(b)).norm();
    let pairs = system.legs.iter().flat_map(|a| {
        let others = system.legs.iter().map(move |b| of_pair(a, b));
        others.chain([3f64.sqrt() * a.volts.si()])
    });
    (1.0 + MORE) * pairs.fold(0.0, f64::max)
}

/// A told voltage and the admittance of the input that read it.
#[allow(clippy::too_many_arguments)]
pub(crate) fn volts(
    stated: &Stated<Volts>,
    meter: Option<&Meter>,
    low_impedance: bool,
    across_line: bool,
    meter_number: usize,
    nominal: f64,
    omega: f64,
    shared: &mut Vec<Shared>,
) -> (Told, Complex64) {
    let named = meter.is_some();
    let meter = meter.unwrap_or(Meter::unknown());
    let stated = as_read(stated, named, across_line);
    let value = stated.value.si().abs();
    let range = meter.range_for(Function::AcVolts, value);
    let id = meter.range_id_for(Function::AcVolts, value);
    let counts = range.accuracy.counts * range.resolution / 3f64.sqrt();
    let mut gain = range.accuracy.gain.si() / 3f64.sqrt();
    let own = (OWN_COUNTS * counts).max(0.5 * range.resolution / 3f64.sqrt());
    let common = (counts * counts - own * own).max(0.0);
    let mut counts = own * own;
    if value > FILLED * range.full_scale.min(3.0 * nominal) {
        gain = (gain * gain + common / (value * value)).sqrt();
    } else {
        counts += common;
    }
    let wording = stated.standard_u().si();
    let pick_up = PICK_UP * nominal;
    let key = (meter_number, id);
    let at = shared.iter().position(|s| *s == key).unwrap_or_else(|| {
        shared.push(key);
        shared.len() - 1
    });
    let told_input = named && meter.low_impedance_input().is_some();
    let input = match (low_impedance, meter.low_impedance_input()) {
        (false, _) => meter.input(),
        (true, Some(input)) => input,
        (true, None) => metrology::Input {
            resistance: metrology::Ohms::from_si(LOW_IMPEDANCE),
            capacitance: metrology::Farads::from_si(0.0),
        },
    };
    let told = Told {
        value,
        variance: wording * wording + counts + pick_up * pick_up,
        relative: if low_impedance && !told_input {
            LOW_IMPEDANCE_MODEL
        } else {
            MODEL
        },
        gain: Some((at + 1, gain)),
        ln_slip: broad(value, nominal).ln(),
    };
    (
        told,
        crate::seeing::input_admittance(input.resistance, input.capacitance, omega),
    )
}

/// The same where the low-impedance input is not told: it may be another, and it warms. Judgement.
const LOW_IMPEDANCE_MODEL: f64 = 0.06;
/// A low-impedance input of which nothing is told, ohms (typical 3 kohm, trade articles).
const LOW_IMPEDANCE: f64 = 3e3;

/// A number read off a display, where that can be told: a meter was named, or the number is not round.
///
/// "219 V" was read; "220 V" may be a word for what an outlet has. Judgement: multiples of five are taken as round.
pub(crate) fn as_read(stated: &Stated<Volts>, named: bool, across_line: bool) -> Stated<Volts> {
    // Line to neutral "up to 340 V" was seen once at least: the height is told, not a bound.
    if across_line
        && stated.wording == Wording::UpTo
        && stated.text.to_lowercase().contains("up to")
    {
        let seen = stated.value + stated.half_width;
        let mut height = stated.clone();
        (height.value, height.half_width) = (seen, seen * SEEN);
        return height;
    }
    let fives = stated.value.si().abs() / 5.0;
    let round = (fives - fives.round()).abs() < 1e-9;
    if named || !round {
        stated.clone().with_display()
    } else {
        stated.clone()
    }
}
