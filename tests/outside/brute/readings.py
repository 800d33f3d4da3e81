"""Readings as sets of numbers, straight from the language's own words (Readings, Specs, Meaning).

A set is a list of intervals (low, low included, high, high included) plus whether it holds "open circuit"; None stands
for "no end". The oracle turns sets into the sample readings they hold, so nothing here knows of cells.
"""

from fractions import Fraction
from math import ceil, floor

OPEN = "open circuit"

# quantity: (lowest possible, highest possible, whole numbers only, negative only if named, [(unit, scale, offset)])
# An amount of grid value n is written as (n * scale + offset) in each unit; n itself is the exact base value.
QUANTITIES = {
    "resistance": (0, None, False, False, [("ohm", 1000, 0), ("kΩ", 1, 0)]),
    "pressure": (None, None, False, True, [("bar", 1, 0), ("kPa", 100, 0)]),
    "dc voltage": (None, None, False, True, [("V", 1, 0), ("mV", 1000, 0)]),
    "duty cycle": (0, 10, False, False, [("%", 10, 0)]),
    "count": (0, None, True, False, [("", 1, 0)]),
    "temperature": (Fraction("-27.315"), None, False, False, [("°C", 10, 0), ("°F", 18, 32)]),
}


class Set:
    """A set of readings."""

    def __init__(self, spans=(), opened=False):
        self.spans, self.opened = list(spans), opened

    def holds(self, reading):
        if reading == OPEN:
            return self.opened
        return any(
            (low is None or reading > low or (with_low and reading == low))
            and (high is None or reading < high or (with_high and reading == high))
            for low, with_low, high, with_high in self.spans
        )

    def ends(self):
        return {end for low, _, high, _ in self.spans for end in (low, high) if end is not None}

    def lowest(self):
        """(end, included) of the lowest reading; end None where there is none."""
        lows = [(low, with_low) for low, with_low, _, _ in self.spans]
        if any(low is None for low, _ in lows):
            return None, False
        return min(lows, key=lambda pair: (pair[0], not pair[1]))

    def highest(self):
        highs = [(high, with_high) for _, _, high, with_high in self.spans]
        if any(high is None for high, _ in highs):
            return None, False
        return max(highs, key=lambda pair: (pair[0], pair[1]))


def samples(quantity, ends, negative_named):
    """Enough readings to tell apart any two sets whose end points are among `ends`."""
    low, high, whole, only_named, _ = QUANTITIES[quantity]
    if only_named and not negative_named:
        low = 0
    ends = sorted(set(ends) | ({Fraction(low)} if low is not None else set()) | ({Fraction(high)} if high is not None else set()))
    if not ends:
        ends = [Fraction(0)]
    if whole:
        found = [Fraction(n) for n in range(floor(min(ends)), ceil(max(ends)) + 2)]
    else:
        found = list(ends)
        found += [(a + b) / 2 for a, b in zip(ends, ends[1:])]
        found += [ends[0] - 1, ends[-1] + 1]
    found = [r for r in found if (low is None or r >= low) and (high is None or r <= high)]
    return found + ([OPEN] if quantity == "resistance" else [])


def number(value):
    """An exact decimal, as an author would type it."""
    value = Fraction(value)
    text = f"{value.numerator}" if value.denominator == 1 else f"{float(value):.6f}".rstrip("0")
    return text


def amount(rng, quantity, value, unit=None):
    units = QUANTITIES[quantity][4]
    name, scale, offset = unit or rng.choice(units)
    return f"{number(Fraction(value) * scale + offset)} {name}".strip()


def phrase(rng, quantity, low, with_low, high, with_high):
    """The words for one interval, in one of the forms of the language."""
    def say(value):
        return amount(rng, quantity, value)

    if low is None:
        words = ["at most {}", "{} or less"] if with_high else ["below {}", "less than {}", "under {}"]
        return rng.choice(words).format(say(high))
    if high is None:
        words = ["at least {}", "{} or more"] if with_low else ["above {}", "more than {}", "over {}"]
        return rng.choice(words).format(say(low))
    if with_low and with_high:
        if low == high:
            return f"{say(low)} to {say(high)}"
        unit = rng.choice(QUANTITIES[quantity][4])
        if quantity not in ("temperature", "count") and rng.random() < 0.2:
            return f"{amount(rng, quantity, (low + high) / 2, unit)} ± {amount(rng, quantity, (high - low) / 2, unit)}"
        return rng.choice(["between {} and {}", "{} to {}"]).format(say(low), say(high))
    if with_low:
        return f"{say(low)} to below {say(high)}"
    if with_high:
        return f"above {say(low)} to {say(high)}"
    return f"above {say(low)} to below {say(high)}"
