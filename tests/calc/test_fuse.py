"""Fuses: their envelopes, ratings and places."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import interp1d

from calc.physics import fuse
from calc.tables import table

FUSES = [(key, rating) for key in fuse.FAMILIES for rating in fuse.family(key).ratings]
EACH = st.sampled_from(FUSES)
MULTIPLES = st.floats(0.1, 1000)


@given(EACH, MULTIPLES)
def test_the_fastest_edge_is_never_after_the_slowest(each, multiple):
    key, rating = each
    slow = fuse.slowest(key, rating, multiple * rating)
    fast = fuse.fastest(key, rating, multiple * rating)
    assert 0 < fast < math.inf
    assert slow is None or fast < slow < math.inf


@given(EACH, MULTIPLES, st.floats(1.001, 10))
def test_more_current_never_opens_a_fuse_later(each, multiple, more):
    key, rating = each
    assert fuse.fastest(key, rating, multiple * rating * more) <= fuse.fastest(key, rating, multiple * rating)
    slow = fuse.slowest(key, rating, multiple * rating)
    if slow is not None:
        assert fuse.slowest(key, rating, multiple * rating * more) <= slow


@given(EACH, st.floats(0.1, 1.349))
def test_below_135_percent_a_fuse_may_never_open(each, multiple):
    key, rating = each
    assert fuse.slowest(key, rating, multiple * rating) is None


@given(EACH, st.floats(1.35, 100), st.floats(1, 100), st.floats(0, 1))
def test_no_current_of_a_range_lets_through_more_than_the_largest(each, low, span, share):
    key, rating = each
    low, high = low * rating, low * span * rating
    current = low + share * (high - low)
    most = fuse.largest_let_through(key, rating, low, high)
    assert current**2 * fuse.slowest(key, rating, current) <= most * (1 + 1e-9)


@pytest.mark.parametrize(("key", "rating"), FUSES)
def test_every_fuse_has_both_edges_and_an_order(key, rating):
    fast, slow = fuse.edges(key, rating)
    for edge in (fast, slow):
        multiples, times = zip(*edge, strict=True)
        assert list(multiples) == sorted(multiples) and list(times) == sorted(times, reverse=True)
    assert slow[0][0] == 1.35 and slow[-1][0] == 6


@pytest.mark.parametrize("key", fuse.FAMILIES)
def test_ratings_rise(key):
    ratings = fuse.family(key).ratings
    assert list(ratings) == sorted(set(ratings))


@pytest.mark.parametrize(("key", "rating"), [("blade", 15.0), ("blade", 40.0), ("large", 50.0), ("bolt", 100.0)])
def test_envelope_agrees_with_scipy(key, rating):
    """The same points, interpolated by SciPy on log-log axes."""
    _, slow = fuse.edges(key, rating)
    multiples, times = np.array(slow).T
    curve = interp1d(np.log10(multiples), np.log10(times))
    for multiple in np.geomspace(1.351, 5.999, 60):
        expected = 10 ** float(curve(np.log10(multiple)))
        assert fuse.slowest(key, rating, float(multiple * rating)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("key", "rating", "let_through"), [("blade", 40, 3300), ("large", 40, 8500), ("large", 30, 4100)]
)
def test_typical_let_through_lies_inside_the_envelope(key, rating, let_through):
    """Makers' sheets, transcribed in one public note: typical I²t of a 40 A blade, 40 and 30 A large blades."""
    current = 6.0 * rating
    least, most = (f(key, rating, current) * current**2 for f in (fuse.fastest, fuse.slowest))
    assert least < let_through < most


@given(st.floats(-40, 125), st.floats(0, 50))
def test_heat_never_lets_a_fuse_carry_more(temperature, warmer):
    assert 0.5 < fuse.heat_factor(temperature + warmer) <= fuse.heat_factor(temperature) <= 1


def test_a_fuse_with_no_opening_times_is_refused():
    with pytest.raises(ValueError, match=r"rating=1000"):
        fuse.envelope("strip", 1000)


def test_colours_that_no_text_shows_are_not_told():
    assert fuse.colour("blade", 10) == "red"
    for row in table("iso_8820_ratings").rows:
        assert (fuse.colour(row["family"], row["rating"]) is None) == (
            row["confidence"] != "seen" or row["colour"] is None
        )
