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

#[inline(always)]
fn mul_plain<const FMA: bool>(a: (f64, f64), b: f64) -> (f64, f64) {
    let (p, e) = two_prod::<FMA>(a.0, b);
    quick_two_sum(p, cx8::fma::<FMA>(a.1, b, e))
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

    /// `self += b` for plain numbers.
    #[inline(always)]
    pub fn add_plain(&mut self, b: &Cx8) {
        for l in 0..LANES {
            let (re, im) = (
                add(self.re(l), (b.re[l], 0.0)),
                add(self.im(l), (b.im[l], 0.0)),
            );
            self.put(l, re, im);
        }
    }

    /// `self −= b` for plain numbers.
    #[inline(always)]
    pub fn sub_plain(&mut self, b: &Cx8) {
        for l in 0..LANES {
            let (re, im) = (
                sub(self.re(l), (b.re[l], 0.0)),
                sub(self.im(l), (b.im[l], 0.0)),
            );
            self.put(l, re, im);
        }
    }

    /// `self = a + b` of plain numbers, exactly.
    #[inline(always)]
    pub fn set_sum(&mut self, a: &Cx8, b: &Cx8) {
        for l in 0..LANES {
            self.put(l, two_sum(a.re[l], b.re[l]), two_sum(a.im[l], b.im[l]));
        }
    }

    /// `self = a − b`.
    #[inline(always)]
    pub fn set_difference(&mut self, a: &Self, b: &Self) {
        for l in 0..LANES {
            self.put(l, sub(a.re(l), b.re(l)), sub(a.im(l), b.im(l)));
        }
    }

    /// `self = y (a − b)` for a plain `y`; not brought back to `|lo| ≤ ulp(hi)/2`, as sums of it follow.
    #[inline(always)]
    pub fn set_current<const FMA: bool>(&mut self, y: &Cx8, a: &Self, b: &Self) {
        for l in 0..LANES {
            let (re, re_off) = two_sum(a.hi.re[l], -b.hi.re[l]);
            let (im, im_off) = two_sum(a.hi.im[l], -b.hi.im[l]);
            let re_off = re_off + (a.lo.re[l] - b.lo.re[l]);
            let im_off = im_off + (a.lo.im[l] - b.lo.im[l]);
            self.put_current::<FMA>(l, y, (re, re_off), (im, im_off));
        }
    }

    /// Lane `l` of `y` times a voltage whose parts are sums with what they lose.
    #[inline(always)]
    fn put_current<const FMA: bool>(
        &mut self,
        l: usize,
        y: &Cx8,
        (re, re_off): (f64, f64),
        (im, im_off): (f64, f64),
    ) {
        let (yr, yi) = (y.re[l], y.im[l]);
        let (rr, ii) = (two_prod::<FMA>(yr, re), two_prod::<FMA>(yi, im));
        let (ri, ir) = (two_prod::<FMA>(yr, im), two_prod::<FMA>(yi, re));
        let (real, e) = two_sum(rr.0, -ii.0);
        let e = cx8::fma::<FMA>(yr, re_off, e + (rr.1 - ii.1));
        self.hi.re[l] = real;
        self.lo.re[l] = cx8::fma::<FMA>(-yi, im_off, e);
        let (imaginary, e) = two_sum(ri.0, ir.0);
        let e = cx8::fma::<FMA>(yr, im_off, e + (ri.1 + ir.1));
        self.hi.im[l] = imaginary;
        self.lo.im[l] = cx8::fma::<FMA>(yi, re_off, e);
    }

    /// The same of plain voltages, whose difference and product lose nothing.
    #[inline(always)]
    pub fn set_current_plain<const FMA: bool>(&mut self, y: &Cx8, a: &Cx8, b: &Cx8) {
        for l in 0..LANES {
            let (re, re_off) = two_sum(a.re[l], -b.re[l]);
            let (im, im_off) = two_sum(a.im[l], -b.im[l]);
            self.put_current::<FMA>(l, y, (re, re_off), (im, im_off));
        }
    }

    /// Adds a current to one sum and takes it from another, both left as [`CxDd8::set_current`] leaves it.
    #[inline(always)]
    pub fn pass(&self, from: &mut Self, to: &mut Self) {
        for l in 0..LANES {
            let (re, e) = two_sum(to.hi.re[l], self.hi.re[l]);
            to.hi.re[l] = re;
            to.lo.re[l] += e + self.lo.re[l];
            let (im, e) = two_sum(to.hi.im[l], self.hi.im[l]);
            to.hi.im[l] = im;
            to.lo.im[l] += e + self.lo.im[l];
        }
        for l in 0..LANES {
            let (re, e) = two_sum(from.hi.re[l], -self.hi.re[l]);
            from.hi.re[l] = re;
            from.lo.re[l] += e - self.lo.re[l];
            let (im, e) = two_sum(from.hi.im[l], -self.hi.im[l]);
            from.hi.im[l] = im;
            from.lo.im[l] += e - self.lo.im[l];
        }
    }

    /// The sum of the two parts, rounded.
    #[inline(always)]
    pub fn rounded(&self) -> Cx8 {
        self.hi + self.lo
    }
}

/// What the kernel of `update` needs of a number; `FMA` as in `cx8`. Everything happens in place: numbers of this size
/// are costly to hand about.
pub(crate) trait Num: Copy {
    const ZERO: Self;
    /// The part of a stored number that this kind of number works with.
    fn of(stored: &CxDd8) -> &Self;
    fn high(&self) -> &Cx8;
    /// `self = a − b` of plain numbers, exact where there is room.
    fn set_difference(&mut self, a: &Cx8, b: &Cx8);
    /// `self = a * b`.
    fn set_product<const FMA: bool>(&mut self, a: &Self, b: &Self);
    /// `self = self + a * b`.
    fn add_product<const FMA: bool>(&mut self, a: &Self, b: &Self);
    /// `self = self − a * b`.
    fn sub_product<const FMA: bool>(&mut self, a: &Self, b: &Self);
    /// `self = 1 / a`, zero for a lane of zero.
    fn set_inverse_or_zero<const FMA: bool>(&mut self, a: &Self);
}

impl Num for Cx8 {
    const ZERO: Self = Cx8::ZERO;

    #[inline(always)]
    fn of(stored: &CxDd8) -> &Self {
        &stored.hi
    }

    #[inline(always)]
    fn high(&self) -> &Cx8 {
        self
    }

    #[inline(always)]
    fn set_difference(&mut self, a: &Cx8, b: &Cx8) {
        *self = *a - *b;
    }

    #[inline(always)]
    fn set_product<const FMA: bool>(&mut self, a: &Self, b: &Self) {
        *self = cx8::mul::<FMA>(a, b);
    }

    #[inline(always)]
    fn add_product<const FMA: bool>(&mut self, a: &Self, b: &Self) {
        cx8::add_product::<FMA>(self, a, b);
    }

    #[inline(always)]
    fn sub_product<const FMA: bool>(&mut self, a: &Self, b: &Self) {
        cx8::sub_product::<FMA>(self, a, b);
    }

    #[inline(always)]
    fn set_inverse_or_zero<const FMA: bool>(&mut self, a: &Self) {
        for l in 0..LANES {
            let n = a.re[l] * a.re[l] + a.im[l] * a.im[l];
            let n = if n == 0.0 { 0.0 } else { 1.0 / n };
            self.re[l] = a.re[l] * n;
            self.im[l] = -a.im[l] * n;
        }
    }
}

impl Num for CxDd8 {
    const ZERO: Self = CxDd8::ZERO;

    #[inline(always)]
    fn of(stored: &CxDd8) -> &Self {
        stored
    }

    #[inline(always)]
    fn high(&self) -> &Cx8 {
        &self.hi
    }

    #[inline(always)]
    fn set_difference(&mut self, a: &Cx8, b: &Cx8) {
        for l in 0..LANES {
            self.put(l, two_sum(a.re[l], -b.re[l]), two_sum(a.im[l], -b.im[l]));
        }
    }

    #[inline(always)]
    fn set_product<const FMA: bool>(&mut self, a: &Self, b: &Self) {
        for l in 0..LANES {
            let (re, im) = product::<FMA>(a.re(l), a.im(l), b.re(l), b.im(l));
            self.put(l, re, im);
        }
    }

    #[inline(always)]
    fn add_product<const FMA: bool>(&mut self, a: &Self, b: &Self) {
        for l in 0..LANES {
            let (re, im) = product::<FMA>(a.re(l), a.im(l), b.re(l), b.im(l));
            let (re, im) = (add(self.re(l), re), add(self.im(l), im));
            self.put(l, re, im);
        }
    }

    #[inline(always)]
    fn sub_product<const FMA: bool>(&mut self, a: &Self, b: &Self) {
        for l in 0..LANES {
            let (re, im) = product::<FMA>(a.re(l), a.im(l), b.re(l), b.im(l));
            let (re, im) = (sub(self.re(l), re), sub(self.im(l), im));
            self.put(l, re, im);
        }
    }

    #[inline(always)]
    fn set_inverse_or_zero<const FMA: bool>(&mut self, a: &Self) {
        for l in 0..LANES {
            let (re, im) = (a.re(l), a.im(l));
            let n = add(mul::<FMA>(re, re), mul::<FMA>(im, im));
            let q = if n.0 == 0.0 { 0.0 } else { 1.0 / n.0 };
            let off = sub((1.0, 0.0), mul_plain::<FMA>(n, q));
            let q = quick_two_sum(q, q * off.0);
            self.put(l, mul::<FMA>(re, q), mul::<FMA>((-im.0, -im.1), q));
        }
    }
}

#[inline(always)]
fn product<const FMA: bool>(
    ar: (f64, f64),
    ai: (f64, f64),
    br: (f64, f64),
    bi: (f64, f64),
) -> ((f64, f64), (f64, f64)) {
    (
        sub(mul::<FMA>(ar, br), mul::<FMA>(ai, bi)),
        add(mul::<FMA>(ar, bi), mul::<FMA>(ai, br)),
    )
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
        let (mut inverse, mut off) = (CxDd8::ZERO, [CxDd8::ZERO; 2]);
        inverse.set_inverse_or_zero::<false>(&x);
        off[0].add_product::<false>(&x, &inverse);
        inverse.set_inverse_or_zero::<true>(&x);
        off[1].add_product::<true>(&x, &inverse);
        for mut off in off {
            off.sub_plain(&Cx8::ONE);
            assert!(off.hi.norm_sqr().iter().all(|&it| it < 1e-60), "{off:?}");
        }
        inverse.set_inverse_or_zero::<false>(&CxDd8::ZERO);
        assert_eq!(inverse.hi, Cx8::ZERO);
    }
}
