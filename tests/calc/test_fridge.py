"""The fridge's share of the time, and what its protection sees."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import fridge, network
from calc.tables import table

SETTINGS = ("low", "medium", "high")
airs = st.floats(-30, 70)
duties = st.floats(0, 1)


def made(duty=0.35, watched_at=25, setting="medium"):
    return fridge.fridge(48, duty, watched_at, setting)


def test_what_was_watched_comes_back():
    assert made().wanted(25) == 0.35
    assert made().power(25) == pytest.approx(48 * 0.35)


@given(duties, st.floats(5, 45), airs, airs)
def test_warmer_air_never_needs_less(duty, watched_at, one, other):
    cool, warm = sorted((one, other))
    own = made(duty, watched_at)
    assert 0 <= own.wanted(cool) <= own.wanted(warm)
    assert 0 <= own.power(cool) <= own.power(warm) <= own.running


@given(airs, airs)
def test_it_rises_faster_than_the_difference_of_warmth(one, other):
    """The falling yield of the compressor comes on top of the leak, which alone would be a straight line."""
    cool, warm = sorted((max(one, 5), max(other, 5)))
    own = made()
    leak = (warm - own.inside) / (cool - own.inside)
    assert own.wanted(warm) >= own.wanted(cool) * leak * (1 - 1e-12)


def test_the_law_is_the_leak_over_carnots_yield():
    """By hand, with kelvin: duty ∝ (T − Ti) / (Tc / (Th − Tc)), coils 25 K further apart than air and inside."""
    own = made()

    def needed(air):
        cold_coil, hot_coil = own.inside + 273.15 - 10, air + 273.15 + own.lift - 10
        return (air - own.inside) * (hot_coil - cold_coil) / cold_coil

    assert own.wanted(38) == pytest.approx(0.35 * needed(38) / needed(25))


def test_it_cannot_run_more_than_all_the_time():
    hot = made(0.8, 25)
    assert hot.wanted(45) > 1
    assert hot.power(45) == hot.running


def test_in_air_no_warmer_than_inside_it_stands_still():
    assert made().power(4) == made().power(-20) == 0


@given(duties, st.floats(-30, 60), airs)
def test_a_fridge_watched_in_the_cold_gives_numbers_all_the_same(duty, watched_at, air):
    assert math.isfinite(made(duty, watched_at).wanted(air))


@pytest.mark.parametrize("setting", SETTINGS)
def test_protection_starts_it_again_well_above_where_it_stops(setting):
    own = made(setting=setting)
    assert own.stops + 0.5 < own.starts


def test_settings_stand_in_order():
    rows = table("fridge_protection").rows
    assert [row["setting"] for row in rows] == list(SETTINGS)
    for column in ("stops", "starts"):
        assert [row[column] for row in rows] == sorted(row[column] for row in rows)


@given(st.floats(11, 14.5), st.floats(0, 0.1), duties)
def test_its_running_voltage_is_that_of_the_network_solver(volts, resistance, duty):
    """The mean is replaced by the running power behind the same source and resistance."""
    own = made(duty)
    mean = own.power(25)
    driving = volts + resistance * mean / volts
    parts = [
        network.Source("battery", "a", "0", driving, max(resistance, 1e-6)),
        network.PowerLoad("fridge", "a", "0", own.running),
    ]
    assert own.lowest(volts, mean, resistance) == pytest.approx(network.solve(parts).voltages["a"], abs=1e-4)


@given(st.floats(0.1, 20), st.floats(0, 100), st.floats(0, 10))
def test_its_running_voltage_is_a_number_whatever_the_cable(volts, power, resistance):
    assert math.isfinite(made().lowest(volts, power, resistance))
