"""Random and hostile requests in numbers, on all cores: `.venv/bin/python -m tests.bench.fuzz [count] [first seed]`.

Prints how many were refused, answered or opened, and every harm; ends with 1 if there was any.
"""

from __future__ import annotations

import json
import os
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

from tests.calc.hostile import judged, requests

EACH = 1000


def put(seed: int) -> tuple[Counter[str], list[str]]:
    """Make the requests of one seed; return what came of them, and every harm with its request."""
    tally, found = Counter(), []
    for asked in requests(seed, EACH):
        what = str(asked.get("check", asked.get("do")))[:40]
        told, wrong = judged(asked)
        if wrong:
            tally["harm"] += 1
            found.append(f"{wrong}\n    {json.dumps(asked)[:2000]}")
        else:
            tally["refused" if "error" in told or "errors" in told else f"taken: {what}"] += 1
    return tally, found


def main(count: int, first: int) -> int:
    """Make all requests and print what came of them."""
    tally = Counter()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for its_tally, harms in pool.map(put, range(first, first + count // EACH)):
            tally += its_tally
            print(f"{tally.total()} requests, {tally['harm']} harms", *harms, sep="\n", flush=True)
    for what, number in tally.most_common():
        print(f"| {what:<32} | {number:>7} |")
    return tally["harm"] > 0


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    sys.exit(main(given[0] if given else 100_000, given[1] if len(given) > 1 else 1000))
