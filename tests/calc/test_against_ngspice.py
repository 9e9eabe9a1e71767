"""Drops and short circuits against ngspice, a circuit simulator that shares no code with this book."""

import os
import re
import shutil
import subprocess

import pytest

import calc
from calc.physics import fault
from calc.physics.cable import length_resistance
from calc.physics.cable_sizes import gauge, metric

NGSPICE = shutil.which("ngspice")
IN_CI = os.environ.get("CI") == "true"


@pytest.fixture(autouse=True)
def _simulator():
    if not NGSPICE and not IN_CI:
        pytest.skip("ngspice is not installed here")
    assert NGSPICE, "ngspice is missing, and continuous integration must have it"


def solve(netlist: str, asked: str) -> float:
    """Return what ngspice computes for a quantity in the operating point of a d.c. network."""
    deck = f"a network\n{netlist}\n.control\nset numdgt=12\nop\nlet sought = {asked}\nprint sought\n.endc\n.end\n"
    done = subprocess.run([NGSPICE, "-b"], input=deck, capture_output=True, text=True, timeout=60)
    found = re.search(r"^sought = ([-+0-9.eE]+)\s*$", done.stdout, re.MULTILINE)
    assert found, done.stdout + done.stderr
    return float(found[1])


@pytest.mark.parametrize(
    ("current", "length", "size", "supply"),
    [
        ("25", "6", "16 mm2", "13.8"),
        ("5", "8", "2.5 mm2", "12"),
        ("60", "3", "2 AWG", "14.4"),
        ("10", "4", "6 mm", "12"),
    ],
)
def test_cable_drop(current, length, size, supply):
    """A supply, the cable there and back in two halves, and a load that draws its current; 1e-6 is ngspice's reltol."""
    answer = calc.run("cable-drop", {"current": current, "length": length, "size": size, "supply": supply})
    half = answer.values["loop_resistance"].value / 2
    load = float(supply) / float(current) - 2 * half
    netlist = f"V1 a 0 {supply}\nR1 a b {half!r}\nRload b c {load!r}\nR2 c 0 {half!r}"
    assert solve(netlist, "v(b,c)") == pytest.approx(answer.values["far_end_voltage"].value, rel=1e-6)
    assert solve(netlist, "v(a) - v(b,c)") == pytest.approx(answer.values["drop"].value, rel=1e-5)


@pytest.mark.parametrize(
    ("chemistry", "capacity", "size", "length", "insulation"),
    [("flooded", 70, "16 mm2", 6, 75), ("agm", 100, "6 AWG", 3, 105), ("lfp", 200, "2.5 mm2", 10, 90)],
)
def test_short_at_the_far_end(chemistry, capacity, size, length, insulation):
    """A weak battery, the cable there and back hot, eight poor joints (0.5 mΩ each), and a dead short."""
    answer = calc.run(
        "fuse-choice",
        {"current": 5, "size": size, "length": length, "chemistry": chemistry, "capacity": capacity,
         "insulation": insulation},
    )  # fmt: skip
    cable = gauge(size) or metric(float(size.split()[0]))
    wire = length_resistance(cable.resistance_per_km, length, insulation)
    voltage, inside = fault.driving_voltage(chemistry)[0], fault.internal_resistance(chemistry, capacity)[2]
    netlist = (
        f"V1 e 0 {voltage}\nRi e a {inside!r}\nRgo a b {wire!r}\nRj1 b c 0.002\n"
        f"Vshort c d 0\nRback d f {wire!r}\nRj2 f 0 0.002"
    )
    assert solve(netlist, "i(vshort)") == pytest.approx(answer.values["fault_current"].value, rel=1e-6)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.8])
def test_short_in_a_cable_between_two_batteries(share):
    """A starter and a second battery joined by 6 m of 16 mm²: a short on the way is fed from both ends."""
    loop = 2 * length_resistance(metric(16).resistance_per_km, 6, 20)
    ends = (("flooded", 70, share * loop), ("lfp", 100, (1 - share) * loop))
    each = [fault.strongest(*end) for end in ends]
    (v1, r1), (v2, r2) = [(fault.driving_voltage(k)[2], fault.internal_resistance(k, c)[0]) for k, c, _ in ends]
    netlist = (
        f"V1 a 0 {v1}\nR1 a b {r1!r}\nRc1 b m {ends[0][2]!r}\nVshort m 0 0\n"
        f"Rc2 m d {ends[1][2]!r}\nR2 d e {r2!r}\nV2 e 0 {v2}"
    )
    assert solve(netlist, "i(vshort)") == pytest.approx(sum(each), rel=1e-6)
    assert solve(netlist, "v(b,m)") / ends[0][2] == pytest.approx(each[0], rel=1e-6)
