"""Engine start: more charge, warmth and amperes never hurt; a flat battery is helped, a frozen one never."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc import cautions

FLAT = {"charge": "10 %", "temperature": "15 degC", "engine": "petrol_small"}


def run(**inputs):
    return calc.run("engine-start", inputs)


def volts(**inputs):
    return run(**inputs).values["cranking_voltage"].value


@given(st.floats(0, 99), st.floats(0, 99), st.floats(-25, 50))
def test_more_charge_never_gives_less_voltage(one, other, temperature):
    low, high = sorted((one, other))
    t = f"{temperature} degC"
    assert volts(charge=f"{low} %", temperature=t) <= volts(charge=f"{high} %", temperature=t) + 1e-9


@given(st.floats(-30, 50), st.floats(-30, 50))
def test_warmth_never_gives_less_voltage(one, other):
    low, high = sorted((one, other))
    assert volts(temperature=f"{low} degC") <= volts(temperature=f"{high} degC") + 1e-9


@given(st.floats(5, 100))
def test_from_the_least_charge_on_it_starts(charge):
    found = run(temperature="10 degC", engine="petrol_small", charge=f"{charge} %")
    starts = found.values["cranking_voltage"].value >= 9.0
    assert starts == (charge >= found.values["least_charge"].value)


def test_a_new_battery_full_and_warm_starts_a_small_engine():
    found = run(charge="100 %", temperature="25 degC", engine="petrol_small", age="0 years")
    assert found.level == "ok" and found.verdicts[0].text == "The battery will start the engine."


def test_a_flat_one_is_helped_by_a_thin_cable_in_time_and_by_a_thick_one_at_once():
    thin, thick = run(**FLAT, link_resistance="100 mohm"), run(**FLAT, link_resistance="2 mohm")
    assert thick.values["joined_voltage"].value > thin.values["joined_voltage"].value
    assert thick.values["from_second"].value > thin.values["from_second"].value
    assert thick.values["wait_alone"].value < thin.values["wait_alone"].value


def test_what_helps_through_a_thick_cable_says_what_its_fuse_has_to_carry():
    found = run(charge="20 %", temperature="0 degC", link_resistance="5 mohm", second_charge="100 %")
    assert found.level == "stop"
    assert "blows" in found.verdicts[1].because and "small relay" in found.verdicts[1].because


def test_a_lithium_battery_charges_and_does_not_crank():
    found = run(**FLAT, second_chemistry="lfp", second_charge="90 %")
    assert "do not crank" in found.verdicts[1].text
    assert cautions.LITHIUM_CRANK in found.cautions


def test_a_frozen_battery_is_left_alone():
    found = run(charge="10 %", temperature="-20 degC")
    assert found.level == "stop" and "frozen" in found.verdicts[0].text
    assert len(found.verdicts) == 1


def test_what_is_not_known_counts_as_usual_for_its_size_and_age():
    assert volts(cold_cranking="630 A", health="80 %") == pytest.approx(volts())
    assert volts(health="100 %") > volts(health="60 %")


@pytest.mark.parametrize("engine", ["petrol_small", "petrol", "diesel", "diesel_large"])
def test_a_larger_engine_needs_more(engine):
    found = run(engine=engine, temperature="20 degC")
    needed = {"petrol_small": 0, "petrol": 1, "diesel": 2, "diesel_large": 3}
    others = [run(engine=e, temperature="20 degC").values["cranking_current"].value for e in needed]
    assert sorted(others).index(found.values["cranking_current"].value) == needed[engine]
