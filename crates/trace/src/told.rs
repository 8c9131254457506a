//! What a told voltage is worth: wording, meter, counts and the gain it shares with others.
//!
//! `u² = u_wording² + u_counts² + u_pick-up²`, rectangular half-widths over √3 (JCGM 100, 4.3.7); the percent part of the
//! meter's accuracy is one error common to all its readings on a range, the counts part is each reading's own (judgement).

use metrology::{Function, Meter, RangeId, Stated, Volts};
use num_complex::Complex64;

use crate::likelihood::{Told, broad};

/// A gain error that readings share: which meter, which range.
pub(crate) type Shared = (usize, RangeId);

/// Pick-up on leads and other trifles of any reading at an outlet, volts over nominal. Judgement.
const PICK_UP: f64 = 4e-4;
/// What the model leaves out, fraction of the reading. Judgement.
const MODEL: f64 = 0.002;

/// A told voltage and the admittance of the input that read it.
pub(crate) fn volts(
    stated: &Stated<Volts>,
    meter: Option<&Meter>,
    low_impedance: bool,
    meter_number: usize,
    nominal: f64,
    omega: f64,
    shared: &mut Vec<Shared>,
) -> (Told, Complex64) {
    let named = meter.is_some();
    let meter = meter.unwrap_or(Meter::unknown());
    let stated = if named {
        stated.clone().with_display()
    } else {
        stated.clone()
    };
    let value = stated.value.si().abs();
    let range = meter.range_for(Function::AcVolts, value);
    let id = meter.range_id_for(Function::AcVolts, value);
    let counts = range.accuracy.counts * range.resolution / 3f64.sqrt();
    let gain = range.accuracy.gain.si() / 3f64.sqrt();
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
        variance: wording * wording + counts * counts + pick_up * pick_up,
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
