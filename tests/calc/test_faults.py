"""What a meter shows where something is wrong: held to the network solver, and to what every fitter knows."""

import random
from dataclasses import replace

import pytest

from calc.physics import faults, network
from calc.physics.faults import ENGINE, NODES, STATES, at_points, broken, causes, example_vehicle, healthy, read
from calc.physics.network import CurrentLoad, PowerLoad, Resistance, Source, Switch
from calc.tables import table

LINKS = ("none", "wire", "switch", "relay", "charger")
BLEED = 1e9
"""What ties a point that hangs on nothing to ground, so that the network solver takes it [ohm]."""


def battery(name, plus, minus, rest, surface, gives, takes):
    """A battery as two one-way sources: one that gives below its rest, one that takes above what its surface needs."""
    return [
        Source(f"{name} gives", plus, minus, rest, gives, one_way=True),
        Source(f"{name} takes", minus, plus, -(rest + surface), takes, one_way=True),
    ]


def network_of(c, state, joined, pulled=None, given=None):
    """The whole circuit as parts for the network solver; joined: whether a wire, switch or relay conducts."""
    e = faults._inside(c, state)
    load, besides = faults._drawn(c, state)
    holds, limit, taken = faults._alternator(c, state)
    parts = [
        *battery("starter", "S", "0", c.starter_rest, c.surface, c.starter_resistance, c.starter_take),
        *battery("second", "B", "B-", e, c.surface, c.second_resistance, c.second_take),
        Resistance("engine earth", "A-", "0", c.engine_earth),
        Resistance("alternator cable", "A+", "S", c.alternator_cable),
        CurrentLoad("vehicle", "S", "0", taken),
        Switch("front fuse", "S", "F", not c.front_open, c.front_joint),
        Resistance("front cable", "F", "LI", c.front_cable),
        Resistance("rear cable", "LO", "R", c.rear_cable),
        Switch("rear fuse", "R", "B", not c.rear_open, c.rear_joint),
        Resistance("earth", "B-", "0", c.earth),
        CurrentLoad("besides", "B", "B-", besides),
        Switch("load fuse", "B", "DF", not c.load_open, c.load_plus),
        Resistance("load earth", "D-", "B-", c.load_minus),
        Resistance("load bleeds", "DF", "D-", BLEED),
        CurrentLoad("load", "DF", "D-", load),
        Switch("link", "LI", "LO", joined, c.link_contact),
        Resistance("input bleeds", "LI", "0", BLEED),
        Resistance("output bleeds", "LO", "0", BLEED),
    ]
    if limit:
        parts.append(Source("alternator", "A+", "A-", holds, c.inside, limit, one_way=True))
    if state == "cranking":
        parts.append(Resistance("motor", "S", "A-", c.motor))
    if pulled is not None:
        parts += [pulled, given]
    return parts


def joins(c, state):
    """Whether the link conducts, found by asking the network solver and not the closed form."""
    if c.link_stuck or c.vehicle.link == "wire":
        return True
    if c.vehicle.link not in ("switch", "relay") or c.link_open or state not in ENGINE:
        return False
    if c.vehicle.link == "switch":
        return True
    return not c.front_open and network.solve(network_of(c, state, False)).voltages["LI"] >= c.connects_at


POINTS = {"alternator +": "A+", "starter +": "S", "second +": "B", "second -": "B-", "load +": "DF", "load -": "D-",
          "front fuse": "F", "link in": "LI", "link out": "LO", "rear fuse": "R", "alternator -": "A-"}  # fmt: skip


def cases(link, count, seed):
    """Random vehicles of a link, each with a random cause."""
    draw = random.Random(seed)
    for _ in range(count):
        v = replace(
            example_vehicle(link),
            return_path=draw.choice(("body", "cable")),
            chemistry=draw.choice(("agm", "flooded", "gel", "calcium", "lfp")),
        )
        well = healthy(v, [draw.random() for _ in range(faults.DIMENSIONS)])
        yield broken(well, draw.choice(causes(v)), [draw.random(), draw.random()])


def solved(c, state):
    """The solver's own answer, or None where a charger holds back, which it cannot say."""
    if c.vehicle.link != "charger":
        return network.solve(network_of(c, state, joins(c, state)))
    e, drawn = faults._inside(c, state), sum(faults._drawn(c, state))
    pulled, given, works = faults._charger(c, state, e, drawn)
    if not works:
        return network.solve(network_of(c, state, False))
    out = Source("charger gives", "LO", "0", c.profile, 0.0, c.rating, one_way=True)
    first = network.solve(network_of(c, state, False, out, CurrentLoad("none", "LI", "0", 0.0)))
    power = first.voltages["LO"] * first.currents["charger gives"] / c.efficiency
    try:
        point = network.solve(network_of(c, state, False, out, PowerLoad("charger takes", "LI", "0", power)))
    except network.TooMuchPower:
        return None
    return point if point.voltages["LI"] > c.lockout else None


@pytest.mark.parametrize("link", LINKS)
def test_every_point_is_where_the_network_solver_has_it(link):
    compared = 0
    for c in cases(link, 60, f"points {link}"):
        for state in STATES:
            point = solved(c, state)
            if point is None:
                continue
            for name, volts in zip(NODES, at_points(c, state), strict=True):
                if name in POINTS and volts == volts and volts != 0:
                    assert volts == pytest.approx(point.voltages[POINTS[name]], abs=1e-4), (name, state)
                    compared += 1
    assert compared > 600


def test_a_charger_that_holds_back_keeps_its_input_up_and_its_power_balanced():
    held = 0
    for c in cases("charger", 400, "held"):
        e, drawn = faults._inside(c, "running"), sum(faults._drawn(c, "running"))
        pulled, given, works = faults._charger(c, "running", e, drawn)
        points = dict(zip(NODES, at_points(c, "running"), strict=True))
        if works and not c.rear_open and points["link in"] < c.lockout + 1e-3:
            held += 1
            assert points["link in"] == pytest.approx(c.lockout, abs=1e-3)
            assert given * points["link out"] == pytest.approx(pulled * c.lockout * c.efficiency, abs=3e-2)
    assert held > 10


def one(link, key, **known):
    """A usual vehicle with one cause of middling severity."""
    v = replace(example_vehicle(link), **known)
    cause = next(c for c in causes(v) if c.key == key)
    return broken(healthy(v, [0.5] * faults.DIMENSIONS), cause, [0.5])


def shows(c, place, state):
    return read(at_points(c, state), place)


def test_an_open_fuse_shows_the_whole_voltage_across_it_and_nothing_behind():
    c = one("relay", "front_fuse")
    assert shows(c, "front-fuse", "running") == pytest.approx(shows(c, "starter", "running"))
    assert shows(c, "link-in", "running") == 0
    c = one("wire", "rear_fuse")
    assert shows(c, "rear-fuse", "running") == pytest.approx(
        shows(c, "starter", "running") - shows(c, "second", "running"), abs=1e-6
    )


def test_two_open_fuses_leave_a_stretch_that_hangs_on_nothing():
    c = one("wire", "front_fuse+rear_fuse")
    assert shows(c, "front-fuse", "running") == 0
    assert shows(c, "rear-fuse", "running") == 0


@pytest.mark.parametrize(("cause", "place"), [
    ("front_joint", "front-fuse"), ("rear_joint", "rear-fuse"), ("second_earth", "second-earth"),
    ("link_contact", "link"), ("thin_cable", "front-cable"),
])  # fmt: skip
def test_a_poor_joint_loses_more_than_the_handbooks_allow_and_only_there(cause, place):
    limits = {row["place"]: row["limit"] for row in table("fault_limits").rows}
    c = one("switch", cause)
    for other in ("front-fuse", "rear-fuse", "second-earth", "link"):
        assert (abs(shows(c, other, "running")) > limits[other]) == (other == place), other
    assert abs(shows(c, place, "running")) > limits[place]


def test_a_dead_alternator_leaves_the_voltage_of_the_battery():
    assert shows(one("relay", "alternator_dead"), "starter", "running") < 12.7
    assert shows(one("relay", "nothing"), "starter", "running") > 13.5


def test_a_smart_alternator_at_rest_rises_as_the_lamps_go_on():
    c = one("relay", "smart_low")
    assert shows(c, "starter", "running") < 12.9
    assert shows(c, "starter", "lights") > 13.0
    dead = one("relay", "alternator_dead")
    assert shows(dead, "starter", "lights") < shows(dead, "starter", "running")


def test_a_dead_cell_takes_two_volts():
    loss = shows(one("relay", "nothing"), "second", "rested") - shows(one("relay", "dead_cell"), "second", "rested")
    assert 1.7 < loss < 2.5


def test_a_weak_starter_battery_falls_below_the_common_limit_while_cranking():
    """9.6 V at room temperature is the common service limit (a load-test table, seen)."""
    assert shows(one("relay", "starter_worn"), "starter", "cranking") < 9.6
    assert shows(one("relay", "nothing"), "starter", "cranking") > 9.6


def test_a_drain_shows_as_current_only():
    assert shows(one("relay", "drain"), "second-drain", "rested") > 0.1
    assert shows(one("relay", "nothing"), "second-drain", "rested") < 0.03


def test_what_can_be_wrong_depends_on_the_set_up():
    def keys(**known):
        return {c.key for c in causes(replace(example_vehicle(known.pop("link", "relay")), **known))}

    assert "smart_low" in keys(smart=True) and "smart_low" not in keys(smart=False)
    assert "dead_cell" in keys() and "cut_off" not in keys()
    assert "cut_off" in keys(chemistry="lfp") and "dead_cell" not in keys(chemistry="lfp")
    assert "charger_dead" in keys(link="charger") and "charger_dead" not in keys()
    assert "charger_ignition" not in keys(link="charger", ignition="no")
    assert "alternator_dead" not in keys(link="none")


def test_every_change_is_of_something_that_there_is():
    v = example_vehicle("relay")
    known = vars(healthy(v, [0.5] * faults.DIMENSIONS))
    named = {row["key"] for row in table("fault_causes").rows}
    for row in table("fault_changes").rows:
        assert row["attribute"] in known and row["cause"] in named
        assert row["how"] in ("set", "add", "times") and row["low"] <= row["high"]


def test_every_place_has_two_probes_and_every_limit_a_place():
    rows = table("fault_readings").rows
    assert {r["key"] for r in rows if r["kind"] == "place"} == set(faults.PROBES)
    assert {r["key"] for r in rows if r["kind"] == "state"} == set(STATES)
    assert {r["place"] for r in table("fault_limits").rows} <= set(faults.PROBES)
    for red, black in faults.PROBES.values():
        assert red in NODES and black in NODES
