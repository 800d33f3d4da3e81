"""Decides every rule of flow and evidence, and gaps and overlaps, by trying everything.

Written from the language's "Meaning", from the definitions of the analysis and from the fine print, and from nothing
else. For each vehicle it lists every state (step, facts, causes left, steps of an `after` seen) that a path can be in;
a fact is the plain set of sample readings still possible for one key.

judge() gives {(rule, level, step, subject)}: the subject is a result's line index, a cause, a ring of steps or None;
where vehicles matter they come last.
"""

from collections import defaultdict, deque

from generate import members, value_of
from readings import OPEN, Set, samples

LIMIT = 20_000


class TooLarge(Exception):
    pass


def as_set(reading):
    """The set of a reading that stands by itself; `above` and `at least` hold open circuit."""
    spans = reading["spans"]
    return Set(spans, opened=any(high is None for _, _, high, _ in spans))


class Reads:
    """What one step reads on one vehicle: its key, the readings of the key, and the readings of each result."""

    def __init__(self, base, procedure, name, vehicle):
        step = procedure["steps"][name]
        check = base["checks"].get(step.get("check"), {})
        measured = step.get("measure") or check.get("measure")
        self.unknown = self.missing = False
        self.key, self.all, self.by_result = None, frozenset(), []
        wanted = [r["if"] for r in step["results"]] if "results" in step and "which" not in step else []
        if measured is None:
            if wanted:
                labels = frozenset(r["words"] for r in wanted)
                self.key = ("labels", step.get("check") or name, labels)
                self.all = labels
                self.by_result = [frozenset([r["words"]]) for r in wanted]
            return
        if isinstance(measured, dict):
            self.key = ("numbers", name)
            quantity, value = measured["quantity"], {}
        else:
            self.key = ("numbers", measured)
            quantity, value = base["specs"][measured]["quantity"], value_of(base["specs"][measured], vehicle)
        if value is None or value == "TBD":
            # "every result is then possible, nothing is learned, no gap is told"; of TBD "nothing more is said"
            self.unknown, self.missing = True, value is None
            self.all = frozenset(["any"])
            self.by_result = [self.all for _ in wanted]
            return
        every = samples(quantity, *ends_of(base, procedure, self.key, vehicle))
        self.all = frozenset(every)
        self.by_result = result_sets(wanted, value, every)


def complete(wanted, made, every):
    """`any other reading` is what the other results leave."""
    others = frozenset().union(*[s for r, s in zip(wanted, made) if r["kind"] != "rest"])
    return [every - others if r["kind"] == "rest" else s for r, s in zip(wanted, made)]


def ends_of(base, procedure, key, vehicle):
    """All end points that matter for the key, and whether any negative amount is named."""
    ends, named = set(), set()
    spec = base["specs"].get(key[1]) if key[0] == "numbers" else None
    if spec:
        for who, value in spec["values"].items():
            for reading in value.values() if value != "TBD" else []:
                named |= as_set(reading).ends()
        mine = value_of(spec, vehicle)
        for reading in mine.values():
            ends |= as_set(reading).ends()
    for name, step in procedure["steps"].items():
        check = base["checks"].get(step.get("check"), {})
        measured = step.get("measure") or check.get("measure")
        same = name == key[1] if isinstance(measured, dict) else measured == key[1]
        if measured is None or not same:
            continue
        for result in step["results"]:
            if result["if"]["kind"] == "spans":
                found = as_set(result["if"]).ends()
                ends |= found
                named |= found
    return ends, any(e < 0 for e in named)


def result_sets(wanted, value, every):
    inside = as_set(value["in spec"]) if value else Set()
    low, low_in = inside.lowest() if value else (None, False)
    high, high_in = inside.highest() if value else (None, False)
    below, below_in, above, above_in = low, low_in, high, high_in
    for reading in wanted:
        if reading["kind"] != "band" or reading["band"] not in value:
            continue
        band = as_set(value[reading["band"]])
        if low is not None and band.highest()[0] is not None and band.highest()[0] <= low:
            end, included = band.lowest()
            if end is None or (below is not None and (end < below or (end == below and included))):
                below, below_in = end, included
        if high is not None and band.lowest()[0] is not None and band.lowest()[0] >= high:
            end, included = band.highest()
            if end is None or (above is not None and (end > above or (end == above and included))):
                above, above_in = end, included
    under = Set([] if below is None else [(None, False, below, not below_in)])
    over = Set([] if above is None else [(above, not above_in, None, False)], opened=above is not None)
    sets = []
    for reading in wanted:
        kind = reading["kind"]
        if kind == "spans":
            sets.append([as_set(reading)])
        elif kind == "band":
            sets.append([as_set(value[reading["band"]])] if reading["band"] in value else [])
        elif kind == "open":
            sets.append([Set(opened=True)])
        else:
            sets.append({"in": [inside], "below": [under], "above": [over], "out": [under, over], "rest": []}[kind])
    made = [frozenset(r for r in every if any(s.holds(r) for s in held)) for held in sets]
    if any(r["kind"] == "open" for r in wanted):
        made = [s if r["kind"] == "open" else s - {OPEN} for r, s in zip(wanted, made)]
    # one shared end point of two ranges belongs to `in spec`
    if any(r["kind"] == "in" for r in wanted):
        held = frozenset(r for r in every if inside.holds(r) and r != OPEN)
        for index, reading in enumerate(wanted):
            both = made[index] & held
            if reading["kind"] in ("spans", "band") and len(both) == 1 and both <= inside.ends() and len(held) > 1:
                if next(iter(both)) in set().union(*[s.ends() for s in sets[index]]):
                    made[index] -= both
    return complete(wanted, made, frozenset(every))


class Vehicle:
    """All states of one procedure on one vehicle."""

    def __init__(self, base, procedure, vehicle):
        self.base, self.procedure, self.vehicle = base, procedure, vehicle
        self.steps = procedure["steps"]
        self.names = list(self.steps)
        self.reads = {n: Reads(base, procedure, n, vehicle) for n in self.names}
        self.causes = frozenset(c for c, v in procedure["causes"].items()
                                if "for" not in v or vehicle in members(v["for"]))
        self.watched = {a for s in self.steps.values() for a in s.get("after", [])}
        start = (self.names[0], frozenset(), self.causes, frozenset(), False)
        self.states, self.ways, self.depth = {start}, {}, {start: 0}
        queue = deque([start])
        while queue:
            state = queue.popleft()
            self.ways[state] = list(self.leave(state))
            for *_, to in self.ways[state]:
                if isinstance(to, tuple) and to not in self.states:
                    self.states.add(to)
                    self.depth[to] = self.depth[state] + 1
                    queue.append(to)
            if len(self.states) > LIMIT:
                raise TooLarge
        self.entered = {s[0] for s in self.states}

    def forget(self, name, facts):
        step = self.steps[name]
        changes = step.get("changes", [])
        if changes == "all":
            return {}
        keep = dict(facts)
        if "do" in step:
            keep = {k: f for k, f in keep.items() if k[0] != "labels"}
        for what in changes:
            if what in self.steps:
                gone = self.reads[what].key
                if gone:
                    keep = {k: f for k, f in keep.items() if k[:2] != gone[:2]}
            else:
                keep.pop(("numbers", what), None)
        return keep

    def leave(self, state):
        """(result index or None for `without`, where it ends or None, causes left, new state or None)"""
        name, facts, left, seen, told = state
        step, reads = self.steps[name], self.reads[name]
        seen = seen | ({name} & self.watched)
        is_test = "do" not in step and "which" not in step
        told = told or (is_test and not left - {"no-fault"})

        def go(index, way, facts, left):
            if isinstance(way, str):
                way = {"then": way}
            to = way.get("then")
            if to and not to.endswith("/"):
                return index, None, left, (to, frozenset(facts.items()), left, seen, told)
            return index, way, left, None

        facts = dict(facts)
        if "do" in step:
            yield go(0, {"then": step["then"]}, self.forget(name, facts), left)
            return
        if "which" in step:
            named = {v for r in step["results"] if r["for"] for v in r["for"]}
            for index, result in enumerate(step["results"]):
                if self.vehicle in (result["for"] or []) or (result["for"] is None and self.vehicle not in named):
                    yield go(index, result, facts, left)
            return
        known = facts.get(reads.key, reads.all)
        for index, result in enumerate(step["results"]):
            now = known & reads.by_result[index]
            if not now:
                continue
            after = dict(facts)
            if not reads.unknown and now != reads.all:
                after[reads.key] = now
            still = left - set(result.get("clears", []))
            if "leaves" in result:
                still &= set(result["leaves"])
            yield go(index, result, self.forget(name, after), still)
        if "without" in step:
            yield go(None, step["without"], facts, left)

    def known(self, state):
        return dict(state[1]).get(self.reads[state[0]].key, self.reads[state[0]].all)


def rings(nodes, arrows):
    """Strongly connected parts that hold a cycle (nodes reach each other and themselves)."""
    index, low, stack, on, found, count = {}, {}, [], set(), [], 0
    for root in nodes:
        if root in index:
            continue
        work = [(root, iter(arrows(root)))]
        index[root] = low[root] = count
        count += 1
        stack.append(root)
        on.add(root)
        while work:
            node, rest = work[-1]
            for to in rest:
                if to not in index:
                    index[to] = low[to] = count
                    count += 1
                    stack.append(to)
                    on.add(to)
                    work.append((to, iter(arrows(to))))
                    break
                if to in on:
                    low[node] = min(low[node], index[to])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[node])
                if low[node] == index[node]:
                    part = set()
                    while True:
                        other = stack.pop()
                        on.discard(other)
                        part.add(other)
                        if other == node:
                            break
                    if len(part) > 1 or node in set(arrows(node)):
                        found.append(part)
    return found


def merge(sets):
    """Joins sets that share a member."""
    made = []
    for one in map(set, sets):
        for other in [m for m in made if m & one]:
            one |= other
            made.remove(other)
        made.append(one)
    return [frozenset(m) for m in made]


def judge(base, name):
    procedure = base["procedures"][name]
    steps = procedure["steps"]
    runs = [Vehicle(base, procedure, v) for v in members(procedure["applies"])]
    found = set()
    entered = set().union(*[r.entered for r in runs])
    dead_and_gaps(steps, runs, found)
    unreached = unreachable(steps, entered, found)
    loops(steps, runs, found)
    verdicts(procedure, runs, unreached, found)
    evidence(procedure, runs, found)
    bays(base, steps, entered, found)
    return found


def dead_and_gaps(steps, runs, found):
    for name, step in steps.items():
        inside = [r for r in runs if name in r.entered]
        missing = frozenset(r.vehicle for r in inside if r.reads[name].missing)
        if missing:
            found.add(("missing-value", "error", name, None, missing))
        gaps, overlaps = set(), set()
        for run in inside:
            reads = run.reads[name]
            if reads.key is None or reads.unknown or reads.key[0] == "labels":
                continue
            brought = frozenset().union(*[run.known(s) for s in run.states if s[0] == name])
            if brought - frozenset().union(*reads.by_result):
                gaps.add(run.vehicle)
            if any(brought & a & b for i, a in enumerate(reads.by_result) for b in reads.by_result[:i]):
                overlaps.add(run.vehicle)
        if gaps:
            found.add(("reading-gap", "error", name, None, frozenset(gaps)))
        if overlaps:
            found.add(("reading-overlap", "error", name, None, frozenset(overlaps)))
        if "do" in step or not inside:
            continue
        for index, result in enumerate(step["results"]):
            dead = [r for r in inside
                    if not any(w[0] == index for s in r.states if s[0] == name for w in r.ways[s])]
            # `any other reading` that is empty is fine
            empty = [r for r in dead if "if" in result and result["if"]["kind"] == "rest" and not r.reads[name].by_result[index]]
            told = [r for r in dead if r not in empty]
            if len(dead) == len(inside) and told:
                found.add(("dead-result", "error", name, index, None))
            elif len(dead) < len(inside) and told and "which" not in step:
                found.add(("dead-result", "note", name, index, frozenset(r.vehicle for r in told)))


def arrows_of(step):
    ways = [step] if "do" in step else list(step["results"])
    if "without" in step:
        way = step["without"]
        ways.append({"then": way} if isinstance(way, str) else way)
    return [w["then"] for w in ways if "then" in w and not w["then"].endswith("/")]


def unreachable(steps, entered, found):
    lost = [s for s in steps if s not in entered]
    arrows = {s: set(arrows_of(steps[s])) for s in steps}
    from_live = {t for s in entered for t in arrows[s]}
    parts = merge([{a} for a in lost] + rings(lost, lambda s: [t for t in arrows[s] if t in lost]))
    for part in parts:
        direct = [s for s in part if s in from_live]
        source = not any(t in part for s in lost if s not in part for t in arrows[s])
        if direct:
            for step in direct:
                found.add(("unreachable-step", "error", step, None, None))
        elif source:
            found.add(("unreachable-step", "error", part if len(part) > 1 else next(iter(part)), None, None))
    return set(lost)


def loops(steps, runs, found):
    """One finding per ring ("one finding per rule, place and subject"): a ring is what possible paths go round among, and rings that
    share a step are one, on whichever vehicles they are (the README says so, since the pages leave it open). An endless ring may be
    told at any of its steps; a ring without a way out where it is entered, by the shortest path."""
    endless, stuck = [], []
    for run in runs:
        def onward(state):
            return [w[3] for w in run.ways[state] if w[3]]

        def passing(state):
            return [] if "do" in steps[state[0]] else [t for t in onward(state) if "do" not in steps[t[0]]]

        endless += [{s[0] for s in part} for part in rings(run.states, passing)]
        back = defaultdict(set)
        for state in run.states:
            for to in onward(state):
                back[to].add(state)
        # a path that stops in a gap is only that gap
        fine = {s for s in run.states if not run.ways[s] or any(w[1] is not None for w in run.ways[s])}
        queue = list(fine)
        while queue:
            for before in back[queue.pop()]:
                if before not in fine:
                    fine.add(before)
                    queue.append(before)
        trapped = run.states - fine
        for part in rings(trapped, lambda s: [t for t in onward(s) if t in trapped]):
            # where a job comes to rest: a ring that leads on to another is left in the end
            if all(t in part for s in part for t in onward(s)):
                ring = {s[0] for s in part}
                # the ring's steps may be entered while more is known than on the rounds that follow
                leading, queue = set(part), list(part)
                while queue:
                    for before in back[queue.pop()]:
                        if before in trapped and before[0] in ring and before not in leading:
                            leading.add(before)
                            queue.append(before)
                nearest = min(run.depth[s] for s in leading)
                stuck.append((ring, nearest, {s[0] for s in leading if run.depth[s] == nearest}))
    endless = merge(endless)
    found |= {("endless-loop", "error", ring, None, None) for ring in endless}
    for ring in merge(steps for steps, _, _ in stuck):
        if any(ring & other for other in endless):
            continue
        here = [(nearest, entries) for steps, nearest, entries in stuck if steps <= ring]
        nearest = min(n for n, _ in here)
        entries = frozenset().union(*[e for n, e in here if n == nearest])
        found.add(("no-way-out", "error", entries, None, None))


def verdicts(procedure, runs, unreached, found):
    steps = procedure["steps"]
    named = set()
    shown = defaultdict(set)
    for run in runs:
        for state, ways in run.ways.items():
            for index, way, left, _ in ways:
                if way is None:
                    continue
                left_listed = left - {"no-fault"}
                place = (state[0], index)
                if "normal" in way:
                    named.add("no-fault")
                    if left_listed:
                        found.add(("unsupported-verdict", "error", *place, None))
                elif way.get("found") == "what is left":
                    named |= left_listed
                    if not left_listed:
                        found.add(("unsupported-verdict", "error", *place, None))
                elif "found" in way:
                    named |= set(way["found"])
                    if left_listed - set(way["found"]):
                        found.add(("unsupported-verdict", "error", *place, None))
                    if not left_listed & set(way["found"]):
                        found.add(("ruled-out-verdict", "error", *place, None))
                elif "shows" in way:
                    named.add(way["shows"])
                    shown[place].add(way["shows"] in left)
    for place, ever in shown.items():
        if ever == {False}:
            found.add(("ruled-out-verdict", "warning", *place, None))
    lost = set()
    for name in unreached:
        ways = list(steps[name].get("results", [])) + ([steps[name]["without"]] if isinstance(steps[name].get("without"), dict) else [])
        for way in ways:
            if way.get("found") == "what is left":
                lost |= set(procedure["causes"])
            lost |= set(way["found"]) if isinstance(way.get("found"), list) else set()
            lost |= {way["shows"]} if "shows" in way else set()
            lost |= {"no-fault"} if "normal" in way else set()
    # an unreachable step hides the never-found that follow from it
    for cause in procedure["causes"]:
        if cause not in named and cause not in lost:
            found.add(("never-found", "warning", None, cause, None))


def ruled_out(result, causes):
    out = set(result.get("clears", []))
    if "leaves" in result:
        out |= causes - set(result["leaves"])
    return out


def evidence(procedure, runs, found):
    steps, causes = procedure["steps"], set(procedure["causes"])
    exists = set().union(*[r.causes for r in runs])
    for name, step in steps.items():
        if "do" in step:
            continue
        inside = [(r, s) for r in runs for s in r.states if s[0] == name]
        for later in step.get("after", []):
            if any(later not in s[3] for _, s in inside):
                found.add(("out-of-turn", "error", name, None, None))
        if "which" in step or not inside:
            continue
        if any(not s[2] - {"no-fault"} and not s[4] for _, s in inside):
            found.add(("nothing-left", "warning", name, None, None))
        for cause in causes - {"no-fault"}:
            # ruled-out causes "never come back, except by `shows`": a result that clears a cause and shows it leaves it
            every = all(r["shows"] != cause if "shows" in r else cause in ruled_out(r, causes) for r in step["results"])
            if every and any(cause in s[2] for _, s in inside):
                found.add(("impossible-cause", "warning", name, cause, None))
        def place(result):
            for key in ("then", "shows", "found", "normal", "unproven", "refer"):
                if key in result:
                    value = result[key]
                    return key, tuple(sorted(value)) if isinstance(value, list) else value
        if len({(place(r), frozenset(ruled_out(r, causes))) for r in step["results"]}) == 1:
            found.add(("no-news", "note", name, None, None))
        for index, result in enumerate(step["results"]):
            takers = [(r, s) for r, s in inside if any(w[0] == index for w in r.ways[s])]
            for cause in result.get("clears", []):
                if cause not in exists or (takers and all(cause not in s[2] for _, s in takers)):
                    found.add(("no-news", "note", name, (index, cause), None))


def bays(base, steps, entered, found):
    if not base["bays"]:
        return
    lacking = set()
    for name in entered:
        step = steps[name]
        if not step.get("with") or "without" in step:
            continue
        able = {b for b, has in base["bays"].items()
                if all(any(one in has for one in entry.split(" or ")) for entry in step["with"])}
        if not able:
            found.add(("blocked-bay", "error", name, None, None))
        else:
            lacking |= set(base["bays"]) - able
    for bay in lacking:
        found.add(("blocked-bay", "note", None, bay, None))
