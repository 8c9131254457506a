//! Eight complex numbers side by side, one for each sample of a batch.
//!
//! Real and imaginary parts are two arrays of eight, so that the compiler turns every operation into vector
//! instructions. The kernels of this crate are compiled twice (see `simd`): `FMA` says whether a fused multiply-add
//! may be used. It must be `false` outside a function that enables the instruction, as `mul_add` is then a slow
//! call into the C library. Results of the two builds differ in the last bits.

use num_complex::Complex64;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// Number of samples that are worked on at once.
pub const LANES: usize = 8;

/// Eight complex numbers, one per sample of a batch.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(64))]
pub struct Cx8 {
    /// Real parts.
    pub re: [f64; LANES],
    /// Imaginary parts.
    pub im: [f64; LANES],
}

impl Default for Cx8 {
    fn default() -> Self {
        Self::ZERO
    }
}

impl Cx8 {
    /// Zero in every lane.
    pub const ZERO: Self = Self {
        re: [0.0; LANES],
        im: [0.0; LANES],
    };
    /// One in every lane.
    pub const ONE: Self = Self {
        re: [1.0; LANES],
        im: [0.0; LANES],
    };

    /// The same number in every lane.
    #[inline(always)]
    pub fn splat(value: Complex64) -> Self {
        Self {
            re: [value.re; LANES],
            im: [value.im; LANES],
        }
    }

    /// The number of lane `lane` (0 to 7).
    #[inline(always)]
    pub fn lane(&self, lane: usize) -> Complex64 {
        Complex64::new(self.re[lane], self.im[lane])
    }

    /// Puts a number into lane `lane` (0 to 7).
    #[inline(always)]
    pub fn set_lane(&mut self, lane: usize, value: Complex64) {
        self.re[lane] = value.re;
        self.im[lane] = value.im;
    }

    /// Eight lanes from a function of the lane number.
    pub fn from_lanes(mut of: impl FnMut(usize) -> Complex64) -> Self {
        let mut out = Self::ZERO;
        for lane in 0..LANES {
            out.set_lane(lane, of(lane));
        }
        out
    }

    /// Every lane times a real number.
    #[inline(always)]
    pub fn scale(mut self, by: f64) -> Self {
        for l in 0..LANES {
            self.re[l] *= by;
            self.im[l] *= by;
        }
        self
    }

    /// Squared magnitude of every lane.
    #[inline(always)]
    pub fn norm_sqr(&self) -> [f64; LANES] {
        let mut out = [0.0; LANES];
        for l in 0..LANES {
            out[l] = self.re[l] * self.re[l] + self.im[l] * self.im[l];
        }
        out
    }

    /// One divided by every lane; not finite where a lane is zero.
    #[inline(always)]
    pub fn recip(&self) -> Self {
        let mut out = Self::ZERO;
        for l in 0..LANES {
            let n = 1.0 / (self.re[l] * self.re[l] + self.im[l] * self.im[l]);
            out.re[l] = self.re[l] * n;
            out.im[l] = -self.im[l] * n;
        }
        out
    }

    /// Whether all bits are zero; a negative zero is taken for something.
    #[inline(always)]
    pub(crate) fn is_zero(&self) -> bool {
        let mut bits = [0; LANES / 2];
        for l in 0..LANES / 2 {
            bits[l] = self.re[l].to_bits()
                | self.re[l + LANES / 2].to_bits()
                | self.im[l].to_bits()
                | self.im[l + LANES / 2].to_bits();
        }
        bits[0] | bits[1] | bits[2] | bits[3] == 0
    }

    /// Whether every lane is a finite number.
    pub fn is_finite(&self) -> bool {
        self.re.iter().chain(&self.im).all(|x| x.is_finite())
    }
}

#[inline(always)]
pub(crate) fn fma<const FMA: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FMA { a.mul_add(b, c) } else { a * b + c }
}

/// `a * b`.
#[inline(always)]
pub(crate) fn mul<const FMA: bool>(a: &Cx8, b: &Cx8) -> Cx8 {
    let mut out = Cx8::ZERO;
    for l in 0..LANES {
        out.re[l] = fma::<FMA>(a.re[l], b.re[l], -(a.im[l] * b.im[l]));
    }
    for l in 0..LANES {
        out.im[l] = fma::<FMA>(a.re[l], b.im[l], a.im[l] * b.re[l]);
    }
    out
}

/// `acc += a * b`.
#[inline(always)]
pub(crate) fn add_product<const FMA: bool>(acc: &mut Cx8, a: &Cx8, b: &Cx8) {
    for l in 0..LANES {
        let (re, im) = (acc.re[l], acc.im[l]);
        acc.re[l] = fma::<FMA>(-a.im[l], b.im[l], fma::<FMA>(a.re[l], b.re[l], re));
        acc.im[l] = fma::<FMA>(a.im[l], b.re[l], fma::<FMA>(a.re[l], b.im[l], im));
    }
}

/// `acc -= a * b`.
#[inline(always)]
pub(crate) fn sub_product<const FMA: bool>(acc: &mut Cx8, a: &Cx8, b: &Cx8) {
    for l in 0..LANES {
        let (re, im) = (acc.re[l], acc.im[l]);
        acc.re[l] = fma::<FMA>(a.im[l], b.im[l], fma::<FMA>(-a.re[l], b.re[l], re));
        acc.im[l] = fma::<FMA>(-a.im[l], b.re[l], fma::<FMA>(-a.re[l], b.im[l], im));
    }
}

impl From<f64> for Cx8 {
    fn from(value: f64) -> Self {
        Self::splat(Complex64::from(value))
    }
}

impl From<Complex64> for Cx8 {
    fn from(value: Complex64) -> Self {
        Self::splat(value)
    }
}

impl Add for Cx8 {
    type Output = Self;
    #[inline(always)]
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl AddAssign for Cx8 {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        for l in 0..LANES {
            self.re[l] += other.re[l];
            self.im[l] += other.im[l];
        }
    }
}

impl Sub for Cx8 {
    type Output = Self;
    #[inline(always)]
    fn sub(mut self, other: Self) -> Self {
        self -= other;
        self
    }
}

impl SubAssign for Cx8 {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        for l in 0..LANES {
            self.re[l] -= other.re[l];
            self.im[l] -= other.im[l];
        }
    }
}

impl Neg for Cx8 {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.scale(-1.0)
    }
}

impl Mul for Cx8 {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        mul::<false>(&self, &other)
    }
}

impl Div for Cx8 {
    type Output = Self;
    #[inline(always)]
    #[allow(clippy::suspicious_arithmetic_impl)]
    fn div(self, other: Self) -> Self {
        mul::<false>(&self, &other.recip())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_arithmetic_is_that_of_each_lane() {
        let a = Cx8::from_lanes(|l| Complex64::new(l as f64 + 1.0, 2.0 - l as f64));
        let b = Cx8::from_lanes(|l| Complex64::new(0.5 * l as f64, 3.0));
        for l in 0..LANES {
            let (x, y) = (a.lane(l), b.lane(l));
            assert_eq!((a + b).lane(l), x + y);
            assert_eq!((a - b).lane(l), x - y);
            assert!(((a * b).lane(l) - x * y).norm() < 1e-14 * (x * y).norm());
            assert!(((a / b).lane(l) - x / y).norm() < 1e-14 * (x / y).norm());
            assert_eq!((-a).lane(l), -x);
            let mut sum = a;
            add_product::<false>(&mut sum, &a, &b);
            assert!((sum.lane(l) - (x + x * y)).norm() < 1e-14 * x.norm() * (1.0 + y.norm()));
            sub_product::<false>(&mut sum, &a, &b);
            assert!((sum.lane(l) - x).norm() < 1e-13 * x.norm() * (1.0 + y.norm()));
        }
    }
}
