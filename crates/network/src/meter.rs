//! What a meter or a lamp makes of the pair it is put across.
//!
//! A pair of nodes is its open-circuit voltage `v` behind its Thevenin impedance `z`; a meter of admittance `y` across
//! it reads `v / (1 + z y)`. Two pairs loaded at once, `z` now 2 × 2 and symmetric, `Y = diag(y)`:
//! `v' = (1 + Z Y)⁻¹ v`. Three lamps between three nodes a, b, c are two pairs (a−c, b−c) with a third admittance
//! between their plus sides: `v' = (1 + Z Y)⁻¹ v`, `Y = [[y_1 + y_3, −y_3], [−y_3, y_2 + y_3]]`.
//! Source: Thevenin's theorem. Held by: tests/prop.rs, tests/exact.rs.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A complex number, or eight.
pub trait Phasor:
    Copy
    + From<f64>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
}

impl<T> Phasor for T where
    T: Copy
        + From<f64>
        + Add<Output = T>
        + Sub<Output = T>
        + Mul<Output = T>
        + Div<Output = T>
        + Neg<Output = T>
{
}

/// Voltage left across a meter of admittance `y` (siemens) on a pair of open-circuit voltage `v` (volts) behind `z` (ohms).
#[inline(always)]
pub fn loaded<T: Phasor>(v: T, z: T, y: T) -> T {
    v / (T::from(1.0) + z * y)
}

/// Voltages of two pairs with an admittance across each.
#[inline(always)]
pub fn loaded_pair<T: Phasor>(v: [T; 2], z: [[T; 2]; 2], y: [T; 2]) -> [T; 2] {
    loaded_three(v, z, [y[0], y[1], T::from(0.0)])
}

/// Voltages of two pairs that share their minus side: `y[0]` across the first, `y[1]` across the second, `y[2]` between
/// their plus sides. The voltage between the plus sides is the first less the second.
#[inline(always)]
pub fn loaded_three<T: Phasor>(v: [T; 2], z: [[T; 2]; 2], y: [T; 3]) -> [T; 2] {
    let one = T::from(1.0);
    let (y11, y12, y22) = (y[0] + y[2], -y[2], y[1] + y[2]);
    let a = one + z[0][0] * y11 + z[0][1] * y12;
    let b = z[0][0] * y12 + z[0][1] * y22;
    let c = z[1][0] * y11 + z[1][1] * y12;
    let d = one + z[1][0] * y12 + z[1][1] * y22;
    let det = a * d - b * c;
    [(d * v[0] - b * v[1]) / det, (a * v[1] - c * v[0]) / det]
}
