"""Trips against a reference that SciPy follows at rtol 1e-9, `trip_reference`: charges to 0.1 %, events to 1 s."""

import pytest

from calc.physics.alternator import alternator
from calc.physics.trip import Leg, Start, simulate
from tests.calc import trips
from tests.calc.trip_reference import Reference

CHARGE = 0.1
"""Of charge [%]."""

SECOND = 1 / 3600
"""Of an event [h]."""

TOLD = {
    "relay_closes",
    "relay_opens",
    "charger_starts",
    "charger_stops",
    "stage_bulk",
    "stage_absorption",
    "stage_float",
    "alternator_rises",
    "alternator_rests",
    "consumer_cut",
    "consumer_back",
    "battery_empty",
    "battery_back",
}
"""Events that both tell."""

MILD = tuple(c for c in trips.loads() if c.name != "Kettle")
"""A kettle asks for more than these batteries should give; what happens then is for scenarios."""

WARM = {"eighths": 8, "coldest": 24, "hottest": 30}

JOURNEYS = {
    "relay": (("relay", "agm", "fixed"), [Leg("drive", 3, 0), Leg("camp", 20, 0)], Start(90, 60, 9)),
    "charger": (("charger", "agm", "fixed"), [Leg("drive", 3, 4), Leg("camp", 21, 0, 5, 25)], Start(95, 50, 8)),
    "wire": (("wire", "gel", "compensating"), [Leg("drive", 4, 8), Leg("stop", 8, 8)], Start(80, 70, 10)),
    "box": (("none", "lfp", "fixed"), [Leg("camp", 20, 0), Leg("plugged", 9, 0)], Start(100, 60, 7)),
    "smart": (
        ("charger", "agm", "smart", False),
        [Leg("drive", 2.2, 4), Leg("camp", 2, 0), Leg("drive", 0.7, 0)],
        Start(80, 50, 9),
    ),
    "smart, with its wire": (
        ("charger", "lfp", "smart", True),
        [Leg("drive", 1.6, 4), Leg("stop", 0.5, 4), Leg("drive", 0.6, 4)],
        Start(85, 40, 9),
    ),
    "empty": (("none", "lfp", "fixed"), [Leg("camp", 6, **WARM), Leg("plugged", 4, **WARM)], Start(100, 9, 19)),
    "cut": (
        ("none", "lfp", "fixed"),
        [Leg(kind, hours, **WARM) for kind, hours in (("camp", 1.8), ("plugged", 1), ("camp", 6.5), ("plugged", 1.5))],
        Start(100, 9, 19),
    ),
}

HAPPENS = {
    "smart": {"alternator_rises", "alternator_rests", "charger_stops"},
    "smart, with its wire": {"alternator_rises", "alternator_rests", "charger_stops", "stage_float"},
    "empty": {"consumer_cut", "battery_empty", "battery_back"},
    "cut": {"consumer_cut", "consumer_back"},
}
"""What a trip is there for."""


@pytest.mark.parametrize("name", JOURNEYS)
def test_a_trip_is_that_of_the_reference(name):
    (way, chemistry, kind, *wire), legs, start = JOURNEYS[name]
    made = trips.vehicle(way, chemistry, kind, *wire, consumers=MILD, alternator=alternator(kind, 14.2, 90, 30))
    ours, theirs = simulate(made, legs, start), Reference(made, legs, start)
    for point in ours.points[1:-1]:
        starter, second = theirs.charges(point.time)
        assert point.starter == pytest.approx(starter, abs=CHARGE)
        assert point.second == pytest.approx(second, abs=CHARGE)
    left = [(event.time, event.key, event.name) for event in ours.events if event.key in TOLD]
    assert {key for _, key, _ in left} >= HAPPENS.get(name, set())
    for then, *what in theirs.events:
        found = next(event for event in left if [*event[1:]] == what)
        assert found[0] == pytest.approx(then, abs=SECOND), what
        left.remove(found)
    assert not left
