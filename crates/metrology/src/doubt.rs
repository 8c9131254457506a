//! How far a reading may be off because of the meter.
//!
//! A data sheet's `a % + n` bounds the error of a reading x by `a |x| + n r` (r: resolution). As a rectangular
//! distribution: `u = (a |x| + n r) / √3` (JCGM 100, 4.3.7), for one reading on its own. For several readings it is split
//! in two: `u_gain = a |x| / √3` is one gain error shared by all readings of a meter on a range, so that it cancels in
//! their differences, and `u_counts = n r / √3` is new with every reading. The split is judgement: sheets do not say what
//! is shared. Held by: the tests below and tests/ref.rs.

use crate::meter::{Function, Meter, RangeId};
use crate::quantity::Quantity;

/// A value with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured<Q> {
    /// Best estimate.
    pub value: Q,
    /// Standard uncertainty.
    pub u: Q,
}

/// The doubt of one reading, in the unit of its function.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Standard uncertainty that is new with every reading: counts of the last digit.
    pub independent_u: f64,
    /// Standard uncertainty of the gain, as a fraction of the reading, shared by all readings on the same range.
    pub shared_gain_u: f64,
    /// The range that was read on: what the gain is shared by.
    pub range: RangeId,
    /// The bound that the data sheet gives for this reading alone.
    pub half_width: f64,
}

/// The doubt of a reading of this size on the range that the meter takes for it.
pub fn doubt(meter: &Meter, function: Function, reading: f64) -> Doubt {
    doubt_on(meter, meter.range_id_for(function, reading), reading)
}

/// The doubt of a reading on a range chosen by hand.
pub fn doubt_on(meter: &Meter, id: RangeId, reading: f64) -> Doubt {
    let range = meter.range(id);
    let counts = range.accuracy.half_width(0.0, range.resolution);
    Doubt {
        independent_u: counts / 3f64.sqrt(),
        shared_gain_u: range.accuracy.gain.si() / 3f64.sqrt(),
        range: id,
        half_width: range.accuracy.half_width(reading, range.resolution),
    }
}

impl Doubt {
    /// Standard uncertainty of this reading on its own: a rectangular distribution of the sheet's half-width.
    pub fn alone(&self) -> f64 {
        self.half_width / 3f64.sqrt()
    }
}

/// A single reading with the uncertainty of its meter and, where it is not zero, of its wording.
pub fn measured<Q: Quantity>(
    meter: &Meter,
    function: Function,
    value: Q,
    wording_u: Q,
) -> Measured<Q> {
    let meter_u = doubt(meter, function, value.number()).alone();
    Measured {
        value,
        u: Q::of(meter_u.hypot(wording_u.number())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Volts;

    /// 1.0 % + 3 counts of 0.1 V at 126.8 V: (1.268 + 0.3) / √3 = 0.9053 V.
    #[test]
    fn exact_a_single_reading_has_the_width_of_its_data_sheet() {
        let mid = Meter::class("mid").unwrap();
        let it = doubt(mid, Function::AcVolts, 126.8);
        assert!((it.alone() - 1.568 / 3f64.sqrt()).abs() < 1e-15);
        assert!((it.independent_u - 0.3 / 3f64.sqrt()).abs() < 1e-15);
        assert!((it.shared_gain_u - 0.01 / 3f64.sqrt()).abs() < 1e-15);
        assert_eq!(it.range.index, 2);
    }

    #[test]
    fn a_wording_adds_its_width_to_the_meters() {
        let mid = Meter::class("mid").unwrap();
        let told = measured(
            mid,
            Function::AcVolts,
            Volts::from_si(126.8),
            Volts::from_si(2.0),
        );
        assert!((told.u.si() - (1.568f64.powi(2) / 3.0 + 4.0).sqrt()).abs() < 1e-14);
    }
}
