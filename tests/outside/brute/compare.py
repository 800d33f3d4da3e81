"""Our findings and the oracle's, brought to one form and set against each other."""

import json
import os
import pathlib
import shutil
import subprocess
import tempfile

import oracle
from write import write

RULES = {
    "dead-result", "unreachable-step", "no-way-out", "endless-loop", "out-of-turn", "blocked-bay", "missing-value",
    "reading-gap", "reading-overlap", "rounding-gap", "unsupported-verdict", "ruled-out-verdict", "never-found",
    "no-news", "impossible-cause", "nothing-left",
}
# a fault in one of these would mean that the generator wrote something that the language doesn't have
GENERATOR_FAULTS = {"bad-front-matter", "unknown-key", "bad-value", "unresolved-name", "duplicate-id", "wrong-unit"}
WITH_VEHICLES = {"missing-value", "reading-gap", "reading-overlap"}
BY_RESULT = {"dead-result", "unsupported-verdict", "ruled-out-verdict"}


def lint(folder):
    run = subprocess.run([os.environ["RULEOUT"], "lint", str(folder), "--format", "json"], capture_output=True, text=True)
    if run.returncode not in (0, 1):
        raise SystemExit(f"lint ended with {run.returncode}: {run.stderr}")
    return json.loads(run.stdout)["findings"]


def ours(finding, places):
    """One finding of lint in the oracle's form."""
    rule, level = finding["rule"], finding["level"]
    step, subject, vehicles = finding.get("step"), None, None
    at = places.get(finding["line"])
    if rule in BY_RESULT:
        step, subject = at if at else (step, "no result stands there")
        if rule == "dead-result" and level == "note":
            vehicles = frozenset(finding["vehicles"])
    elif rule in WITH_VEHICLES:
        vehicles = frozenset(finding["vehicles"])
    elif rule == "no-news" and at:
        step, subject = at[0], (at[1], finding["cause"]) if finding.get("cause") else None
    elif rule in ("never-found", "impossible-cause"):
        subject = finding["cause"]
        step = None if rule == "never-found" else step
    elif rule == "blocked-bay" and level == "note":
        step, subject = None, "bay"
    return rule, level, step, subject, vehicles


def key(one):
    return tuple(sorted(x) if isinstance(x, frozenset) else x for x in one)


def differences(findings, expected):
    """What only one side says: [(side, finding)]. `expected` may name a ring of steps: one finding at any of them."""
    mine, out = [], []
    for one in findings:
        if one[0] == "rounding-gap":
            continue
        mine.append(one)
    # an overlap or a gap of several pairs at one step is several findings: join their vehicles
    joined = {}
    rest = []
    for one in mine:
        if one[0] in ("reading-gap", "reading-overlap"):
            joined.setdefault(one[:4], set()).update(one[4])
        else:
            rest.append(one)
    rest += [(*k, frozenset(v)) for k, v in joined.items()]
    mine = rest
    rounded = {one[2] for one in findings if one[0] == "rounding-gap"}
    # small rings first, so that a ring within another finds its own
    for want in sorted(expected, key=lambda w: (len(w[2]) if isinstance(w[2], frozenset) else 0, str(key(w)))):
        rule, level, step, subject, vehicles = want
        if rule == "blocked-bay" and level == "note":
            want = (rule, level, None, "bay", None)
        if isinstance(step, frozenset):
            hits = [m for m in mine if m[0] == rule and m[2] in step]
            if hits:
                mine.remove(hits[0])
            else:
                out.append(("only the oracle", want))
            continue
        if want in mine:
            mine.remove(want)
        elif rule in ("reading-gap", "reading-overlap") and step in rounded:
            # what only rounding makes is told by a rule of its own, so here fewer vehicles may stand
            mine = [m for m in mine if not (m[0] == rule and m[2] == step and m[4] <= vehicles)]
        else:
            out.append(("only the oracle", want))
    return out + [("only ruleout", m) for m in mine]


def shown(one):
    rule, level, step, subject, vehicles = one
    parts = [f"{rule} ({level})"]
    if step is not None:
        parts.append("at " + (" or ".join(sorted(step)) if isinstance(step, frozenset) else step))
    if subject is not None:
        parts.append(f"result or cause {subject}")
    if vehicles:
        parts.append("on " + ", ".join(sorted(vehicles)))
    return " ".join(parts)


def check(base):
    """{procedure: [(side, finding)]} for the procedures on which the two disagree, and the number of findings compared."""
    folder = pathlib.Path(tempfile.mkdtemp())
    try:
        places = write(base, folder)
        findings = lint(folder)
    finally:
        shutil.rmtree(folder)
    by_procedure = {}
    broken = {}
    for finding in findings:
        if finding["rule"] in GENERATOR_FAULTS:
            broken[finding.get("procedure", "the tables")] = finding
        if finding["rule"] in RULES and finding.get("procedure") in places:
            name = finding["procedure"]
            by_procedure.setdefault(name, []).append(ours(finding, places[name]))
    if broken:
        return {"generator": [("only ruleout", (f["rule"] + ": " + f["message"], f["level"], f"{f['file']}:{f['line']}", None, None))
                              for f in broken.values()]}, 0
    wrong, compared = {}, 0
    for name in base["procedures"]:
        try:
            expected = oracle.judge(base, name)
        except oracle.TooLarge:
            continue
        compared += len(expected)
        different = differences(by_procedure.get(name, []), expected)
        if different:
            wrong[name] = different
    return wrong, compared
