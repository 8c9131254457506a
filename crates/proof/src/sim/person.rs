//! The person and what they carry: a meter that is a little off, a lamp tester, a detector, a hand that slips.

use metrology::{Function, Meter, Stated, Volts};
use num_complex::Complex64;
use site::visit::{Lamp, UsedMeter};

use crate::chance::Chance;

/// A person with instruments, and the stream of chance that their readings use up.
#[derive(Clone, Debug)]
pub struct Person {
    meter: &'static Meter,
    told: bool,
    rounds: bool,
    gain: f64,
    offset: f64,
    input: Complex64,
    low_input: f64,
    /// Probability that a reading is taken of the wrong pair or with a probe that does not touch.
    pub slips: f64,
    /// Resistance of a lamp, ohms.
    pub lamp: f64,
    /// Share of nominal at which a lamp strikes.
    strikes: f64,
    /// Share of nominal at which the detector sounds.
    sounds: f64,
    /// Test load over its name plate.
    pub load: f64,
    /// What is left of chance.
    pub chance: Chance,
}

impl Person {
    /// A person at random.
    #[must_use]
    pub fn draw(mut chance: Chance, omega: f64) -> Self {
        let class = *chance.pick(&["cheap", "mid", "mid", "good"]);
        let meter = Meter::class(class).unwrap_or(Meter::unknown());
        let range = meter.range_for(Function::AcVolts, 120.0);
        let told = chance.happens(0.65);
        Self {
            meter,
            told,
            rounds: !told && chance.happens(0.4),
            gain: 1.0 + range.accuracy.gain.si() * chance.between(-0.9, 0.9),
            offset: range.accuracy.counts * chance.between(-0.5, 0.5),
            input: Complex64::new(
                1.0 / (1e6 * chance.between(4.0, 11.0)),
                omega * 1e-12 * chance.between(20.0, 150.0),
            ),
            low_input: 1e3 * chance.between(2.0, 5.0),
            slips: 0.007,
            lamp: 1e3 * chance.between(90.0, 240.0),
            strikes: chance.between(0.45, 0.62),
            sounds: chance.between(0.35, 0.6),
            load: chance.between(0.93, 1.04),
            chance,
        }
    }

    /// The same without any error: for tests and for working out what is best.
    #[must_use]
    pub fn exact() -> Self {
        let meter = Meter::class("good").unwrap_or(Meter::unknown());
        Self {
            meter,
            told: true,
            rounds: false,
            gain: 1.0,
            offset: 0.0,
            input: Complex64::from(1e-7),
            low_input: 3e3,
            slips: 0.0,
            lamp: 1.5e5,
            strikes: 0.55,
            sounds: 0.5,
            load: 1.0,
            chance: Chance::new(0, 0),
        }
    }

    /// The meters that the visit names.
    #[must_use]
    pub fn meters(&self) -> Vec<UsedMeter> {
        let it = UsedMeter {
            id: "m1".into(),
            meter: self.meter.clone(),
        };
        if self.told { vec![it] } else { Vec::new() }
    }

    /// Number of the meter in the visit.
    #[must_use]
    pub fn meter(&self) -> Option<usize> {
        self.told.then_some(0)
    }

    /// What the meter puts across a pair, siemens.
    #[must_use]
    pub fn input(&self, low_impedance: bool) -> Complex64 {
        if low_impedance {
            Complex64::from(1.0 / self.low_input)
        } else {
            self.input
        }
    }

    /// What is told of a voltage across the meter.
    pub fn tell(&mut self, volts: f64) -> Stated<Volts> {
        let wavers =
            volts * (1.0 + self.chance.between(-0.003, 0.003)) + self.chance.between(0.0, 0.03);
        let range = self.meter.range_for(Function::AcVolts, wavers);
        let shown = (wavers * self.gain + self.offset * range.resolution).abs();
        let counts = (shown / range.resolution).round() * range.resolution;
        if self.rounds {
            let text = format!("{counts:.0} V");
            if let Ok(stated) = text.parse() {
                return stated;
            }
        }
        let decimals = (-range.resolution.log10()).ceil().clamp(0.0, 3.0) as u8;
        Stated::shown(Volts::from_si(counts), decimals)
    }

    /// What a lamp does at a share of nominal voltage.
    #[must_use]
    pub fn lamp_at(&self, share: f64) -> Lamp {
        match share - self.strikes {
            d if d > 0.04 => Lamp::Lit,
            d if d > -0.04 => Lamp::Dim,
            _ => Lamp::Dark,
        }
    }

    /// Whether the detector signals at a share of nominal voltage; it errs once in fifty.
    pub fn detects(&mut self, share: f64) -> bool {
        (share > self.sounds) != (self.slips > 0.0 && self.chance.happens(0.02))
    }
}
