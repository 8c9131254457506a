//! What is plugged in: concrete appliances with their power, filter and habits. Invented from ordinary name plates.

use network::Load;
use num_complex::Complex64;

use crate::chance::Chance;

/// How an appliance draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Draws {
    /// As a resistance.
    Heat,
    /// As a resistance with a coil: power factor.
    Motor(f64),
    /// A constant power down to a share of nominal voltage.
    Electronics(f64),
}

/// One kind of appliance.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// What it is.
    pub name: &'static str,
    /// Real power, lowest and highest, watts at 120 V; heaters draw more at 230 V.
    pub watts: (f64, f64),
    /// How it draws.
    pub draws: Draws,
    /// Capacitors from line and neutral to the case, nanofarads; (0, 0) without an earth pin or a filter.
    pub to_case: (f64, f64),
    /// Capacitor across the line, nanofarads.
    pub across: (f64, f64),
    /// How often it is met, and how often it is on.
    pub met: f64,
    /// Probability that it is on.
    pub on: f64,
}

const NONE: (f64, f64) = (0.0, 0.0);

/// All kinds.
pub const KINDS: [Kind; 17] = [
    kind(
        "desktop computer",
        (55.0, 210.0),
        Draws::Electronics(0.68),
        (2.2, 4.7),
        (220.0, 680.0),
        10.0,
        0.75,
    ),
    kind(
        "screen",
        (14.0, 45.0),
        Draws::Electronics(0.6),
        (1.0, 2.2),
        (100.0, 330.0),
        9.0,
        0.7,
    ),
    kind(
        "laptop adapter",
        (25.0, 95.0),
        Draws::Electronics(0.7),
        (0.5, 2.2),
        (100.0, 330.0),
        7.0,
        0.6,
    ),
    kind(
        "small charger",
        (3.0, 12.0),
        Draws::Electronics(0.6),
        NONE,
        (10.0, 50.0),
        8.0,
        0.6,
    ),
    kind(
        "network switch",
        (8.0, 30.0),
        Draws::Electronics(0.65),
        (0.5, 2.2),
        (47.0, 220.0),
        4.0,
        0.97,
    ),
    kind(
        "small UPS",
        (12.0, 160.0),
        Draws::Electronics(0.75),
        (3.3, 9.0),
        (220.0, 1000.0),
        2.5,
        1.0,
    ),
    kind(
        "ink printer",
        (4.0, 25.0),
        Draws::Electronics(0.65),
        (0.0, 1.0),
        (47.0, 100.0),
        2.0,
        0.5,
    ),
    kind(
        "laser printer",
        (280.0, 900.0),
        Draws::Heat,
        (2.2, 4.7),
        (100.0, 470.0),
        2.0,
        0.12,
    ),
    kind(
        "television",
        (40.0, 160.0),
        Draws::Electronics(0.62),
        (0.0, 2.2),
        (220.0, 470.0),
        2.0,
        0.35,
    ),
    kind(
        "filament lamp",
        (25.0, 100.0),
        Draws::Heat,
        NONE,
        NONE,
        4.0,
        0.5,
    ),
    kind(
        "LED lamp",
        (5.0, 16.0),
        Draws::Electronics(0.5),
        NONE,
        (10.0, 100.0),
        4.0,
        0.5,
    ),
    kind(
        "coffee machine",
        (700.0, 1050.0),
        Draws::Heat,
        NONE,
        NONE,
        1.5,
        0.12,
    ),
    kind(
        "kettle",
        (1000.0, 1450.0),
        Draws::Heat,
        NONE,
        NONE,
        1.0,
        0.05,
    ),
    kind(
        "heater",
        (600.0, 1500.0),
        Draws::Heat,
        NONE,
        NONE,
        1.0,
        0.15,
    ),
    kind(
        "refrigerator",
        (70.0, 160.0),
        Draws::Motor(0.68),
        (0.0, 0.5),
        NONE,
        1.5,
        0.4,
    ),
    kind(
        "fan",
        (20.0, 60.0),
        Draws::Motor(0.6),
        NONE,
        NONE,
        1.5,
        0.35,
    ),
    kind(
        "copier",
        (120.0, 500.0),
        Draws::Electronics(0.7),
        (4.7, 10.0),
        (470.0, 1500.0),
        1.0,
        0.6,
    ),
];

const fn kind(
    name: &'static str,
    watts: (f64, f64),
    draws: Draws,
    to_case: (f64, f64),
    across: (f64, f64),
    met: f64,
    on: f64,
) -> Kind {
    Kind {
        name,
        watts,
        draws,
        to_case,
        across,
        met,
        on,
    }
}

/// One appliance at an outlet.
#[derive(Clone, Copy, Debug)]
pub struct Appliance {
    /// What it is.
    pub kind: &'static Kind,
    /// Outlet, by number.
    pub at: usize,
    /// Real power at nominal voltage, watts.
    pub watts: f64,
    /// To the case on each side, farads.
    pub to_case: f64,
    /// Across, farads.
    pub across: f64,
    /// Whether it is on.
    pub on: bool,
    /// Whether its switch cuts its filter off too while it is off.
    pub hard_switch: bool,
}

static ALL: [Kind; 17] = KINDS;

impl Appliance {
    /// One at random for an outlet of this nominal voltage.
    pub fn draw(chance: &mut Chance, at: usize, volts: f64) -> Self {
        let kind = &ALL[chance.weighted(ALL.iter().map(|k| k.met))];
        let heats = kind.draws == Draws::Heat && kind.watts.0 > 200.0;
        let more = if heats && volts > 180.0 { 1.6 } else { 1.0 };
        Self {
            kind,
            at,
            watts: more * chance.between(kind.watts.0, kind.watts.1),
            to_case: 1e-9 * chance.between(kind.to_case.0, kind.to_case.1),
            across: 1e-9 * chance.between(kind.across.0, kind.across.1),
            on: chance.happens(kind.on),
            hard_switch: chance.happens(0.4),
        }
    }

    /// What it draws at nominal volts, and siemens across and on each side to the case.
    #[must_use]
    pub fn links(&self, volts: f64, omega: f64) -> (Option<Load>, Complex64, Complex64) {
        let load = self.on.then(|| match self.kind.draws {
            Draws::Heat => Load::Impedance(Complex64::from(self.watts / volts / volts)),
            Draws::Motor(factor) => {
                let tan = (1.0 / factor / factor - 1.0).sqrt();
                Load::Impedance(Complex64::new(1.0, -tan) * (self.watts / volts / volts))
            }
            Draws::Electronics(share) => Load::Power {
                va: Complex64::from(self.watts),
                cut_out: share * volts,
            },
        });
        if !self.on && self.hard_switch {
            return (load, Complex64::ZERO, Complex64::ZERO);
        }
        (
            load,
            Complex64::new(0.0, omega * self.across),
            Complex64::new(0.0, omega * self.to_case),
        )
    }
}
