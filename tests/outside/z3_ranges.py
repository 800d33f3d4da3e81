"""Gaps and overlaps of random result lists against z3.

Usage: z3_ranges.py FOLDER   (FOLDER/ranges.json comes from `RULEOUT_OUT=FOLDER cargo test --test it dump_`)

Each result is turned into a formula straight from the language's page, over one reading that is a real number or "open
circuit" (a whole number for a count). z3 then has to find no reading that is in our gap but covered, or uncovered but not
in our gap; and the same for each pair of results and our overlap. Needs z3-solver.
"""

import json
import pathlib
import re
import sys
from fractions import Fraction

import z3

# Value in the base unit (NIST SP 811 appendix B, SI Brochure).
PSI = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2
UNITS = {"": 1, "Ω": 1, "ohm": 1, "V": 1, "mV": Fraction(1, 1000), "psi": PSI, "kPa": 1000, "bar": 100000}
SPEC_WORDS = ("in spec", "below spec", "above spec", "out of spec")


class Limit:
    """One range without `or`: lower and upper limit (value, included), or None where it has none."""

    def __init__(self, text):
        amount = lambda number, unit: Fraction(number) * UNITS[unit]
        self.low = self.high = None
        if found := re.fullmatch(r"(below|above|at most|at least|exactly) (\d+) ?(\S*)", text):
            word, value = found[1], amount(found[2], found[3])
            if word in ("above", "at least", "exactly"):
                self.low = (value, word != "above")
            if word in ("below", "at most", "exactly"):
                self.high = (value, word != "below")
        elif found := re.fullmatch(r"(above )?(\d+) to (below )?(\d+) ?(\S*)", text):
            self.low = (amount(found[2], found[5]), not found[1])
            self.high = (amount(found[4], found[5]), not found[3])
        elif found := re.fullmatch(r"(\d+) ?(\S*) ± (\d+) %", text):
            middle, part = amount(found[1], found[2]), Fraction(int(found[3]), 100)
            self.low, self.high = (middle * (1 - part), True), (middle * (1 + part), True)
        else:
            raise ValueError(text)

    def is_point(self):
        return self.low and self.high and self.low[0] == self.high[0]

    def holds(self, x):
        parts = []
        if self.low:
            parts.append(x >= real(self.low[0]) if self.low[1] else x > real(self.low[0]))
        if self.high:
            parts.append(x <= real(self.high[0]) if self.high[1] else x < real(self.high[0]))
        return z3.And(*parts)


def real(value):
    value = Fraction(value)
    return z3.Q(value.numerator, value.denominator)


class Step:
    """The meaning of one step's results."""

    def __init__(self, row):
        self.x, self.open = z3.Real("x"), z3.Bool("open")
        self.row = row
        self.bands = {name: Limit(text) for name, text in row["spec"]}
        self.results = [text.strip().split(" or ") for text in row["results"]]
        self.parts = [part for parts in self.results for part in parts]
        self.open_is_named = "open circuit" in self.parts
        self.spec_is_asked = "in spec" in self.parts
        self.domain = self.possible()

    def possible(self):
        """The readings that the quantity has."""
        texts = [limit for limit in self.bands.values()] + [Limit(p) for p in self.parts if self.is_amount(p)]
        negative = any(end and end[0] < 0 for limit in texts for end in (limit.low, limit.high))
        kind = self.row["quantity"]
        numbers = [z3.Not(self.open)]
        if kind in ("resistance", "count") or not negative:
            numbers.append(self.x >= 0)
        if kind == "count":
            numbers.append(z3.IsInt(self.x))
        number = z3.And(*numbers)
        return z3.Or(number, z3.And(self.open, self.x == 0)) if kind == "resistance" else number

    def is_amount(self, part):
        return part not in SPEC_WORDS + ("open circuit", "any other reading") and part not in self.bands

    def range(self, limit):
        number = z3.And(z3.Not(self.open), limit.holds(self.x))
        return z3.Or(number, self.open) if limit.high is None and not self.open_is_named else number

    def beyond(self, side):
        """`below spec` (side -1) or `above spec` (side 1)."""
        spec = self.bands["in spec"]
        near = lambda limit: limit.high if side < 0 else limit.low
        far = lambda limit: limit.low if side < 0 else limit.high
        outer = [spec]
        for name in self.bands:
            limit = self.bands[name]
            if name != "in spec" and name in self.parts and near(limit) and far(spec):
                if side * (near(limit)[0] - far(spec)[0]) >= 0:
                    outer.append(limit)
        if any(far(limit) is None for limit in outer):
            return z3.BoolVal(False)
        value = max((side * far(limit)[0] for limit in outer)) * side
        included = any(far(limit) == (value, True) for limit in outer)
        edge = real(value)
        if side < 0:
            number = self.x < edge if included else self.x <= edge
            return z3.And(z3.Not(self.open), number)
        number = z3.And(z3.Not(self.open), self.x > edge if included else self.x >= edge)
        return number if self.open_is_named else z3.Or(number, self.open)

    def part(self, part):
        if part == "open circuit":
            return self.open
        if part == "below spec":
            return self.beyond(-1)
        if part == "above spec":
            return self.beyond(1)
        if part == "out of spec":
            return z3.Or(self.beyond(-1), self.beyond(1))
        return self.range(self.bands[part] if part in self.bands else Limit(part))

    def shared(self, part):
        """The end points that a range shares with `in spec`, and nothing else of it."""
        limit = self.bands[part] if part in self.bands else Limit(part) if self.is_amount(part) else None
        spec = self.bands["in spec"]
        if limit is None or limit.is_point() or spec.is_point():
            return []
        pairs = ((limit.high, spec.low), (limit.low, spec.high))
        return [a[0] for a, b in pairs if a and b and a[0] == b[0] and a[1] and b[1]]

    def meanings(self):
        out, rest = [], []
        for index, parts in enumerate(self.results):
            formula = z3.Or(*(self.part(p) for p in parts if p != "any other reading"), z3.BoolVal(False))
            if self.spec_is_asked and "in spec" not in parts:
                gone = [value for part in parts for value in self.shared(part)]
                formula = z3.And(formula, *(z3.Or(self.open, self.x != real(value)) for value in gone))
            out.append(formula)
            if "any other reading" in parts:
                rest.append(index)
        others = z3.Or(*(f for i, f in enumerate(out) if i not in rest), z3.BoolVal(False))
        return [z3.Or(f, z3.Not(others)) if i in rest else f for i, f in enumerate(out)]

    def ours(self, found):
        """The formula of a set that the tool gave."""
        spans = []
        for low, high in found["spans"]:
            parts = [z3.Not(self.open)]
            if low:
                parts.append(self.x > real(low[0]) if low[1] else self.x >= real(low[0]))
            if high:
                parts.append(self.x <= real(high[0]) if high[1] else self.x < real(high[0]))
            spans.append(z3.And(*parts))
        return z3.Or(*spans, z3.And(self.open, z3.BoolVal(found["open circuit"])))


def differ(step, ours, theirs):
    """A reading on which the two disagree, or None."""
    solver = z3.Solver()
    solver.add(step.domain, z3.Xor(ours, theirs))
    answer = solver.check()
    if answer == z3.unknown:
        return "z3 does not know"
    return solver.model() if answer == z3.sat else None


def main(folder):
    rows = json.loads((pathlib.Path(folder) / "ranges.json").read_text())
    wrong = gaps = overlaps = 0
    for row in rows:
        step = Step(row)
        means = step.meanings()
        checks = [("gap", row["gap"], z3.Not(z3.Or(*means)))]
        checks += [("overlap %s" % o["of"], o["is"], z3.And(means[o["of"][0]], means[o["of"][1]])) for o in row["overlaps"]]
        gaps += bool(row["gap"]["spans"])
        overlaps += any(o["is"]["spans"] for o in row["overlaps"])
        for what, found, formula in checks:
            witness = differ(step, step.ours(found), formula)
            if witness is not None:
                wrong += 1
                print(what, json.dumps(row, ensure_ascii=False), witness)
    print(f"z3 {z3.get_version_string()}: {len(rows)} lists, {gaps} with a gap, {overlaps} with an overlap, {wrong} judged otherwise")
    return 1 if wrong or len(rows) < 300 or not gaps or not overlaps else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
