"""One glossary: every unit is known, every field and value keeps to it."""

import pytest

import calc
from calc.fields import Number
from calc.glossary import QUANTITIES, quantity
from calc.sources import SOURCES
from calc.units import show, sign, unit_of

NOT_ENTERED = ("A√s/mm2", "A2s", "ohm/km", "-")
"""Units that only answers carry, which no reader types."""


@pytest.mark.parametrize("q", QUANTITIES.values(), ids=QUANTITIES)
def test_a_quantity_is_whole(q):
    assert QUANTITIES[q.name] is q
    assert q.low < q.high
    assert q.words and q.symbol
    assert q.places is None or 0 <= q.places <= 3
    for unit in (q.unit, *q.also):
        if unit not in NOT_ENTERED:
            assert unit_of(unit)
    assert show(q.high, q.unit, q.places)
    assert sign(q.unit) != "percent"


FIELDS = [(check.id, f) for check in calc.checks().values() for f in check.fields if isinstance(f, Number)]


@pytest.mark.parametrize(("check_id", "field"), FIELDS, ids=lambda v: v if isinstance(v, str) else v.name)
def test_a_field_keeps_within_its_quantity(check_id, field):
    q = quantity(field.quantity_name)
    low, high = field.limits
    assert q.low <= low < high <= q.high
    assert field.unit == q.unit
    assert field.unit not in ("A√s/mm2", "A2s", "ohm/km")


OUTPUTS = [(check.id, o) for check in calc.checks().values() for o in check.outputs]


@pytest.mark.parametrize(("check_id", "output"), OUTPUTS, ids=lambda v: v if isinstance(v, str) else v.key)
def test_a_value_has_a_quantity(check_id, output):
    assert output.quantity.unit


def test_a_name_means_one_thing_in_every_check():
    seen = {}
    for check in calc.checks().values():
        for field in check.fields:
            if isinstance(field, Number):
                assert seen.setdefault(field.name, field.quantity_name) == field.quantity_name


def test_an_unknown_quantity_lists_those_there_are():
    with pytest.raises(KeyError, match="there are: .*area, .*voltage"):
        quantity("colour")


@pytest.mark.parametrize("source", SOURCES.values(), ids=SOURCES)
def test_a_source_is_whole(source):
    assert SOURCES[source.key] is source
    assert source.title and source.edition and source.short
