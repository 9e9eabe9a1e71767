"""Units at the border: what people write is understood, and nothing else is."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import units
from calc.glossary import QUANTITIES
from calc.units import UnitsError, convert, parse_number, shorten, show

NBSP = "\u00a0"

EXACT = [
    (1, "ft", "m", 0.3048),
    (20, "ft", "m", 6.096),
    (1, "in", "m", 0.0254),
    (104, "degF", "degC", 40),
    (-40, "degF", "degC", -40),
    (0, "°C", "degF", 32),
    (25, "mohm", "ohm", 0.025),
    (25, "mΩ", "ohm", 0.025),
    (90, "min", "h", 1.5),
    (2, "h", "s", 7200),
    (1, "day", "h", 24),
    (250, "mA", "A", 0.25),
    (1.2, "kWh", "Wh", 1200),
    (500, "mV", "V", 0.5),
    (1, "Ah", "A s", None),
]


@pytest.mark.parametrize(("number", "unit", "into", "expect"), EXACT)
def test_units_convert_by_their_definition(number, unit, into, expect):
    if expect is None:
        with pytest.raises(UnitsError):
            convert(number, unit, into)
    else:
        assert convert(number, unit, into) == pytest.approx(expect, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("unit", ["deg²F", "mdeg²F", "deg degF", "degF/deg"])
def test_a_temperature_among_factors_is_no_unit(unit):
    with pytest.raises(UnitsError):
        convert(1, unit, "degC")


def test_a_circular_mil_is_the_circle_of_one_thousandth_of_an_inch():
    """ASTM B258 counts areas in circular mils; 26 250 of them are 6 AWG, 13.30 mm²."""
    assert convert(26250, "cmil", "mm2") == pytest.approx(13.301, abs=0.001)


@pytest.mark.parametrize("spelling", units.SPELLINGS)
def test_every_spelling_names_a_unit(spelling):
    assert units.unit_of(spelling)


@pytest.mark.parametrize("name", QUANTITIES)
def test_every_unit_offered_beside_a_field_is_of_its_kind(name):
    q = QUANTITIES[name]
    for unit in q.also:
        assert units.same_kind(unit, q.unit)
        assert units.sign(unit)


@pytest.mark.parametrize(
    ("text", "number", "rest"),
    [
        ("25", 25, ""),
        ("25 A", 25, "A"),
        ("25A", 25, "A"),
        ("  25\u00a0A ", 25, "A"),
        ("12,3", 12.3, ""),
        ("12,3 V", 12.3, "V"),
        ("0,123", 0.123, ""),
        (",5", 0.5, ""),
        (".5 m", 0.5, "m"),
        ("5.", 5, ""),
        ("−5 degC", -5, "degC"),
        ("+5", 5, ""),
        ("1e2 A", 100, "A"),
        ("2E-3", 0.002, ""),
        ("0,250", 0.25, ""),
        ("12,3456", 12.3456, ""),
    ],
)
def test_numbers_are_read_as_people_write_them(text, number, rest):
    assert parse_number(text) == (number, rest)


@pytest.mark.parametrize("text", ["1,000", "12,345", "-1,000", "100,000 A"])
def test_a_comma_that_can_be_read_two_ways_is_asked_about(text):
    digits = text.split()[0]
    with pytest.raises(UnitsError, match="two ways") as problem:
        parse_number(text)
    assert digits.replace(",", "") in str(problem.value)
    assert digits.replace(",", ".") in str(problem.value)


@pytest.mark.parametrize(
    "text", ["", "A", "--5", "nan", "inf", "-inf", "0x10", "1e400", "٥", "１２", "e5", ",", "5" * 61]
)
def test_what_is_no_number_is_refused(text):
    try:
        number, rest = parse_number(text)
    except UnitsError:
        return
    assert math.isfinite(number)
    with pytest.raises(UnitsError):
        convert(number, rest, "A")


def test_a_long_entry_is_called_long():
    with pytest.raises(UnitsError, match="too long"):
        parse_number("5" * 61)


@pytest.mark.parametrize(
    ("unit", "words"),
    [("kg", "a mass"), ("l", "a volume"), ("V", "a voltage"), ("mm2", "an area"), ("h", "a time"), ("W", "a power")],
)
def test_a_unit_of_another_kind_is_named_for_what_it_is(unit, words):
    with pytest.raises(UnitsError, match=f"measures {words}"):
        convert(5, unit, "A")


@pytest.mark.parametrize("unit", ["furlong", "__class__", "A*A", "A**9", "2 A", "(A)", "A;V", "A" * 5000, "", "5"])
def test_what_is_no_unit_here_is_refused_without_being_worked_out(unit):
    with pytest.raises(UnitsError):
        convert(5, unit, "A")


CONVERTIBLE = [("m", "ft"), ("m", "in"), ("degC", "degF"), ("h", "min"), ("ohm", "mohm"), ("A", "mA"), ("mm2", "cm2")]


@given(st.floats(-1e6, 1e6), st.sampled_from(CONVERTIBLE))
def test_there_and_back_is_the_same(number, pair):
    there, back = pair
    again = convert(convert(number, there, back), back, there)
    assert again == pytest.approx(number, rel=1e-12, abs=1e-9)


@given(st.floats(-1e9, 1e9, allow_nan=False), st.sampled_from([None, 0, 1, 2, 3]))
def test_a_shown_value_reads_back_as_nearly_itself(value, places):
    text = show(value, "A", places)
    number, unit = parse_number(text)
    assert unit == "A"
    near = 0.5 * 10**-places if places is not None else 0.0051 * abs(value)
    assert number == pytest.approx(value, abs=near * (1 + 1e-9) + 1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "places", "text"),
    [
        (0.912, "V", 2, "0.91 V"),
        (-0.001, "V", 2, "0.00 V"),
        (-5, "degC", 0, "−5 °C"),
        (1234.5, "A", None, "1230 A"),
        (999.9, "A", None, "1000 A"),
        (0.0123456, "ohm", None, "0.0123 Ω"),
        (3, "%", None, "3 %"),
        (3, "percent", 1, "3.0 %"),
        (5, "-", None, "5"),
        (0, "A", None, "0 A"),
        (7e-144, "A", None, "0 A"),
        (-5e-324, "A", None, "0 A"),
    ],
)
def test_values_are_shown_as_the_trade_writes_them(value, unit, places, text):
    assert show(value, unit, places) == text.replace(" ", NBSP)


@given(st.text(max_size=200))
def test_a_quoted_entry_is_short_and_plain(text):
    quoted = shorten(text)
    assert len(quoted) <= 24
    assert quoted.isprintable()
