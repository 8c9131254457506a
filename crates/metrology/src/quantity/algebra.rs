//! The sums and products that the trade uses, and no others: volts plus amps does not compile.

use super::{
    AmpHours, Amps, Celsius, Farads, Fraction, Henries, Hertz, Metres, Ohms, Seconds, Siemens,
    SquareMetres, VoltAmps, Volts, WattHours, Watts,
};
use num_complex::Complex64;
use std::iter::Sum;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Sums, scaling and ratios of one type with itself. `[T]` is the list of its type parameters.
macro_rules! linear {
    ($([$($t:ident)?] $name:ty, $number:ty);+ $(;)?) => { $(
        impl<$($t: Add<Output = $t>)?> Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self::from_si(self.0 + other.0)
            }
        }
        impl<$($t: Sub<Output = $t>)?> Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self::from_si(self.0 - other.0)
            }
        }
        impl<$($t: Neg<Output = $t>)?> Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self::from_si(-self.0)
            }
        }
        impl<$($t: Mul<f64, Output = $t>)?> Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self::from_si(self.0 * factor)
            }
        }
        impl<$($t: Mul<f64, Output = $t>)?> Mul<$name> for f64 {
            type Output = $name;
            fn mul(self, quantity: $name) -> $name {
                quantity * self
            }
        }
        impl<$($t: Div<f64, Output = $t>)?> Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self::from_si(self.0 / divisor)
            }
        }
        impl<$($t: Div<Output = $t>)?> Div for $name {
            type Output = $number;
            fn div(self, other: Self) -> $number {
                self.0 / other.0
            }
        }
    )+ };
}

linear! {
    [T] Volts<T>, T; [T] Amps<T>, T; [T] Ohms<T>, T; [T] Siemens<T>, T; [T] Watts<T>, T;
    [] VoltAmps, f64; [] Metres, f64; [] SquareMetres, f64; [] Hertz, f64; [] Seconds, f64; [] Farads, f64;
    [] Henries, f64; [] Celsius, f64; [] WattHours, f64; [] AmpHours, f64; [] Fraction, f64;
}

macro_rules! real_extras {
    ($($name:ident),+) => { $(
        impl $name {
            /// Without its sign.
            pub const fn abs(self) -> Self {
                Self::from_si(self.0.abs())
            }

            /// The smaller of two.
            pub const fn min(self, other: Self) -> Self {
                Self::from_si(self.0.min(other.0))
            }

            /// The larger of two.
            pub const fn max(self, other: Self) -> Self {
                Self::from_si(self.0.max(other.0))
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(each: I) -> Self {
                Self::from_si(each.map(|it| it.0).sum())
            }
        }
    )+ };
}

real_extras!(
    Volts,
    Amps,
    Ohms,
    Siemens,
    Watts,
    VoltAmps,
    Metres,
    SquareMetres,
    Hertz,
    Seconds,
    Farads,
    Henries,
    Celsius,
    WattHours,
    AmpHours,
    Fraction
);

/// `a * b = c`, and with it `b * a = c`, `c / a = b`, `c / b = a`.
macro_rules! product {
    ($([$($t:ident)?] $a:ty, $b:ty => $c:ty, $scale:expr);+ $(;)?) => { $(
        impl<$($t: Mul<Output = $t>)?> Mul<$b> for $a {
            type Output = $c;
            fn mul(self, other: $b) -> $c {
                <$c>::from_si($scale(self.0 * other.0))
            }
        }
        impl<$($t: Mul<Output = $t>)?> Mul<$a> for $b {
            type Output = $c;
            fn mul(self, other: $a) -> $c {
                other * self
            }
        }
    )+ };
}

/// `c / a = b`.
macro_rules! quotient {
    ($([$($t:ident)?] $c:ty, $a:ty => $b:ty);+ $(;)?) => { $(
        impl<$($t: Div<Output = $t>)?> Div<$a> for $c {
            type Output = $b;
            fn div(self, other: $a) -> $b {
                <$b>::from_si(self.0 / other.0)
            }
        }
    )+ };
}

/// Of something counted in seconds, the same in hours.
fn hours_of(seconds: f64) -> f64 {
    seconds / 3600.0
}

product! {
    [T] Amps<T>, Ohms<T> => Volts<T>, |x| x;
    [T] Volts<T>, Siemens<T> => Amps<T>, |x| x;
    [] Volts, Amps => Watts, |x| x;
    [] Volts, AmpHours => WattHours, |x| x;
    [] Watts, Seconds => WattHours, hours_of;
    [] Amps, Seconds => AmpHours, hours_of;
}

quotient! {
    [T] Volts<T>, Amps<T> => Ohms<T>;
    [T] Volts<T>, Ohms<T> => Amps<T>;
    [T] Amps<T>, Volts<T> => Siemens<T>;
    [T] Amps<T>, Siemens<T> => Volts<T>;
    [] Watts, Volts => Amps;
    [] Watts, Amps => Volts;
    [] VoltAmps, Volts => Amps;
    [] Watts, VoltAmps => Fraction;
    [] WattHours, Volts => AmpHours;
}

impl<T> Div<Ohms<T>> for f64
where
    f64: Div<T, Output = T>,
{
    type Output = Siemens<T>;
    fn div(self, z: Ohms<T>) -> Siemens<T> {
        Siemens(self / z.0)
    }
}

impl<T> Div<Siemens<T>> for f64
where
    f64: Div<T, Output = T>,
{
    type Output = Ohms<T>;
    fn div(self, y: Siemens<T>) -> Ohms<T> {
        Ohms(self / y.0)
    }
}

/// A fraction of something is the same something.
macro_rules! part_of {
    ($($name:ident),+) => { $(
        impl Mul<$name> for Fraction {
            type Output = $name;
            fn mul(self, whole: $name) -> $name {
                whole * self.0
            }
        }
    )+ };
}

part_of!(
    Volts, Amps, Ohms, Watts, VoltAmps, WattHours, AmpHours, Seconds
);

impl Volts<Complex64> {
    /// Complex power `S = V I*` into what the current flows through: watts, and vars as imaginary part.
    pub fn power(self, current: Amps<Complex64>) -> Watts<Complex64> {
        Watts(self.0 * current.0.conj())
    }
}

impl Hertz {
    /// Angular frequency `ω = 2 π f` in radians per second.
    pub const fn omega(self) -> f64 {
        2.0 * std::f64::consts::PI * self.0
    }
}

impl Farads {
    /// Admittance `jωC` at a frequency.
    pub fn admittance(self, frequency: Hertz) -> Siemens<Complex64> {
        Siemens(Complex64::new(0.0, frequency.omega() * self.0))
    }
}

impl Henries {
    /// Impedance `jωL` at a frequency.
    pub fn impedance(self, frequency: Hertz) -> Ohms<Complex64> {
        Ohms(Complex64::new(0.0, frequency.omega() * self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_phasor_reads_back_with_its_phase() {
        let z = Ohms::from_si(Complex64::new(3.0, 4.0));
        assert_eq!(z.si(), Complex64::new(3.0, 4.0));
        assert_eq!(z.abs(), Ohms::from_si(5.0));
    }

    /// 120 / (3 + 4j) = 120 (3 - 4j) / 25 = 14.4 - 19.2j; 25 divides 360 and 480 to the nearest double of each.
    #[test]
    fn exact_current_through_an_impedance_keeps_its_phase() {
        let v = Volts::<Complex64>::from(Volts::from_si(120.0));
        let i = v / Ohms::from_si(Complex64::new(3.0, 4.0));
        assert_eq!(i.si(), Complex64::new(14.4, -19.2));
        // S = 120 * (14.4 + 19.2j)
        assert_eq!(v.power(i).si(), Complex64::new(1728.0, 2304.0));
        assert_eq!(
            (i * Ohms::from_si(Complex64::new(3.0, 4.0))).abs(),
            Volts::from_si(120.0)
        );
    }

    #[test]
    fn exact_products_of_the_trade() {
        let (v, i) = (Volts::from_si(120.0), Amps::from_si(15.0));
        assert_eq!(v / i, Ohms::from_si(8.0));
        assert_eq!(v * i, Watts::from_si(1800.0));
        assert_eq!(Watts::from_si(1800.0) / v, i);
        assert_eq!(1.0 / Ohms::from_si(8.0), Siemens::from_si(0.125));
        assert_eq!(v * Siemens::from_si(0.125), i);
        assert_eq!(
            Volts::from_si(24.0) * AmpHours::from_si(9.0),
            WattHours::from_si(216.0)
        );
        assert_eq!(
            Watts::from_si(900.0) * Seconds::from_si(600.0),
            WattHours::from_si(150.0)
        );
        assert_eq!(Fraction::from_si(0.25) * v, Volts::from_si(30.0));
        assert_eq!(
            (v - Volts::from_si(130.0)).abs() * 2.0,
            Volts::from_si(20.0)
        );
        assert_eq!([v, v].into_iter().sum::<Volts>() / v, 2.0);
    }
}
