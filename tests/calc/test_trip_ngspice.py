"""Three trips as circuits through time in ngspice, which shares no code with this book and knows nothing of events.

A well is a capacitor, its voltage the fullness; the curves of a battery are tables of straight pieces; what a battery
takes is one expression over the voltage. A second there is an hour here. The batteries keep their temperature.
"""

import os
import re
import shutil
import subprocess

import pytest

from calc.physics.alternator import alternator
from calc.physics.battery import Battery
from calc.physics.loads import Load, steady
from calc.physics.trip import Consumer, Leg, Link, Start, Vehicle, simulate

NGSPICE = shutil.which("ngspice")
IN_CI = os.environ.get("CI") == "true"

AIR = 25.0
PIECES = 400
"""Straight pieces of a table; the resting curve is met to 1e-5 V."""

CHARGE = 0.1
"""Charge may be this far off [%]."""

VOLTS = 0.002
"""Voltage may be this far off: ngspice keeps 1e-7 of 15 V, and the straight pieces of a table are 1e-5 V off [V]."""

OPTIONS = ".options reltol=1e-7 abstol=1e-12 vntol=1e-9 method=gear maxord=4"


@pytest.fixture(autouse=True)
def _simulator():
    if not NGSPICE and not IN_CI:
        pytest.skip("ngspice is not installed here")
    assert NGSPICE, "ngspice is missing, and continuous integration must have it"


def battery(chemistry: str, capacity: float) -> Battery:
    """Return a new battery that stays at the air's temperature."""
    made = Battery(chemistry, capacity)
    made.heat_capacity, made.cooling_hours = 1e12, 1e12
    return made


def table(function, x: str) -> str:
    """Return a function of fullness in ngspice's words, over a bit more than all there is."""
    points = [-0.05 + 1.1 * n / PIECES for n in range(PIECES + 1)]
    return f"pwl({x}, " + ", ".join(f"{h!r}, {function(h)!r}" for h in points) + ")"


def battery_lines(name: str, node: str, b: Battery, charge: float) -> list[str]:
    """Return a battery at a node: two wells, the surface voltage, and what it takes."""
    shift, _, _, _, gas, sigma = b.warmth(AIR)
    h, top, rise = b.fullness(charge), f"V({name}1)", b.gas_per_volt
    over = f"(V({node})-V({name}e)-({shift!r})-V({name}s))"
    narrow, wide = f"{over}/V({name}d)", f"{over}/V({name}c)"
    blown = f"{gas!r}*exp({rise!r}*V({node}))"
    pipe = f"((V({name}1)<V({name}2)?{b.flow!r}:{b.flow_in!r})*(V({name}1)-V({name}2)))"
    main = f"({over}<0?{narrow}:({narrow}<{wide}+{blown}?0:{wide}))"
    whole = f"({over}<0?{narrow}:min({narrow},{wide}+{blown}))"
    return [
        f"C{name}1 {name}1 0 {b.well_1!r} ic={h!r}",
        f"C{name}2 {name}2 0 {b.well_2!r} ic={h!r}",
        f"C{name}s {name}s 0 1 ic=0",
        f"B{name}e {name}e 0 V={table(b.emf, top)}",
        f"B{name}d {name}d 0 V={table(lambda h: b.discharge_resistance(h, AIR), top)}",
        f"B{name}c {name}c 0 V={table(lambda h: b.charge_resistance(h, AIR), top)}",
        f"B{name}1 0 {name}1 I={main}-{pipe}-{b.well_1 * sigma!r}*V({name}1)",
        f"B{name}2 0 {name}2 I={pipe}-{b.well_2 * sigma!r}*V({name}2)",
        f"B{name}s 0 {name}s I=-V({name}s)*V({name}s)/{b.surface_most * b.surface_half!r}"
        f"+V({name}s)*min(0,{main})/{b.surface_drain!r}",
        f"B{name}t {node} 0 I={whole}",
    ]


def simulated(lines: list[str], hours: float, folder) -> dict[str, float]:
    """Return what stands at every node at the end."""
    deck = ["a trip", *lines, OPTIONS, f".tran {hours / 2000!r} {hours!r} 0 {hours / 2000!r} uic", ".end", ""]
    (folder / "trip.cir").write_text("\n".join(deck), "utf-8")
    names = ("a1", "a2", "b1", "b2", "near", "far")
    finds = "\n".join(f"meas tran m{name} find v({name}) at={hours * 0.9999!r}" for name in names)
    control = f"spice\n.control\nset numdgt=12\nsource {folder}/trip.cir\nrun\n{finds}\n.endc\n.end\n"
    done = subprocess.run([NGSPICE, "-b"], input=control, capture_output=True, text=True, timeout=120)
    found = {name: float(v) for name, v in re.findall(r"^m(\w+)\s*=\s*(\S+)", done.stdout, re.MULTILINE)}
    assert set(found) == set(names), done.stdout[-1500:] + done.stderr[-1500:]
    return found


def compared(vehicle: Vehicle, leg: Leg, start: Start, more: list[str], folder) -> None:
    """Assert that ngspice ends where the trip does."""
    near, far = vehicle.starter, vehicle.second
    lines = battery_lines("a", "near", near, start.starter) + battery_lines("b", "far", far, start.second)
    theirs = simulated(lines + more, leg.hours, folder)
    point = simulate(vehicle, [leg], start).points[-1]
    assert point.starter == pytest.approx(near.mean_charge(theirs["a1"], theirs["a2"]), abs=CHARGE)
    assert point.second == pytest.approx(far.mean_charge(theirs["b1"], theirs["b2"]), abs=CHARGE)
    assert point.starter_volts == pytest.approx(theirs["near"], abs=VOLTS)
    assert point.second_volts == pytest.approx(theirs["far"], abs=VOLTS)


def steady_air(kind: str, hours: float) -> Leg:
    """Return a leg in air that stays the same."""
    return Leg(kind, hours, 8, AIR, AIR, 0, 0)


def test_a_battery_box_with_two_kinds_of_load(tmp_path):
    loads = (Consumer("Lamps", steady(3.0)), Consumer("Computer", Load(0.0, 30.0, 0, 24)))
    vehicle = Vehicle(battery("calcium", 70), battery("agm", 100), Link("none"), consumers=loads)
    more = ["Ilamps far 0 3", "Bcomputer far 0 I=30/max(V(far),1)"]
    compared(vehicle, steady_air("camp", 8.0), Start(90, 85), more, tmp_path)


def test_two_batteries_on_one_wire_share_a_load(tmp_path):
    vehicle = Vehicle(battery("calcium", 70), battery("gel", 100), Link("wire", 0.02),
                      consumers=(Consumer("Lamps", steady(4.0)),))  # fmt: skip
    compared(vehicle, steady_air("camp", 6.0), Start(95, 70), ["Rwire near far 0.02", "Ilamps far 0 4"], tmp_path)


def test_an_alternator_charges_both_through_a_wire(tmp_path):
    """At first it gives all it can, at last what its voltage lets it; both batteries gas."""
    made = alternator("fixed", 14.4, 60, 60)
    vehicle = Vehicle(battery("calcium", 70), battery("agm", 100), Link("wire", 0.015), None, made, 0.004, 15.0)
    lasting = f"{made.rise!r}*(1-exp(-time/{made.warming!r}))"
    warm = f"(({lasting}+{AIR - 23.0!r})/{made.rise!r})"
    limit = f"min({made.rated!r},{made.rated!r}+{warm}*({made.hot_rated - made.rated!r}))"
    more = [
        "Rwire near far 0.015",
        "Ibase near 0 15",
        f"Bmost most 0 V={limit}",
        "Balternator 0 near I=min(V(most),max(0,(14.4-V(near))/0.004))",
    ]
    compared(vehicle, steady_air("drive", 4.0), Start(80, 50), more, tmp_path)
