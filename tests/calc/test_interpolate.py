"""Reading between rows: the smooth curve against SciPy's, which nobody here wrote."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from calc.physics.interpolate import monotone_cubic, monotone_slopes

steps = st.lists(st.tuples(st.floats(0.01, 10), st.floats(-5, 5)), min_size=2, max_size=12)


def points(taken):
    """Return the places and values that steps lead to."""
    xs, ys = np.cumsum([(0.0, 0.0), *taken], axis=0).T
    return list(map(float, xs)), list(map(float, ys))


@given(steps, st.floats(0, 1))
def test_value_slope_and_integral_are_scipys(taken, share):
    xs, ys = points(taken)
    scipys = PchipInterpolator(xs, ys)
    value, integral, slope = monotone_cubic(xs, ys)
    x = min(xs[-1], xs[0] + share * (xs[-1] - xs[0]))
    assert monotone_slopes(xs, ys) == pytest.approx(scipys.derivative()(xs), rel=1e-9, abs=1e-9)
    assert value(x) == pytest.approx(float(scipys(x)), abs=1e-9)
    assert slope(x) == pytest.approx(float(scipys.derivative()(x)), rel=1e-7, abs=1e-7)
    assert integral(x) == pytest.approx(float(scipys.integrate(xs[0], x)), abs=1e-8)


@given(steps)
def test_it_goes_through_the_points_and_never_beyond_its_neighbours(taken):
    xs, ys = points(taken)
    value, _, _ = monotone_cubic(xs, ys)
    for i in range(len(xs) - 1):
        assert value(xs[i]) == pytest.approx(ys[i], abs=1e-9)
        low, high = sorted(ys[i : i + 2])
        for x in np.linspace(xs[i], xs[i + 1], 9):
            assert low - 1e-9 <= value(float(x)) <= high + 1e-9


@given(steps, st.floats(0, 5))
def test_outside_the_points_it_goes_straight_on(taken, beyond):
    xs, ys = points(taken)
    value, integral, slope = monotone_cubic(xs, ys)
    first, last = slope(xs[0]), slope(xs[-1])
    assert value(xs[0] - beyond) == pytest.approx(ys[0] - first * beyond, abs=1e-9)
    assert value(xs[-1] + beyond) == pytest.approx(ys[-1] + last * beyond, abs=1e-9)
    area = beyond * (ys[-1] + last * beyond / 2)
    assert integral(xs[-1] + beyond) - integral(xs[-1]) == pytest.approx(area, abs=1e-8)
