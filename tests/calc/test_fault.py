"""What a battery drives into a short."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.physics import fault
from calc.shared_fields import CHEMISTRIES

KINDS = st.sampled_from([key for key, _ in CHEMISTRIES])
CAPACITIES = st.floats(1, 2000)
OHMS = st.floats(0, 10)


@given(KINDS, CAPACITIES, OHMS)
def test_weak_usual_and_strong_stand_in_that_order(kind, capacity, cable):
    weak, usual, strong = (f(kind, capacity, cable) for f in (fault.weakest, fault.usual, fault.strongest))
    assert 0 < weak < usual < strong


@given(KINDS, CAPACITIES, CAPACITIES, OHMS)
def test_a_larger_battery_never_drives_less(kind, one, other, cable):
    small, large = sorted((one, other))
    for f in (fault.weakest, fault.usual, fault.strongest):
        assert f(kind, small, cable) <= f(kind, large, cable)


@given(KINDS, CAPACITIES)
def test_internal_resistance_falls_in_proportion(kind, capacity):
    one, two = fault.internal_resistance(kind, capacity), fault.internal_resistance(kind, 2 * capacity)
    assert two == pytest.approx([r / 2 for r in one])
