"""Our JSON Schemas by an independent validator: they are schemas, the demonstration is valid, and they agree with the parser.

Usage: schema_jsonschema.py FOLDER KB   (FOLDER/schema.json comes from `RULEOUT_OUT=FOLDER cargo test --test it dump_`)

Every file of KB is read twice: with every scalar as text, as our own reader does, and with PyYAML's own typing (YAML 1.1:
`off` is false, `2031-05-04` a date), as an editor's reader may. Both must be valid. Every changed file of the dump must be
valid if and only if the parser found nothing wrong with its shape.
"""

import json
import pathlib
import sys

import yaml
from jsonschema import Draft202012Validator

# What the parser tells of a file's content, where the shape is fine and no schema can know.
CONTENT = ("no result here is for", "two results here are for", "stands on two results", "expected amounts, found", "a band's name holds no word",
           "alone can't be `TBD`", "expected an ending in the `without` of a check")


class Text(yaml.BaseLoader):
    """Every scalar a text; nothing after a key is nothing."""


def scalar(loader, node):
    return None if node.value == "" and node.style is None else node.value


class Typed(yaml.SafeLoader):
    """PyYAML's own typing, but a date stays text: JSON has none."""


Text.add_constructor("tag:yaml.org,2002:str", scalar)
def keys_as_written(loader, node):
    """A mapping whose keys stay text: to YAML 1.1 the key `on` is true, and an editor's reader shows it as written."""
    return {key.value: loader.construct_object(value, deep=True) for key, value in node.value}


Typed.add_constructor("tag:yaml.org,2002:map", keys_as_written)
Typed.add_constructor("tag:yaml.org,2002:timestamp", lambda loader, node: node.value)


def kind_of(path):
    """The kind of a file of the base, by its place."""
    folder = path.parts[0]
    pages = {"procedures": "procedure", "checks": "check", "repairs": "repair", "systems": "system", "cases": "case", "specs": "specs"}
    if len(path.parts) == 1:
        return path.stem if path.suffix == ".yaml" else None
    return pages.get(folder)


def front_matter(path):
    text = path.read_text(encoding="utf-8")
    return text.split("---\n", 2)[1] if path.suffix == ".md" else text


def texts(value):
    """Keys as JSON has them: text."""
    if isinstance(value, dict):
        return {str(key): texts(item) for key, item in value.items()}
    return [texts(item) for item in value] if isinstance(value, list) else value


def demonstration(root, validators, wrong):
    count = 0
    for path in sorted(root.rglob("*")):
        kind = kind_of(path.relative_to(root)) if path.is_file() else None
        if kind is None:
            continue
        for loader in (Text, Typed):
            value = texts(yaml.load(front_matter(path), loader))
            for error in validators[kind].iter_errors(value or {}):
                wrong.append(f"{path} ({loader.__name__}): {error.json_path}: {error.message[:200]}")
        count += 1
    return count


def main(folder, kb):
    dump = json.loads((pathlib.Path(folder) / "schema.json").read_text())
    wrong = []
    for schema in (*dump["schemas"].values(), dump["all"]):
        Draft202012Validator.check_schema(schema)
    validators = {kind: Draft202012Validator(schema) for kind, schema in dump["schemas"].items()}
    every = Draft202012Validator(dump["all"])
    files = demonstration(pathlib.Path(kb), validators, wrong)
    refused = 0
    for answer in dump["answers"]:
        told = [message for message in answer["told"] if not any(words in message for words in CONTENT)]
        valid = validators[answer["kind"]].is_valid(answer["value"])
        refused += not valid
        if valid != (not told):
            wrong.append(f"{answer['kind']} {answer['change']}: the schema says {'fine' if valid else 'wrong'}, the parser {told}")
        if valid and not every.is_valid(answer["value"]):
            wrong.append(f"{answer['kind']} {answer['change']}: the schema of everything refuses it")
    for line in wrong[:40]:
        print(line)
    print(f"{files} files of the demonstration, {len(dump['answers'])} changed files ({refused} refused), {len(wrong)} differ")
    return 1 if wrong or files < 20 or refused < 500 else 0


sys.exit(main(*sys.argv[1:]))
