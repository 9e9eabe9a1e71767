"""The alternator through a drive: heat, the three kinds, and when a smart one is up."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from calc.physics import alternator
from calc.tables import assumption, table

KINDS = (alternator.FIXED, alternator.COMPENSATING, alternator.SMART)
temperatures = st.floats(-40, 150)
shares = st.floats(0, 1)


def made(kind="smart", base=14.4, rated=90, idle=30):
    return alternator.alternator(kind, base, rated, idle)


# Voltage


def test_only_a_smart_one_rests_and_only_a_compensating_one_feels_its_heat():
    at = {kind: made(kind) for kind in KINDS}
    assert at["fixed"].voltage(20, False) == at["fixed"].voltage(110, True) == 14.4
    assert at["smart"].voltage(20, True) == at["smart"].voltage(110, True) == 14.4
    assert at["smart"].voltage(20, False) == assumption("smart_alternator_rests")["value"]
    assert at["compensating"].voltage(20, True) == at["compensating"].voltage(20, False) > 14.4
    assert at["compensating"].voltage(at["compensating"].read_at, True) == 14.4


@given(temperatures, temperatures)
def test_a_warmer_compensating_one_never_holds_more(one, other):
    cold, warm = sorted((one, other))
    assert made("compensating").voltage(warm, True) <= made("compensating").voltage(cold, True)


def test_the_set_point_of_a_cold_start_stays_in_what_is_seen_in_vehicles():
    """From 15 to 15.5 V in deep frost is what regulators of the seen slopes give; more would be a slip of ours."""
    assert 14.4 < made("compensating").voltage(-20, True) < 15.5


# Output


@given(temperatures, shares)
def test_output_lies_between_a_third_of_idle_and_the_rating(temperature, idling):
    assert alternator.LEAST_SHARE * 30 <= made().limit(temperature, idling) <= 90


@given(temperatures, temperatures, shares)
def test_heat_never_gives_more(one, other, idling):
    cold, warm = sorted((one, other))
    assert made().limit(warm, idling) <= made().limit(cold, idling) + 1e-9


@given(temperatures, shares, shares)
def test_more_idling_never_gives_more(temperature, one, other):
    less, more = sorted((one, other))
    assert made().limit(temperature, more) <= made().limit(temperature, less) + 1e-9


def test_at_the_ends_of_the_way_stand_the_printed_amperes():
    """The marine engine's own alternator: 50 A cold and 41 A hot on the road, 24 A and 16 A at idle."""
    own = made(rated=50, idle=24)
    cold, hot = alternator.RATED_AT, alternator.RATED_AT + own.rise
    assert own.limit(cold, 0) == 50 and own.limit(cold, 1) == 24
    assert own.limit(hot, 0) == pytest.approx(41) and own.limit(hot, 1) == pytest.approx(16)
    assert own.limit(hot, 0.5) == pytest.approx((41 + 16) / 2)


def test_every_hot_output_in_the_table_lies_below_its_cold_one():
    both = [row for row in table("alternator_heat").rows if row["cold"] and row["hot"]]
    assert [row["speed"] for row in both] == [alternator.IDLE_SPEED, alternator.ROAD_SPEED]
    assert all(row["hot"] < row["cold"] for row in both)


def test_an_alternator_of_no_output_gives_nothing():
    assert made(rated=0, idle=0).limit(50, 0.5) == 0


# Warmth


def test_warming_is_a_first_order_lag():
    """SciPy solves T' = (Te − T)/lag."""
    own = made()
    exact = solve_ivp(lambda t, y: (35 + own.rise - y) / own.warming, (0, 0.7), [10.0], rtol=1e-10, atol=1e-10)
    assert own.warmed(10, 0.7, 35, True) == pytest.approx(exact.y[0, -1], abs=1e-6)


@given(temperatures, st.floats(0, 5), st.floats(0, 5), st.booleans())
def test_warming_in_two_parts_is_warming_at_once(before, first, then, running):
    own = made()
    parts = own.warmed(own.warmed(before, first, 30, running), then, 30, running)
    assert parts == pytest.approx(own.warmed(before, first + then, 30, running), abs=1e-9)


def test_off_it_cools_to_the_air():
    assert made().warmed(100, 10, 15, False) == pytest.approx(15, abs=1e-6)


# When a smart one is up


@given(st.floats(0, 100))
def test_a_smart_one_never_turns_to_and_fro(charge):
    """What it has turned to, it keeps at the same charge."""
    assert min(made().margin(high, charge) for high in (True, False)) < 0


def test_a_smart_one_rests_when_its_battery_is_full_rises_when_it_is_low_and_stays_as_it_was_between():
    own = made()
    between = (own.low_below + own.full_above) / 2
    assert own.margin(True, between) < 0 and own.margin(False, between) < 0
    assert own.margin(True, own.full_above) == own.margin(False, own.low_below) == 0
    assert own.margin(True, own.full_above + 1) > 0 and own.margin(False, own.low_below - 1) > 0


@pytest.mark.parametrize("kind", KINDS)
def test_other_kinds_are_always_up_and_turn_over_nowhere(kind):
    own, smart = made(kind), kind == "smart"
    assert own.up(False, False) != smart
    assert own.up(True, False) and own.up(False, True)
    assert (own.margin(True, 99) >= 0) == smart
    assert bool(own.lifted(2, 0.2, 0.25)) == smart


@given(st.floats(0.01, 12), shares, st.floats(0.02, 1))
def test_overrun_takes_its_share_of_whole_rounds(hours, share, every):
    spells = alternator.overrun(hours, share, every)
    ends = [end for spell in spells for end in spell]
    assert ends == sorted(ends)
    assert all(0 <= end <= hours for end in ends)
    whole = math.floor(hours / every + 1e-9) * every
    within = sum(max(0.0, min(last, whole) - first) for first, last in spells)
    assert within == pytest.approx(share * whole, abs=1e-6)


@given(st.floats(0.01, 12), shares, st.floats(0.02, 1))
def test_the_spells_of_a_drive_are_apart_and_begin_with_the_start(hours, share, every):
    own = made()
    spells = own.lifted(hours, share, every)
    assert spells[0] == (0, min(hours, own.first))
    ends = [end for spell in spells for end in spell]
    assert ends == sorted(ends) and ends[-1] <= hours
    assert all(first < last for first, last in spells)


def test_all_downhill_is_all_up():
    assert alternator.overrun(3, 1, 0.25) == [(0, 3)]
    assert alternator.overrun(3, 0, 0.25) == []
