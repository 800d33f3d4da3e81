//! The quantities of the language: their names and what can be read of them.

/// What a reading is a reading of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // each is explained by its name
pub enum Quantity {
    DcVoltage,
    AcVoltage,
    Current,
    Resistance,
    Frequency,
    DutyCycle,
    PulseWidth,
    Capacitance,
    /// Gauge pressure.
    Pressure,
    AbsolutePressure,
    /// Positive; more is deeper.
    Vacuum,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Flow,
    MassFlow,
    Torque,
    Force,
    Length,
    Angle,
    EngineSpeed,
    RoadSpeed,
    Time,
    Percentage,
    Ratio,
    SpecificGravity,
    Mass,
    Volume,
    Power,
    Charge,
    SoundLevel,
    Count,
}

use Quantity as Q;

const NAMES: [(Quantity, &str); 32] = [
    (Q::DcVoltage, "dc voltage"),
    (Q::AcVoltage, "ac voltage"),
    (Q::Current, "current"),
    (Q::Resistance, "resistance"),
    (Q::Frequency, "frequency"),
    (Q::DutyCycle, "duty cycle"),
    (Q::PulseWidth, "pulse width"),
    (Q::Capacitance, "capacitance"),
    (Q::Pressure, "pressure"),
    (Q::AbsolutePressure, "absolute pressure"),
    (Q::Vacuum, "vacuum"),
    (Q::PressureDifference, "pressure difference"),
    (Q::Temperature, "temperature"),
    (Q::TemperatureDifference, "temperature difference"),
    (Q::Flow, "flow"),
    (Q::MassFlow, "mass flow"),
    (Q::Torque, "torque"),
    (Q::Force, "force"),
    (Q::Length, "length"),
    (Q::Angle, "angle"),
    (Q::EngineSpeed, "engine speed"),
    (Q::RoadSpeed, "road speed"),
    (Q::Time, "time"),
    (Q::Percentage, "percentage"),
    (Q::Ratio, "ratio"),
    (Q::SpecificGravity, "specific gravity"),
    (Q::Mass, "mass"),
    (Q::Volume, "volume"),
    (Q::Power, "power"),
    (Q::Charge, "charge"),
    (Q::SoundLevel, "sound level"),
    (Q::Count, "count"),
];

/// How low a reading can go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Floor {
    /// Never below zero.
    Zero,
    /// Below zero only where a negative amount is named.
    ZeroUnlessNamed,
    /// Down to absolute zero, always asked (0 in the base unit, kelvin).
    AbsoluteZero,
}

impl Quantity {
    /// All quantities, in the order of the language page.
    pub fn all() -> impl Iterator<Item = Quantity> {
        NAMES.into_iter().map(|(quantity, _)| quantity)
    }

    /// The name as authors write it: `dc voltage`.
    pub fn name(self) -> &'static str {
        NAMES.iter().find(|(quantity, _)| *quantity == self).map_or("", |(_, name)| name)
    }

    /// The quantity of that name.
    pub fn from_name(name: &str) -> Option<Quantity> {
        NAMES.iter().find(|(_, known)| *known == name).map(|(quantity, _)| *quantity)
    }

    /// How low a reading can go.
    pub fn floor(self) -> Floor {
        match self {
            Q::DcVoltage
            | Q::Current
            | Q::Pressure
            | Q::PressureDifference
            | Q::TemperatureDifference
            | Q::Angle
            | Q::Percentage => Floor::ZeroUnlessNamed,
            Q::Temperature => Floor::AbsoluteZero,
            _ => Floor::Zero,
        }
    }

    /// Whether a meter can show "open circuit" for it.
    pub fn has_open_circuit(self) -> bool {
        self == Q::Resistance
    }

    /// Whether only whole numbers can be read.
    pub fn is_whole(self) -> bool {
        self == Q::Count
    }

    /// Whether it is itself in per cent, so that `± N %` means the amount.
    pub fn is_percent(self) -> bool {
        matches!(self, Q::DutyCycle | Q::Percentage)
    }

    /// Whether its amounts have no unit.
    pub fn is_bare(self) -> bool {
        matches!(self, Q::Count | Q::Ratio | Q::SpecificGravity)
    }

    /// The quantity of a step between two readings of this one: a tolerance, a resolution, a spread.
    pub fn step(self) -> Quantity {
        if self == Q::Temperature { Q::TemperatureDifference } else { self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_quantity_has_one_name_that_finds_it() {
        for quantity in Quantity::all() {
            assert_eq!(Quantity::from_name(quantity.name()), Some(quantity));
        }
        assert_eq!(Quantity::from_name("voltage"), None);
    }
}
