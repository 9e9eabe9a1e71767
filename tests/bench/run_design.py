"""How long the phone's Python takes to design a whole wiring run, printed against its target and never asserted.

    .venv/bin/python -m tests.bench.run_design

Runs in WebAssembly under node. "New" asks for a run that was not asked before; "again" asks for the one just asked. The
machine may be busy: the fastest of several rounds is told beside the median.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from site_src import builder, runtime

TARGET = 50
PROGRAM = """
import json, time
import calc
from calc.setup import demos

CHECK = calc.checks()["wiring-run"]


def timed(ask, rounds):
    taken = []
    for n in range(rounds):
        begun = time.perf_counter()
        ask(n)
        taken.append(1000 * (time.perf_counter() - begun))
    return sorted(taken)[len(taken) // 2], min(taken), max(taken)


def design(link):
    return lambda n: calc.run(CHECK.id, {**CHECK.example, "link": link, "current": f"{20 + n / 7} A",
                                         "length_1": f"{4 + n / 11} m", "load_current": f"{8 + n / 3} A"})


def same(n):
    calc.run(CHECK.id, CHECK.example)


found = {"the first of all, everything cold": timed(same, 1)}
for link in ("charger", "relay"):
    found[f"a new run with a {link}"] = timed(design(link), 60)
found["the same again"] = timed(same, 60)
for name in demos.NAMES:
    found[f"from the set-up {name}"] = timed(lambda n: calc.run(CHECK.id, {}, demos.demo(name)), 20)
impossible = {**CHECK.example, "length_1": "60 m", "current": "200 A"}
found["a run that cannot be"] = timed(lambda n: calc.run(CHECK.id, impossible), 20)
print(json.dumps(found))
"""


def main() -> None:
    """Measure and print the table."""
    files = runtime.engine_files(builder.book_sources(), print, builder.EXERCISE)
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "design.py"
        program.write_text(PROGRAM, "utf-8")
        found = json.loads(runtime.run_python(files, program))
    print(f"\nA whole wiring run in WebAssembly [ms], target {TARGET}\n")
    print(f"| {'what':<36} | {'median':>8} | {'fastest':>8} | {'slowest':>8} |")
    print(f"| {'-' * 36} | {'-' * 8} | {'-' * 8} | {'-' * 8} |")
    for what, (median, least, most) in found.items():
        print(f"| {what:<36} | {median:>8.1f} | {least:>8.1f} | {most:>8.1f} |")


if __name__ == "__main__":
    main()
