"""Whether a path is possible, against Z3.

Usage: paths_z3.py [--seed N] [--bases N]   (RULEOUT names the program)

Random procedures that measure a few quantities again and again, with actions between that change some of them. Every
path by arrows is put to Z3: for each spec, is there a number (or an open circuit) that lies in all results taken since
it was last changed? A result that lies on no possible path must be reported as dead (or its step as never entered), and
no other result may be; and so for every point that no result covers on a possible path (a gap).
"""

import argparse
import collections
import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile
from fractions import Fraction

import z3

SPECS = {"resting": ("dc voltage", "V"), "coil": ("resistance", "ohm"), "rail": ("absolute pressure", "kPa"), "duty": ("duty cycle", "%")}
LEAST, MOST = {"resting": 0, "coil": 0, "rail": 0, "duty": 0}, {"duty": 100}


class Interval:
    def __init__(self, low, with_low, high, with_high):
        self.low, self.with_low, self.high, self.with_high = low, with_low, high, with_high

    def words(self, unit):
        if self.low is None:
            return f"{'at most' if self.with_high else 'below'} {self.high} {unit}"
        if self.high is None:
            return f"{'at least' if self.with_low else 'above'} {self.low} {unit}"
        low = f"{self.low} {unit}" if self.with_low else f"above {self.low} {unit}"
        return f"{low} to {'' if self.with_high else 'below '}{self.high} {unit}"

    def holds(self, number, opened):
        parts = []
        if self.low is not None:
            parts.append(number >= self.low if self.with_low else number > self.low)
        if self.high is not None:
            parts.append(number <= self.high if self.with_high else number < self.high)
        # above every finite resistance
        return z3.Or(opened, z3.And(parts)) if self.high is None else z3.And(z3.Not(opened), *parts)


def line(rng):
    cuts = sorted(rng.sample(range(1, 12), rng.randint(1, 3)))
    made, low, with_low = [], None, False
    for cut in cuts:
        with_high = rng.random() < 0.5
        made.append(Interval(low, with_low, cut, with_high))
        low, with_low = cut, not with_high
    made.append(Interval(low, with_low, None, False))
    if len(made) > 2 and rng.random() < 0.15:
        made.pop(rng.randrange(len(made)))
    return made


def procedure(rng):
    """A ladder of steps, each leading only downwards, so that its paths can be counted."""
    names = [f"t{i}" for i in range(rng.randint(4, 7))]
    steps = {}
    pool = rng.sample(sorted(SPECS), 2)
    for index, name in enumerate(names):
        later = names[index + 1 :]
        if index and later and rng.random() < 0.15:
            steps[name] = {"do": "Clean it", "changes": rng.sample(pool, rng.randint(0, 1)), "then": rng.choice(later)}
            continue
        spec = rng.choice(pool)
        results = [(i, rng.choice(later[:2]) if later and rng.random() < 0.75 else None) for i in line(rng)]
        steps[name] = {"measure": spec, "results": results}
        if rng.random() < 0.1:
            steps[name]["changes"] = rng.sample(pool, 1)
    return steps


def text(steps):
    lines, places = ["---", "complaint: It does not work", "causes: {worn: {title: Worn, share: 1}}", "steps:"], {}
    for name, step in steps.items():
        lines.append(f"  {name}:")
        if step.get("changes"):
            lines.append(f"    changes: [{', '.join(step['changes'])}]")
        if "do" in step:
            lines += [f"    do: {step['do']}", f"    then: {step['then']}"]
            continue
        lines += [f"    measure: {step['measure']}", "    minutes: 1", "    results:"]
        unit = SPECS[step["measure"]][1]
        for index, (interval, to) in enumerate(step["results"]):
            lines.append(f"      - {{if: {interval.words(unit)}, {f'then: {to}' if to else 'refer: ask'}}}")
            places[len(lines)] = (name, index)
    lines += ["---", "It does not work.", ""]
    for name in steps:
        lines += [f"## Step {name} {{#{name}}}", "", "Do it.", ""]
    return "\n".join(lines), places


class Judge:
    """One solver, one number and one switch for each spec."""

    def __init__(self):
        self.number = {s: z3.Real(s) for s in SPECS}
        self.opened = {s: z3.Bool(f"{s} open") for s in SPECS}
        self.asked = 0

    def possible(self, spec, intervals, against=()):
        """Whether some reading of the spec lies in all of these and in none of those."""
        self.asked += 1
        number, opened = self.number[spec], self.opened[spec]
        solver = z3.Solver()
        solver.add(number >= LEAST[spec])
        if spec in MOST:
            solver.add(number <= MOST[spec])
        if SPECS[spec][0] != "resistance":
            solver.add(z3.Not(opened))
        for interval in intervals:
            solver.add(interval.holds(number, opened))
        for interval in against:
            solver.add(z3.Not(interval.holds(number, opened)))
        return solver.check() == z3.sat

    def walk(self, steps):
        """Steps entered, results taken, steps with a gap: over every possible path."""
        entered, taken, gaps = set(), set(), set()
        seen = set()
        stack = [(next(iter(steps)), {})]
        while stack:
            name, facts = stack.pop()
            mark = (name, tuple(sorted((s, tuple(map(id, i))) for s, i in facts.items())))
            if mark in seen:
                continue
            seen.add(mark)
            entered.add(name)
            step = steps[name]
            gone = step.get("changes", [])
            if "do" in step:
                stack.append((step["then"], {s: i for s, i in facts.items() if s not in gone}))
                continue
            spec = step["measure"]
            known = facts.get(spec, [])
            if self.possible(spec, known, [i for i, _ in step["results"]]):
                gaps.add(name)
            for index, (interval, to) in enumerate(step["results"]):
                if self.possible(spec, [*known, interval]):
                    taken.add((name, index))
                    if to:
                        after = {**facts, spec: [*known, interval]}
                        stack.append((to, {s: i for s, i in after.items() if s not in gone}))
        return entered, taken, gaps


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--seed", type=int, default=20310715)
    arguments.add_argument("--bases", type=int, default=5)
    arguments.add_argument("--procedures", type=int, default=80)
    asked = arguments.parse_args()
    judge, wrong, dead_ones, total = Judge(), [], 0, 0
    for number in range(asked.bases):
        rng = random.Random(asked.seed + number)
        with tempfile.TemporaryDirectory() as folder:
            kb = pathlib.Path(folder)
            (kb / "specs").mkdir()
            (kb / "procedures").mkdir()
            (kb / "shop.yaml").write_text("title: Test\n")
            spec = "".join(f"{s}: {{quantity: {q}, value: at least 1 {u}, source: Invented for the test}}\n" for s, (q, u) in SPECS.items())
            (kb / "specs" / "all.yaml").write_text(spec)
            made = {f"p{i}": procedure(rng) for i in range(asked.procedures)}
            places = {}
            for name, steps in made.items():
                written, places[name] = text(steps)
                (kb / "procedures" / f"{name}.md").write_text(written)
            run = subprocess.run([os.environ["RULEOUT"], "lint", folder, "--format", "json"], capture_output=True, text=True)
            found = collections.defaultdict(set)
            for finding in json.loads(run.stdout)["findings"]:
                name = finding.get("procedure")
                if finding["rule"] == "dead-result":
                    found[name, "dead"].add(places[name].get(finding["line"]))
                if finding["rule"] == "reading-gap":
                    found[name, "gap"].add(finding["step"])
                if finding["rule"] in ("bad-value", "wrong-unit", "unresolved-name", "bad-front-matter"):
                    wrong.append(f"{name}: the generator is wrong: {finding['message']}")
        for name, steps in made.items():
            entered, taken, gaps = judge.walk(steps)
            every = {(s, i) for s in entered if "do" not in steps[s] for i in range(len(steps[s]["results"]))}
            dead = every - taken
            dead_ones += len(dead)
            total += len(every)
            where = f"seed {asked.seed + number}, {name}"
            if dead != found[name, "dead"]:
                wrong.append(f"{where}: dead by Z3 {sorted(dead)}, by ruleout {sorted(found[name, 'dead'])}\n{text(steps)[0].split('## ')[0]}")
            if gaps != found[name, "gap"]:
                wrong.append(f"{where}: gaps by Z3 {sorted(gaps)}, by ruleout {sorted(found[name, 'gap'])}\n{text(steps)[0].split('## ')[0]}")
    for line_ in wrong[:5]:
        print(line_)
    print(f"z3: seed {asked.seed}, {judge.asked} questions, {total} results, {dead_ones} of them dead, {len(wrong)} differ")
    sys.exit(1 if wrong or not dead_ones else 0)


if __name__ == "__main__":
    main()
