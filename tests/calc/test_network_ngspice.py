"""Random networks against ngspice, a circuit simulator that shares no code with this book."""

import os
import random
import re
import shutil
import subprocess

import pytest

from calc.physics.network import CurrentLoad, PowerLoad, Resistance, Source, Switch, most_power, solve
from tests.calc.networks import grid, with_power

NGSPICE = shutil.which("ngspice")
IN_CI = os.environ.get("CI") == "true"

LINEAR = 30
POWERED = 20
NEAR_COLLAPSE = 10

AGREEMENT = 1e-6
"""Volts. ngspice stops when a step is below reltol=1e-9 of a voltage near 15 V, so that it is good for about 1e-8 V;
at 99 % of the most that can be drawn, a voltage answers to a slip in the power about ten times as strongly."""

OPTIONS = ".options reltol=1e-9 vntol=1e-10 abstol=1e-12 gmin=1e-18 itl1=2000"


@pytest.fixture(autouse=True)
def _simulator():
    if not NGSPICE and not IN_CI:
        pytest.skip("ngspice is not installed here")
    assert NGSPICE, "ngspice is missing, and continuous integration must have it"


def circuits():
    """Return every network by name, the same in every run."""
    rng = random.Random(20240229)
    found = {}
    for k in range(LINEAR):
        nodes = 4 + k % 12
        found[f"linear {k}"] = grid(rng, nodes, rng.randint(1, 4), rng.randint(1, 5))
    for k in range(POWERED):
        nodes = 4 + (5 * k) % 12
        found[f"power {k}"] = with_power(
            rng, grid(rng, nodes, rng.randint(1, 4), 1), rng.randint(1, 3), (0.3, 0.9), True
        )
    for k in range(NEAR_COLLAPSE):
        nodes = 4 + (7 * k) % 12
        loads = 1 + k % 3
        found[f"near collapse {k}"] = with_power(rng, grid(rng, nodes, 2, 0), loads, (0.95, 0.99), True)
    return found


def spice_lines(parts):
    """Return a network in ngspice's words."""
    for e in parts:
        if isinstance(e, Resistance):
            yield f"R{e.name} {e.a} {e.b} {e.resistance!r}"
        elif isinstance(e, Switch):
            yield f"V{e.name} {e.a} {e.b} 0" if e.closed else f"* {e.name} is open"
        elif isinstance(e, Source) and (e.limit or e.one_way):
            asks = f"({e.voltage!r} - v({e.plus},{e.minus})) / {e.resistance!r}"
            yield f"B{e.name} {e.minus} {e.plus} I = min({e.limit!r}, max({0 if e.one_way else -1e9!r}, {asks}))"
        elif isinstance(e, Source):
            yield f"V{e.name} in_{e.name} {e.minus} {e.voltage!r}"
            yield f"R{e.name} in_{e.name} {e.plus} {e.resistance!r}"
        elif isinstance(e, CurrentLoad):
            yield f"I{e.name} {e.plus} {e.minus} {e.current!r}"
        elif isinstance(e, PowerLoad):
            yield f"B{e.name} {e.plus} {e.minus} I = {e.input_power!r} / v({e.plus},{e.minus})"


def without_load(parts):
    """Return the voltages with no power drawn: where ngspice is told to start, so that it finds the upper branch."""
    return solve([PowerLoad(e.name, e.plus, e.minus, 0.0) if isinstance(e, PowerLoad) else e for e in parts]).voltages


def simulated(networks, folder):
    """Return node voltages of many networks, all from one run of ngspice."""
    control = ["set numdgt=14"]
    for number, parts in enumerate(networks):
        start = without_load(parts)
        nodes = [node for node in start if node != "0"]
        nodeset = ".nodeset " + " ".join(f"v({node})={start[node]!r}" for node in nodes)
        deck = ["a network", *spice_lines(parts), nodeset, OPTIONS, ".end", ""]
        (folder / f"{number}.cir").write_text("\n".join(deck), "utf-8")
        control += [f"source {folder}/{number}.cir", f"echo circuit {number}", "op", "print " + " ".join(
            f"v({node})" for node in nodes
        )]  # fmt: skip
    deck = "\n".join(["all networks", "R1 1 0 1", ".control", *control, ".endc", ".end", ""])
    done = subprocess.run([NGSPICE, "-b"], input=deck, capture_output=True, text=True, timeout=120)
    found = []
    for part in re.split(r"^circuit \d+\s*$", done.stdout, flags=re.MULTILINE)[1:]:
        found.append({node: float(v) for node, v in re.findall(r"^v\((\w+)\) = (\S+)\s*$", part, re.MULTILINE)})
    assert len(found) == len(networks), done.stdout[-2000:] + done.stderr[-2000:]
    return found


@pytest.fixture(scope="module")
def compared(tmp_path_factory):
    """What this book and ngspice make of every network."""
    networks = circuits()
    theirs = simulated(list(networks.values()), tmp_path_factory.mktemp("ngspice"))
    return {
        name: (parts, solve(parts), voltages) for (name, parts), voltages in zip(networks.items(), theirs, strict=True)
    }


NAMES = [f"{kind} {k}" for kind, n in (("linear", LINEAR), ("power", POWERED), ("near collapse", NEAR_COLLAPSE))
         for k in range(n)]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_every_node_agrees(compared, name):
    _, ours, theirs = compared[name]
    assert set(theirs) == set(ours.voltages) - {"0"}
    worst = max(abs(theirs[node] - ours.voltages[node]) for node in theirs)
    assert worst <= AGREEMENT, f"{worst} V apart"
    assert ours.balances


def test_the_networks_are_as_varied_as_they_should_be(compared):
    """At least 40 networks of 4 to 15 nodes, resistances over 4.5 decades, 10 loads at 95 to 99 % of the most."""
    sizes = {len(ours.voltages) for _, ours, _ in compared.values()}
    assert len(compared) >= 40 and min(sizes) == 4 and max(sizes) == 15
    ohms = [e.resistance for parts, _, _ in compared.values() for e in parts if isinstance(e, Resistance)]
    assert max(ohms) / min(ohms) > 10**4.5
    near = 0
    for parts, _, _ in compared.values():
        last = parts[-1]
        if isinstance(last, PowerLoad) and last.input_power > 0.949 * most_power(parts, last.name).power:
            near += 1
    assert near >= NEAR_COLLAPSE


@pytest.mark.parametrize(
    ("starter", "fan", "state"), [(12.7, 0.0, "holds"), (12.2, 60.0, "limited"), (14.3, -20.0, "blocked")]
)
def test_a_vehicle_agrees(tmp_path, starter, fan, state):
    """Alternator of 90 A, starter battery, relay closed, run there and back, second battery, fridge and charger.

    The fan that gives 20 A stands for a solar panel: with the battery full, the alternator is blocked.
    """
    parts = [
        Source("alternator", "post", "0", 14.2, 0.010, limit=90.0, one_way=True),
        Source("starter", "post", "0", starter, 0.030),
        CurrentLoad("fan", "post", "0", fan),
        Switch("relay", "post", "feed", True),
        Switch("spare", "post", "rear", False),
        Resistance("out", "feed", "rear", 0.009),
        Resistance("back", "earth", "0", 0.006),
        Source("second", "rear", "earth", starter + 0.1, 0.020),
        PowerLoad("fridge", "rear", "earth", 45.0),
        PowerLoad("charger", "rear", "earth", 20.0, efficiency=0.9, idle=3.0),
    ]
    point = solve(parts)
    assert point.states["alternator"] == state
    [theirs] = simulated([parts], tmp_path)
    for node, volts in theirs.items():
        assert volts == pytest.approx(point.voltages[node], abs=AGREEMENT)
