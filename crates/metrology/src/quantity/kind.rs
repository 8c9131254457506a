//! What each quantity is called, how its unit is spelled and which prefixes make sense on it.

use super::{
    AmpHours, Amps, Celsius, Farads, Fraction, Henries, Hertz, Metres, Ohms, Seconds, Siemens,
    SquareMetres, VoltAmps, Volts, WattHours, Watts,
};

/// A real quantity that people write down: it can be read from and written as a number with a unit.
pub trait Quantity: Copy + PartialEq + PartialOrd + std::fmt::Debug + 'static {
    /// Names, unit spellings and examples of this quantity.
    const KIND: &'static Kind;

    /// From a number in the unit that the type keeps.
    fn of(number: f64) -> Self;

    /// The number in the unit that the type keeps.
    fn number(self) -> f64;

    /// The text that reads back to exactly this value, as `4.7 kΩ`.
    fn exact(self) -> String {
        super::write::exact(Self::KIND, self.number())
    }
}

/// Whether a quantity can be below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sign {
    Either,
    NotNegative,
}

/// One spelling of a unit: `number * factor * 10^exponent + offset` is what the type keeps.
#[derive(Debug)]
pub(crate) struct Spelling {
    pub text: &'static str,
    pub exponent: i32,
    pub factor: f64,
    pub offset: f64,
    pub prefix: bool,
    pub any_case: bool,
}

/// The description of one quantity: its names, unit, prefixes and spellings.
#[derive(Debug)]
pub struct Kind {
    /// With its article, for messages: `a voltage`.
    pub name: &'static str,
    /// Type name, for schemas: `Volts`.
    pub type_name: &'static str,
    /// The unit as written out: `V`.
    pub unit: &'static str,
    /// Examples of what may be written; the first stands in hints.
    pub examples: &'static [&'static str],
    pub(crate) sign: Sign,
    /// Lowest number that exists, if there is one besides zero.
    pub(crate) floor: Option<f64>,
    /// Power of ten of the unit as written, when no prefix is on it (mm²: -6, %: -2).
    pub(crate) exponent: i32,
    /// Prefixes that may be read, as `kMmµ`; those of thousands are also written.
    pub(crate) prefixes: &'static str,
    pub(crate) spellings: &'static [Spelling],
}

/// A spelling in any case, with prefixes.
const fn any(text: &'static str) -> Spelling {
    Spelling {
        text,
        exponent: 0,
        factor: 1.0,
        offset: 0.0,
        prefix: true,
        any_case: true,
    }
}

/// A spelling in exactly this case, with prefixes (`S` is siemens, `s` seconds).
const fn cased(text: &'static str) -> Spelling {
    Spelling {
        any_case: false,
        ..any(text)
    }
}

/// A unit of another size, in any case, without prefixes.
const fn scaled(text: &'static str, factor: f64) -> Spelling {
    Spelling {
        factor,
        prefix: false,
        ..any(text)
    }
}

/// A unit that is a power of ten of the kept one, without prefixes.
const fn decimal(text: &'static str, exponent: i32) -> Spelling {
    Spelling {
        exponent,
        prefix: false,
        ..any(text)
    }
}

const fn temperature(text: &'static str, factor: f64, offset: f64) -> Spelling {
    Spelling {
        offset,
        ..scaled(text, factor)
    }
}

/// Metres in a foot (international foot, exact).
const FOOT: f64 = 0.3048;
/// `C = F * 5/9 - 32 * 5/9`.
const F_FACTOR: f64 = 5.0 / 9.0;
const F_OFFSET: f64 = -160.0 / 9.0;
/// Square metres in a circular mil: `π/4 * (25.4e-6 m)²`.
const CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * 25.4e-6 * 25.4e-6;

macro_rules! kinds {
    ($($name:ident: $noun:literal, $unit:literal, $examples:expr, $sign:ident, $exponent:literal, $prefixes:literal,
        $spellings:expr;)+) => {
        $(impl Quantity for $name {
            const KIND: &'static Kind = &Kind {
                name: $noun,
                type_name: stringify!($name),
                unit: $unit,
                examples: &$examples,
                sign: Sign::$sign,
                floor: if matches!($unit.as_bytes(), b"\xC2\xB0C") { Some(-273.15) } else { None },
                exponent: $exponent,
                prefixes: $prefixes,
                spellings: &$spellings,
            };
            fn of(number: f64) -> Self {
                Self::from_si(number)
            }
            fn number(self) -> f64 {
                self.si()
            }
        })+
        /// Every kind there is, to tell a wrong unit from an unknown one.
        pub(crate) const ALL: &[&Kind] = &[$(<$name as Quantity>::KIND),+];
        #[cfg(test)]
        macro_rules! for_every_quantity { ($check:ident) => { $( $check::<$crate::quantity::$name>(); )+ } }
        #[cfg(test)]
        pub(crate) use for_every_quantity;
    };
}

kinds! {
    Volts: "a voltage", "V", ["120 V", "118.3 V", "3.5 kV", "50 mV"], Either, 0, "kmµ",
        [any("V"), any("volt"), any("volts"), any("VAC"), any("V AC"), any("VDC"), any("V DC"), any("Vrms"),
         any("V rms"), any("volts AC"), any("volts DC"), cased("V~")];
    Amps: "a current", "A", ["20 A", "30 mA"], Either, 0, "kmµn",
        [any("A"), any("amp"), any("amps"), any("ampere"), any("amperes"), any("Arms"), any("A rms")];
    Ohms: "a resistance", "Ω", ["4.7 kΩ", "0.3 ohm", "10 Mohm"], NotNegative, 0, "GMkmµ",
        [cased("Ω"), cased("\u{2126}"), any("ohm"), any("ohms"), cased("R")];
    Siemens: "a conductance", "S", ["0.125 S", "2 mS"], NotNegative, 0, "kmµn",
        [cased("S"), any("siemens")];
    Watts: "a power", "W", ["450 W", "1.5 kW"], Either, 0, "Mkm",
        [any("W"), any("watt"), any("watts")];
    VoltAmps: "an apparent power", "VA", ["1.5 kVA", "1500 VA"], NotNegative, 0, "Mk",
        [any("VA"), any("volt-amps"), any("volt-amperes")];
    Metres: "a length", "m", ["12 m", "45 ft", "25 cm"], NotNegative, 0, "kcmµ",
        [cased("m"), any("metre"), any("metres"), any("meter"), any("meters"), scaled("ft", FOOT),
         scaled("foot", FOOT), scaled("feet", FOOT), scaled("'", FOOT), scaled("′", FOOT), scaled("in", FOOT / 12.0),
         scaled("inch", FOOT / 12.0), scaled("inches", FOOT / 12.0), scaled("\"", FOOT / 12.0),
         scaled("yd", 3.0 * FOOT)];
    SquareMetres: "a cross-section", "mm²", ["2.5 mm²", "2.5 mm2"], NotNegative, -6, "",
        [decimal("mm²", -6), decimal("mm2", -6), decimal("mm^2", -6), decimal("sqmm", -6), decimal("sq mm", -6),
         decimal("sq. mm", -6), decimal("qmm", -6), decimal("m²", 0), decimal("m2", 0),
         scaled("kcmil", 1000.0 * CIRCULAR_MIL), scaled("MCM", 1000.0 * CIRCULAR_MIL)];
    Hertz: "a frequency", "Hz", ["60 Hz", "49.9 Hz"], NotNegative, 0, "MkGm",
        [any("Hz"), any("hertz")];
    Seconds: "a time", "s", ["6 ms", "10 s", "20 h"], NotNegative, 0, "mµn",
        [cased("s"), any("sec"), any("secs"), any("second"), any("seconds"), scaled("min", 60.0),
         scaled("mins", 60.0), scaled("minute", 60.0), scaled("minutes", 60.0),
         Spelling { any_case: false, ..scaled("h", 3600.0) }, scaled("hr", 3600.0), scaled("hrs", 3600.0),
         scaled("hour", 3600.0), scaled("hours", 3600.0)];
    Farads: "a capacitance", "F", ["330 µF", "100 pF"], NotNegative, 0, "mµnp",
        [cased("F"), any("farad"), any("farads")];
    Henries: "an inductance", "H", ["2 µH", "10 mH"], NotNegative, 0, "mµn",
        [cased("H"), any("henry"), any("henries")];
    Celsius: "a temperature", "°C", ["75 °C", "75 C", "167 °F"], Either, 0, "",
        [temperature("°C", 1.0, 0.0), temperature("C", 1.0, 0.0), temperature("℃", 1.0, 0.0),
         temperature("deg C", 1.0, 0.0), temperature("degC", 1.0, 0.0), temperature("degrees C", 1.0, 0.0),
         temperature("celsius", 1.0, 0.0), temperature("°F", F_FACTOR, F_OFFSET), temperature("F", F_FACTOR, F_OFFSET),
         temperature("deg F", F_FACTOR, F_OFFSET), temperature("degF", F_FACTOR, F_OFFSET),
         temperature("degrees F", F_FACTOR, F_OFFSET), temperature("fahrenheit", F_FACTOR, F_OFFSET),
         temperature("K", 1.0, -273.15), temperature("kelvin", 1.0, -273.15)];
    WattHours: "an energy", "Wh", ["216 Wh", "1.2 kWh"], NotNegative, 0, "Mkm",
        [any("Wh"), any("watt-hour"), any("watt-hours"), any("watt hours")];
    AmpHours: "a charge", "Ah", ["9 Ah", "500 mAh"], NotNegative, 0, "km",
        [any("Ah"), any("amp-hour"), any("amp-hours"), any("amp hours")];
    Fraction: "a percentage", "%", ["80 %", "0.5 %"], Either, -2, "",
        [decimal("%", -2), decimal("percent", -2), decimal("per cent", -2), decimal("‰", -3), decimal("ppm", -6)];
}

/// Power of ten of a prefix, written as one sign or as a word. `K` is taken as kilo, since nobody writes kelvin there.
pub(crate) fn prefix_exponent(kind: &Kind, prefix: &str) -> Option<i32> {
    let (sign, exponent) = match prefix {
        "G" | "giga" => ('G', 9),
        "M" | "mega" | "meg" | "Meg" | "Mega" => ('M', 6),
        "k" | "K" | "kilo" | "Kilo" => ('k', 3),
        "c" | "centi" => ('c', -2),
        "m" | "milli" | "Milli" => ('m', -3),
        "µ" | "\u{3bc}" | "u" | "micro" | "Micro" => ('µ', -6),
        "n" | "nano" => ('n', -9),
        "p" | "pico" => ('p', -12),
        _ => return None,
    };
    kind.prefixes.contains(sign).then_some(exponent)
}
