"""Fields: one declaration makes the limits, the sentences and the blanks."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc import edition, units
from calc.fields import Choice, FieldError, Number, Size, yes_no
from calc.glossary import quantity
from calc.region import REGIONS
from calc.units import convert, sign

AMPS = Number("amps", "Current", "What flows", None, "25 A", "current", 0.1, 600)
COLD = Number("cold", "Air outside", "How cold it is", "20 degC", "5 degC", "temperature", -40, 60)
SUPPLY = Number("supply", "Supply", "Volts", "12 V", "12 V", "voltage", 9, 16)
LOSS = Number("loss", "Loss", "Share lost", "3 %", "3 %", "share", 0.1, 50, part_of="supply", part_unit="V")
KIND = Choice("kind", "Kind", "Which", "agm", "agm", (("agm", "AGM"), ("gel", "Gel")), (("mat", "agm"),))
SIZE = Size("size", "Cable size", "As printed", "", "16 mm2", unknown="chosen for you")
ALL = [(check, field) for check in calc.checks().values() for field in check.fields]


def ids(pair):
    return f"{pair[0].id}-{pair[1].name}"


def read(field, text, before=None):
    return field.read(text, before or {})


@pytest.mark.parametrize("text", ["25", "25 A", "25A", "25 amps", "25000 mA", "0.025 kA", " 25 a ", "2.5e1 A"])
def test_one_current_written_in_many_ways(text):
    entry = read(AMPS, text)
    assert entry.value == pytest.approx(25, rel=1e-12)
    assert entry.unit == "A"
    assert entry.text == "25\u00a0A"


def test_the_entry_keeps_what_was_given():
    assert read(AMPS, " 25  A ").given == "25 A"
    assert read(COLD, None).given is None
    assert read(COLD, "  ").given is None
    assert read(COLD, None).value == 20


@pytest.mark.parametrize("text", ["0.1", "600", "0.1 A", "600 A"])
def test_limits_are_allowed(text):
    assert read(AMPS, text).value in (0.1, 600)


@pytest.mark.parametrize("text", ["0.0999", "600.001", "-5", "601 A", "1e300"])
def test_beyond_the_limits_both_are_named_and_an_example_given(text):
    with pytest.raises(FieldError) as problem:
        read(AMPS, text)
    sentence = str(problem.value).replace("\u00a0", " ")
    assert sentence.startswith("Current must be between 0.1 and 600 A")
    assert text.replace("−", "-") in sentence
    assert "25 A" in sentence


def test_a_wrong_unit_is_named_for_what_it_measures():
    with pytest.raises(FieldError, match="measures a mass.*a number in A, for example 25 A"):
        read(AMPS, "5 kg")


def test_a_required_field_says_what_to_give():
    with pytest.raises(FieldError, match="Give the current, for example 25 A"):
        read(AMPS, "")


def test_degrees_are_read_in_both_scales():
    assert read(COLD, "41 degF").value == pytest.approx(5)
    assert read(COLD, "5 °C").value == 5
    assert read(COLD, "5 c").value == 5
    assert read(COLD, "−40 °F").value == pytest.approx(-40)


def test_a_share_may_be_given_as_a_part_of_the_whole():
    before = {"supply": read(SUPPLY, "12 V")}
    assert read(LOSS, "0.36 V", before).value == pytest.approx(3)
    assert read(LOSS, "360 mV", before).value == pytest.approx(3)
    assert read(LOSS, "3", before).value == 3
    assert read(LOSS, "3 percent", before).value == 3


@pytest.mark.parametrize("text", ["agm", "AGM", " Agm ", "mat", "MAT"])
def test_a_choice_is_read_by_key_label_or_other_name(text):
    assert read(KIND, text).value == "agm"


def test_a_choice_lists_what_there_is():
    with pytest.raises(FieldError, match="one of agm or gel; you gave “lead”"):
        read(KIND, "lead")


@pytest.mark.parametrize(
    ("text", "value"), [("yes", "yes"), ("Y", "yes"), ("on", "yes"), ("1", "yes"), (True, "yes"), (False, "no")]
)
def test_yes_and_no(text, value):
    assert read(yes_no("q", "Question", "Help"), text).value == value


def test_a_size_may_stay_unknown():
    entry = read(SIZE, "")
    assert entry.value is None
    assert entry.text == "chosen for you"
    assert entry.number() is None


def test_a_size_that_is_unknown_here_tells_what_is_known():
    with pytest.raises(FieldError, match="not a size known here.*0.5.*120.*AWG"):
        read(SIZE, "300 mm2")


@given(st.floats(0.1, 600))
def test_a_number_reads_back_as_given(value):
    assert read(AMPS, repr(value)).value == value
    assert read(AMPS, value).value == value


@pytest.mark.parametrize("pair", ALL, ids=ids)
def test_a_declaration_holds_together(pair):
    _, field = pair
    assert field.label and field.help
    assert not field.label.endswith((".", ":"))
    assert not field.help.endswith("!")
    if isinstance(field, Number):
        q = quantity(field.quantity_name)
        low, high = field.limits
        assert q.low <= low < high <= q.high
        assert len(field.takes) > 3
    before = {} if not getattr(field, "part_of", None) else {}
    assert field.read(field.example, before).value is not None
    if not field.required and field.default:
        assert field.read(None, before).given is None
        assert field.read(field.default, before).value is not None
    if field.default == "":
        assert field.blank_text


NUMBERS = [pair for pair in ALL if isinstance(pair[1], Number)]


@pytest.mark.parametrize("pair", NUMBERS, ids=ids)
def test_the_limits_and_their_middle_are_taken_in_every_unit_offered(pair):
    _, field = pair
    low, high = field.limits
    for unit in field.units:
        if unit in ("-", field.part_unit):
            continue
        for spelling, value in product({unit, sign(unit)}, (low, (low + high) / 2, high)):
            entry = field.read(f"{convert(value, field.unit, unit)!r} {spelling}", {})
            assert entry.value == pytest.approx(value, rel=1e-9)
            assert low <= entry.value <= high


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_the_limits_are_taken_as_a_reader_sees_them(region):
    """Rounded, they may lie a little beyond; then they are the limits."""
    with edition.used(edition.Edition(region=region)):
        for _, field in NUMBERS:
            low, high = field.limits
            for limit in (low, high):
                assert field.read(units.show(limit, field.unit), {}).value == pytest.approx(limit, rel=0.01)
                assert low <= field.read(units.show(limit, field.unit), {}).value <= high
