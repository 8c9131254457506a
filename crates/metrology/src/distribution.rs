//! The two distributions that doubt is counted with.
//!
//! Normal: `Φ(z) = erfc(−z/√2) / 2`. Student: `P(T ≤ t) = 1 − I_x(ν/2, 1/2) / 2` for t ≥ 0 with `x = ν / (ν + t²)`; I: the
//! regularised incomplete beta function by its continued fraction (modified Lentz); ν: degrees of freedom, not only
//! whole ones. Quantiles by bisection on the smaller tail. Source: Handbook of Mathematical Functions, 26.5.8 and
//! 26.7.1 (clauses from memory). Held by: tests/ref.rs against mpmath 1.3.0.

/// Probability that a standard normal variable is at most z.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Density of the standard normal distribution.
pub(crate) fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// The z below which a standard normal variable lies with probability p; infinite at 0 and 1, NaN outside.
pub fn normal_quantile(p: f64) -> f64 {
    quantile(p, normal_cdf)
}

/// The t below which Student's variable of these degrees of freedom lies with probability p.
///
/// Infinite degrees of freedom give the normal quantile; NaN for degrees not above zero.
pub fn student_quantile(p: f64, degrees: f64) -> f64 {
    match degrees {
        f64::INFINITY => normal_quantile(p),
        _ if degrees > 0.0 => quantile(p, |t| student_lower_tail(t, degrees)),
        _ => f64::NAN,
    }
}

/// Probability of a value at most t, for t ≤ 0.
fn student_lower_tail(t: f64, degrees: f64) -> f64 {
    let square = t * t;
    if square.is_infinite() {
        return 0.0;
    }
    0.5 * incomplete_beta(
        degrees / (degrees + square),
        square / (degrees + square),
        degrees / 2.0,
        0.5,
    )
}

/// Quantile of a symmetric distribution from its lower tail.
fn quantile(p: f64, lower_tail: impl Fn(f64) -> f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p > 0.5 {
        return -quantile(1.0 - p, lower_tail);
    }
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    // Bracket by doubling, then halve until the two ends are neighbours.
    let (mut low, mut high) = (-1.0, 0.0);
    while lower_tail(low) > p && low > f64::MIN / 4.0 {
        high = low;
        low *= 2.0;
    }
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return middle;
        }
        if lower_tail(middle) > p {
            high = middle
        } else {
            low = middle
        }
    }
}

/// `I_x(a, b)`; `y = 1 − x` is given so that neither loses digits.
fn incomplete_beta(x: f64, y: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 || y <= 0.0 {
        return if x <= 0.0 { 0.0 } else { 1.0 };
    }
    let front =
        (libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * x.ln() + b * y.ln()).exp();
    if x < (a + 1.0) / (a + b + 2.0) {
        front * continued_fraction(x, a, b) / a
    } else {
        1.0 - front * continued_fraction(y, b, a) / b
    }
}

fn continued_fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away_from_zero = |it: f64| if it.abs() < TINY { TINY } else { it };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut sum = d;
    // Converges in about sqrt(max(a, b)) steps; the bound only keeps a mistake from running for ever.
    for step in 1..10_000 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for term in [even, odd] {
            d = 1.0 / away_from_zero(1.0 + term * d);
            c = away_from_zero(1.0 + term / c);
            change = c * d;
            sum *= change;
        }
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    sum
}
