//! One demand held against one limit.
//!
//! `p = Φ((L − D) / √(u_D² + u_L²))`: probability that the demand D stays within the limit L, both doubtful and
//! independent; `r = L / D`: by how much all could grow until this one gives way. Good from p = 95 %, a defect to 5 %
//! (`metrology::Conformity`). Source: JCGM 106:2012, clause 7 (from memory). Held by: tests/exact.rs.

use metrology::{Basis, Conformity, normal_cdf};
use schemars::JsonSchema;
use serde::Serialize;
use site::plug::Plug;
use site::supply::Rail;
use site::typical::Moment;

use crate::sum::Sum;

/// What has a limit.
#[derive(Clone, Debug, PartialEq)]
pub enum Of {
    /// One rail.
    Rail(Rail),
    /// Several rails together.
    Together(Vec<Rail>),
    /// All rails.
    Total,
    /// A contact of a connector that carries this rail.
    Contact(Plug, Rail),
    /// The inlet.
    Inlet,
    /// The overcurrent device of the circuit.
    Circuit(String),
    /// The overcurrent device, when plugged in cold.
    Inrush(String),
}

impl Of {
    /// Words for people.
    pub fn says(&self) -> String {
        match self {
            Of::Rail(rail) => rail.name().to_owned(),
            Of::Together(rails) => {
                let names: Vec<&str> = rails.iter().map(|it| it.name()).collect();
                format!("{} together", names.join(" and "))
            }
            Of::Total => "all rails together".to_owned(),
            Of::Contact(plug, rail) => format!("a {} contact of {}", rail.name(), plug.name()),
            Of::Inlet => "the inlet".to_owned(),
            Of::Circuit(id) => format!("circuit {id}"),
            Of::Inrush(id) => format!("the overcurrent device of circuit {id}"),
        }
    }
}

/// Unit of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum Unit {
    /// Amperes.
    A,
    /// Watts.
    W,
}

/// A demand against a limit; the numbers are in `unit`.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What has the limit.
    pub of: Of,
    /// When.
    pub moment: Moment,
    /// Demand.
    pub demand: f64,
    /// Its standard uncertainty.
    pub u_demand: f64,
    /// Limit.
    pub limit: f64,
    /// Its standard uncertainty.
    pub u_limit: f64,
    /// Unit of both.
    pub unit: Unit,
    /// Where the limit is from.
    pub source: &'static str,
    /// How far it may be trusted.
    pub basis: Basis,
    /// The part whose doubt weighs most in the demand, by its place in [`crate::Demand::parts`].
    pub doubt: Option<usize>,
}

/// A limit with its standard uncertainty and where it is from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limit {
    pub value: f64,
    pub u: f64,
    pub unit: Unit,
    pub source: &'static str,
    pub basis: Basis,
}

impl Line {
    pub(crate) fn of(of: Of, moment: Moment, demand: &Sum, limit: Limit) -> Line {
        Line {
            of,
            moment,
            demand: demand.value(),
            u_demand: demand.u(),
            limit: limit.value,
            u_limit: limit.u,
            unit: limit.unit,
            source: limit.source,
            basis: limit.basis,
            doubt: None,
        }
    }

    /// What is left.
    pub fn margin(&self) -> f64 {
        self.limit - self.demand
    }

    /// Standard uncertainty of what is left.
    pub fn u_margin(&self) -> f64 {
        self.u_demand.hypot(self.u_limit)
    }

    /// Probability that the demand stays within the limit.
    pub fn probability(&self) -> f64 {
        let (margin, u) = (self.margin(), self.u_margin());
        if u > 0.0 {
            normal_cdf(margin / u)
        } else if margin >= 0.0 {
            1.0
        } else {
            0.0
        }
    }

    /// By how much all could grow until this gives way.
    pub fn growth(&self) -> f64 {
        if self.demand > 0.0 {
            self.limit / self.demand
        } else {
            f64::INFINITY
        }
    }

    /// What its probability decides.
    pub fn conformity(&self) -> Conformity {
        Conformity::of(self.probability())
    }

    /// The order in which lines give way: those that may not hold by their probability, the others by their growth.
    pub(crate) fn rank(&self) -> (f64, f64) {
        let p = self.probability();
        let p = if p < metrology::CONFORMS_FROM { p } else { 1.0 };
        (p, self.growth())
    }
}
