"""Resting voltage, acid, cold and Peukert: round trips, sweeps, and interpolation against numpy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import lead_acid, lfp, peukert, rest_voltage
from calc.shared_fields import CHEMISTRIES, LEAD_ACID
from calc.tables import table

NAMES = [key for key, _ in CHEMISTRIES]
chemistry = st.sampled_from(NAMES)
came_from = st.sampled_from(["charge", "load", "unknown"])
charge = st.floats(0, 100)
volts = st.floats(9, 15)


@given(charge, chemistry, came_from)
def test_charge_to_voltage_and_back(q, kind, before):
    v = rest_voltage.voltage_at_rest(q, kind, before)
    assert rest_voltage.charge_at_rest(v, kind, before) == pytest.approx(q, abs=1e-6)


@given(volts, volts, chemistry, came_from)
def test_more_voltage_is_never_less_charge(a, b, kind, before):
    low, high = sorted((a, b))
    for curve in rest_voltage.curves(kind, before):
        assert curve.charge(low) <= curve.charge(high)
        assert curve.acid_charge(low) <= curve.acid_charge(high)


@given(volts, chemistry, came_from)
def test_the_curve_followed_lies_within_the_curves_asked(v, kind, before):
    low, high = rest_voltage.charge_range(v, v, kind, before)
    assert 0 <= low <= rest_voltage.charge_at_rest(v, kind, before) <= high <= 100


@given(volts)
def test_reading_between_rows_agrees_with_numpy(v):
    """numpy.interp, a reader of tables that nobody here wrote; exact but for rounding."""
    bci = table("bci_rest_voltage")
    mine = rest_voltage.charge_at_rest(v, "flooded")
    assert mine == pytest.approx(np.interp(v, bci.column("voltage"), bci.column("charge")), abs=1e-9)
    cell = table("simses_lfp_ocv")
    mine = rest_voltage.charge_at_rest(v, "lfp")
    assert mine == pytest.approx(np.interp(v / 4, cell.column("cell"), cell.column("charge")), abs=1e-6)


@given(st.floats(1.0, 1.3))
def test_freezing_is_the_warmer_of_both_tables(g):
    tables = [table(name) for name in ("tm_5_4210_freezing", "freezing_vehicle")]
    each = [np.interp(g, [1.0, *t.column("gravity")], [0.0, *t.column("freezing")]) for t in tables]
    assert lead_acid.freezing_point(g) == pytest.approx(max(each), abs=1e-9)


@given(st.floats(-150, 110), st.floats(-150, 110))
def test_less_charge_is_never_harder_to_freeze(a, b):
    low, high = sorted((a, b))
    assert 1.0 <= lead_acid.gravity(low) <= lead_acid.gravity(high) <= 1.265
    colder = lead_acid.freezing_point(lead_acid.gravity(high))
    assert colder <= lead_acid.freezing_point(lead_acid.gravity(low)) + 1e-9


@given(st.floats(-60, 60), st.floats(-60, 60))
def test_colder_never_leaves_more_capacity(a, b):
    low, high = sorted((a, b))
    assert 0 < lead_acid.cold_share(low) <= lead_acid.cold_share(high) <= 1
    assert 0 < lfp.cold_share(low) <= lfp.cold_share(high) <= 1


@given(st.floats(0, 100))
def test_after_charge_stands_above_after_load_by_the_hysteresis(q):
    rows = table("simses_lfp_ocv")
    width = np.interp(q, rows.column("charge"), rows.column("hysteresis"))
    found = lfp.rest_voltage(q, "charge") - lfp.rest_voltage(q, "load")
    assert found == pytest.approx(4 * width, abs=1e-9)


@given(st.floats(0, 2), st.floats(0.01, 5), st.floats(0, 1000), st.floats(0, 1000))
def test_settling_only_ever_settles(start, half, a, b):
    early, late = sorted((a, b))
    assert 0 <= rest_voltage.settling(start, half, late) <= rest_voltage.settling(start, half, early) <= start


@given(st.floats(1, 2000), st.floats(0.1, 600), st.floats(1, 2))
def test_peukert_round_trip(capacity, current, k):
    rated = capacity / 20
    if abs(math.log(current / rated)) < 0.01:
        return
    t = peukert.hours(capacity, 20, current, k)
    assert peukert.exponent(rated, 20, current, t) == pytest.approx(k, abs=1e-6)
    assert peukert.capacity_at(capacity, 20, current, k) == pytest.approx(current * t)


@given(st.floats(1, 2000), st.floats(1, 2))
def test_at_the_rated_current_every_exponent_gives_the_rated_hours(capacity, k):
    assert peukert.hours(capacity, 20, capacity / 20, k) == pytest.approx(20)


@pytest.mark.parametrize("kind", LEAD_ACID)
def test_half_full_stands_where_the_trade_puts_it(kind):
    """Common practice, no source: half full is about 12.2 to 12.4 V at rest."""
    assert 12.2 <= rest_voltage.voltage_at_rest(50, kind) <= 12.4
