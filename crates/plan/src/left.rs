//! What age and heat leave of the limits of a label.
//!
//! `f = max(f_min, 1 − a y) · (1 − k max(0, ϑ − ϑ_r))`; a: loss a year, y: years in use, k: loss for each kelvin, ϑ: air
//! drawn in, ϑ_r: air up to which the rating holds. Doubt of a, y, k and ϑ in quadrature. Source: judgement,
//! `data/rules.toml`. Held by: tests/exact.rs.

use jiff::civil::Date;
use site::machine::Build;
use site::supply::Supply;

use crate::fit::Standing;
use crate::rules::{Doubted, Rules};

/// The share of every limit that is left.
pub(crate) fn left(build: &Build, supply: &Supply, standing: Standing) -> Doubted<f64> {
    let rules = Rules::built_in();
    let years = match standing {
        Standing::Chosen { years } => Doubted {
            value: years,
            u: 0.0,
        },
        Standing::InUse { today } => match supply.installed {
            Some(since) => Doubted {
                value: years_between(since, today),
                u: 0.0,
            },
            None => rules.age_not_told.value,
        },
    };
    let (a, least) = rules.ageing.value;
    let aged = (1.0 - a.value.si() * years.value).max(least.si());
    let u_aged = (a.u.si() * years.value).hypot(a.value.si() * years.u);
    let (usual, k) = rules.heat.value;
    let (air, u_air) = match build.air {
        Some(it) => (it, 0.0),
        None => rules.air.value,
    };
    let above = (air.si() - supply.rated_at.unwrap_or(usual).si()).max(0.0);
    let cool = (1.0 - k.value.si() * above).max(0.0);
    let u_cool = match above > 0.0 {
        true => (k.u.si() * above).hypot(k.value.si() * u_air),
        false => 0.0,
    };
    Doubted {
        value: aged * cool,
        u: (cool * u_aged).hypot(aged * u_cool),
    }
}

fn years_between(since: Date, today: Date) -> f64 {
    let days = since.until(today).map_or(0, |it| it.get_days());
    (f64::from(days) / 365.25).max(0.0)
}
