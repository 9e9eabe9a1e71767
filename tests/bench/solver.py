"""How long a small network takes: on this machine, beside numpy on the same matrix, and in WebAssembly under node.

    .venv/bin/python -m tests.bench.solver

Printed, never asserted. The machine may be busy: the least of several rounds is given.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from calc.physics.network import GROUND, CurrentLoad, Element, Resistance, Source, solve
from tests.calc.networks import grid, with_power

SIZES = (5, 10, 15)
LOADS = (0, 1, 3)
ROUNDS, TIMES = 7, 50

PROGRAM = """
import json
from tests.bench import solver

print(json.dumps(solver.times()))
"""


def networks() -> dict[str, list[Element]]:
    """Return the networks that are timed: nodes and power loads → parts, the same in every run."""
    found = {}
    for size in SIZES:
        parts = grid(random.Random(size), size, 2, 2)
        for loads in LOADS:
            found[f"{size} nodes, {loads} power loads"] = with_power(random.Random(1), parts, loads, (0.5, 0.5))
    return found


def least(work: Callable[[], object]) -> float:
    """Return the milliseconds of one call, the least of several rounds."""
    work()
    taken = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        for _ in range(TIMES):
            work()
        taken.append((time.perf_counter() - begun) / TIMES)
    return 1000 * min(taken)


def times() -> dict[str, float]:
    """Return the milliseconds of each network."""
    return {name: least(lambda parts=parts: solve(parts)) for name, parts in networks().items()}


def matrix(parts: list[Element]) -> tuple[list[list[float]], list[float]]:
    """Return the conductances and currents of a network's nodes, its power loads left out."""
    ends = [(e.a, e.b) if isinstance(e, Resistance) else (e.plus, e.minus) for e in parts]
    nodes = {node: k for k, node in enumerate(sorted({n for pair in ends for n in pair} - {GROUND}))}
    square = [[0.0] * len(nodes) for _ in nodes]
    right = [0.0] * len(nodes)
    for e, pair in zip(parts, ends, strict=True):
        for here, there, sign in ((*pair, 1), (*pair[::-1], -1)):
            if here == GROUND:
                continue
            k = nodes[here]
            if isinstance(e, CurrentLoad):
                right[k] -= sign * e.current
            if isinstance(e, Resistance | Source):
                square[k][k] += 1 / e.resistance
                if there != GROUND:
                    square[k][nodes[there]] -= 1 / e.resistance
            if isinstance(e, Source):
                right[k] += sign * e.voltage / e.resistance
    return square, right


def in_numpy() -> dict[str, float]:
    """Return the milliseconds that numpy takes for the matrix alone, made before."""
    import numpy

    found = {}
    for name, parts in networks().items():
        square, right = (numpy.array(part) for part in matrix(parts))
        found[name] = least(lambda square=square, right=right: numpy.linalg.solve(square, right))
    return found


def in_webassembly() -> dict[str, float]:
    """Return the milliseconds of each network in the phone's Python, under node."""
    from site_src import builder, runtime

    here = Path(__file__).parent.parent
    tests = {f"tests/{name}": (here / name).read_bytes() for name in ("bench/solver.py", "calc/networks.py")}
    tests |= {f"tests/{name}__init__.py": b"" for name in ("", "bench/", "calc/")}
    say = lambda words: print(words, file=sys.stderr)  # noqa: E731
    files = runtime.engine_files(builder.book_sources() | tests, say, builder.EXERCISE)
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "solver_times.py"
        program.write_text(PROGRAM, "utf-8")
        return json.loads(runtime.run_python(files, program))


def main() -> None:
    """Measure everything and print the table."""
    columns = times(), in_numpy(), in_webassembly()
    print(f"| {'one solve, everything included [ms]':<36} | {'host':>7} | {'numpy':>7} | {'wasm':>7} |")
    print(f"| {'-' * 36} | {'-' * 7} | {'-' * 7} | {'-' * 7} |")
    for name in columns[0]:
        print(f"| {name:<36} | " + " | ".join(f"{column[name]:7.3f}" for column in columns) + " |")
    print("\nnumpy: its solve alone, of the conductance matrix without power loads, made before.")


if __name__ == "__main__":
    main()
