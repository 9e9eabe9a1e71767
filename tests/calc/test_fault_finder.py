"""The fault finder as a check: from a line of readings to a sentence, the next reading, and what not to do."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import calc
from calc import cautions
from calc.check import InputError
from calc.checks import fault_words as words
from calc.checks.fault_finder import CHECK
from calc.physics import faults
from calc.readings import EXAMPLE, ReadingsField
from calc.setup import demos
from calc.tables import table

FIELD = ReadingsField("readings", "Readings", "", "", EXAMPLE)


def ask(readings="", **inputs):
    return calc.run("fault-finder", {"readings": readings, **inputs})


def test_every_cause_place_and_state_has_its_words():
    causes = {part for row in table("fault_causes").rows for part in row["key"].split("+")}
    assert set(words.CAUSES) == causes
    assert set(words.PLACES) == set(faults.PROBES)
    assert set(words.STATES) == set(faults.STATES)
    for cause in words.CAUSES.values():
        assert cause.level in ("ok", "caution", "stop") and cause.now and cause.never
        assert all(text.endswith((".", "?")) for text in (*cause.now, *cause.never))


def test_without_a_reading_it_says_what_to_read_first():
    answer = ask()
    assert answer.search.ahead and not answer.search.taken and not answer.search.sure
    assert "Read next" in answer.verdicts[0].because


def test_the_example_finds_the_fuse():
    answer = ask(CHECK.example["readings"])
    assert "front_fuse" in answer.search.suspects[0].key
    assert any("Across the fuse" in text for text in answer.search.suspects[0].speaks_for)
    assert any("bigger fuse" in text for text in answer.search.suspects[0].never)


@pytest.mark.parametrize("state", faults.STATES)
def test_no_dangerous_reading_is_asked_for_without_its_caution(state):
    for one in ask().search.ahead:
        if one.state in faults.ENGINE:
            assert cautions.ENGINE in one.cautions and cautions.EXHAUST in one.cautions
        if one.state == "cranking":
            assert cautions.CRANKING in one.cautions
        if one.place in ("second", "starter", "alternator", "alternator-cable"):
            assert cautions.SHORT_CIRCUIT in one.cautions


def test_the_caution_of_the_next_reading_stands_in_the_answer():
    answer = ask("second rested 11.9 V")
    assert set(answer.search.ahead[0].cautions) <= set(answer.cautions)


def test_what_cannot_be_reached_is_not_asked_for_again():
    first = ask("second rested 11.9 V").search.ahead[0]
    again = ask(f"second rested 11.9 V; {first.key} ?")
    assert first.key not in [one.key for one in again.search.ahead]
    assert [one.key for one in again.search.skipped] == [first.key]
    assert again.search.suspects == ask("second rested 11.9 V").search.suspects


def test_a_whole_state_can_be_out_of_reach():
    search = ask("running ?; running-load ?; lights ?; cranking ?").search
    assert {one.state for one in search.ahead} == {"rested", "load-on"}


def test_reversed_leads_are_said_and_the_reading_still_counts():
    turned, right = ask("second rested -11.9 V"), ask("second rested 11.9 V")
    assert turned.search.suspects == right.search.suspects or turned.values["chance"] == right.values["chance"]
    assert any("wrong way round" in v.text for v in turned.verdicts)


def test_a_24_volt_reading_is_refused_as_one():
    answer = ask("starter running 27.6 V")
    assert answer.level == "stop"
    assert any("12 V system" in v.text for v in answer.verdicts)
    assert answer.values["readings_taken"].value == 0


def test_probes_in_the_wrong_place_are_suspected():
    answer = ask("second rested 12.6 V; load load-on 12.4 V; starter rested 0.02 V")
    assert any(v.text.startswith("Read starter battery") for v in answer.verdicts)
    assert any("wrong" in v.because for v in answer.verdicts)


def test_a_reading_that_the_set_up_does_not_have_is_named():
    answer = ask("ignition running 12 V", link="relay")
    assert any("no such reading" in v.text for v in answer.verdicts)


def test_a_dead_cell_stops_charging():
    answer = ask("second rested 10.4 V; second load-on 10.2 V", link="charger")
    assert answer.search.suspects[0].key == "dead_cell" and answer.search.sure
    assert answer.level == "stop"


@pytest.mark.parametrize("name", demos.NAMES)
def test_it_starts_from_a_set_up(name):
    answer = calc.run("fault-finder", {"readings": "second rested 12.0 V"}, demos.demo(name))
    assert answer.inputs["link"].start is not None
    assert answer.search.ahead


def test_every_reading_ahead_says_where_both_probes_go_and_what_is_healthy():
    for link in ("none", "wire", "switch", "relay", "charger"):
        for one in ask(link=link).search.ahead:
            assert one.red and one.healthy and one.instruction.endswith(".")
            assert bool(one.black) == (one.unit == "V")


def test_limits_of_the_handbooks_are_quoted():
    answer = ask("second-earth running 0.6 V")
    assert any("0.60" in step.formula and "0.10" in step.formula for step in answer.steps)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=80) | st.lists(st.sampled_from(
    ["second", "rested", "running", "?", "12", "-3", "V", ";", "load on", "1e400", "nan", "ignition", "A", "0,5", "×"]
), max_size=12).map(" ".join))  # fmt: skip
def test_hostile_text_gives_readings_or_one_sentence(text):
    try:
        entries = CHECK.read({"readings": text})
    except InputError as problem:
        (sentence,) = problem.errors.values()
        assert sentence.startswith("Readings") and len(sentence) <= 400
    else:
        value = entries["readings"].value
        if value:
            again = FIELD.read(value.plain, {}).value
            assert [r.key for r in again.all] == [r.key for r in value.all]


def test_the_answer_is_plain_json():
    text = json.dumps(ask(CHECK.example["readings"]).to_dict(), allow_nan=False)
    assert json.loads(text)["search"]["ahead"][0]["red"]
