"""The physics of gas and air: what it must never do, and where two ways must agree."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import ventilation
from calc.sources import SOURCES
from calc.tables import table

CHEMISTRIES = ("flooded", "calcium", "agm", "gel", "lfp")
capacities = st.floats(1, 2000)
currents = st.floats(1e-3, 2000)


def test_each_constant_names_its_source_and_how_sure_we_are():
    for row in table("ventilation").rows:
        assert row["source"] in SOURCES
        assert (row["source"] == "memory") == (row["confidence"] == "from memory")


def test_the_rounded_factor_is_the_product_to_two_decimals():
    """24 × 0.42e-3 × 5 = 0.0504, which IEC 62485-2 prints as 0.05."""
    assert ventilation.air_flow(1, 1, rounded=False) == pytest.approx(0.0504)
    assert round(ventilation.air_flow(1, 1, rounded=False), 2) == ventilation.air_flow(1, 1)


def test_the_area_is_that_through_which_the_air_goes_at_a_tenth_of_a_metre_a_second():
    """Q/(3600 s · 0.1 m/s) = 27.8 cm² for 1 m³/h, which the standard rounds to 28."""
    assert ventilation.opening_area(1) == pytest.approx(1 / 3600 / 0.1 * 1e4, rel=0.01)


def test_hydrogen_is_what_electrolysis_makes():
    """Faraday: 3600 C/Ah / (2 · 96485 C/mol) · 22.41 l/mol = 0.418 l/Ah at 0 °C; the standard's 0.42."""
    assert ventilation.constant("hydrogen") * 1000 == pytest.approx(3600 / (2 * 96485.33) * 22.414, rel=0.01)


def test_the_air_of_the_standard_thins_hydrogen_five_times_below_danger():
    hydrogen = ventilation.constant("hydrogen") * 6 * 2.0
    share = hydrogen / (hydrogen + ventilation.air_flow(6, 2.0, rounded=False) / ventilation.constant("safety"))
    assert share == pytest.approx(ventilation.constant("danger") / 100)


def test_two_rules_of_different_hands_agree_within_a_quarter():
    """IEC 62485-2 counts 0.05, the old Swedish rule 0.0612 m³/h for an ampere in a cell."""
    ratio = ventilation.air_flow(6, 10) / ventilation.old_rule_air_flow(6, 10, "flooded")
    assert 0.75 < ratio < 1
    sealed, flooded = (ventilation.old_rule_air_flow(6, 10, kind) for kind in ("sealed", "flooded"))
    row = table("iec_62485_2").row(kind="sealed", charging="boost")
    assert sealed / flooded == pytest.approx(row["emission"])


def test_stationary_and_traction_agree_on_a_charger_that_holds_its_voltage():
    assert ventilation.gas_rate("flooded", "boost") == ventilation.traction_gas_rate("flooded", "iu")
    assert ventilation.gas_rate("sealed", "boost") <= ventilation.traction_gas_rate("sealed", "iu")


@pytest.mark.parametrize("kind", ["flooded", "sealed", "nicd"])
def test_boost_makes_more_gas_than_float(kind):
    assert ventilation.gas_rate(kind, "boost") > ventilation.gas_rate(kind, "float")


def test_what_the_standards_do_not_cover_has_no_kind():
    assert ventilation.kind("lfp") is None
    assert {ventilation.kind(chemistry) for chemistry in CHEMISTRIES[:4]} == {"flooded", "sealed"}


@given(st.floats(-40, 80), st.floats(0, 40))
def test_heat_never_makes_less_gas(temperature, warmer):
    factor = ventilation.heat_factor(temperature)
    assert 1 <= factor <= ventilation.heat_factor(min(80, temperature + warmer)) * (1 + 1e-12)
    assert factor == 1 or temperature > 40


@given(currents, st.floats(1.001, 10))
def test_more_gas_needs_more_of_everything(current, times):
    one, other = ventilation.air_flow(6, current), ventilation.air_flow(6, current * times)
    for rule in (ventilation.opening_area, ventilation.free_volume):
        assert rule(one) < rule(other)
    assert ventilation.safety_distance(6, current) < ventilation.safety_distance(6, current * times)
    assert ventilation.hours_to_danger(50, 6, current) > ventilation.hours_to_danger(50, 6, current * times)


@given(st.floats(1e-3, 1e5))
def test_a_round_hole_has_its_area(area):
    assert math.pi / 4 * (ventilation.round_opening(area) / 10) ** 2 == pytest.approx(area)


@given(st.floats(0.5, 600), st.floats(1, 20))
def test_a_charger_makes_no_more_gas_than_its_current(rating, factor):
    assert 0 < ventilation.unregulated_gas_current(rating, factor) <= rating


@given(capacities, st.integers(1, 200))
def test_the_time_to_danger_is_that_of_the_air_flow(capacity, cells):
    """In the time that fills a box to 4 %, the standard's air would change it 24 · 5 · 4 % times."""
    current = ventilation.gas_current(20, capacity)
    hours = ventilation.hours_to_danger(100, cells, current)
    assert hours * ventilation.air_flow(cells, current, rounded=False) * 1000 / 100 == pytest.approx(24 * 5 * 0.04)
