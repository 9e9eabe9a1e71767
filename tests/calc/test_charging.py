"""The physics of charging: what it must never do, and what it must give back."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from calc.physics import charging
from calc.sources import SOURCES
from calc.tables import table

CHEMISTRIES = ("flooded", "calcium", "agm", "gel", "lfp")
LEAD = CHEMISTRIES[:4]
temperatures = st.floats(-40, 80)
volts = st.floats(0, 60)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_the_stages_of_a_chemistry_stand_in_order(chemistry):
    """Float lies below absorption, absorption below equalising."""
    at = {row["stage"]: row["value"] for row in table("charge_voltages").rows if row["chemistry"] == chemistry}
    assert at["float_low"] <= at["float_high"] < at["absorption_low"] < at["absorption_high"]
    assert ("equalise_low" in at) == (chemistry == "flooded")
    if chemistry == "flooded":
        assert at["absorption_high"] < at["equalise_low"] < at["equalise_high"]


@pytest.mark.parametrize("name", ["charge_voltages", "charge_temperatures"])
def test_each_row_names_its_source_and_how_sure_we_are(name):
    for row in table(name).rows:
        assert row["source"] in SOURCES
        assert row["confidence"] in ("seen", "from memory", "common practice, no source")
        assert (row["source"] == "memory") == (row["confidence"] == "from memory")
        assert (row["source"] == "practice") == (row["confidence"] == "common practice, no source")


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_compensation_lies_where_the_trade_puts_it(chemistry):
    """Lead-acid: 3 to 5 mV per °C and cell (common practice, no source); lithium iron phosphate: none."""
    per_cell = charging.stage_row(chemistry, "compensation")["value"] / charging.cells(chemistry)
    assert per_cell == 0 if chemistry == "lfp" else 0.0029 < per_cell < 0.005


@given(st.sampled_from(LEAD), st.sampled_from(["absorption_low", "float_high"]), temperatures, temperatures)
def test_a_warmer_lead_acid_battery_never_wants_more_volts(chemistry, stage, one, other):
    cold, warm = sorted((one, other))
    assert charging.stage_voltage(chemistry, stage, warm) <= charging.stage_voltage(chemistry, stage, cold)


@given(temperatures, temperatures)
def test_a_lithium_battery_wants_the_same_volts_at_any_warmth(one, other):
    assert charging.stage_voltage("lfp", "absorption_low", one) == charging.stage_voltage(
        "lfp", "absorption_low", other
    )


@given(st.sampled_from(CHEMISTRIES), volts, volts, temperatures)
def test_more_volts_never_reach_less(chemistry, one, other, temperature):
    low, high = sorted((one, other))
    reached = charging.reachable_charge(chemistry, low, temperature)
    assert 0 <= reached <= charging.reachable_charge(chemistry, high, temperature) + 1e-9 <= 100 + 1e-9


@given(st.sampled_from(LEAD), st.floats(12, 15), temperatures)
def test_what_is_reached_follows_the_shift_of_the_charge_voltage(chemistry, voltage, temperature):
    shift = charging.stage_row(chemistry, "compensation")["value"] * (temperature - 25)
    assert charging.reachable_charge(chemistry, voltage - shift, temperature) == pytest.approx(
        charging.reachable_charge(chemistry, voltage, 25), abs=1e-6
    )


@given(st.floats(2.07, 2.7), st.floats(0.001, 0.1))
def test_the_charge_at_the_tail_takes_the_tail_current(voltage, rate):
    """`taper_charge` is `cell_voltage` turned round."""
    charge = charging.taper_charge(voltage, rate)
    assume(0 < charge < 100)
    assert charging.cell_voltage(rate, charge) == pytest.approx(voltage, abs=1e-9)
    assert charging.rate_at(voltage, charge) == pytest.approx(rate, rel=1e-6)


@given(st.floats(2.1, 2.6), st.floats(0.005, 0.1))
def test_a_smaller_tail_reaches_more(voltage, rate):
    assert charging.taper_charge(voltage, rate / 2) >= charging.taper_charge(voltage, rate)


@given(st.floats(2.1, 2.6), st.floats(0, 99.9))
def test_a_fuller_cell_takes_less(voltage, charge):
    assume(charging.rate_at(voltage, charge) > 0)
    assert charging.rate_at(voltage, charge + 0.1) < charging.rate_at(voltage, charge)


@pytest.mark.parametrize("charge", [20, 50, 80, 90, 95, 98, 99])
def test_the_current_at_14_4_volts_keeps_the_ampere_hour_law(charge):
    """Woodbridge 1935: a lead-acid battery takes at most as many amperes as ampere-hours are missing."""
    assert charging.rate_at(14.4 / 6, charge) <= (100 - charge) / 100


def test_the_time_to_charge_is_the_integral_of_the_current():
    from scipy.integrate import quad

    for voltage, last in ((13.0 / 6, 81), (13.8 / 6, 95), (14.4 / 6, 97), (15 / 6, 97.9)):
        exact, _ = quad(lambda q, v=voltage: 0.01 / charging.rate_at(v, q), 50, last, epsabs=1e-10)
        assert charging.charging_hours(voltage, 50, last) == pytest.approx(exact, rel=1e-4)


def test_no_time_is_needed_where_nothing_is_missing():
    assert charging.charging_hours(2.4, 90, 90) == 0
    assert charging.charging_hours(2.4, 90, 50) == 0


@given(st.floats(2.0, 2.8), st.floats(-20, 60), st.booleans())
def test_gas_grows_with_volts_and_heat(voltage, temperature, sealed):
    gas = charging.gassing_current(voltage, temperature, sealed)
    assert 0 < gas < charging.gassing_current(voltage + 0.01, temperature, sealed)
    assert gas < charging.gassing_current(voltage, temperature + 1, sealed)


@given(st.sampled_from(CHEMISTRIES), st.floats(-60, 300))
def test_every_temperature_falls_in_a_band(chemistry, temperature):
    band = charging.temperature_band(chemistry, temperature)
    assert band["level"] in ("ok", "caution", "stop")


@given(volts, st.floats(-40, 80), st.sampled_from(CHEMISTRIES))
def test_nothing_is_ever_infinite(voltage, temperature, chemistry):
    assert math.isfinite(charging.reachable_charge(chemistry, voltage, temperature))
    cell = charging.cell_voltage_at_25(chemistry, voltage, temperature)
    assert math.isfinite(charging.taper_charge(cell, charging.TAIL))
