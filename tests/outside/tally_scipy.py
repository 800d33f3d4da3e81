"""The intervals of `tally` against SciPy.

Usage: tally_scipy.py FOLDER   (FOLDER/tally.json comes from `RULEOUT_OUT=FOLDER cargo test --test it dump_`)
"""

import json
import pathlib
import sys

from scipy.stats import beta


def interval(for_it, against_it):
    if for_it <= 0:
        return 0.0, 0.0
    if against_it <= 1e-9:
        return 1.0, 1.0
    return tuple(beta(for_it, against_it).interval(0.9))


def main():
    rows = json.loads((pathlib.Path(sys.argv[1]) / "tally.json").read_text())
    wrong = checked = 0
    for row in rows:
        shares, counts = row["shares"], row["counts"]
        if not sum(shares):
            shares = [1] * len(shares)
        jobs = sum(counts)
        for share, count, found in zip(shares, counts, row["found"]):
            authored = share / sum(shares)
            alpha = 10 * authored + count
            low, high = interval(alpha, 10 + jobs - alpha)
            least, most = interval(count + 0.5, jobs - count + 0.5 * (len(shares) - 1))
            against = jobs > 0 and not least <= authored <= most
            near = all(
                abs(ours - theirs) <= 1e-9
                for ours, theirs in [(found["share"], alpha / (10 + jobs)), (found["low"], low), (found["high"], high)]
            )
            checked += 1
            if not near or found["against"] != against:
                wrong += 1
                print(f"{share} of {sum(shares)}, {count} of {jobs} jobs: {found}, but SciPy says {low} to {high}, {against}")
    print(f"{checked} intervals, {wrong} wrong")
    sys.exit(1 if wrong or not checked else 0)


if __name__ == "__main__":
    main()
