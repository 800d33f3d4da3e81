"""Every flow and evidence rule, and gaps and overlaps, against a brute force over random small bases.

Usage: brute_force.py [--seed N] [--bases N] [--procedures N] [--all]

The oracle (brute/oracle.py) is written from the language's pages alone. RULEOUT names the program to judge. On a
disagreement the seed and the smallest base that still shows it are printed, and the run fails.
"""

import argparse
import collections
import pathlib
import random
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent / "brute"))

import compare  # noqa: E402
import generate  # noqa: E402
import shrink  # noqa: E402
import write  # noqa: E402


def tell(base, name, wanted):
    small = shrink.shrink(base, name, wanted)
    if small is None:
        print("  (shows only together with the other procedures)")
        return
    folder = pathlib.Path(tempfile.mkdtemp(prefix="brute-"))
    write.write(small, folder)
    for file in ("specs/all.yaml", f"procedures/{name}.md", "shop.yaml"):
        print(f"  --- {file}")
        print("  " + "\n  ".join((folder / file).read_text().split("\n## ")[0].splitlines()))
    for side, one in compare.check(small)[0].get(name, []):
        print(f"  {side}: {compare.shown(one)}")


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--seed", type=int, default=20310514)
    arguments.add_argument("--bases", type=int, default=20)
    arguments.add_argument("--procedures", type=int, default=150)
    arguments.add_argument("--all", action="store_true", help="shrink one disagreement of every kind, not just the first")
    asked = arguments.parse_args()
    compared = procedures = 0
    kinds = collections.Counter()
    for number in range(asked.bases):
        seed = asked.seed + number
        base = generate.base(random.Random(seed), asked.procedures)
        wrong, count = compare.check(base)
        compared += count
        procedures += len(base["procedures"])
        for name, different in wrong.items():
            for side, one in different:
                kind = (side, *one[:2])
                kinds[kind] += 1
                if kinds[kind] == 1 and (asked.all or len(kinds) == 1):
                    print(f"seed {seed}, procedure {name}: {side}: {compare.shown(one)}")
                    if name != "generator":
                        tell(base, name, (side, one))
    for kind, count in sorted(kinds.items()):
        print(f"{count:6} {' '.join(kind)}")
    print(f"brute force: seed {asked.seed}, {procedures} procedures, {compared} findings compared, {sum(kinds.values())} differ")
    if compared < procedures:
        print("too few findings to mean anything")
        sys.exit(1)
    sys.exit(1 if kinds else 0)


if __name__ == "__main__":
    main()
