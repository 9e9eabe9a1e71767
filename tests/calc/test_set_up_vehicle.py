"""From a set-up to the vehicle of a trip: by hand, part by part; and any set-up gives one."""

import math

import pytest
from hypothesis import given

from calc.physics.battery import health_at
from calc.physics.charger import profile
from calc.physics.fridge import Fridge
from calc.setup import demos, starts
from calc.setup.model import SetUp, take_in
from calc.setup.usual import usual_set_up
from calc.setup.vehicle import PARKED, at_end, vehicle, with_link
from tests.calc.set_up_strategies import readable, set_ups

EMPTY = SetUp("", {})


def ohms(found):
    """Return the resistance in a start's text [ohm]."""
    return float(found.text.partition(" ")[0]) / 1000


def test_an_island_van_by_hand():
    s = demos.demo("island_van")
    v = vehicle(s)
    assert (v.starter.chemistry, v.starter.capacity) == ("agm", 70)
    assert v.second.health == health_at("agm", 2)
    assert (v.alternator.kind, v.alternator.rated) == ("smart", 140)
    assert v.link.kind == "charger" and v.link.charger.ignition and v.link.charger.input_limit == 32
    before = starts.body_resistance(s) + sum(starts.piece_resistance(s, n)[0] for n in (0, 1))
    assert v.link.resistance == pytest.approx(before)
    assert v.link.resistance < ohms(starts.run_resistance(s))
    assert (v.latitude, len(v.panels), v.mains) == (57.4, 1, None)
    assert v.solar.profile == profile("agm", 95, False)
    names = [c.name for c in v.consumers]
    assert names == ["Fridge", "Heater fan", "Lights", "Phones", "Tracker", PARKED]
    fridge = v.consumers[0].load
    assert (
        isinstance(fridge, Fridge) and fridge.running == pytest.approx(3.8 * 12) and fridge.duty == pytest.approx(0.28)
    )
    assert [c.at for c in v.consumers[-2:]] == ["starter", "starter"]


def test_a_desert_truck_by_hand():
    s = demos.demo("desert_truck")
    v = vehicle(s)
    assert v.link.kind == "relay"
    assert v.link.resistance == pytest.approx(ohms(starts.run_resistance(s)) + 0.0005, rel=1e-5)
    assert v.link.connect_delay == pytest.approx(10 / 3600)
    assert v.mains.rated == 10 and v.mains.profile == profile("agm", 120, False)
    assert v.second_warmer == 4 and v.bay_warmer == 41
    coffee = next(c for c in v.consumers if c.name == "Coffee maker")
    assert coffee.load.power == pytest.approx(600 / 0.88) and coffee.load.hours == pytest.approx(1 / 6)


def test_several_second_batteries_are_one_bank():
    s = take_in({"second": [{"capacity": "100 Ah", "health": "90 %"}, {"capacity": "50 Ah", "health": "60 %"}]})
    assert vehicle(s).second.capacity == 150
    assert vehicle(s).second.health == pytest.approx(0.8)


def test_what_is_measured_of_a_battery_overrules_its_age():
    s = take_in({"starter": {"age": "8 years", "health": "95 %"}})
    assert vehicle(s).starter.health == 0.95


def test_a_chargers_own_solar_input_takes_the_place_of_a_controller():
    s = take_in({"link": [{"kind": "charger", "solar_input": "200 W"}], "sun": [{"power": "100 W"}]})
    assert vehicle(s).solar is None and vehicle(s).link.charger.solar_input == 200


def test_a_range_moves_only_what_is_assumed():
    s = usual_set_up()
    worse, better = at_end(s, False), at_end(s, True)
    assert worse.known("load", 0, "duty").text == "80 %" and better.known("load", 0, "duty").text == "20 %"
    assert worse.known("load", 1, "current").text == better.known("load", 1, "current").text == "1.5 A"
    assert vehicle(worse).second.usable < vehicle(s).second.usable < vehicle(better).second.usable
    known = demos.demo("island_van")
    assert at_end(known, False).known("second", 0, "age").text == "2 years"


def test_another_link_leaves_the_rest_as_it_is():
    s = demos.demo("desert_truck")
    assert with_link(s, "relay") == s
    other = with_link(s, "charger")
    assert other.known("link", 0, "kind").text == "charger" and other.known("link", 0, "rating").assumed
    assert other.entries["run"] == s.entries["run"]


@given(s=set_ups(of=readable, most=3))
def test_any_set_up_gives_a_vehicle_of_finite_numbers(s):
    for one in (s, at_end(s, False), at_end(s, True)):
        v = vehicle(one)
        assert math.isfinite(v.link.resistance) and v.link.resistance >= 0
        assert 0.2 <= v.second.health <= 1 and v.second.usable > 0
        assert all(c.at in ("starter", "second") for c in v.consumers)


def test_an_empty_set_up_is_all_as_usual():
    v = vehicle(EMPTY)
    assert (v.link.kind, v.second.chemistry, v.second.capacity) == ("relay", "agm", 100)
    assert [c.name for c in v.consumers] == [PARKED]
    assert v.panels == () and v.solar is None and v.mains is None
