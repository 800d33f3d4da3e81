"""A base as files, and where each step and result came to stand."""

import json

from generate import EQUIPMENT, GROUPS, VEHICLES


def flow(value):
    return json.dumps(value, ensure_ascii=False)


def reading_value(value):
    if value == "TBD":
        return "TBD"
    return "{" + ", ".join(f"{name}: {flow(r['words'])}" for name, r in value.items()) + "}"


def result_line(result):
    parts = []
    if "if" in result:
        parts.append(f"if: {flow(result['if']['words'])}")
    elif result.get("for") is None:
        parts.append("for: any other vehicle")
    else:
        parts.append(f"for: {flow(result['for'])}")
    for key in ("clears", "leaves", "then", "shows", "found", "normal", "unproven", "refer"):
        if key in result:
            parts.append(f"{key}: {flow(result[key])}")
    return "      - {" + ", ".join(parts) + "}"


def procedure_text(procedure):
    """(text, {line: (step, result index or None for `without`)})"""
    lines = ["---", "complaint: It does not work", f"applies: {flow(procedure['applies'])}", "causes:"]
    for name, cause in procedure["causes"].items():
        title = "" if name == "no-fault" else f"title: The {name} part, "
        scope = f", for: {flow(cause['for'])}" if "for" in cause else ""
        lines.append(f"  {name}: {{{title}share: 10{scope}}}")
    lines.append("steps:")
    places = {}
    for name, step in procedure["steps"].items():
        lines.append(f"  {name}:")
        kind = next(k for k in ("measure", "observe", "do", "check", "which") if k in step)
        what = step[kind]
        if isinstance(what, dict):
            what = f"{{quantity: {what['quantity']}, at: here, source: Invented for the test}}"
        lines.append(f"    {kind}: {what}")
        if kind not in ("do", "which"):
            lines.append("    minutes: 1")
        for key in ("with", "after"):
            if step.get(key):
                lines.append(f"    {key}: {flow(step[key])}")
        if step.get("changes"):
            lines.append(f"    changes: {flow(step['changes'])}")
        if "without" in step:
            lines.append(f"    without: {flow(step['without'])}")
            places[len(lines)] = (name, None)
        if "then" in step:
            lines.append(f"    then: {step['then']}")
        if "results" in step:
            lines.append("    results:")
            for index, result in enumerate(step["results"]):
                lines.append(result_line(result))
                places[len(lines)] = (name, index)
    lines += ["---", "It does not work.", ""]
    for name, step in procedure["steps"].items():
        lines += [f"## Step {name} {{#{name}}}", "", "Do it.", ""]
    return "\n".join(lines), places


TAIL = """---
complaint: The rest of it
causes: {tail: {title: The tail, share: 1}}
steps:
  end: {observe: The tail, minutes: 1, results: [{if: torn, shows: tail}, {if: whole, clears: [tail], normal: it is well}]}
---
The rest of it.

## The tail {#end}

Look.
"""


def write(base, folder):
    """Writes the base and returns {procedure: {line: (step, result index)}}."""
    for sub in ("specs", "checks", "procedures"):
        (folder / sub).mkdir(parents=True, exist_ok=True)
    bays = ", ".join(f"{b}: {{title: {b}, has: {flow(has)}}}" for b, has in base["bays"].items())
    shop = "title: Test\n" + (f"bays: {{{bays}}}\n" if bays else "")
    (folder / "shop.yaml").write_text(shop)
    (folder / "vehicles.yaml").write_text("".join(f"{v}: {{title: {v}, groups: {flow(GROUPS[v])}}}\n" for v in VEHICLES))
    (folder / "equipment.yaml").write_text("".join(f"{e}: {{title: The {e}}}\n" for e in EQUIPMENT))
    text = ""
    for name, spec in base["specs"].items():
        text += f"{name}:\n  title: {name}\n  quantity: {spec['quantity']}\n  source: Invented for the test\n"
        if "*" in spec["values"]:
            text += f"  value: {reading_value(spec['values']['*'])}\n"
        else:
            text += "  values:\n" + "".join(f"    {who}: {reading_value(v)}\n" for who, v in spec["values"].items())
    (folder / "specs" / "all.yaml").write_text(text)
    for name, check in base["checks"].items():
        kind = "measure" if "measure" in check else "observe"
        (folder / "checks" / f"{name}.md").write_text(f"---\n{kind}: {check[kind]}\nminutes: 1\n---\nDo it.\n")
    (folder / "procedures" / "tail.md").write_text(TAIL)
    places = {}
    for name, procedure in base["procedures"].items():
        text, places[name] = procedure_text(procedure)
        (folder / "procedures" / f"{name}.md").write_text(text)
    return places
