"""Chargers in stages: what they hold, and when they come on."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import charger
from calc.physics.charger import ABSORPTION, BULK, FLOAT
from calc.physics.charging import stage_row
from calc.tables import assumption

CHEMISTRIES = ("flooded", "calcium", "agm", "gel", "lfp")
STAGES = (BULK, ABSORPTION, FLOAT)
temperatures = st.floats(-40, 80)
volts = st.floats(8, 17)


def treats(chemistry="agm", sensor=False):
    return charger.profile(chemistry, 100, sensor)


def dc(ignition=False):
    return charger.from_starter(30, 40, ignition, 0, 0.9, treats())


# Stages


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_voltages_lie_in_the_ranges_of_the_table(chemistry):
    made = treats(chemistry)
    for held, stage in ((made.absorption, "absorption"), (made.float_, "float")):
        low, high = (stage_row(chemistry, f"{stage}_{end}")["value"] for end in ("low", "high"))
        assert low < held < high
    assert made.rebulk < made.float_ < made.absorption


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@given(temperature=temperatures)
def test_without_a_sensor_the_battery_s_warmth_is_not_seen(chemistry, temperature):
    made = treats(chemistry)
    assert [made.voltage(stage, temperature) for stage in STAGES] == [made.absorption, made.absorption, made.float_]


@given(temperatures, temperatures)
def test_with_a_sensor_a_warm_battery_never_gets_more(one, other):
    cold, warm = sorted((one, other))
    for chemistry in CHEMISTRIES:
        made = treats(chemistry, True)
        for stage in STAGES:
            assert made.voltage(stage, warm) <= made.voltage(stage, cold)


def test_compensation_ends_where_the_charger_s_does():
    made = treats("agm", True)
    assert made.voltage(BULK, -30) == made.voltage(BULK, made.coldest)
    assert made.voltage(BULK, 70) == made.voltage(BULK, made.hottest)
    assert made.voltage(BULK, 15) == pytest.approx(made.absorption + 10 * 0.018)


def test_a_lithium_battery_is_not_compensated():
    assert treats("lfp", True).shift(-10) == 0


def test_the_tail_goes_with_the_battery():
    assert charger.profile("agm", 200, False).tail == 2 * charger.profile("agm", 100, False).tail


# From the starter battery


@pytest.mark.parametrize(("air", "share"), [(20, 1), (50, 1), (60, 0.5), (70, 0), (90, 0)])
def test_heat_around_it_takes_its_rating_down(air, share):
    assert dc().heat_share(air) == pytest.approx(share)


@pytest.mark.parametrize("ignition", [False, True])
@pytest.mark.parametrize("running", [False, True])
@given(at=volts)
def test_what_it_has_turned_to_it_does_not_want_to_leave_at_the_same_input(ignition, running, at):
    made = dc(ignition)
    if made.wants(running, at, True) > 0:
        assert made.wants(not running, at, True) < 0


def test_a_resting_smart_alternator_starts_only_what_has_an_ignition_wire():
    rests = assumption("smart_alternator_rests")["value"]
    assert dc(True).wants(False, rests, True) > 0
    assert dc(False).wants(False, rests, True) < 0


def test_without_engine_an_ignition_wire_turns_it_off_at_any_input():
    assert dc(True).wants(True, 14.4, False) > 0
    assert dc(True).wants(False, 14.4, False) < 0


def test_without_a_wire_surface_charge_keeps_it_on_for_a_while():
    """The starter battery after a drive stands above what turns it off, engine or not."""
    assert dc(False).wants(True, 13.3, False) < 0 < dc(False).wants(True, 12.9, False)


@pytest.mark.parametrize("ignition", [False, True])
def test_its_thresholds_and_delays_make_sense(ignition):
    made = dc(ignition)
    assert made.stops < made.eases < made.starts
    assert 0 < made.start_delay < 0.1 and 0 < made.stop_delay < 0.1
    assert 0 < made.idle < 1
