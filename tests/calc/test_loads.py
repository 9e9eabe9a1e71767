"""What draws when."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import loads
from calc.tables import assumption

hours = st.floats(0, 24)


def test_a_load_draws_a_current_or_a_power_and_never_both():
    made = (
        loads.steady(1),
        loads.timed(2, 3, 18),
        loads.inverter(1000, 6, 8),
        loads.parasitic(),
    )
    assert all((load.current > 0) != (load.power > 0) for load in made)


@given(hours, hours, st.integers(0, 1439))
def test_a_load_is_on_for_its_hours(begins, length, minute):
    """Asked every minute of a day, in the middle of it."""
    load = loads.timed(1, length, begins)
    on = sum(load.on((n + 0.5) / 60) for n in range(24 * 60))
    assert on / 60 == pytest.approx(length, abs=2 / 60)
    assert load.on(minute / 60) in (True, False)


@given(hours, st.floats(0.1, 23.9))
def test_a_load_changes_at_its_turns_and_nowhere_else(begins, length):
    load = loads.timed(1, length, begins)
    edges = (0, *load.turns, 24)
    for first, last in zip(edges, edges[1:], strict=False):
        asked = {load.on(first + share * (last - first)) for share in (0.1, 0.5, 0.9)}
        assert len(asked) == 1 or last - first < 1e-6
    for turn in load.turns:
        assert load.on((turn - 1e-3) % 24) != load.on((turn + 1e-3) % 24)


def test_an_evening_goes_on_past_midnight():
    load = loads.timed(2, 8, loads.evening())
    assert load.on(23) and load.on(1) and not load.on(3) and not load.on(12)


def test_a_load_of_no_hours_is_never_on_and_one_of_all_hours_always():
    assert loads.timed(1, 0, 18).turns == loads.timed(1, 24, 18).turns == ()
    assert not loads.timed(1, 0, 18).on(18)
    assert loads.timed(1, 24, 18).on(3)


def test_an_inverter_draws_more_than_it_gives():
    made = loads.inverter(880, 30, 12)
    assert made.power == pytest.approx(880 / assumption("inverter_efficiency")["value"])
    assert made.hours == 0.5
