"""Every conversion of every unit against pint.

Usage: pint_check.py FOLDER   (FOLDER/units.json comes from `RULEOUT_OUT=FOLDER cargo test --test it dump_`)

Needs pint (a missing pint is a failure), which computes with fractions here, so that the answers must be equal and not
just near. pint's own definition is used wherever it has the unit. Its `cfm` is centi-femtometre, its `mil` an angle, its
rpm is in radians and it knows no psig: those go by their plain words (cubic feet, thou, turns, psi). Water and mercury
go by their conventional densities (13 595.1 and 1000 kg/m3, NIST SP 811 appendix B), as versions of pint differ there.
Decibels are left out: pint's are logarithms, ours are only ever compared with decibels.
"""

import json
import pathlib
import sys
from fractions import Fraction

import pint

MERCURY = "13595.1 * kg / m**3 * standard_gravity"
# The standard prints the inch of mercury with one digit less than 25.4 of its millimetres have; we keep what it prints.
ROUNDED = {"inHg": Fraction(1, 10**12)}
WATER = "1000 * kg / m**3 * standard_gravity"

# pint's expression for each of our symbols that it would not read, or would read as something else.
NAMES = {
    "%": "percent", "psi": "psi", "psig": "psi", "psia": "psi", "inHg": f"inch * {MERCURY}", "inH2O": f"inch * {WATER}",
    "cmH2O": f"cm * {WATER}", "mmHg": f"mm * {MERCURY}", "kgf/cm²": "kgf / cm**2", "°C": "degC", "°F": "degF", "lbf·ft": "lbf * ft", "lbf·in": "lbf * inch",
    "kgf·m": "kgf * m", "hp": "550 * ft * lbf / s", "metric hp": "metric_horsepower", "in": "inch", "mil": "thou", "°": "degree",
    "rpm": "turn / min", "km/h": "km / hour", "US gal": "US_liquid_gallon", "imp gal": "imperial_gallon", "US fl oz": "US_fluid_ounce",
    "L/min": "L / min", "mL/min": "mL / min", "L/h": "L / hour", "mL/h": "mL / hour", "m³/h": "m**3 / hour", "ft³/min": "ft**3 / min",
    "US gal/min": "US_liquid_gallon / min", "g/s": "g / s", "kg/h": "kg / hour", "lb/min": "lb / min", "A·h": "A * hour",
    "mA·h": "mA * hour", "h": "hour", "N·m": "N * m", "daN·m": "daN * m", "kN·m": "kN * m", "mph": "mile / hour",
}


def convert(units, row):
    """The number in the unit asked for, by pint."""
    source, target = (NAMES.get(row[key], row[key]) for key in ("unit", "in"))
    if row["quantity"] == "temperature difference":
        source, target = (name.replace("deg", "delta_deg") for name in (source, target))
    if row["quantity"] == "temperature":
        return units.Quantity(Fraction(row["number"]), source).to(target).magnitude
    one, other = (units.Quantity(Fraction(1), units.Unit("dimensionless")) * units.parse_expression(name) for name in (source, target))
    return (row["number"] * one / other).to("dimensionless").magnitude


def main(folder):
    units = pint.UnitRegistry(non_int_type=Fraction)
    rows = json.loads((pathlib.Path(folder) / "units.json").read_text())
    rows = [row for row in rows if row["quantity"] != "sound level"]
    wrong = 0
    for row in rows:
        ours, theirs = Fraction(row["is"]), convert(units, row)
        if abs(ours - theirs) > ROUNDED.get(row["unit"], 0) * ours:
            wrong += 1
            print(f"{row['number']} {row['unit']} ({row['quantity']}): we say {ours} {row['in']}, pint says {theirs}")
    print(f"pint {pint.__version__}: {len(rows)} conversions, {wrong} differ")
    return 1 if wrong or len(rows) < 200 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
