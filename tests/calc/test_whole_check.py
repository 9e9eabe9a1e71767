"""A check of a whole vehicle gets the set-up, or the usual one, and says which it was."""

import json
from dataclasses import replace

import pytest

import calc
from calc import door
from calc.__main__ import answer_text
from calc.check import answer
from calc.fields import Number
from calc.setup import consistency, demos, link
from calc.setup.usual import usual_set_up

HOURS = Number("hours", "How long", "Of the trip", "24 h", "24 h", "hours")


def compute(i, found):
    found.verdict("ok", f"{i.set_up.count('load')} loads.", f"{i.text('hours')}.")
    found.value("drop", float(i.set_up.count("load")))


@pytest.fixture
def whole():
    """A check that counts the loads of a vehicle."""
    cable = calc.checks()["cable-drop"]
    return replace(cable, fields=(HOURS,), outputs=(cable.outputs[0],), compute=compute, starts={}, whole=True)


def test_it_gets_the_set_up_that_is_chosen(whole):
    truck = demos.demo("desert_truck")
    found = answer(whole, {}, truck)
    assert found.verdicts[0].text == "5 loads."
    assert found.about.startswith("This is about Desert truck (invented). Where it says nothing (")


def test_without_one_it_gets_the_usual_one_and_says_so_first(whole):
    found = answer(whole, {})
    assert found.verdicts[0].text == "3 loads."
    assert answer_text(found).startswith("This is about a usual vehicle")


def test_other_checks_get_no_vehicle(whole):
    found = answer(calc.checks()["cable-drop"], calc.checks()["cable-drop"].example, demos.demo("island_van"))
    assert found.about == ""
    with pytest.raises(AttributeError):
        answer(replace(whole, whole=False), {}, demos.demo("island_van"))


def test_json_is_as_of_any_check(whole):
    assert list(answer(whole, {}).to_dict()) == ["check", "inputs", "values", "verdicts", "cautions", "steps"]


def test_the_usual_vehicle_is_of_one_piece():
    assert not usual_set_up().problems()
    assert not consistency.notes(usual_set_up())


def test_the_door_takes_a_link_for_a_set_up():
    made = link.to_link(demos.demo("island_van"))
    request = {"check": "cable-drop", "inputs": {}}
    by_link = json.loads(door.ask(json.dumps(request | {"link": made})))
    by_file = json.loads(door.ask(json.dumps(request | {"set_up": demos.text("island_van")})))
    assert by_link == by_file
    assert "damaged" in json.loads(door.ask(json.dumps(request | {"link": made[:-3]})))["error"]
