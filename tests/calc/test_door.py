"""The worker's door: JSON text in, JSON text out, and never anything else."""

import json

import pytest

import calc
from calc.door import ask
from calc.setup import demos


def reply(check, inputs):
    return json.loads(ask(json.dumps({"check": check, "inputs": inputs})))


@pytest.mark.parametrize("check", calc.checks().values(), ids=calc.checks())
def test_the_door_gives_the_answer_of_the_house(check):
    assert reply(check.id, dict(check.example)) == calc.run(check.id, check.example).to_dict()


@pytest.mark.parametrize("check", calc.checks().values(), ids=calc.checks())
def test_the_door_carries_a_sentence_for_each_bad_field(check):
    required = [f.name for f in check.fields if f.required]
    errors = reply(check.id, {}).get("errors", {})
    assert list(errors) == required
    errors = reply(check.id, {f.name: "<script>alert(1)</script>" for f in check.fields})["errors"]
    assert set(errors) == {f.name for f in check.fields}
    assert "<script>alert(1)</script>" not in json.dumps(errors)


@pytest.mark.parametrize("check", ["", "nothing", "__class__", "../cable-drop", "<script>"])
def test_the_door_names_the_checks_there_are(check):
    assert "cable-drop" in reply(check, {})["errors"]["check"]


def test_what_was_typed_comes_back_as_text_only():
    typed = "12 A'); import os; ('"
    errors = reply("cable-drop", {"current": typed, "length": "6 m"})["errors"]
    assert set(errors) == {"current"}


def test_the_text_is_plain_json_without_numbers_that_json_lacks():
    text = ask(json.dumps({"check": "cable-drop", "inputs": {"current": "600 A", "length": "60 m", "size": "0.5 mm2"}}))
    assert "NaN" not in text and "Infinity" not in text
    json.loads(text, parse_constant=lambda name: pytest.fail(name))


def test_the_page_may_bring_its_own_ways_to_do_things():
    request = json.dumps({"do": "greet", "name": "Ω"})
    assert json.loads(ask(request, {"greet": lambda asked: {"hello": asked["name"]}})) == {"hello": "Ω"}


def test_an_answer_may_start_from_a_set_up():
    request = {"check": "cable-drop", "inputs": {}, "set_up": demos.text("island_van")}
    answer = json.loads(ask(json.dumps(request)))
    assert answer["inputs"]["length"]["from"] and not answer["inputs"]["length"]["assumed"]


def test_a_set_up_that_is_damaged_gets_a_sentence():
    request = {"check": "cable-drop", "inputs": {}, "set_up": "{"}
    assert "damaged" in json.loads(ask(json.dumps(request)))["error"]


@pytest.mark.parametrize(
    "inputs", [{"current": None}, {"current": 25, "length": 6}, {"current": [25]}, {"current": {}}]
)
def test_inputs_of_other_kinds_than_text_are_met_as_well(inputs):
    assert reply("cable-drop", inputs)
