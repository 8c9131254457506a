//! Numbers of twice the precision, as sums of two.
//!
//! `x = hi + lo` with `|lo| ≤ ulp(hi)/2`: about 32 digits. `two_sum` and `two_prod` give the rounding error of a sum and
//! a product exactly; the rest is carried along in `lo`. The kernel of `update` is written once over [`Num`] and runs
//! with plain and with double-double lanes; `refine` keeps voltages in the latter.
//! Sources: D. E. Knuth, The Art of Computer Programming 2, §4.2.2 (two_sum); T. J. Dekker, Numer. Math. 18 (1971) 224
//! (product without fused multiply-add); both from memory. Held by: the tests below, tests/exact.rs.

use crate::cx8::{self, Cx8, LANES};

#[inline(always)]
pub(crate) fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let s = a + b;
    let t = s - a;
    (s, (a - (s - t)) + (b - t))
}

#[inline(always)]
fn quick_two_sum(a: f64, b: f64) -> (f64, f64) {
    let s = a + b;
    (s, b - (s - a))
}

#[inline(always)]
fn two_prod<const FMA: bool>(a: f64, b: f64) -> (f64, f64) {
    let p = a * b;
    if FMA {
        (p, a.mul_add(b, -p))
    } else {
        let ((ah, al), (bh, bl)) = (halves(a), halves(b));
        (p, ((ah * bh - p) + ah * bl + al * bh) + al * bl)
    }
}

#[inline(always)]
fn halves(a: f64) -> (f64, f64) {
    let c = 134_217_729.0 * a; // 2^27 + 1
    let hi = c - (c - a);
    (hi, a - hi)
}

#[inline(always)]
fn add(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    let (s, e) = two_sum(a.0, b.0);
    quick_two_sum(s, e + (a.1 + b.1))
}

#[inline(always)]
fn sub(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    add(a, (-b.0, -b.1))
}

#[inline(always)]
fn mul<const FMA: bool>(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    let (p, e) = two_prod::<FMA>(a.0, b.0);
    quick_two_sum(p, cx8::fma::<FMA>(a.0, b.1, cx8::fma::<FMA>(a.1, b.0, e)))
}

/// Eight complex numbers of twice the precision.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CxDd8 {
    pub hi: Cx8,
    pub lo: Cx8,
}

impl CxDd8 {
    pub const ZERO: Self = Self {
        hi: Cx8::ZERO,
        lo: Cx8::ZERO,
    };

    #[inline(always)]
    fn re(&self, l: usize) -> (f64, f64) {
        (self.hi.re[l], self.lo.re[l])
    }

    #[inline(always)]
    fn im(&self, l: usize) -> (f64, f64) {
        (self.hi.im[l], self.lo.im[l])
    }

    #[inline(always)]
    fn put(&mut self, l: usize, re: (f64, f64), im: (f64, f64)) {
        (self.hi.re[l], self.lo.re[l]) = re;
        (self.hi.im[l], self.lo.im[l]) = im;
    }

    #[inline(always)]
    pub fn add(&self, b: &Self) -> Self {
        let mut out = Self::ZERO;
        for l in 0..LANES {
            out.put(l, add(self.re(l), b.re(l)), add(self.im(l), b.im(l)));
        }
        out
    }

    #[inline(always)]
    pub fn sub(&self, b: &Self) -> Self {
        let mut out = Self::ZERO;
        for l in 0..LANES {
            out.put(l, sub(self.re(l), b.re(l)), sub(self.im(l), b.im(l)));
        }
        out
    }

    #[inline(always)]
    pub fn plus(&self, b: &Cx8) -> Self {
        self.add(&Self {
            hi: *b,
            lo: Cx8::ZERO,
        })
    }
}

/// What the kernel of `update` needs of a number; `FMA` as in `cx8`.
pub(crate) trait Num: Copy {
    const ZERO: Self;
    fn from_parts(hi: &Cx8, lo: &Cx8) -> Self;
    fn high(&self) -> Cx8;
    fn minus(&self, b: &Self) -> Self;
    fn times<const FMA: bool>(&self, b: &Self) -> Self;
    /// `1 + self * b`.
    fn one_plus<const FMA: bool>(&self, b: &Self) -> Self;
    /// `self − a * b`.
    fn minus_product<const FMA: bool>(&self, a: &Self, b: &Self) -> Self;
    /// One divided by each lane, zero for a lane of zero.
    fn recip_or_zero<const FMA: bool>(&self) -> Self;
}

impl Num for Cx8 {
    const ZERO: Self = Cx8::ZERO;

    #[inline(always)]
    fn from_parts(hi: &Cx8, _: &Cx8) -> Self {
        *hi
    }

    #[inline(always)]
    fn high(&self) -> Cx8 {
        *self
    }

    #[inline(always)]
    fn minus(&self, b: &Self) -> Self {
        *self - *b
    }

    #[inline(always)]
    fn times<const FMA: bool>(&self, b: &Self) -> Self {
        cx8::mul::<FMA>(self, b)
    }

    #[inline(always)]
    fn one_plus<const FMA: bool>(&self, b: &Self) -> Self {
        cx8::mul_add::<FMA>(&Cx8::ONE, self, b)
    }

    #[inline(always)]
    fn minus_product<const FMA: bool>(&self, a: &Self, b: &Self) -> Self {
        cx8::mul_sub::<FMA>(self, a, b)
    }

    #[inline(always)]
    fn recip_or_zero<const FMA: bool>(&self) -> Self {
        let mut out = Cx8::ZERO;
        for l in 0..LANES {
            let n = self.re[l] * self.re[l] + self.im[l] * self.im[l];
            let n = if n == 0.0 { 0.0 } else { 1.0 / n };
            out.re[l] = self.re[l] * n;
            out.im[l] = -self.im[l] * n;
        }
        out
    }
}

impl Num for CxDd8 {
    const ZERO: Self = CxDd8::ZERO;

    #[inline(always)]
    fn from_parts(hi: &Cx8, lo: &Cx8) -> Self {
        Self { hi: *hi, lo: *lo }
    }

    #[inline(always)]
    fn high(&self) -> Cx8 {
        self.hi
    }

    #[inline(always)]
    fn minus(&self, b: &Self) -> Self {
        self.sub(b)
    }

    #[inline(always)]
    fn times<const FMA: bool>(&self, b: &Self) -> Self {
        let mut out = Self::ZERO;
        for l in 0..LANES {
            let (ar, ai, br, bi) = (self.re(l), self.im(l), b.re(l), b.im(l));
            let re = sub(mul::<FMA>(ar, br), mul::<FMA>(ai, bi));
            let im = add(mul::<FMA>(ar, bi), mul::<FMA>(ai, br));
            out.put(l, re, im);
        }
        out
    }

    #[inline(always)]
    fn one_plus<const FMA: bool>(&self, b: &Self) -> Self {
        self.times::<FMA>(b).plus(&Cx8::ONE)
    }

    #[inline(always)]
    fn minus_product<const FMA: bool>(&self, a: &Self, b: &Self) -> Self {
        self.sub(&a.times::<FMA>(b))
    }

    #[inline(always)]
    fn recip_or_zero<const FMA: bool>(&self) -> Self {
        let mut out = Self::ZERO;
        for l in 0..LANES {
            let (re, im) = (self.re(l), self.im(l));
            let n = add(mul::<FMA>(re, re), mul::<FMA>(im, im));
            let q = if n.0 == 0.0 { 0.0 } else { 1.0 / n.0 };
            let off = sub((1.0, 0.0), mul::<FMA>(n, (q, 0.0)));
            let q = quick_two_sum(q, q * off.0);
            out.put(l, mul::<FMA>(re, q), mul::<FMA>((-im.0, -im.1), q));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1e16 + 1 and 1e-16 are whole sums of two doubles; the products below are worked by hand.
    #[test]
    fn exact_what_plain_doubles_lose_is_kept() {
        assert_eq!(two_sum(1e16, 1.0), (1e16, 1.0));
        let x = 1.0 + f64::EPSILON; // x² = 1 + 2ε + ε²
        for p in [two_prod::<false>(x, x), two_prod::<true>(x, x)] {
            assert_eq!(p, (1.0 + 2.0 * f64::EPSILON, f64::EPSILON * f64::EPSILON));
        }
        assert_eq!(sub(add((1.0, 0.0), (1e-25, 0.0)), (1.0, 0.0)), (1e-25, 0.0));
    }

    #[test]
    fn exact_a_number_times_its_inverse_is_one_to_30_digits() {
        let mut x = CxDd8::ZERO;
        for l in 0..LANES {
            x.put(l, (3.0 + l as f64, 1e-17), (0.7 - l as f64, -3e-18));
        }
        for off in [
            x.one_plus::<false>(&x.recip_or_zero::<false>()),
            x.one_plus::<true>(&x.recip_or_zero::<true>()),
        ] {
            let off = off.plus(&Cx8::from(-2.0));
            assert!(off.hi.norm_sqr().iter().all(|&it| it < 1e-60), "{off:?}");
        }
        assert_eq!(CxDd8::ZERO.recip_or_zero::<false>().hi, Cx8::ZERO);
    }
}
