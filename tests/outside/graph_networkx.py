"""The decision graph against NetworkX and Graphviz.

Usage: graph_networkx.py [KB]   (RULEOUT names the program; without a KB only random bases are judged)

For every procedure: the exported JSON, rebuilt by NetworkX, is the graph that PyYAML reads in the front matter. What
plain reachability, cycles and dominators say agrees with the findings: a step that no arrow reaches is reported (by
itself or as reached only through another), a ring is reported only where a cycle is, a step that is dominated by all of
its `after` is never out of turn, and where every arrow can be taken one that isn't dominated always is.
Graphviz draws every DOT export.
"""

import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile

import networkx
import yaml

sys.path.insert(0, str(pathlib.Path(__file__).parent / "brute"))

import generate  # noqa: E402
import write  # noqa: E402

ENDINGS = ("shows", "found", "normal", "unproven", "refer")
STEPS = {"measure", "observe", "do", "check", "which"}


def ruleout(*arguments):
    run = subprocess.run([os.environ["RULEOUT"], *map(str, arguments)], capture_output=True, text=True)
    if run.returncode > 1:
        raise SystemExit(f"{arguments} ended with {run.returncode}: {run.stderr}")
    return run.stdout


def listed(value):
    return value if isinstance(value, list) else [] if value is None else [value]


def front_matter(file):
    return yaml.load(file.read_text().split("\n---", 1)[0].removeprefix("---"), yaml.BaseLoader)


def way(result):
    """(step or None, kind of ending or None)"""
    if "then" in result:
        to = result["then"]
        return (None, "jump") if to.endswith("/") else (to, None)
    return None, next(k for k in ENDINGS if k in result)


def written(matter):
    """The arrows of the front matter: (from, step or kind of ending, if, clears)."""
    arrows = []
    for name, step in matter["steps"].items():
        for result in listed(step.get("results")) or [step]:
            to, kind = way(result)
            arrows.append((name, to or kind, result.get("if"), sorted(listed(result.get("clears")))))
        if "without" in step:
            without = step["without"]
            to, kind = way({"then": without} if isinstance(without, str) else without)
            arrows.append((name, to or kind, None, []))
    return sorted(arrows, key=str)


def rebuilt(export):
    graph = networkx.MultiDiGraph(start=export["start"])
    for node in export["nodes"]:
        graph.add_node(node["id"], kind=node["kind"])
    for edge in export["edges"]:
        if edge["from"] not in graph or edge["to"] not in graph:
            raise ValueError(f"the arrow {edge} leads from or to no node")
        graph.add_edge(edge["from"], edge["to"], condition=edge.get("if"), clears=sorted(edge["clears"]))
    return graph


def exported(graph):
    kinds = graph.nodes(data="kind")
    arrows = []
    for start, to, held in graph.edges(data=True):
        arrows.append((start, to if kinds[to] in STEPS else kinds[to], held["condition"], held["clears"]))
    return sorted(arrows, key=str)


def fresh(matter, checks):
    """Whether every path by arrows is possible: no ring, no routing, no reading taken twice, only labels."""
    keys = []
    for name, step in matter["steps"].items():
        if "which" in step or "measure" in step or "measure" in checks.get(step.get("check"), {}):
            return False
        keys.append(step.get("check", name))
    return len(keys) == len(set(keys))


def against_findings(graph, matter, checks, findings):
    """Disagreements, and how many questions were asked."""
    wrong, asked = [], 0
    start = graph.graph["start"]
    steps = [n for n, kind in graph.nodes(data="kind") if kind in STEPS]
    reach = networkx.descendants(graph, start) | {start}
    lost = [s for s in steps if s not in reach]
    told = {f.get("step") for f in findings if f["rule"] == "unreachable-step"}
    behind = set()
    for root in told:
        behind |= networkx.descendants(graph, root) | {root}
    for step in lost:
        asked += 1
        if step not in behind:
            wrong.append(f"no arrow leads to {step}, and no finding says so")
    for step in told & reach:
        asked += 1
        if all(start in (a, step) or a in lost for a in graph.predecessors(step)) and start in graph.predecessors(step):
            labels = [r for r in listed(matter["steps"][start].get("results")) if r.get("then") == step]
            if "observe" in matter["steps"][start] and labels:
                wrong.append(f"{step} is called unreachable, but a label of the first step leads there")
    on_ring = set()
    inner = graph.subgraph(steps)
    for part in networkx.strongly_connected_components(inner):
        node = next(iter(part))
        if len(part) > 1 or inner.has_edge(node, node):
            on_ring |= part
    for finding in findings:
        if finding["rule"] in ("endless-loop", "no-way-out"):
            asked += 1
            if finding["step"] not in on_ring:
                wrong.append(f"{finding['rule']} at {finding['step']}, which is on no cycle")
    dominators = networkx.immediate_dominators(networkx.DiGraph(graph.subgraph(reach)), start)
    out_of_turn = {f["step"] for f in findings if f["rule"] == "out-of-turn"}
    free = fresh(matter, checks) and not on_ring
    for name in set(steps) & reach:
        above, at = {name}, name
        while dominators.get(at, at) not in (None, at):
            at = dominators[at]
            above.add(at)
        wanted = set(listed(matter["steps"][name].get("after")))
        if not wanted:
            continue
        asked += 1
        if wanted <= above - {name} and name in out_of_turn:
            wrong.append(f"{name} is out of turn, but its `after` dominates it")
        if free and wanted - above and name not in out_of_turn:
            wrong.append(f"{name} can come before {sorted(wanted - above)}, and no finding says so")
    return wrong, asked


def judge(kb, dots):
    findings = {}
    for finding in json.loads(ruleout("lint", kb, "--format", "json"))["findings"]:
        findings.setdefault(finding.get("procedure"), []).append(finding)
    checks = {f.stem: front_matter(f) for f in (kb / "checks").glob("*.md")}
    wrong, asked = [], 0
    for file in sorted((kb / "procedures").rglob("*.md")):
        matter = front_matter(file)
        graph = rebuilt(json.loads(ruleout("--kb", kb, "export", file.stem, "--format", "json")))
        mine, theirs = exported(graph), written(matter)
        if mine != theirs:
            odd = [a for a in mine + theirs if (a in mine) != (a in theirs)]
            wrong.append(f"{file.stem}: not the graph of the front matter: {odd[:4]}")
        if graph.graph["start"] != next(iter(matter["steps"])):
            wrong.append(f"{file.stem}: starts at {graph.graph['start']}")
        more, questions = against_findings(graph, matter, checks, findings.get(file.stem, []))
        wrong += [f"{file.stem}: {w}" for w in more]
        asked += questions
        dots.append(ruleout("--kb", kb, "export", file.stem, "--format", "dot"))
    return wrong, asked


def drawn(dots):
    """How many pictures Graphviz makes of them, and what it complains of."""
    run = subprocess.run(["dot", "-Tsvg"], input="\n".join(dots), capture_output=True, text=True)
    return run.stdout.count("<svg "), run.stderr.strip()


def labels_only(base, rng):
    """Turns a random base into one of labels, so that dominators decide the order of steps alone."""
    for procedure in base["procedures"].values():
        for step in procedure["steps"].values():
            if "which" in step or "do" in step or step.pop("check", None) is None and "measure" not in step:
                continue
            step.pop("measure", None)
            step["observe"] = "Look at it"
            for index, result in enumerate(step["results"]):
                result["if"] = {"kind": "label", "words": f"label {index}"}
        names = list(procedure["steps"])
        for index, name in enumerate(names[1:], 1):
            if rng.random() < 0.5:
                procedure["steps"][name]["after"] = [rng.choice(names[:index])]
    return base


def main():
    dots, wrong, asked, procedures = [], [], 0, 0
    seed = 20310601
    bases = [pathlib.Path(sys.argv[1])] if len(sys.argv) > 1 else []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(4):
            rng = random.Random(seed + number)
            base = generate.base(rng, 40)
            made = pathlib.Path(folder) / str(number)
            write.write(labels_only(base, rng) if number % 2 else base, made)
            bases.append(made)
        for kb in bases:
            more, questions = judge(kb, dots)
            wrong += [f"{kb.name}/{w}" for w in more]
            asked += questions
    pictures, complaint = drawn(dots)
    if pictures != len(dots) or complaint:
        wrong.append(f"Graphviz drew {pictures} of {len(dots)}: {complaint[:300]}")
    for line in wrong[:30]:
        print(line)
    print(f"networkx: seed {seed}, {len(dots)} graphs, {asked} questions, {len(wrong)} differ")
    sys.exit(1 if wrong or asked < len(dots) // 2 else 0)


if __name__ == "__main__":
    main()
