//! What a cable does to a current: resistance, reactance, capacitance, voltage lost.
//!
//! `R = ρ20/A (1 + α (T − 20))` in ohms per metre of one conductor; ρ20: resistivity at 20 °C in Ω mm²/m, A:
//! cross-section in mm², α: temperature coefficient at 20 °C in 1/K, T: conductor temperature in °C. Gauges of 6 AWG
//! and larger are stranded, which adds 2 %. Cross-sections of IEC 60228 take the greatest resistance of its Table 1
//! and 2 in place of ρ20/A, since makers stay just below it.
//! `L = μ0/π (ln(d/r) + 1/4)` in henries per metre of a pair; d: distance of the axes, r: radius of the conductor.
//! `ΔU = 2 l I (R cos φ + X sin φ)` for a pair of length l; good while the drop is small beside the supply.
//! Sources: IEC 60028 and IEC 60889 (ρ20, α), ASTM B258 (gauges), NEC chapter 9 table 9 note 2 (drop).
//! Held by: tests/cable.rs, against NEC chapter 9 table 8, IEC 60228 and worked examples.

use metrology::{
    Amps, Basis, Celsius, Farads, Fraction, Gauge, Hertz, Metres, QuantityError, Sourced, Volts,
};

use crate::model::{Cable, Metal};

/// Capacitance between two conductors of one cable, per metre, and how far it may be off either way.
pub const CAPACITANCE_PER_METRE: Sourced<Spread> = Sourced::new(
    Spread {
        low: Farads::from_si(50e-12),
        usual: Farads::from_si(80e-12),
        high: Farads::from_si(200e-12),
    },
    Basis::Judgement,
    "cable geometry with a relative permittivity of 3 to 5: 50 to 100 pF/m in sheathed cable, 100 to 200 pF/m in steel \
     conduit or armour, 80 to 120 pF/m in flexible cord",
);

/// Insulation on both sides between the conductors of a cable, in metres: with it 12 AWG gives the 0.63 µH/m of the
/// published geometry (3.9 mm between axes). Our judgement for other sizes.
const INSULATION: f64 = 1.85e-3;

/// What stranding adds to the resistance of a conductor (longer wires, ASTM B8; from memory).
const STRANDING: f64 = 1.02;

/// A value that is only known between bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Seldom below this.
    pub low: Farads,
    /// Usually about this.
    pub usual: Farads,
    /// Seldom above this.
    pub high: Farads,
}

impl Metal {
    /// Resistivity at 20 °C in Ω mm²/m: 100 % IACS (IEC 60028) and 61 % IACS (IEC 60889), published.
    fn resistivity(self) -> f64 {
        match self {
            Metal::Copper => 0.017241,
            Metal::Aluminium => 0.028264,
        }
    }

    /// Temperature coefficient at 20 °C in 1/K (IEC 60028, IEC 60889; from memory).
    fn coefficient(self) -> f64 {
        match self {
            Metal::Copper => 0.00393,
            Metal::Aluminium => 0.00403,
        }
    }

    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Metal::Copper => "copper",
            Metal::Aluminium => "aluminium",
        }
    }
}

/// Greatest resistance at 20 °C in Ω/km, classes 1 and 2, plain: (mm², copper, aluminium where there is one).
/// IEC 60228, Tables 1 and 2, published; 150 and 185 mm² from memory.
const IEC_60228: [(f64, f64, Option<f64>); 17] = [
    (0.5, 36.0, None),
    (0.75, 24.5, None),
    (1.0, 18.1, None),
    (1.5, 12.1, None),
    (2.5, 7.41, None),
    (4.0, 4.61, None),
    (6.0, 3.08, None),
    (10.0, 1.83, Some(3.08)),
    (16.0, 1.15, Some(1.91)),
    (25.0, 0.727, Some(1.20)),
    (35.0, 0.524, Some(0.868)),
    (50.0, 0.387, Some(0.641)),
    (70.0, 0.268, Some(0.443)),
    (95.0, 0.193, Some(0.320)),
    (120.0, 0.153, Some(0.253)),
    (150.0, 0.124, Some(0.206)),
    (185.0, 0.0991, Some(0.164)),
];

impl Cable {
    /// Reads `12 AWG copper`, `2.5 mm²`, `4/0 AWG aluminium`. Copper where no metal is named.
    ///
    /// # Errors
    /// Where the size cannot be read, with what to write instead.
    pub fn read(text: &str, temperature: Celsius) -> Result<Cable, QuantityError> {
        let trimmed = text.trim_end();
        let words = trimmed.rsplit_once(char::is_whitespace);
        let (size, metal) = match words.map(|(size, word)| (size, word, metal_named(word))) {
            Some((size, _, Some(metal))) => (size, metal),
            Some((size, word, None))
                if trimmed.parse::<Gauge>().is_err() && size.parse::<Gauge>().is_ok() =>
            {
                return Err(QuantityError {
                    what: format!("\"{word}\" is no metal of conductors"),
                    hint: Some("write \"copper\" or \"aluminium\"".to_owned()),
                    at: trimmed.len() - word.len()..trimmed.len(),
                });
            }
            _ => (trimmed, Metal::Copper),
        };
        Ok(Cable {
            gauge: size.parse::<Gauge>()?,
            metal,
            temperature,
        })
    }

    /// The same cable with its conductors at another temperature.
    pub fn at(self, temperature: Celsius) -> Cable {
        Cable {
            temperature,
            ..self
        }
    }

    /// Resistance of one conductor in ohms per metre at the cable's temperature.
    pub fn resistance_per_metre(&self) -> f64 {
        let warm = 1.0 + self.metal.coefficient() * (self.temperature.si() - 20.0);
        self.resistance_at_20() * warm
    }

    fn resistance_at_20(&self) -> f64 {
        let mm2 = self.gauge.area().si() * 1e6;
        let solid = self.metal.resistivity() / mm2;
        match self.gauge {
            Gauge::Awg(n) if n <= 6 => solid * STRANDING,
            Gauge::Awg(_) => solid,
            Gauge::Metric(_) => tabled(mm2, self.metal).map_or(solid, |it| it / 1000.0),
        }
    }

    /// Inductance of a pair of its conductors, there and back, in henries per metre.
    pub fn loop_inductance_per_metre(&self) -> f64 {
        const MU_0_BY_PI: f64 = 4e-7;
        let radius = self.gauge.diameter().si() / 2.0;
        let apart = 2.0 * radius + INSULATION;
        MU_0_BY_PI * ((apart / radius).ln() + 0.25)
    }

    /// Reactance of one conductor in ohms per metre: half of what a pair has.
    pub fn reactance_per_metre(&self, frequency: Hertz) -> f64 {
        frequency.omega() * self.loop_inductance_per_metre() / 2.0
    }

    /// Capacitance between two of its conductors in farads per metre, the usual one of [`CAPACITANCE_PER_METRE`].
    pub fn capacitance_per_metre(&self) -> f64 {
        CAPACITANCE_PER_METRE.value.usual.si()
    }
}

impl std::fmt::Display for Cable {
    /// As in files: `12 AWG copper`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.gauge, self.metal.name())
    }
}

/// Voltage lost along a run, there and back, into a resistive load.
pub fn drop_along(run: Metres, cable: &Cable, load: Amps) -> Volts {
    let there_and_back = 2.0 * run.si();
    Volts::from_si(there_and_back * cable.resistance_per_metre() * load.si())
}

/// Voltage lost along a run, there and back, into a load of a power factor (cosine, lagging).
pub fn drop_along_with(
    run: Metres,
    cable: &Cable,
    load: Amps,
    power_factor: Fraction,
    frequency: Hertz,
) -> Volts {
    let (r, x) = (
        cable.resistance_per_metre(),
        cable.reactance_per_metre(frequency),
    );
    drop_of(run, r, x, load, power_factor)
}

/// The drop by resistance and reactance in ohms per metre of one conductor.
fn drop_of(run: Metres, r: f64, x: f64, load: Amps, power_factor: Fraction) -> Volts {
    let cos = power_factor.si().clamp(0.0, 1.0);
    let sin = (1.0 - cos * cos).sqrt();
    Volts::from_si(2.0 * run.si() * load.si() * (r * cos + x * sin))
}

/// Of a cross-section of the standard, its greatest resistance at 20 °C in Ω/km.
fn tabled(mm2: f64, metal: Metal) -> Option<f64> {
    let same = |(size, ..): &&(f64, f64, Option<f64>)| (size - mm2).abs() < 1e-6 * mm2;
    let (_, copper, aluminium) = IEC_60228.iter().find(same)?;
    match metal {
        Metal::Copper => Some(*copper),
        Metal::Aluminium => *aluminium,
    }
}

fn metal_named(word: &str) -> Option<Metal> {
    match word.to_lowercase().as_str() {
        "copper" | "cu" => Some(Metal::Copper),
        "aluminium" | "aluminum" | "al" => Some(Metal::Aluminium),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NEC chapter 9 table 9, 12 AWG copper in PVC conduit: 2.0 and 0.054 Ω/kft; 16 A, power factor 0.85, 30 m:
    /// 5.44393 V, computed independently with `2 I (R cos φ + X sin φ) l`. Tolerance: the digits given.
    #[test]
    fn ref_drop_by_the_values_of_table_9() {
        let per_metre = |per_kft: f64| per_kft / 304.8;
        let drop = drop_of(
            Metres::from_si(30.0),
            per_metre(2.0),
            per_metre(0.054),
            Amps::from_si(16.0),
            Fraction::from_si(0.85),
        );
        assert!((drop.si() - 5.44393).abs() < 1e-5, "{drop:?}");
    }

    #[test]
    fn cables_are_read_as_people_write_them() {
        let read = |text| Cable::read(text, Celsius::from_si(30.0)).map(|it| it.to_string());
        assert_eq!(read("12 AWG copper").as_deref(), Ok("12 AWG copper"));
        assert_eq!(read("#12").as_deref(), Ok("12 AWG copper"));
        assert_eq!(read("4/0 AWG aluminum").as_deref(), Ok("4/0 AWG aluminium"));
        assert_eq!(read("2.5 mm2 Cu").as_deref(), Ok("2.5 mm² copper"));
        assert!(read("copper").is_err());
        assert!(read("12").is_err());
        let error = read("12 AWG tin").unwrap_err();
        assert_eq!(error.what, "\"tin\" is no metal of conductors");
    }
}
