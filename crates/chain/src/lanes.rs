//! Exponentials and logarithms of eight numbers at a time.
//!
//! `eˣ = 2ᵏ eʳ`, k the integer nearest `x / ln 2`, `|r| ≤ ½ ln 2`, eʳ by its Taylor series to r¹²; `ln(2ᵉ m) = e ln 2 +
//! 2 artanh f`, `f = (m − 1)/(m + 1)`, m within √½ to √2, by its series to f¹⁹. Both are good to a few units in the last
//! place, and the compiler turns them into vector instructions, which it cannot do with calls to the C library.
//! `ln` wants normal positive numbers; `exp` takes anything and gives 0 below −708 and e⁷⁰⁸ above 708.

#![allow(clippy::needless_range_loop)] // the compiler makes vectors of them

/// Eight samples of one number.
pub type Lanes = [f64; 8];

/// Adding it leaves the integer nearest in the low bits of the sum: 1.5 · 2⁵².
const ROUND: f64 = 6_755_399_441_055_744.0;
const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// `eˣ` in every lane.
#[inline(always)]
#[must_use]
pub fn exp(x: Lanes) -> Lanes {
    let mut out = [0.0; 8];
    for k in 0..8 {
        let x = x[k].clamp(-708.0, 708.0);
        let rounded = x * core::f64::consts::LOG2_E + ROUND;
        let n = rounded - ROUND;
        let r = (x - n * LN2_HIGH) - n * LN2_LOW;
        let mut p = 1.0 / 479_001_600.0;
        for c in [
            39_916_800.0,
            3_628_800.0,
            362_880.0,
            40_320.0,
            5_040.0,
            720.0,
            120.0,
            24.0,
            6.0,
            2.0,
            1.0,
            1.0,
        ] {
            p = p * r + 1.0 / c;
        }
        let power = f64::from_bits((rounded.to_bits().wrapping_add(1023)) << 52);
        out[k] = if x > -708.0 { p * power } else { 0.0 };
    }
    out
}

/// Natural logarithm in every lane, of normal positive numbers.
#[inline(always)]
#[must_use]
pub fn ln(x: Lanes) -> Lanes {
    const SQRT_HALF_BITS: u64 = 0x3FE6_A09E_667F_3BCD;
    const MANTISSA: u64 = 0x000F_FFFF_FFFF_FFFF;
    let mut out = [0.0; 8];
    for k in 0..8 {
        let bits = x[k].to_bits().wrapping_sub(SQRT_HALF_BITS);
        // Exponent of x over √½, as a number: its bits under those of ROUND.
        let e = (bits >> 52) ^ 0x800;
        let e = f64::from_bits(0x4330_0000_0000_0000 | (e & 0xFFF)) - 4_503_599_627_372_544.0;
        let m = f64::from_bits((bits & MANTISSA) + SQRT_HALF_BITS);
        let f = (m - 1.0) / (m + 1.0);
        let s = f * f;
        let mut p = 1.0 / 19.0;
        for c in [17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0] {
            p = p * s + 1.0 / c;
        }
        out[k] = e * LN2_HIGH + (e * LN2_LOW + 2.0 * (f + f * s * p));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library over what the engine meets; 4e-16 relative is two units in the last place.
    #[test]
    fn ref_exp_and_ln_agree_with_the_standard_library() {
        let mut rng = fastrand::Rng::with_seed(5);
        for _ in 0..20_000 {
            let x: Lanes = core::array::from_fn(|_| 1400.0 * (rng.f64() - 0.5));
            for (got, x) in exp(x).into_iter().zip(x) {
                assert!((got / x.exp() - 1.0).abs() < 1e-15, "exp {x}: {got}");
            }
            let y = exp(x);
            for (got, y) in ln(y).into_iter().zip(y) {
                let want = y.ln();
                assert!(
                    (got - want).abs() < 1e-15 * want.abs().max(1.0),
                    "ln {y}: {got} {want}"
                );
            }
        }
        assert_eq!(exp([-1e9; 8]), [0.0; 8]);
        assert_eq!(ln([1.0; 8]), [0.0; 8]);
    }
}
