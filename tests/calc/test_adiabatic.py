"""What a cable stands in a short: the law's shape, and its round trip with time."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import adiabatic

CURRENTS = st.floats(1, 1e5)
AREAS = st.floats(0.3, 300)
RATINGS = st.floats(60, 250)


@given(RATINGS)
def test_the_insulation_ends_hotter_than_it_starts(insulation):
    assert adiabatic.end_temperature(insulation) > adiabatic.start_temperature(insulation)
    assert 50 <= adiabatic.insulation_factor(insulation) <= 250, "the glossary's range"


@given(CURRENTS, AREAS, RATINGS)
def test_time_at_a_current_uses_up_just_what_it_stands(current, area, insulation):
    k = adiabatic.insulation_factor(insulation)
    assert adiabatic.withstand_time(current, k, area) * current**2 == pytest.approx(adiabatic.withstand(k, area))


@given(st.floats(60, 124), st.floats(0.1, 10))
def test_a_hotter_start_stands_less(start, more):
    assert adiabatic.withstand_factor(start + more, 160) < adiabatic.withstand_factor(start, 160)


def test_k_is_the_heat_that_fills_the_copper():
    """IEC 60364-5-54, annex A: k² = Qc (β + 20)/ρ20 · ln(…), with Qc = 3.45e-3 J/(K mm³) and ρ20 = 17.241e-6 Ω mm.

    Integrated numerically here; 0.2 % because 226 is that root to three figures.
    """
    import numpy as np

    heat, rho = 3.45e-3, 17.241e-6
    temperature = np.linspace(70, 160, 100_001)
    resistivity = rho * (234.5 + temperature) / 254.5
    k = np.sqrt(np.trapezoid(heat / resistivity, temperature))
    assert adiabatic.withstand_factor(70, 160) == pytest.approx(k, rel=2e-3)
