"""A trip on one line: what is typed in many ways means one thing, and survives being written out again."""

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from calc import edition
from calc.checks import trips
from calc.fields import FieldError
from calc.legs import KINDS, LONGEST_TRIP, MOST_LEGS, SKIES, Journey, Leg, Legs
from calc.region import REGIONS

TRIP = Legs("legs", "The trip, leg by leg", "What happens, in order", "drive 3 h", "drive 3 h, camp 2 d")


def legs(text):
    return TRIP.read(text, {}).value.legs


def refused(text):
    with pytest.raises(FieldError) as problem:
        TRIP.read(text, {})
    return str(problem.value)


@pytest.mark.parametrize(
    "text",
    [
        "drive 3 h, camp 2 d clear 8..22 degC",
        "Drive 3h,camp 2d sun 8..22",
        "driving 180 min; camping 48 hours, sunny, 8 to 22 °C".replace(", sunny,", " sunny"),
        "3 h drive, 2 days camp in clear sky 22..8 degC",
        "drive for 3 h , camp clear 46,4..71.6 degF 2 d,",
        " DRIVE  3  H , CAMP 2 D SUN 8…22 C ",
    ],
)
def test_one_trip_written_in_many_ways(text):
    drive, camp = legs(text)
    assert drive == Leg("drive", 3)
    assert (camp.kind, camp.hours, camp.sky) == ("camp", 48, "clear")
    assert (camp.coldest, camp.hottest) == (pytest.approx(8), pytest.approx(22))


def test_air_may_be_below_nought_or_one_temperature_all_day():
    assert legs("stop 1 h −12..-3 degC")[0] == Leg("stop", 1, None, -12, -3)
    assert legs("plugged 10 h cloudy 5 degC")[0] == Leg("plugged", 10, "overcast", 5, 5)


def test_a_comma_between_digits_is_a_decimal_one():
    assert [leg.hours for leg in legs("drive 2,5 h,camp 1.5 d")] == [2.5, 36]


def test_it_reads_as_a_sentence_would():
    entry = TRIP.read("drive 3 h, camp 2 d sun 8..22 degC", {})
    assert entry.text.replace("\u00a0", " ") == "Drive 3 h; camp 2 d, clear sky, 8 to 22 °C"
    assert entry.number() == "drive 3 h, camp 2 d clear 8..22 degC"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("drive", "leg 1, “drive”, does not say how long"),
        ("drive 3 h, camp 2 d, swim 1 h", "leg 3, “swim 1 h”, holds “swim”"),
        ("3 h", "leg 1, “3 h”, must say drive, stop, camp or plugged"),
        ("drive 3 kg", "measures a mass"),
        ("drive 3 parsec", "is not a unit"),
        ("drive 0 h", "must be between"),
        ("drive 3", "does not say how long"),
        ("drive 3 h 4 h", "holds “4”"),
        ("drive 3 h sunny rain", "holds “rain”"),
        ("drive -3 h", "must be between"),
        ("drive 3 h,, camp 1 d", "leg 2, “”,"),
        ("drive 3 h -90..20 degC", "must be between"),
        ("camp 366 d", "between"),
        ("camp 200 d, camp 200 d", "at most 365"),
        (", ".join(["stop 1 h"] * (MOST_LEGS + 1)), "at most 60 legs"),
        ("x" * 10_000, "too long"),
    ],
)
def test_what_cannot_be_used_is_named_with_an_example(text, said):
    sentence = refused(text).replace("\u00a0", " ")
    assert said in sentence
    assert sentence.startswith("The trip, leg by leg: ")
    assert "drive 3 h, camp 2 d" in sentence
    assert len(sentence) <= 400 and sentence.endswith(".")


def a_leg(kind, hours, sky, air):
    return Leg(kind, hours, sky, *(sorted(air) if air else (None, None)))


LEG = st.builds(
    a_leg,
    st.sampled_from([key for key, _ in KINDS]),
    st.floats(0.02, LONGEST_TRIP / MOST_LEGS),
    st.sampled_from([None, *(key for key, _ in SKIES)]),
    st.none() | st.tuples(st.floats(-50, 60), st.floats(-50, 60)),
)


@given(st.lists(LEG, min_size=1, max_size=MOST_LEGS).map(tuple).map(Journey))
def test_any_trip_survives_being_written(journey):
    again = TRIP.read(journey.plain, {}).value
    assert again.plain == journey.plain
    for leg, other in zip(journey.legs, again.legs, strict=True):
        assert (leg.kind, leg.sky) == (other.kind, other.sky)
        assert other.hours == pytest.approx(leg.hours, abs=1e-8)
        assert (other.coldest is None) == (leg.coldest is None)
        if leg.coldest is not None:
            assert other.coldest == pytest.approx(leg.coldest, abs=1e-9)
            assert other.hottest == pytest.approx(leg.hottest, abs=1e-9)


IN_FAHRENHEIT = edition.Edition(region=REGIONS["north-america"])


def test_where_degrees_are_fahrenheit_a_trip_is_edited_in_them_and_carried_in_celsius():
    with edition.used(IN_FAHRENHEIT):
        journey = TRIP.read("camp 2 d clear 8..22 degC, drive 1 h", {}).value
        assert journey.typed == "camp 2 d clear 46.4..71.6 degF, drive 1 h"
        assert journey.plain == "camp 2 d clear 8..22 degC, drive 1 h"
        assert (TRIP.air_unit, TRIP.air_sign) == ("degF", "°F")
        assert "camp 2 d clear 46..72 degF" in TRIP.takes
        assert "camp 2 d clear 46..72 degF" in refused("swim")


@example(TRIP.read("drive 1 h 0..60 degC", {}).value, REGIONS["north-america"])
@given(st.lists(LEG, min_size=1, max_size=5).map(tuple).map(Journey), st.sampled_from(list(REGIONS.values())))
def test_what_a_page_of_any_region_edits_is_the_same_trip(journey, region):
    with edition.used(edition.Edition(region=region)):
        again = TRIP.read(journey.typed, {}).value
        assert again.typed == journey.typed
    for leg, other in zip(journey.legs, again.legs, strict=True):
        assert other.coldest == (leg.coldest if leg.coldest is None else pytest.approx(leg.coldest, abs=1e-8))
        assert other.hottest == (leg.hottest if leg.hottest is None else pytest.approx(leg.hottest, abs=1e-8))


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_common_trips_are_whole_degrees_everywhere(region):
    with edition.used(edition.Edition(region=region)):
        for name, typed in trips.LEGS.ready:
            assert typed == trips.LEGS.read(typed, {}).value.typed, name
            assert not re.search(r"\d\.\d", typed), name
        assert ("degF" in str(trips.LEGS.ready)) == (region.units["degC"] == "degF")


@given(st.text(max_size=80))
def test_any_text_is_a_trip_or_one_sentence(text):
    try:
        entry = TRIP.read(text, {})
    except FieldError as problem:
        assert str(problem).endswith(".") and len(str(problem)) <= 400
    else:
        assert entry.value.legs
