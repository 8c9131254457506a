//! What few worlds tell of a mean over all, and how well.
//!
//! `ln E = ln (1/N) Σ w_s`, w: likelihoods in N worlds. To first order its variance is `Σ w² / (Σ w)² − 1/N`. That sees
//! only the worlds that are there: where one world is all that speaks, of two causes too, first order knows their ratio
//! exactly, whatever it would be in the worlds that are missing. So the spread of `ln w` among those that come near is
//! added, over how many speak.
//! Source: the delta method; Owen, Monte Carlo theory, methods and examples, ch. 9 (both from memory); the spread is
//! judgement. Held by: the tests below and `brute`.

/// The logarithm of a mean over worlds, or of the ratio of two, and how well it is known.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Estimate {
    /// The logarithm.
    pub ln: f64,
    /// Its standard error to first order, of a mean `√(1/n − 1/N)` with `n = (Σw)² / Σw²` effective of N worlds. Stratified
    /// worlds do better by an amount that is not claimed.
    pub error: f64,
    /// What it may be wrong by beyond that, where few worlds speak.
    pub unsure: f64,
}

impl Estimate {
    /// Of the log weights of a sample's worlds.
    pub fn mean(ln: &[f64]) -> Self {
        let shares = Shares::of(ln);
        if shares.ln_mean == f64::NEG_INFINITY {
            return Estimate::none(shares.ln_mean);
        }
        let speak: f64 = shares.of_world.iter().map(|w| w * w).sum();
        Estimate {
            ln: shares.ln_mean,
            error: (speak - 1.0 / ln.len() as f64).max(0.0).sqrt(),
            unsure: unsure(ln.iter().copied().zip(shares.of_world), speak),
        }
    }

    /// Of what no world speaks for.
    fn none(ln: f64) -> Self {
        Estimate {
            ln,
            error: f64::INFINITY,
            unsure: 0.0,
        }
    }

    /// Both errors.
    pub fn doubt(&self) -> f64 {
        self.error.hypot(self.unsure)
    }

    /// The sum of two logarithms known independently.
    pub fn plus(&self, other: &Estimate) -> Estimate {
        Estimate {
            ln: self.ln + other.ln,
            error: self.error.hypot(other.error),
            unsure: self.unsure.hypot(other.unsure),
        }
    }

    /// This and another of the same, and whether most of it is the other: `E = Σ v e / Σ v`, e: the means themselves, v:
    /// inverse squares of their doubts. The means are averaged, not their logarithms: one over few worlds is wrong by being
    /// too low, most often, having missed the worlds that count.
    pub fn pooled(&self, other: &Estimate) -> (Estimate, bool) {
        if other.ln == f64::NEG_INFINITY {
            return (*self, false);
        }
        if self.ln == f64::NEG_INFINITY {
            return (*other, true);
        }
        let worth = |it: &Estimate| it.doubt().max(EXACT).powi(-2);
        let (mine, its) = (worth(self), worth(other));
        let ratio = its / mine * (other.ln - self.ln).min(FAR).exp();
        let part = ratio / (1.0 + ratio);
        let of = |a: f64, b: f64| ((1.0 - part) * a).hypot(part * b);
        let pooled = Estimate {
            ln: self.ln + ((1.0 + ratio) * mine / (mine + its)).ln(),
            error: of(self.error, other.error),
            unsure: of(self.unsure, other.unsure),
        };
        (pooled, part > 0.5)
    }
}

/// No estimate is known better than this.
const EXACT: f64 = 1e-3;

/// What a mean over few worlds may be wrong by beyond first order: the standard deviation of a logarithm among the worlds
/// that come near, by the fourth root of their weights, over how many speak. Of one world alone it is all of that, of ten
/// a tenth. Judgement: first order sees nothing of the worlds that are missing.
fn unsure(ln_and_weights: impl Iterator<Item = (f64, f64)>, speak: f64) -> f64 {
    let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for (ln, weight) in ln_and_weights.filter(|it| it.1 > UNHEARD) {
        let w = weight.sqrt().sqrt();
        n += w;
        sum += w * ln;
        squares += w * ln * ln;
    }
    let mean = sum / n;
    (squares / n - mean * mean).max(0.0).sqrt() * speak
}

/// Weight of a world that does not come near, and log of a ratio of two that is as good as none.
const UNHEARD: f64 = 1e-30;
const FAR: f64 = 30.0;

/// Log of the mean of log weights.
pub(crate) fn ln_mean(ln: &[f64]) -> f64 {
    let max = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if max == f64::NEG_INFINITY {
        return max;
    }
    let sum: f64 = ln.iter().map(|x| (x - max).exp()).sum();
    max + (sum / ln.len() as f64).ln()
}

/// A cause's log mean likelihood, and the part of the mean that each world has: they sum to one.
pub(crate) struct Shares {
    ln_mean: f64,
    of_world: Vec<f64>,
}

impl Shares {
    /// Of the log weights of a sample's worlds.
    pub fn of(ln: &[f64]) -> Self {
        let (ln_mean, n) = (ln_mean(ln), ln.len() as f64);
        let of_world = |ln: &f64| (ln - ln_mean).exp() / n;
        Shares {
            ln_mean,
            of_world: ln.iter().map(of_world).collect(),
        }
    }

    /// Log of the ratio to another cause's mean in the same worlds, to first order known to
    /// `√Σ (a_s/Σa − b_s/Σb)²`.
    pub fn ln_ratio_to(&self, other: &Shares) -> Estimate {
        let ln = self.ln_mean - other.ln_mean;
        if self.ln_mean == f64::NEG_INFINITY || other.ln_mean == f64::NEG_INFINITY {
            return Estimate::none(ln);
        }
        let pairs = || self.of_world.iter().zip(&other.of_world);
        let squares: f64 = pairs().map(|(a, b)| (a - b).powi(2)).sum();
        let both = || pairs().map(|(a, b)| (a, b, 0.5 * (a + b)));
        let speak: f64 = both().map(|it| it.2 * it.2).sum();
        let heard = both().filter(|it| it.2 > UNHEARD);
        let ratios = heard.map(|(a, b, w)| ((a / b).ln().clamp(-FAR, FAR), w));
        Estimate {
            ln,
            error: squares.sqrt(),
            unsure: unsure(ratios, speak),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(ln: f64, error: f64) -> Estimate {
        Estimate {
            ln,
            error,
            unsure: 0.0,
        }
    }

    /// A sample in which one world alone speaks for both of two causes leaves their ratio open, however sharp it is to first
    /// order; one in which they differ alike in every world does not, whoever speaks.
    #[test]
    fn exact_one_world_does_not_settle_a_ratio() {
        let a = [0.0, -24.0, -26.0, -28.0, -25.0, -27.0, -29.0, -24.0];
        let b = [-20.0, -45.0, -41.0, -53.0, -38.0, -52.0, -47.0, -46.0];
        let open = Shares::of(&a).ln_ratio_to(&Shares::of(&b));
        assert!(open.error < 1e-6 && open.unsure > 0.5, "{open:?}");
        let same = Shares::of(&a).ln_ratio_to(&Shares::of(&a.map(|x| x - 20.0)));
        assert!(
            (same.ln - 20.0).abs() < 1e-12 && same.doubt() < 1e-9,
            "{same:?}"
        );
    }

    /// Of log-normal weights, whose mean is `e^(σ²/2)`: over samples of 64 worlds the claimed doubt is not exceeded by more
    /// than threefold in more than one of ten, from a sample that most worlds speak for to one that few do.
    #[test]
    fn prop_a_mean_is_within_its_doubt() {
        let mut rng = fastrand::Rng::with_seed(5);
        for sigma in [0.5, 1.0, 2.0] {
            let mut gauss = || {
                let (u, v) = (rng.f64().max(1e-300), rng.f64());
                sigma * (-2.0 * u.ln()).sqrt() * (core::f64::consts::TAU * v).cos()
            };
            let off = |_| {
                let ln: Vec<f64> = (0..64).map(|_| gauss()).collect();
                let it = Estimate::mean(&ln);
                f64::from((it.ln - 0.5 * sigma * sigma).abs() > 3.0 * it.doubt())
            };
            let far: f64 = (0..200).map(off).sum::<f64>() / 200.0;
            assert!(far < 0.1, "σ {sigma}: {far}");
        }
    }

    /// Means are averaged by the inverse squares of their doubts, `(4 e⁻¹ + 1 e⁰) / 5` of doubts 1 and 2; what was never
    /// seen adds nothing.
    #[test]
    fn exact_pooled_means_are_averaged() {
        let (pooled, leads) = known(-1.0, 1.0).pooled(&known(0.0, 2.0));
        let want = ((4.0 * (-1f64).exp() + 1.0) / 5.0).ln();
        assert!((pooled.ln - want).abs() < 1e-12 && !leads, "{pooled:?}");
        let (_, leads) = known(-10.0, 1.0).pooled(&known(0.0, 2.0));
        assert!(leads);
        let unseen = known(f64::NEG_INFINITY, f64::INFINITY);
        assert_eq!(unseen.pooled(&known(0.0, 2.0)).0.ln, 0.0);
        assert_eq!(known(0.0, 2.0).pooled(&unseen).0.ln, 0.0);
    }
}
