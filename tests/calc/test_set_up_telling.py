"""What a set-up leaves open: the most telling first, what tells nothing last, what was given never."""

import pytest
from hypothesis import given, settings

import calc
from calc.setup import demos
from calc.setup.model import MODEL, SetUp, take_in
from calc.setup.telling import VERDICT_CHANGES, others, telling
from tests.calc.set_up_strategies import readable, set_ups
from tests.calc.test_set_up_model import fullest_readable
from tests.calc.test_set_up_starts import NEEDED

EMPTY = SetUp("", {})
CHECKS = calc.checks()
every_check = pytest.mark.parametrize("check", CHECKS.values(), ids=CHECKS)


def told(check_id, s, **inputs):
    """Return what is told of an answer, by place."""
    inputs = {**NEEDED.get(check_id, {}), **inputs}
    check = CHECKS[check_id]
    return {one.known.place: one for one in telling(check, inputs, s, calc.run(check_id, inputs, s))}


@every_check
@pytest.mark.parametrize("name", ["", *demos.NAMES])
def test_the_most_telling_stands_first(check, name):
    found = list(told(check.id, demos.demo(name) if name else EMPTY).values())
    weights = [one.weight for one in found]
    assert weights == sorted(weights, reverse=True)
    for one in found:
        assert one.known.assumed
        assert (one.weight > 0) == bool(one.effect)
        assert one.weight < VERDICT_CHANGES or "turn the answer" in one.effect
        assert one.known.usual.find
        assert not one.effect.endswith(".")


@every_check
def test_a_set_up_with_all_given_leaves_nothing_open(check):
    assert not told(check.id, fullest_readable())


@every_check
def test_what_was_given_is_never_told(check):
    """A check of a whole vehicle works out days for each, and is asked a few times only."""
    settings(max_examples=4 if check.whole else 25)(
        given(s=set_ups(of=readable, most=2))(what_was_given_is_never_told)
    )(check)


def what_was_given_is_never_told(check, s):
    try:
        found = told(check.id, s)
    except calc.InputError:
        return
    for place, one in found.items():
        assert s.known(*place).assumed
        assert 0 <= one.weight < 100


def test_what_was_given_to_the_check_is_not_told():
    open_ = told("cable-drop", EMPTY)
    assert ("run", 0, "length") in open_ and ("second", 0, "capacity") in open_
    given_ = told("cable-drop", EMPTY, length="5 m", current="25 A")
    assert ("run", 0, "length") not in given_ and ("second", 0, "capacity") not in given_


def test_what_a_check_does_not_look_at_is_not_told():
    s = take_in({"second": [{"chemistry": "lfp", "heat": "20 degC"}], "link": [{"kind": "charger"}]})
    assert not told("charge-voltage", s, source_voltage="14.4 V", current="20 A")
    assert ("alternator", 0, "kind") not in told("cable-drop", EMPTY)


def test_an_unknown_that_changes_nothing_weighs_nothing():
    s = take_in({"vehicle": {"earth_path": "cable"}, "second": [{"chemistry": "agm", "heat": "25 degC"}]})
    found = told("charge-voltage", s, source_voltage="14.4 V", current="0 A")
    cables = [one for place, one in found.items() if place[0] == "run"]
    assert cables and all(one.weight == 0 and one.effect == "" for one in cables)  # no current, no loss


def test_the_kind_of_link_is_told_where_it_was_only_assumed():
    assert ("link", 0, "kind") in told("charge-voltage", EMPTY)
    relay = take_in({"link": [{"kind": "relay"}]})
    assert ("link", 0, "kind") not in told("charge-voltage", relay)


def test_an_effect_names_a_value_and_its_ends():
    found = told("cable-drop", EMPTY)["run", 0, "length"]
    assert found.effect.startswith("Lost on the way: ") and " V or " in found.effect.replace("\u00a0", " ")


def test_a_longer_run_tells_more():
    """Between 3 m and 9 m lies more than between 2 and 10 joints."""
    s = take_in({"run": [{"size": "10 mm2"}], "vehicle": {"earth_path": "cable"}})
    found = list(told("cable-drop", s, current="25 A"))
    assert found.index(("run", 0, "length")) < found.index(("run", 0, "joints"))


def test_the_freezer_of_the_desert_truck_tells():
    found = told("resting-voltage", demos.demo("desert_truck"))
    assert list(found) == [("load", 1, "duty")]


@pytest.mark.parametrize(("part", "field"), list(MODEL.fields()), ids=lambda x: getattr(x, "key", None) or x.name)
def test_what_else_might_stand_there_can_be_read(part, field):
    known = EMPTY.known(part.key, 0, field.name)
    for text in others(known, EMPTY):
        assert text != known.text
        assert field.read(text, {}).value is not None


def test_an_entry_that_cannot_be_read_is_told_as_unknown():
    s = EMPTY.changed(("run", 0, "length"), "far")
    assert ("run", 0, "length") in told("cable-drop", s)
