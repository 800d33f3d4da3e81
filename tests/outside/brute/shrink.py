"""Cuts a base down to the least that two judges still disagree on."""

import copy

from compare import check


def still_wrong(base, name, wanted):
    try:
        wrong, _ = check(base)
    except Exception:
        return False
    return any(side == wanted[0] and one[0] == wanted[1][0] for side, one in wrong.get(name, []))


def cuts(base, name):
    """Every base that lacks one thing."""
    procedure = base["procedures"][name]
    for step in procedure["steps"]:
        if len(procedure["steps"]) > 1:
            made = copy.deepcopy(base)
            mine = made["procedures"][name]
            del mine["steps"][step]
            names = set(mine["steps"])
            for other in mine["steps"].values():
                for key in ("after", "changes"):
                    if isinstance(other.get(key), list):
                        other[key] = [x for x in other[key] if x != step]
                for way in [other, *other.get("results", [])]:
                    if way.get("then") == step:
                        del way["then"]
                        if "do" in other and way is other:
                            way["then"] = "tail/"
                        else:
                            way["refer"] = "cut"
                if other.get("without") == step:
                    other["without"] = {"refer": "cut"}
            if names:
                yield made
    for step, held in procedure["steps"].items():
        for key in ("with", "without", "changes", "after"):
            if key in held and not (key == "with" and "without" in held):
                made = copy.deepcopy(base)
                del made["procedures"][name]["steps"][step][key]
                yield made
        for index, result in enumerate(held.get("results", [])):
            if len(held["results"]) > 1 and "which" not in held:
                made = copy.deepcopy(base)
                del made["procedures"][name]["steps"][step]["results"][index]
                yield made
            for key in ("clears", "leaves"):
                if key in result:
                    made = copy.deepcopy(base)
                    del made["procedures"][name]["steps"][step]["results"][index][key]
                    yield made
    for key in ("applies",):
        for only in (["van"], ["sweeper"]):
            if procedure[key] != only:
                made = copy.deepcopy(base)
                made["procedures"][name][key] = only
                yield made
    if base["bays"]:
        made = copy.deepcopy(base)
        made["bays"] = {}
        yield made


def shrink(base, name, wanted, rounds=200):
    base = copy.deepcopy(base)
    base["procedures"] = {name: base["procedures"][name]}
    if not still_wrong(base, name, wanted):
        return None
    again = True
    while again and rounds:
        again = False
        for smaller in cuts(base, name):
            rounds -= 1
            if not rounds:
                break
            if still_wrong(smaller, name, wanted):
                base, again = smaller, True
                break
    return base
