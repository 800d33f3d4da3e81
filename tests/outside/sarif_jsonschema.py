"""SARIF logs of every literate case and of the knowledge bases named, against the schema of OASIS (as @microsoft/jest-sarif carries
it), by jsonschema; and what the schema can't say: places lie inside their files, rule indexes lead to their rules.

Usage: sarif_jsonschema.py DUMP KB..."""

import json
import os
import pathlib
import subprocess
import sys

import jsonschema

here = pathlib.Path(__file__).parent
schema = json.loads((here / "node_modules/@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json").read_text())
check = jsonschema.validators.validator_for(schema)(schema)


def judge(name, log):
    problems = [f"{name}: {'/'.join(map(str, e.absolute_path))}: {e.message[:200]}" for e in check.iter_errors(log)]
    for run in log["runs"]:
        rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
        seen = set()
        for result in run["results"]:
            if rules[result["ruleIndex"]] != result["ruleId"]:
                problems.append(f"{name}: {result['ruleId']} has another rule's index")
            key = result["partialFingerprints"]["ruleout/v1"]
            if key in seen:
                problems.append(f"{name}: the fingerprint {key} stands twice")
            seen.add(key)
    return problems


problems, logs, results, flows, fixes = [], 0, 0, 0, 0
dumped = sorted(pathlib.Path(sys.argv[1], "sarif").glob("*.json"))
texts = [(path.name, path.read_text()) for path in dumped]
for base in sys.argv[2:]:
    run = subprocess.run([os.environ["RULEOUT"], "lint", base, "--format", "sarif"], capture_output=True, text=True)
    assert run.returncode in (0, 1), run.stderr
    texts.append((base, run.stdout))
for name, text in texts:
    log = json.loads(text)
    problems += judge(name, log)
    logs += 1
    for result in log["runs"][0]["results"]:
        results += 1
        flows += "codeFlows" in result
        fixes += "fixes" in result
print(f"{logs} logs, {results} results, {flows} with a code flow, {fixes} with a fix")
assert min(logs - 50, results - 200, flows - 10, fixes - 20) > 0, "too little was judged"
if problems:
    sys.exit("\n".join(problems[:40]))
