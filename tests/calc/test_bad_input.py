"""Hostile and careless entries, over every field of every check: a value within limits or one clear sentence."""

import math
import re

import pytest

import calc
from calc.errors import InputError
from calc.fields import Choice, Number, Size
from tests.calc.hostile import TEXTS

HOSTILE = (
    *TEXTS,
    None,
    True,
    False,
    0,
    -1,
    10**400,
    float("nan"),
    float("inf"),
    -0.0,
    1e308,
    [],
    {},
    [12],
    {"value": 12},
    b"12",
    pytest,
    10**5000,
)

UNKIND = re.compile(r"\b(please|sorry|invalid|valid|forbidden|illegal|oops)\b", re.IGNORECASE)
FIELDS = [(check.id, field.name) for check in calc.checks().values() for field in check.fields]


def good(check):
    """Return inputs that a check takes: its worked example, with what else it needs."""
    return dict(check.example)


def assert_sentence(text, field):
    assert isinstance(text, str)
    assert 10 < len(text) <= 400
    assert field.label.lower() in text.lower()
    assert text.endswith(".")
    assert "\n" not in text
    assert text.isprintable() or all(c.isprintable() or c == "\u00a0" for c in text)
    assert not UNKIND.search(text)
    assert "!" not in text.replace("“", "\0“").split("\0")[0]
    for trace in ("Traceback", "Error", "calc.", "<script>alert(1)</script>"):
        assert trace not in text


def assert_within(entry, field):
    if entry.value is None:
        assert not field.default
        return
    if isinstance(field, Number):
        low, high = field.limits
        assert math.isfinite(entry.value)
        assert low <= entry.value <= high
    elif isinstance(field, Choice):
        assert entry.value in dict(field.options)
    elif isinstance(field, Size):
        assert 0.05 <= entry.value.area <= 1000
        assert entry.value.resistance_per_km > 0
    assert entry.text and entry.text.replace("\u00a0", " ").isprintable()


@pytest.mark.parametrize(("check_id", "name"), FIELDS)
def test_a_hostile_entry_gives_a_value_or_one_sentence(check_id, name):
    check = calc.checks()[check_id]
    field = check.field(name)
    for entry in HOSTILE:
        inputs = good(check) | {name: entry}
        try:
            entries = check.read(inputs)
        except InputError as problem:
            assert list(problem.errors) == [name], entry
            assert_sentence(problem.errors[name], field)
        else:
            assert_within(entries[name], field)
            answer = calc.run(check_id, inputs).to_dict()
            assert finite(answer), (name, entry)


def finite(answer):
    """Return whether an answer holds finite numbers and words only."""
    if isinstance(answer, dict):
        return all(finite(v) for v in answer.values())
    if isinstance(answer, list):
        return all(finite(v) for v in answer)
    if isinstance(answer, float):
        return math.isfinite(answer)
    return answer is None or isinstance(answer, (str, int))


@pytest.mark.parametrize(("check_id", "name"), FIELDS)
def test_a_required_field_left_empty_asks_for_itself(check_id, name):
    check = calc.checks()[check_id]
    field = check.field(name)
    inputs = {k: v for k, v in good(check).items() if k != name}
    if field.required:
        with pytest.raises(InputError) as problem:
            check.read(inputs)
        assert_sentence(problem.value.errors[name], field)
        assert field.example in problem.value.errors[name]
    else:
        check.read(inputs)


@pytest.mark.parametrize(("check_id", "name"), FIELDS)
def test_a_decimal_comma_is_read_as_a_point(check_id, name):
    check = calc.checks()[check_id]
    field = check.field(name)
    if not isinstance(field, Number):
        pytest.skip("takes no number")
    low, high = field.limits
    if not low <= 12.3 <= high:
        pytest.skip("12.3 lies outside its limits")
    entries = check.read(good(check) | {name: "12,3"})
    assert entries[name].value == 12.3


@pytest.mark.parametrize(("check_id", "name"), FIELDS)
def test_a_thousands_comma_is_asked_about(check_id, name):
    check = calc.checks()[check_id]
    if not isinstance(check.field(name), Number):
        pytest.skip("takes no number")
    with pytest.raises(InputError) as problem:
        check.read(good(check) | {name: "1,000"})
    assert "two ways" in problem.value.errors[name]


def test_every_bad_field_gets_its_own_sentence():
    check = calc.checks()["cable-drop"]
    with pytest.raises(InputError) as problem:
        check.read({"current": "5 kg", "length": "", "size": "7 mm", "supply": "200"})
    assert set(problem.value.errors) == {"current", "length", "size", "supply"}


@pytest.mark.parametrize("name", ["current ", "__class__", "<script>", "x" * 5000, "\x00", "🔋", "", 5, None])
def test_an_unknown_field_is_named_and_the_known_ones_listed(name):
    with pytest.raises(InputError) as problem:
        calc.run("cable-drop", {"current": "25 A", "length": "6 m", name: "1"})
    (sentence,) = problem.value.errors.values()
    assert len(sentence) <= 400
    assert "no field" in sentence and "current, length" in sentence


@pytest.mark.parametrize("check_id", ["", "cable", "CABLE-DROP", "__class__", "x" * 5000, "\x00", None, 5, [], {}])
def test_an_unknown_check_is_named_and_the_known_ones_listed(check_id):
    with pytest.raises(InputError) as problem:
        calc.run(check_id, {})
    (sentence,) = problem.value.errors.values()
    assert len(sentence) <= 400
    assert "cable-drop" in sentence
