"""The best order against an integer programme (OR-tools).

Usage: order_ortools.py FOLDER   (FOLDER/order.json comes from `RULEOUT_OUT=FOLDER cargo test --test it dump_`)

A tree of tests is a flow: one unit enters the state "all causes left"; a unit in a state takes one test, and sends one
unit to the state behind each outcome that some cause left can show. A state is the causes left and the tests done. The
least of the sum of (units through a test in a state) x (minutes x odds of the state) is the least expected time.
"""

import json
import pathlib
import sys
from fractions import Fraction

from ortools.linear_solver import pywraplp


def least(problem):
    tests = [(Fraction(str(t["minutes"])), [frozenset(o) for o in t["outcomes"]]) for t in problem["tests"]]
    weights = [Fraction(str(w)) for w in problem["weights"]]
    if not sum(weights):
        weights = [Fraction(1)] * len(weights)
    total = sum(weights)
    ways = [[sum(c in o for o in outcomes) for c in range(len(weights))] for _, outcomes in tests]

    def odds(left, done):
        share = Fraction(0)
        for cause in left:
            weight = weights[cause]
            for test in done:
                weight /= ways[test][cause]
            share += weight
        return share / total

    def useful(left, done):
        for index, (_, outcomes) in enumerate(tests):
            if index not in done and any(left & o and left & o != left for o in outcomes):
                yield index

    # only a test that leaves some cause several outcomes must be remembered: the others can't split what they left
    shared = [any(k > 1 for k in row) for row in ways]
    start = (frozenset(range(len(weights))), frozenset())
    arrows, seen, stack = [], {start}, [start]
    while stack:
        state = stack.pop()
        left, done = state
        for test in useful(left, done):
            after = done | {test} if shared[test] else done
            behind = [(left & o, after) for o in tests[test][1] if left & o]
            arrows.append((state, tests[test][0] * odds(left, done), behind))
            for nxt in behind:
                if nxt not in seen:
                    seen.add(nxt)
                    stack.append(nxt)
    solver = pywraplp.Solver.CreateSolver("SCIP")
    flow = [solver.IntVar(0, solver.infinity(), "") for _ in arrows]
    leaving, arriving = {}, {}
    for variable, (state, _, behind) in zip(flow, arrows):
        leaving.setdefault(state, []).append(variable)
        for nxt in behind:
            arriving.setdefault(nxt, []).append(variable)
    for state in leaving:
        units = 1 if state == start else 0
        solver.Add(sum(leaving[state]) == sum(arriving.get(state, [])) + units)
    solver.Minimize(sum(float(cost) * variable for variable, (_, cost, _) in zip(flow, arrows)))
    if not arrows:
        return 0.0
    assert solver.Solve() == pywraplp.Solver.OPTIMAL
    chosen = [(round(variable.solution_value()), cost) for variable, (_, cost, _) in zip(flow, arrows)]
    return float(sum(units * cost for units, cost in chosen))


def main():
    problems = json.loads((pathlib.Path(sys.argv[1]) / "order.json").read_text())
    wrong = 0
    for number, problem in enumerate(problems):
        expected = least(problem)
        if abs(problem["minutes"] - expected) > 1e-9 * max(1.0, expected):
            wrong += 1
            print(f"problem {number}: {problem['minutes']} minutes, but the integer programme says {expected}")
    print(f"{len(problems)} problems, {wrong} wrong")
    sys.exit(1 if wrong or not problems else 0)


if __name__ == "__main__":
    main()
