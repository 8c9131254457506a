//! An uncertainty budget: what each input adds to the doubt of a result.
//!
//! `u² = Σ_k g_k² + 2 Σ_(i<j) r_ij c_i u_i c_j u_j`, `ν_eff = u⁴ / Σ_k (g_k⁴ / ν_k)`, `U = t_p(ν_eff) u`. c: sensitivity, u:
//! standard uncertainty, ν: degrees of freedom. Components of one shared source are one error: `g_k = Σ c_i u_i` with
//! their signs, and with the fewest degrees of freedom among them. Source: JCGM 100:2008, 5.1, 5.2, G.4.1 (clauses from
//! memory). First order only. Held by: tests/ref.rs (H.1).

use crate::distribution::student_quantile;
use crate::ensemble::SharedId;

/// One input to a result.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// What it is, for the reader of the budget.
    pub name: String,
    /// Its standard uncertainty, in its own unit.
    pub u: f64,
    /// Change of the result per unit of this input.
    pub sensitivity: f64,
    /// Degrees of freedom behind `u`; infinite where it is taken as known.
    pub degrees: f64,
    /// The shared error that it is part of, if any.
    pub shared: Option<SharedId>,
}

impl Component {
    /// An input of its own with sensitivity 1, its uncertainty taken as known.
    pub fn new(name: impl Into<String>, u: f64) -> Self {
        Component {
            name: name.into(),
            u,
            sensitivity: 1.0,
            degrees: f64::INFINITY,
            shared: None,
        }
    }

    /// With this change of the result per unit.
    pub fn times(self, sensitivity: f64) -> Self {
        Component {
            sensitivity,
            ..self
        }
    }

    /// With so many degrees of freedom.
    pub fn degrees(self, degrees: f64) -> Self {
        Component { degrees, ..self }
    }

    /// As part of a shared error.
    pub fn shared(self, id: SharedId) -> Self {
        Component {
            shared: Some(id),
            ..self
        }
    }

    fn contribution(&self) -> f64 {
        self.sensitivity * self.u
    }
}

/// The inputs to one result.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Budget {
    /// The inputs.
    pub components: Vec<Component>,
    /// Correlations between inputs, by their places, beyond what they share.
    pub correlations: Vec<(usize, usize, f64)>,
}

/// What a budget comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combined {
    /// Combined standard uncertainty.
    pub u: f64,
    /// Effective degrees of freedom.
    pub degrees: f64,
}

impl Budget {
    /// A budget of these inputs.
    pub fn of(components: impl IntoIterator<Item = Component>) -> Self {
        Budget {
            components: components.into_iter().collect(),
            correlations: Vec::new(),
        }
    }

    /// Combined standard uncertainty and effective degrees of freedom. Correlations with unknown places are left out.
    pub fn combined(&self) -> Combined {
        let mut errors: Vec<(Option<SharedId>, f64, f64)> = Vec::new();
        for it in &self.components {
            let same = errors
                .iter_mut()
                .find(|(id, ..)| id.is_some() && *id == it.shared);
            match same {
                Some((_, g, degrees)) => {
                    *g += it.contribution();
                    *degrees = degrees.min(it.degrees);
                }
                None => errors.push((it.shared, it.contribution(), it.degrees)),
            }
        }
        let crossed = self.correlations.iter().filter_map(|(i, j, r)| {
            let (a, b) = (self.components.get(*i)?, self.components.get(*j)?);
            Some(2.0 * r * a.contribution() * b.contribution())
        });
        let square = errors.iter().map(|(_, g, _)| g * g).sum::<f64>() + crossed.sum::<f64>();
        let spread: f64 = errors
            .iter()
            .map(|(_, g, degrees)| g.powi(4) / degrees)
            .sum();
        let degrees = if spread > 0.0 {
            square * square / spread
        } else {
            f64::INFINITY
        };
        Combined {
            u: square.max(0.0).sqrt(),
            degrees,
        }
    }
}

impl Combined {
    /// Factor k for which `± k u` holds the true value with probability p, degrees of freedom cut to a whole number as
    /// JCGM 100, G.4.1 asks (but not below one).
    pub fn coverage_factor(&self, p: f64) -> f64 {
        student_quantile((1.0 + p) / 2.0, self.degrees.floor().max(1.0))
    }

    /// Expanded uncertainty: half-width that holds the true value with probability p.
    pub fn expanded(&self, p: f64) -> f64 {
        self.coverage_factor(p) * self.u
    }
}
