"""The sun on a panel: the year's and the day's course, both halves of the earth, clouds, and hostile input."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from calc.physics import sun
from calc.tables import assumption

FLAT = sun.Panel(100, 0, 0.1, 0.93)
TILTED = sun.Panel(100, 40, 0.1, 0.93)
MIDSUMMER, EQUINOX, MIDWINTER = 172, 79, 355

latitudes = st.floats(-90, 90)
days = st.integers(1, 366)
hours = st.floats(0, 24)
eighths = st.floats(0, 8)
airs = st.floats(-40, 60)
panels = st.builds(sun.Panel, st.floats(1, 3000), st.floats(0, 90), st.floats(0, 1), st.floats(0.5, 1))


def power(latitude, number, hour, panel=FLAT, clouds=0, air=20):
    return sun.day(latitude, number, clouds, (panel,)).power(hour, air)


def energy(latitude, number, panel=FLAT, clouds=0, air=20):
    return sun.energy(sun.day(latitude, number, clouds, (panel,)), air)


@given(latitudes, days, hours, eighths, airs, st.lists(panels, max_size=4))
def test_power_is_never_below_nought_nor_endless(latitude, number, hour, clouds, air, laid):
    made = sun.day(latitude, number, clouds, tuple(laid))
    assert 0 <= made.power(hour, air) <= 2 * sum(panel.rated for panel in laid)


@given(latitudes, days)
def test_the_sun_rises_before_noon_and_sets_after_or_does_neither(latitude, number):
    made = sun.day(latitude, number, 0, (FLAT,))
    noon = 12 - sun.course(number, 12).ahead
    if made.rises is None:
        assert made.sets is None
        assert (made.power(noon, 20) > 0) == (sun.elevation(latitude, number, noon) > 0)
        return
    assert (noon - made.rises) % 24 == pytest.approx((made.sets - noon) % 24, abs=1e-6)
    assert 0 <= made.rises <= 24 and 0 <= made.sets <= 24
    assert list(made.turns) == sorted(made.turns)


@given(st.floats(-65, 65), days)
def test_the_sun_is_up_just_between_its_hours(latitude, number):
    made = sun.day(latitude, number, 0, (FLAT,))
    assert made.power(made.rises - 1e-3, 20) == made.power(made.sets + 1e-3, 20) == 0
    for hour in (made.rises + 0.2, 12, made.sets - 0.2):
        assert made.power(hour, 20) > 0


@pytest.mark.parametrize("latitude", [-80, 80])
def test_beyond_the_circles_the_sun_stays_up_or_down_all_day(latitude):
    light, dark = (MIDSUMMER, MIDWINTER) if latitude > 0 else (MIDWINTER, MIDSUMMER)
    white, black = (sun.day(latitude, number, 0, (FLAT,)) for number in (light, dark))
    assert white.turns == black.turns == ()
    assert min(white.power(hour, 0) for hour in range(25)) > 5
    assert sun.energy(black, 0) == 0


def test_near_the_pole_the_sun_may_set_after_midnight():
    """At 66.3° the midsummer sun dips below the level for some minutes: it sets before it rises, on the clock."""
    made = sun.day(66.3, MIDSUMMER, 0, (FLAT,))
    assert made.sets < made.rises < 2 or made.rises < 2 and made.sets > 22
    assert made.power(12, 20) > 0


@pytest.mark.parametrize("number", [EQUINOX, MIDSUMMER, MIDWINTER])
def test_the_south_is_the_north_half_a_year_on(number):
    """Only the sun's distance differs, by 7 % of its strength between January and July."""
    north = energy(40, number, TILTED)
    south = energy(-40, (number + 182) % 365 or 365, TILTED)
    assert south == pytest.approx(north, rel=0.075)


def test_a_tilt_pays_in_winter_and_costs_in_high_summer():
    assert energy(50, MIDWINTER, TILTED) > 1.5 * energy(50, MIDWINTER)
    assert energy(10, MIDSUMMER, TILTED) < energy(10, MIDSUMMER)


def test_a_tilted_panel_has_edges_of_its_own_where_the_sun_comes_round():
    flat, tilted = (sun.day(50, MIDSUMMER, 0, (panel,)) for panel in (FLAT, TILTED))
    assert len(flat.turns) == 2
    rises, comes, goes, sets = tilted.turns
    assert (rises, sets) == flat.turns
    assert 5 < comes < 7.5 and 16.5 < goes < 19


@given(st.floats(-65, 65), days, st.sampled_from([(FLAT,), (TILTED,), (FLAT, TILTED)]))
def test_between_its_turns_the_power_is_smooth(latitude, number, laid):
    """An edge shows as a jump of slope: away from the turns, slopes a second apart differ by next to nothing."""
    made = sun.day(latitude, number, 0, laid)
    step = 1 / 3600
    for first, last in zip(made.turns, made.turns[1:], strict=False):
        for share in (0.1, 0.5, 0.9):
            at = first + share * (last - first)
            if last - first > 0.1:
                before, here, after = (made.power(at + n * step, 20) for n in (-1, 0, 1))
                assert abs(after - 2 * here + before) < 1e-3


@given(st.floats(-65, 65), days, eighths, eighths, st.floats(9, 15))
def test_more_cloud_never_brings_more_onto_level_ground(latitude, number, one, other, hour):
    few, many = sorted((one, other))
    clear, grey = (power(latitude, number, hour, clouds=clouds) for clouds in (few, many))
    assert grey <= clear * (1 + 1e-12)


def test_an_overcast_sky_has_no_beam():
    """All light comes from the sky and the ground, so the panel's lean only matters by how much sky it sees."""
    south, north = (power(50, MIDSUMMER, 12, sun.Panel(100, tilt, 0, 1), 8, 25) for tilt in (0, 90))
    thrown = assumption("ground_reflection")["value"] / 2
    assert north / south == pytest.approx(0.5 + thrown, rel=0.02)


def test_the_words_for_the_sky_stand_in_order():
    words = [assumption(f"cloud_{word}") for word in ("clear", "half", "overcast")]
    assert [row["value"] for row in words] == sorted(row["value"] for row in words)
    assert words[0]["low"] == 0 and words[-1]["high"] == sun.EIGHTHS


@given(st.floats(9, 15), airs)
def test_a_warmer_panel_gives_less(hour, air):
    assert power(50, MIDSUMMER, hour, air=air + 5) < power(50, MIDSUMMER, hour, air=air)


def test_rating_means_a_kilowatt_a_square_metre_at_25_degrees():
    """Worked by hand: level panel, whole sunshine G, cells at T = air + k·G: P = rated · G/1000 · (1 − γ(T − 25))."""
    number, hour, air = MIDSUMMER, 12, 10
    found = sun.course(number, 12)
    sky = sun.clear_sky(found.strength, assumption("sky_aerosol")["value"], assumption("sky_water")["value"])
    up = math.sin(math.radians(sun.elevation(50, number, hour)))
    whole = sky.outside * math.exp(-sky.whole_depth / up**sky.whole_exponent) * up
    warm = air + assumption("panel_warms")["value"] * whole - 25
    expected = 160 * whole / 1000 * (1 - assumption("panel_fades")["value"] * warm)
    assert power(50, number, hour, sun.Panel(160, 0, 0, 1), 0, air) == pytest.approx(expected, rel=1e-9)


def test_what_is_lost_and_the_controller_take_their_share():
    whole = power(50, MIDSUMMER, 12, sun.Panel(100, 0, 0, 1), air=25)
    assert power(50, MIDSUMMER, 12, sun.Panel(100, 0, 0, 0.9), air=25) == pytest.approx(0.9 * whole)
    assert 0.5 < power(50, MIDSUMMER, 12, sun.Panel(100, 0, 0.5, 1), air=25) / whole < 0.6
    assert power(50, MIDSUMMER, 12, sun.Panel(100, 0, 1, 1)) == 0


@pytest.mark.parametrize("latitude", [-80, -35, 0, 50, 66, 80])
@pytest.mark.parametrize("number", [1, EQUINOX, MIDSUMMER, MIDWINTER])
def test_a_days_energy_is_the_integral_of_its_power(latitude, number):
    """SciPy's quadrature to 1e-9; 5e-6 is what STEPS says of itself."""
    made = sun.day(latitude, number, 2, (FLAT, TILTED))
    edges = (0, *made.turns, 24)
    spells = zip(edges, edges[1:], strict=False)
    whole = sum(quad(made.power, first, last, args=(15,), epsabs=1e-9, limit=400)[0] for first, last in spells)
    assert sun.energy(made, 15) == pytest.approx(whole, rel=5e-6, abs=1e-9)


def test_no_panels_give_nothing():
    made = sun.day(50, MIDSUMMER, 0, ())
    assert made.power(12, 20) == sun.energy(made, 20) == 0
    assert made.turns == tuple(sorted((made.rises, made.sets)))


@given(st.floats(-1, 1), st.floats(0, 1), st.floats(11.7, 12.3))
def test_hours_up_are_where_the_sine_crosses(constant, swing, noon):
    found = sun.hours_up(constant, swing, noon)
    if found:
        for hour in found:
            assert constant + swing * math.cos(sun.TURN * (hour - noon)) == pytest.approx(0, abs=1e-9)
