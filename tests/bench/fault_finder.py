"""How good and how quick the fault finder is: tables over simulated vehicles, printed and never asserted.

    .venv/bin/python -m tests.bench.fault_finder [CASES [FIXED]]      odds, confusions, readings against fixed orders
    .venv/bin/python -m tests.bench.fault_finder speed                the next reading in the phone's Python, under node

CASES are broken vehicles (2000); every FIXED-th of them (5) is also searched by every fixed order.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from site_src import builder, runtime
from tests.calc import fault_trial as trial

SEED, EACH = 2026, 40
TARGET = 150
PROGRAM = """
import json, time
import calc
from calc.checks import fault_finder
from calc.physics import diagnosis

CHECK = calc.checks()["fault-finder"]
STEPS = ("", "second rested 11.7 V", "second rested 11.7 V; starter running 14.2 V",
         "second rested 11.7 V; starter running 14.2 V; second running 11.7 V",
         "second rested 12.7 V; starter running 14.2 V; second running 14.0 V; load load-on 12.5 V")


def ask(link, readings):
    begun = time.perf_counter()
    calc.run(CHECK.id, {"link": link, "readings": readings})
    return 1000 * (time.perf_counter() - begun)


found = {}
for link in ("relay", "charger", "none"):
    found[f"{link}, the first of all"] = [ask(link, "")]
    for n, readings in enumerate(STEPS):
        found[f"{link}, with {n} readings"] = sorted(ask(link, readings) for _ in range(12))
print(json.dumps(found))
"""


def speed() -> None:
    """Print how long an answer takes in WebAssembly."""
    files = runtime.engine_files(builder.book_sources(), print, builder.EXERCISE)
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "finder.py"
        program.write_text(PROGRAM, "utf-8")
        found = json.loads(runtime.run_python(files, program))
    print(f"\nThe fault finder's whole answer in WebAssembly [ms], target {TARGET} after the first\n")
    print(f"| {'what':<28} | {'median':>8} | {'fastest':>8} | {'slowest':>8} |")
    for what, taken in found.items():
        print(f"| {what:<28} | {taken[len(taken) // 2]:>8.1f} | {taken[0]:>8.1f} | {taken[-1]:>8.1f} |")


def quality(cases: int, every: int) -> None:
    """Print how often it is right, how soon, and how honest its odds are."""
    found = list(trial.trial(SEED, max(1, cases // EACH), EACH, {"finder": trial.most_telling}))
    outcomes = [one["finder"] for one in found]
    print(trial.summary(outcomes))
    print("\nStated odds against truth\n")
    for low, high, count, said, true in trial.reliability(outcomes):
        print(f"| {low:.2f} to {high:.2f} | {count:>6} | said {said:.3f} | true {true:.3f} |")
    print("\nBy cause: cases, share ranked first, median of readings\n")
    for cause, count, right, readings in trial.by_cause(outcomes):
        print(f"| {cause:<24} | {count:>4} | {right:.2f} | {readings:>4.1f} |")
    print("\nTaken for something else\n")
    for true, named, count in trial.confusion(outcomes):
        print(f"| {true:<24} | {named:<24} | {count:>3} |")
    print("\nReadings against fixed orders, same inference, same stop\n")
    choosers = {"finder": trial.most_telling} | {k: trial.in_order(text) for k, text in trial.FIXED.items()}
    some = list(trial.trial(SEED + 1, max(1, cases // EACH), max(1, EACH // every), choosers))
    for name in choosers:
        print(f"| {name:<18} | {trial.summary([one[name] for one in some])} |")


if __name__ == "__main__":
    if sys.argv[1:] == ["speed"]:
        speed()
    else:
        quality(*map(int, [*sys.argv[1:], 2000, 5][:2] if len(sys.argv) < 3 else sys.argv[1:3]))
