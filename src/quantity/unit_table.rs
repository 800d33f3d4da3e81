//! The table of units. Every factor is exact and has its source beside it.

use super::Quantity;
use super::Quantity as Q;
use super::Rational;
use super::number::ratio;

/// A unit without its prefixes.
pub(super) struct Row {
    pub symbol: &'static str,
    /// The prefixes it takes, separated by one space; the empty one comes out of a leading or doubled space.
    pub prefixes: &'static str,
    pub quantities: &'static [Quantity],
    /// In the base unit of its quantities: V, A, Ω, Hz, F, %, s, Pa, K, m³/s, kg/s, N·m, N, m, °, rpm, m/s, kg, m³, W, A·h, dB.
    pub factor: (i128, i128),
    /// For temperatures: added to the number before the factor applies.
    pub zero: (i128, i128),
    pub source: &'static str,
}

const SI: &str = "SI Brochure, 9th edition";
const SI_ACCEPTED: &str = "SI Brochure, 9th edition, table 8 (units accepted for use with the SI)";
const NIST: &str = "NIST SP 811 (2008), appendix B";
const PLAIN: &str = "the quantity's own unit";

const ELECTRIC: &str = "p n µ m  k M";
const PRESSURES: &[Quantity] = &[Q::Pressure, Q::AbsolutePressure, Q::Vacuum, Q::PressureDifference];
const TEMPERATURES: &[Quantity] = &[Q::Temperature, Q::TemperatureDifference];

pub(super) const NONE: Row = row("", "", &[Q::Count, Q::Ratio, Q::SpecificGravity], (1, 1), PLAIN);

pub(super) const ROWS: &[Row] = &[
    row("V", ELECTRIC, &[Q::DcVoltage, Q::AcVoltage], (1, 1), SI),
    row("A", ELECTRIC, &[Q::Current], (1, 1), SI),
    row("Ω", ELECTRIC, &[Q::Resistance], (1, 1), SI),
    row("Hz", ELECTRIC, &[Q::Frequency], (1, 1), SI),
    row("F", ELECTRIC, &[Q::Capacitance], (1, 1), SI),
    row("%", "", &[Q::DutyCycle, Q::Percentage], (1, 1), PLAIN),
    row("s", ELECTRIC, &[Q::PulseWidth, Q::Time], (1, 1), SI),
    row("min", "", &[Q::Time], (60, 1), SI_ACCEPTED),
    row("h", "", &[Q::Time], (3600, 1), SI_ACCEPTED),
    row("Pa", " h k M", PRESSURES, (1, 1), SI),
    row("bar", "m ", PRESSURES, (100_000, 1), NIST),
    row("psi", "", PRESSURES, PSI, NIST_PSI),
    row("psig", "", &[Q::Pressure], PSI, NIST_PSI),
    row("psia", "", &[Q::AbsolutePressure], PSI, NIST_PSI),
    row(
        "inHg",
        "",
        PRESSURES,
        (338_638_864_034, 100_000_000),
        "conventional inch of mercury: NIST SP 811 (2008), appendix B, as printed there",
    ),
    row("inH2O", "", PRESSURES, (24_908_891, 100_000), "conventional inch of water: NIST SP 811 (2008), appendix B"),
    row("cmH2O", "", PRESSURES, (980_665, 10_000), "conventional centimetre of water: NIST SP 811 (2008), appendix B"),
    row(
        "mmHg",
        "",
        PRESSURES,
        (133_322_387_415, 1_000_000_000),
        "conventional millimetre of mercury: NIST SP 811 (2008), appendix B",
    ),
    row("torr", "", PRESSURES, (101_325, 760), NIST),
    row("kgf/cm²", "", PRESSURES, (980_665, 10), NIST),
    row("atm", "", PRESSURES, (101_325, 1), NIST),
    temperature("°C", (1, 1), (27_315, 100), SI),
    temperature("°F", (5, 9), (45_967, 100), NIST),
    temperature("K", (1, 1), (0, 1), SI),
    row("N", " da k", &[Q::Force], (1, 1), SI),
    row("kgf", "", &[Q::Force], (980_665, 100_000), NIST),
    row("lbf", "", &[Q::Force], (44_482_216_152_605, 10_000_000_000_000), NIST),
    row("N·m", " da k", &[Q::Torque], (1, 1), SI),
    row(
        "lbf·ft",
        "",
        &[Q::Torque],
        (13_558_179_483_314_004, 10_000_000_000_000_000),
        "NIST SP 811 (2008), appendix B: exact product of lbf and ft",
    ),
    row(
        "lbf·in",
        "",
        &[Q::Torque],
        (1_129_848_290_276_167, 10_000_000_000_000_000),
        "NIST SP 811 (2008), appendix B: exact product of lbf and in",
    ),
    row("kgf·m", "", &[Q::Torque], (980_665, 100_000), NIST),
    row("W", " k", &[Q::Power], (1, 1), SI),
    row(
        "hp",
        "",
        &[Q::Power],
        (74_569_987_158_227_022, 100_000_000_000_000),
        "NIST SP 811 (2008), appendix B: 550 ft·lbf/s",
    ),
    row("metric hp", "", &[Q::Power], (73_549_875, 100_000), "NIST SP 811 (2008), appendix B: 75 kgf·m/s"),
    row("m", "µ m c  k", &[Q::Length], (1, 1), SI),
    row("in", "", &[Q::Length], (254, 10_000), NIST),
    row("mil", "", &[Q::Length], (254, 10_000_000), NIST),
    row("°", "", &[Q::Angle], (1, 1), PLAIN),
    row("rpm", "", &[Q::EngineSpeed], (1, 1), PLAIN),
    row("km/h", "", &[Q::RoadSpeed], (1000, 3600), SI_ACCEPTED),
    row("mph", "", &[Q::RoadSpeed], (1_609_344, 3_600_000), NIST),
    row("g", " k", &[Q::Mass], (1, 1000), SI),
    row("lb", "", &[Q::Mass], (45_359_237, 100_000_000), NIST),
    row("L", "m ", &[Q::Volume], (1, 1000), SI_ACCEPTED),
    row("US gal", "", &[Q::Volume], US_GALLON, "NIST SP 811 (2008), appendix B: 231 cubic inches"),
    row("imp gal", "", &[Q::Volume], (454_609, 100_000_000), NIST),
    row(
        "US fl oz",
        "",
        &[Q::Volume],
        (295_735_295_625, 10_000_000_000_000_000),
        "NIST SP 811 (2008), appendix B: 1/128 US gal",
    ),
    row("L/min", "m ", &[Q::Flow], (1, 60_000), SI_ACCEPTED),
    row("L/h", "m ", &[Q::Flow], (1, 3_600_000), SI_ACCEPTED),
    row("m³/h", "", &[Q::Flow], (1, 3600), SI_ACCEPTED),
    row("ft³/min", "", &[Q::Flow], (4_719_474_432, 10_000_000_000_000), NIST),
    row("US gal/min", "", &[Q::Flow], (US_GALLON.0, 60 * US_GALLON.1), NIST),
    row("g/s", "", &[Q::MassFlow], (1, 1000), SI),
    row("kg/h", "", &[Q::MassFlow], (1, 3600), SI_ACCEPTED),
    row("lb/min", "", &[Q::MassFlow], (45_359_237, 6_000_000_000), NIST),
    row("A·h", "m ", &[Q::Charge], (1, 1), PLAIN),
    row("dB", "", &[Q::SoundLevel], (1, 1), SI_ACCEPTED),
];

const PSI: (i128, i128) = (8_896_443_230_521, 1_290_320_000);
const NIST_PSI: &str = "NIST SP 811 (2008), appendix B: exact quotient of lbf and square inch";
const US_GALLON: (i128, i128) = (3_785_411_784, 1_000_000_000_000);

const fn row(
    symbol: &'static str,
    prefixes: &'static str,
    quantities: &'static [Quantity],
    factor: (i128, i128),
    source: &'static str,
) -> Row {
    Row { symbol, prefixes, quantities, factor, zero: (0, 1), source }
}

const fn temperature(symbol: &'static str, factor: (i128, i128), zero: (i128, i128), source: &'static str) -> Row {
    Row { symbol, prefixes: "", quantities: TEMPERATURES, factor, zero, source }
}

/// The factor of an SI prefix (SI Brochure, 9th edition, table 7).
pub(super) fn prefix_factor(prefix: &str) -> Rational {
    match prefix {
        "p" => ratio(1, 1_000_000_000_000),
        "n" => ratio(1, 1_000_000_000),
        "µ" => ratio(1, 1_000_000),
        "m" => ratio(1, 1000),
        "c" => ratio(1, 100),
        "da" => ratio(10, 1),
        "h" => ratio(100, 1),
        "k" => ratio(1000, 1),
        "M" => ratio(1_000_000, 1),
        _ => ratio(1, 1),
    }
}

/// The unit to show by default, and those worth offering, smallest first.
pub(super) fn common(quantity: Quantity) -> (&'static str, &'static [&'static str]) {
    match quantity {
        Q::DcVoltage | Q::AcVoltage => ("V", &["mV", "V", "kV"]),
        Q::Current => ("A", &["µA", "mA", "A"]),
        Q::Resistance => ("Ω", &["mΩ", "Ω", "kΩ", "MΩ"]),
        Q::Frequency => ("Hz", &["Hz", "kHz", "MHz"]),
        Q::DutyCycle | Q::Percentage => ("%", &["%"]),
        Q::PulseWidth => ("ms", &["µs", "ms", "s"]),
        Q::Capacitance => ("µF", &["pF", "nF", "µF", "mF", "F"]),
        Q::Pressure => ("kPa", &["Pa", "inH2O", "mbar", "kPa", "inHg", "psi", "bar", "kgf/cm²", "MPa"]),
        Q::AbsolutePressure => ("kPa", &["Pa", "torr", "mbar", "hPa", "kPa", "inHg", "psi", "bar", "atm"]),
        Q::Vacuum | Q::PressureDifference => {
            ("kPa", &["Pa", "cmH2O", "mbar", "mmHg", "inH2O", "kPa", "inHg", "psi", "bar"])
        }
        Q::Temperature | Q::TemperatureDifference => ("°C", &["°C", "°F", "K"]),
        Q::Flow => ("L/min", &["mL/min", "L/h", "L/min", "US gal/min", "m³/h", "ft³/min"]),
        Q::MassFlow => ("g/s", &["kg/h", "g/s", "lb/min"]),
        Q::Torque => ("N·m", &["lbf·in", "N·m", "lbf·ft", "kgf·m"]),
        Q::Force => ("N", &["N", "lbf", "kgf", "daN", "kN"]),
        Q::Length => ("mm", &["µm", "mil", "mm", "cm", "in", "m", "km"]),
        Q::Angle => ("°", &["°"]),
        Q::EngineSpeed => ("rpm", &["rpm"]),
        Q::RoadSpeed => ("km/h", &["km/h", "mph"]),
        Q::Time => ("s", &["ms", "s", "min", "h"]),
        Q::Mass => ("kg", &["g", "lb", "kg"]),
        Q::Volume => ("L", &["mL", "US fl oz", "L", "US gal", "imp gal"]),
        Q::Power => ("kW", &["W", "metric hp", "hp", "kW"]),
        Q::Charge => ("A·h", &["mA·h", "A·h"]),
        Q::SoundLevel => ("dB", &["dB"]),
        Q::Ratio | Q::SpecificGravity | Q::Count => ("", &[]),
    }
}

/// What people type in place of a unit, in lower case, and what they mean. Only offered as a mend, never read.
pub(super) const SLANG: &[(&str, &str)] = &[
    ("volt", "V"),
    ("volts", "V"),
    ("millivolts", "mV"),
    ("amp", "A"),
    ("amps", "A"),
    ("milliamps", "mA"),
    ("ohms", "Ω"),
    ("kohms", "kΩ"),
    ("hertz", "Hz"),
    ("percent", "%"),
    ("sec", "s"),
    ("secs", "s"),
    ("seconds", "s"),
    ("msec", "ms"),
    ("us", "µs"),
    ("uv", "µV"),
    ("ua", "µA"),
    ("uf", "µF"),
    ("um", "µm"),
    ("mins", "min"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hours", "h"),
    ("bars", "bar"),
    ("psid", "psi"),
    ("lb/in2", "psi"),
    ("in hg", "inHg"),
    ("in h2o", "inH2O"),
    ("mm hg", "mmHg"),
    ("cm h2o", "cmH2O"),
    ("c", "°C"),
    ("degc", "°C"),
    ("deg c", "°C"),
    ("° c", "°C"),
    ("f", "°F"),
    ("degf", "°F"),
    ("deg f", "°F"),
    ("° f", "°F"),
    ("°k", "K"),
    ("deg", "°"),
    ("degrees", "°"),
    ("nm", "N·m"),
    ("ft-lb", "lbf·ft"),
    ("ft lb", "lbf·ft"),
    ("ft·lb", "lbf·ft"),
    ("lb-ft", "lbf·ft"),
    ("lb·ft", "lbf·ft"),
    ("lb ft", "lbf·ft"),
    ("ft·lbf", "lbf·ft"),
    ("in-lb", "lbf·in"),
    ("in·lb", "lbf·in"),
    ("in lb", "lbf·in"),
    ("lb-in", "lbf·in"),
    ("lb·in", "lbf·in"),
    ("lb", "lbf"),
    ("lbs", "lb"),
    ("lbs", "lbf"),
    ("kg", "kgf"),
    ("kgm", "kgf·m"),
    ("kg/cm2", "kgf/cm²"),
    ("inch", "in"),
    ("inches", "in"),
    ("\"", "in"),
    ("thou", "mil"),
    ("r/min", "rpm"),
    ("1/min", "rpm"),
    ("kph", "km/h"),
    ("kmh", "km/h"),
    ("cfm", "ft³/min"),
    ("gpm", "US gal/min"),
    ("lpm", "L/min"),
    ("lph", "L/h"),
    ("ps", "metric hp"),
    ("ah", "A·h"),
    ("mah", "mA·h"),
    ("ml", "mL"),
    ("cc", "mL"),
    ("litres", "L"),
    ("liters", "L"),
    ("lbs/min", "lb/min"),
    ("dba", "dB"),
];
