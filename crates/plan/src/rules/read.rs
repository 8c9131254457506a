//! Reads the rules that are built into the program.

use std::collections::BTreeMap;

use metrology::{Amps, Basis, Celsius, Fraction, Sourced, Volts, Watts};
use serde::Deserialize;
use site::plug::Plug;
use site::supply::Mark;

use super::{Contacts, Doubted, Levels, Rules};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[expect(dead_code, reason = "there is only one so far")]
    format: u32,
    efficiency: Vec<LevelsEntry>,
    efficiency_doubt: Plain<Fraction>,
    standby_efficiency: Plain<Fraction>,
    power_factor: Vec<FactorEntry>,
    selector: Vec<SelectorEntry>,
    inrush: Vec<InrushEntry>,
    breaker_continuous: Plain<Fraction>,
    breaker_inrush: Plain<Fraction>,
    excursion: Vec<ExcursionEntry>,
    ageing: AgeingEntry,
    age_not_told: YearsEntry,
    heat: HeatEntry,
    air: AirEntry,
    only_12: WithDoubt<Fraction>,
    not_counted: Vec<NotCounted>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Plain<Q> {
    value: Q,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WithDoubt<Q> {
    value: Q,
    u: Q,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LevelsEntry {
    mark: Option<String>,
    nominal: Volts,
    at: [Fraction; 3],
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FactorEntry {
    correction: String,
    value: Fraction,
    u: Fraction,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SelectorEntry {
    position: String,
    from: Volts,
    to: Volts,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InrushEntry {
    nominal: Volts,
    value: Amps,
    u: Amps,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ExcursionEntry {
    of: String,
    value: String,
    u: Option<Fraction>,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AgeingEntry {
    per_year: Fraction,
    u: Fraction,
    least: Fraction,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct YearsEntry {
    years: f64,
    u: f64,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HeatEntry {
    rated_at: Celsius,
    per_kelvin: Fraction,
    u: Fraction,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AirEntry {
    value: Celsius,
    u: Celsius,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NotCounted {
    pub connector: String,
    pub rail: String,
    pub pins: u32,
    #[expect(dead_code, reason = "stands in the file for whoever reads it")]
    source: String,
    #[expect(dead_code, reason = "stands in the file for whoever reads it")]
    basis: Basis,
}

fn plain<Q>(it: Plain<Q>) -> Sourced<Q> {
    Sourced::read(it.value, it.basis, it.source)
}

/// The rules of a file, or what is wrong with it.
pub(super) fn read(text: &str) -> Result<Rules, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    let (mut excursions, mut large_above) = (BTreeMap::new(), None);
    for it in file.excursion {
        if it.of == "above" {
            let value: Watts = it.value.parse().map_err(|e| format!("{}: {e}", it.value))?;
            large_above = Some(Sourced::read(value, it.basis, it.source));
            continue;
        }
        let value: Fraction = it.value.parse().map_err(|e| format!("{}: {e}", it.value))?;
        let u = it.u.unwrap_or(Fraction::from_si(0.0));
        excursions.insert(
            it.of,
            Sourced::read(Doubted { value, u }, it.basis, it.source),
        );
    }
    let factor = |it: FactorEntry| {
        let doubted = Doubted {
            value: it.value,
            u: it.u,
        };
        (it.correction, Sourced::read(doubted, it.basis, it.source))
    };
    let ageing = Doubted {
        value: file.ageing.per_year,
        u: file.ageing.u,
    };
    let heat = Doubted {
        value: file.heat.per_kelvin,
        u: file.heat.u,
    };
    let levels = file.efficiency.into_iter().map(levels);
    Ok(Rules {
        efficiency: levels.collect::<Result<_, _>>()?,
        efficiency_doubt: plain(file.efficiency_doubt),
        standby_efficiency: plain(file.standby_efficiency),
        power_factors: file.power_factor.into_iter().map(factor).collect(),
        selectors: file
            .selector
            .into_iter()
            .map(|it| {
                (
                    it.position,
                    Sourced::read((it.from, it.to), it.basis, it.source),
                )
            })
            .collect(),
        inrush: file
            .inrush
            .into_iter()
            .map(|it| {
                let doubted = Doubted {
                    value: it.value,
                    u: it.u,
                };
                (it.nominal, Sourced::read(doubted, it.basis, it.source))
            })
            .collect(),
        breaker_continuous: plain(file.breaker_continuous),
        breaker_inrush: plain(file.breaker_inrush),
        excursions,
        large_above: large_above.ok_or("the rating of larger excursions is missing")?,
        ageing: Sourced::read(
            (ageing, file.ageing.least),
            file.ageing.basis,
            file.ageing.source,
        ),
        age_not_told: Sourced::read(
            Doubted {
                value: file.age_not_told.years,
                u: file.age_not_told.u,
            },
            file.age_not_told.basis,
            file.age_not_told.source,
        ),
        heat: Sourced::read(
            (file.heat.rated_at, heat),
            file.heat.basis,
            file.heat.source,
        ),
        air: Sourced::read(
            (file.air.value, file.air.u.si()),
            file.air.basis,
            file.air.source,
        ),
        only_12: Sourced::read(
            Doubted {
                value: file.only_12.value,
                u: file.only_12.u,
            },
            file.only_12.basis,
            file.only_12.source,
        ),
        contacts: Plug::NAMES
            .into_iter()
            .filter_map(|(_, plug)| Contacts::of(plug, &file.not_counted))
            .collect(),
    })
}

fn levels(it: LevelsEntry) -> Result<Levels, String> {
    let mark = it.mark.map(|it| named(&it, &Mark::NAMES)).transpose()?;
    Ok(Levels {
        mark,
        nominal: it.nominal,
        at: Sourced::read(it.at, it.basis, it.source),
    })
}

fn named<T: Copy>(name: &str, all: &[(&str, T)]) -> Result<T, String> {
    let found = all.iter().find(|(it, _)| *it == name);
    found
        .map(|(_, it)| *it)
        .ok_or_else(|| format!("\"{name}\" is not known"))
}
