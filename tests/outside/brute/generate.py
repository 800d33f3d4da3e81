"""Random small knowledge bases: tables shared by many procedures, each procedure with its own tangle of steps.

The base is plain data (dicts), so that the oracle reads it and the shrinker cuts it without touching any text.
A reading is {"words": text or None, "kind": "in"|"below"|"above"|"out"|"band"|"open"|"rest"|"spans", "spans": [...], "band": name}.
"""

from fractions import Fraction

from readings import QUANTITIES, phrase

VEHICLES = ["van", "bus", "sweeper"]
GROUPS = {"van": ["light"], "bus": ["light"], "sweeper": ["heavy"]}
EQUIPMENT = ["meter", "gauge", "lamp"]


def spans_reading(rng, quantity, spans):
    words = " or ".join(phrase(rng, quantity, *span) for span in spans)
    return {"kind": "spans", "spans": [list(s) for s in spans], "words": words}


def grid(rng, quantity, few=1, many=3):
    values = list(range(1, 7))
    if quantity in ("pressure", "dc voltage", "temperature") and rng.random() < 0.25:
        values = list(range(-2, 5))
    return sorted(Fraction(v) for v in rng.sample(values, rng.randint(few, many)))


def partition(rng, quantity):
    """Intervals that cover the line, each end point on one side; sometimes spoilt."""
    cuts = grid(rng, quantity)
    spans, low, with_low = [], None, False
    for cut in cuts:
        with_high = rng.random() < 0.5
        spans.append((low, with_low, cut, with_high))
        low, with_low = cut, not with_high
        if rng.random() < 0.07:
            with_low = with_high  # a point in both or in none
        if rng.random() < 0.04:
            low += 1
    spans.append((low, with_low, None, False))
    return [s for s in spans if s[0] is None or s[2] is None or s[0] < s[2]]


def value(rng, quantity):
    """The bands of one vehicle: {name: reading}, always with `in spec` first."""
    low, high = sorted(Fraction(v) for v in rng.sample(range(2, 7), 2))
    draw = rng.random()
    if draw < 0.2:
        span = (None, False, high, rng.random() < 0.7)
    elif draw < 0.35:
        span = (low, rng.random() < 0.7, None, False)
    else:
        span = (low, rng.random() < 0.8, high, rng.random() < 0.8)
    bands = {"in spec": spans_reading(rng, quantity, [span])}
    if span[0] is not None and rng.random() < 0.5:
        bottom = rng.choice([None, Fraction(0), Fraction(1)])
        if bottom is None or bottom < span[0]:
            top = span[0] - (Fraction(1, 2) if rng.random() < 0.2 and quantity != "count" else 0)
            bands["weak"] = spans_reading(rng, quantity, [(bottom, True, top, rng.random() < 0.3)])
            if bottom is None:
                bands["weak"] = spans_reading(rng, quantity, [(None, False, top, rng.random() < 0.3)])
    if span[2] is not None and quantity != "duty cycle" and rng.random() < 0.3:
        bands["strong"] = spans_reading(rng, quantity, [(span[2], not span[3] or rng.random() < 0.2, Fraction(8), True)])
    return bands


def specs(rng):
    made = {}
    for index in range(5):
        quantity = rng.choice(list(QUANTITIES))
        values, draw = {}, rng.random()
        if draw < 0.4:
            values = {"*": value(rng, quantity)}
        elif draw < 0.5:
            values = {"light": value(rng, quantity), "heavy": "TBD"}
        elif draw < 0.6:
            values = {"light": value(rng, quantity)}
        else:
            values = {"light": value(rng, quantity), "heavy": value(rng, quantity)}
            if rng.random() < 0.4:
                values["van"] = value(rng, quantity)
        made[f"s{index}"] = {"quantity": quantity, "values": values}
    return made


def value_of(spec, vehicle):
    """The most specific entry: the vehicle's own, its group's, everybody's, or none."""
    for who in [vehicle, *GROUPS[vehicle], "*"]:
        if who in spec["values"]:
            return spec["values"][who]
    return None


def spec_readings(rng, spec, here):
    """Readings of a step that measures `spec`; bands only where some vehicle of the procedure has them."""
    quantity = spec["quantity"]
    held = [v for v in (value_of(spec, vehicle) for vehicle in here) if v]
    unsure = "TBD" in held
    names = sorted({n for v in held if v != "TBD" for n in v if n != "in spec"})
    def word(kind, words):
        return {"kind": kind, "words": words}
    inside, below, above = word("in", "in spec"), word("below", "below spec"), word("above", "above spec")
    draw = rng.random()
    if not unsure and draw < 0.3:
        made = [spans_reading(rng, quantity, [s]) for s in partition(rng, quantity)]
        if rng.random() < 0.15 and len(made) > 1:
            made[-1] = word("rest", "any other reading")
    elif draw < 0.55:
        made = [inside, below, above]
    elif draw < 0.7:
        made = [inside, word("out", "out of spec")]
    elif draw < 0.8:
        made = [inside, word("rest", "any other reading")]
    else:
        made = [inside, below, above]
        if not unsure:
            made += [{"kind": "band", "band": n, "words": n} for n in names if rng.random() < 0.8]
    if quantity == "resistance" and rng.random() < 0.25 and not unsure:
        made.append(word("open", "open circuit"))
    if not unsure and rng.random() < 0.1 and len(made) < 5:
        made.append(spans_reading(rng, quantity, [rng.choice(partition(rng, quantity))]))
    if rng.random() < 0.1 and len(made) > 1:
        made.pop(rng.randrange(len(made)))
    rng.shuffle(made)
    return made


def inline_readings(rng, quantity):
    made = [spans_reading(rng, quantity, [s]) for s in partition(rng, quantity)]
    if len(made) > 2 and rng.random() < 0.2:
        first, last = made.pop(0), made.pop()
        both = first["spans"] + last["spans"]
        made.append({"kind": "spans", "spans": both, "words": f"{first['words']} or {last['words']}"})
    if rng.random() < 0.15:
        made[-1] = {"kind": "rest", "words": "any other reading"}
    if quantity == "resistance" and rng.random() < 0.2:
        made.append({"kind": "open", "words": "open circuit"})
    return made


LABELS = [["wet", "dry"], ["wet", "dry", "frozen"], ["tight", "loose"], ["noisy"]]


def labels(rng):
    return [{"kind": "label", "words": word} for word in rng.choice(LABELS if rng.random() < 0.1 else LABELS[:3])]


def evidence(rng, causes):
    draw = rng.random()
    if draw < 0.35:
        return {"clears": rng.sample(causes, rng.randint(1, max(1, len(causes) - 1)))}
    if draw < 0.45:
        return {"leaves": rng.sample(causes, rng.randint(1, max(1, len(causes) - 1)))}
    return {}


def ending(rng, causes, without=False):
    listed = [c for c in causes if c != "no-fault"]
    kinds = ["found"] * 4 + ["rest"] * 3 + ["normal", "unproven", "refer"] + ([] if without else ["shows"] * 3 + ["jump"])
    kind = rng.choice(kinds)
    if kind == "found":
        return {"found": rng.sample(listed, rng.randint(1, min(2, len(listed))))}
    if kind == "rest":
        return {"found": "what is left"}
    if kind == "shows":
        return {"shows": rng.choice(listed)}
    if kind == "jump":
        return {"then": "tail/"}
    return {kind: rng.choice(["note it", "say so"])}


def procedure(rng, base):
    causes = {}
    for name in ["worn", "bent", "burnt"][: rng.choice([1, 2, 2, 3, 3])]:
        causes[name] = {"for": rng.choice([["van"], ["light"], ["sweeper", "bus"]])} if rng.random() < 0.2 else {}
    if rng.random() < 0.3:
        causes["no-fault"] = {}
    names = [f"t{i}" for i in range(rng.choice([2, 3, 4, 4, 5, 5, 6]))]
    applies = rng.choice([["all"], ["all"], ["all"], ["light"], ["van"], ["bus", "sweeper"]])
    here = members(applies)
    # a few specs only, so that steps share them
    pool = rng.sample(sorted(base["specs"]), 2)
    steps = {}
    for index, name in enumerate(names):
        def target():
            later = names[index + 1 :]
            if later and rng.random() < 0.8:
                return rng.choice(later[:2] if rng.random() < 0.7 else later)
            return rng.choice(names)
        steps[name] = step(rng, base, causes, names, pool, here, index, target)
    return {"causes": causes, "applies": applies, "steps": steps}


def members(applies):
    return [v for v in VEHICLES if "all" in applies or v in applies or set(GROUPS[v]) & set(applies)]


def step(rng, base, causes, names, pool, here, index, target):
    draw = rng.random()
    made = {}
    if draw < 0.12 and index > 0:
        made = {"do": "Clean it", "then": target()}
        made["changes"] = rng.choice(["all", [], rng.sample(names + pool, rng.randint(1, 2)), rng.sample(pool, 1)])
        return made
    if draw < 0.2 and len(here) > 1:
        made = {"which": "vehicle", "results": []}
        cut = rng.randint(1, len(here) - 1)
        for chosen in [here[:cut], here[cut:]]:
            other = rng.random() < 0.3 and chosen == here[cut:]
            made["results"].append({"for": None if other else chosen, "then": target()})
        return made
    if draw < 0.6:
        name = rng.choice(pool)
        made = {"measure": name, "readings": spec_readings(rng, base["specs"][name], here)}
    elif draw < 0.68:
        quantity = rng.choice(list(QUANTITIES))
        made = {"measure": {"quantity": quantity}, "readings": inline_readings(rng, quantity)}
    elif draw < 0.82:
        made = {"observe": "Look at it", "readings": labels(rng)}
    else:
        name = rng.choice(sorted(base["checks"]))
        check = base["checks"][name]
        made = {"check": name}
        if "observe" in check:
            made["readings"] = labels(rng)
        else:
            made["readings"] = spec_readings(rng, base["specs"][check["measure"]], here)
    listed = list(causes)
    results = []
    for reading in made.pop("readings"):
        way = {"then": target()} if rng.random() < 0.55 and index < len(names) - 1 else ending(rng, listed)
        results.append({"if": reading, **evidence(rng, listed), **way})
    if rng.random() < 0.05:
        results = [{**r, **{"then": names[-1]}} if set(r) == {"if", "then"} else r for r in results]
    made["results"] = results
    if rng.random() < 0.25:
        made["with"] = rng.choice([["meter"], ["gauge"], ["meter or gauge"], ["lamp"], ["gauge", "lamp"]])
        if rng.random() < 0.6:
            made["without"] = target() if rng.random() < 0.6 else ending(rng, listed, without=True)
    if rng.random() < 0.12:
        made["changes"] = rng.choice(["all", rng.sample(names + pool, 1)])
    if index and rng.random() < 0.15:
        made["after"] = [rng.choice(names[:index])]
    return made


def base(rng, procedures):
    made = {"specs": specs(rng), "checks": {}, "bays": {}, "procedures": {}}
    made["checks"] = {"look": {"observe": "Look"}, "gauge-it": {"measure": rng.choice(sorted(made["specs"]))}}
    if rng.random() < 0.6:
        for bay in ["main", "yard"]:
            made["bays"][bay] = rng.sample(EQUIPMENT, rng.randint(1, 3))
    for index in range(procedures):
        made["procedures"][f"p{index}"] = procedure(rng, made)
    return made
