//! Quantities as types: a voltage is not a current, and a number has a unit.
//!
//! Inside, every number is SI (volts, ohms, metres, seconds). Three types are named for a unit that people read and
//! keep their number in it: [`Celsius`] in degrees Celsius, [`WattHours`] in watt-hours, [`AmpHours`] in ampere-hours;
//! [`Fraction`] is 0.05 for 5 %. The five electrical types also hold RMS phasors (`Volts<Complex64>`).
//!
//! Each real type reads what people write (`"4.7kΩ"`, `"1,5 V"`, `"45 ft"`) and writes it back with a prefix. `{}`
//! shows at most four significant digits, `{:.6}` at most six, [`Quantity::exact`] all of them; serde uses the last.

mod algebra;
mod gauge;
mod kind;
mod number;
mod read;
mod serial;
mod write;

pub use gauge::Gauge;
pub use kind::{Kind, Quantity};
pub use read::QuantityError;

pub(crate) use number::Number;
pub(crate) use read::{Scale, in_bounds, scale_of_unit, unit_after};
pub(crate) use serial::FromText;

use num_complex::Complex64;

macro_rules! electrical {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name<T = f64>(T);

        impl<T> $name<T> {
            /// From a number in the unit the type is named for.
            pub const fn from_si(number: T) -> Self {
                $name(number)
            }

            /// The number in the unit the type is named for.
            pub const fn si(self) -> T
            where
                T: Copy,
            {
                self.0
            }
        }

        impl $name<Complex64> {
            /// The magnitude (RMS) of the phasor.
            pub fn abs(self) -> $name {
                $name(self.0.norm())
            }
        }

        impl From<$name> for $name<Complex64> {
            fn from(real: $name) -> Self {
                $name(Complex64::new(real.0, 0.0))
            }
        }
    )+ };
}

macro_rules! real {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From a number in the unit the type keeps (see its description).
            pub const fn from_si(number: f64) -> Self {
                $name(number)
            }

            /// The number in the unit the type keeps (see its description).
            pub const fn si(self) -> f64 {
                self.0
            }
        }
    )+ };
}

electrical! {
    /// Voltage in volts; alternating ones RMS.
    Volts,
    /// Current in amperes; alternating ones RMS.
    Amps,
    /// Resistance or impedance in ohms.
    Ohms,
    /// Conductance or admittance in siemens.
    Siemens,
    /// Power in watts; complex: active power and, as imaginary part, reactive power.
    Watts,
}

real! {
    /// Apparent power in volt-amperes.
    VoltAmps,
    /// Length in metres.
    Metres,
    /// Cross-section in square metres; read and written in mm².
    SquareMetres,
    /// Frequency in hertz.
    Hertz,
    /// Time in seconds.
    Seconds,
    /// Capacitance in farads.
    Farads,
    /// Inductance in henries.
    Henries,
    /// Temperature in degrees Celsius (the number is degrees Celsius, not kelvin).
    Celsius,
    /// Energy in watt-hours (the number is watt-hours, not joules).
    WattHours,
    /// Charge in ampere-hours (the number is ampere-hours, not coulombs).
    AmpHours,
    /// Part of a whole: 0.05 is read and written as 5 %.
    Fraction,
}

impl Celsius {
    /// The thermodynamic temperature in kelvin.
    pub const fn kelvin(self) -> f64 {
        self.0 + 273.15
    }
}
