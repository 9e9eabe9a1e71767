"""How long a trip takes: on this machine, beside SciPy on the same law, and in WebAssembly under node.

    .venv/bin/python -m tests.bench.trip

Printed, never asserted. The machine may be busy: the least time of its own processor of several rounds is given.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from calc.physics.trip import Start, simulate
from calc.physics.trip_course import Course
from tests.calc.trips import WAYS, WEEK, vehicle

ROUNDS = 5

PROGRAM = """
import json
from tests.bench import trip

print(json.dumps(trip.times()))
"""


EXERCISE = 'import json; from tests.bench.trip import WEEK, simulate, vehicle; simulate(vehicle("charger"), WEEK[:1])'
"""What the phone's Python must hold for this."""


def least(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the milliseconds of one call, the least of several rounds."""
    work()
    taken = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return 1000 * min(taken)


def times() -> dict[str, float]:
    """Return the milliseconds of each trip."""
    found = {}
    for chemistry in ("agm", "lfp"):
        for kind in ("fixed", "smart"):
            made = vehicle("charger", chemistry, kind)
            found[f"a week, {chemistry}, {kind} alternator"] = least(lambda made=made: simulate(made, WEEK))
    five = [vehicle(way) for way in WAYS]
    found["a week, joined in five ways"] = least(lambda: [simulate(made, WEEK) for made in five])
    return found


def on_the_host() -> dict[str, float]:
    """Return the milliseconds of what only the host can do, or does in good time."""
    made = vehicle("charger")
    return {
        "a week by SciPy's LSODA at rtol 1e-6": least(lambda: by_scipy(made)),
        "52 weeks in one run": least(lambda: simulate(made, WEEK * 52), 1),
    }


def by_scipy(made) -> None:
    """Follow a week with the same law and the same events, but SciPy's steps; energy is left out."""
    from scipy.integrate import solve_ivp

    course = Course(made, WEEK, Start(), None)
    mode, state = course.begin(course.first_state())
    time = 0.0
    while not course.over:
        rules = [guard(mode, n) for n in range(len(mode.guards(time, state, mode.here[2])))]
        which = None
        if mode.until > time:
            done = solve_ivp(slopes(mode), (time, mode.until), state, "LSODA", events=rules, rtol=1e-6, atol=1e-6)
            time, state = done.t[-1], tuple(done.y[:, -1])
            which = next((n for n, times in enumerate(done.t_events) if len(times)), None)
        following = course.change(time, state, which, mode.rates(time, state)[2])
        mode, state = following or (mode, state)


def slopes(mode):
    """Return a law as SciPy wants it."""
    return lambda t, y: mode.rates(t, y)[0]


def guard(mode, n: int):
    """Return a guard as SciPy wants it."""

    def crosses(t: float, y) -> float:
        return mode.guards(t, y, mode.rates(t, y)[2])[n]

    crosses.terminal, crosses.direction = True, -1
    return crosses


def in_webassembly() -> dict[str, float]:
    """Return the milliseconds of each trip in the phone's Python, under node."""
    from site_src import builder, runtime

    here = Path(__file__).parent.parent
    tests = {f"tests/{name}": (here / name).read_bytes() for name in ("bench/trip.py", "calc/trips.py")}
    tests |= {f"tests/{name}__init__.py": b"" for name in ("", "bench/", "calc/")}
    say = lambda words: print(words, file=sys.stderr)  # noqa: E731
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "trip_times.py"
        program.write_text(PROGRAM, "utf-8")
        files = runtime.engine_files(builder.book_sources() | tests, say, EXERCISE)
        return json.loads(runtime.run_python(files, program))


def main() -> None:
    """Measure everything and print the table."""
    host, wasm = times(), in_webassembly()
    print(f"| {'one trip, all included [ms]':<36} | {'host':>8} | {'wasm':>8} |")
    print(f"| {'-' * 36} | {'-' * 8} | {'-' * 8} |")
    for name in host:
        print(f"| {name:<36} | {host[name]:8.1f} | {wasm[name]:8.1f} |")
    more = on_the_host()
    for name, taken in more.items():
        print(f"| {name:<36} | {taken:8.1f} | {'':8} |")
    week = host["a week, agm, fixed alternator"]
    slow, year = more.values()
    print(f"\nSciPy takes {slow / week:.1f} times as long; 52 weeks take {year / week:.1f} times as long as one.")


if __name__ == "__main__":
    main()
