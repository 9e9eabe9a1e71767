"""Checks: each is declared whole, answers its own example, and gives what it declares."""

import json
import math
import re

import pytest

import calc
from calc.check import LEVELS, Cases, Findings
from calc.checks import CHECKS
from calc.glossary import quantity
from calc.sources import SOURCES, cite

ORDER = ["resting-voltage", "cable-drop", "fuse-choice", "charge-voltage"]
CONTRACT = {
    "resting-voltage": (
        "chemistry voltage temperature rested came_from capacity load meter_error",
        "charge amp_hours_left hours_left freezes_at",
    ),
    "cable-drop": (
        "current length return_path size insulation ambient engine_bay supply allowed_drop joints",
        "drop drop_percent far_end_voltage loop_resistance heat conductor_temperature allowable_current smallest_size",
    ),
    "fuse-choice": (
        "current surge_current surge_time size insulation ambient engine_bay length chemistry capacity fuse_type",
        "fuse_rating rating_low rating_high fault_current opens_within cable_withstands breaking_capacity_needed "
        "furthest_from_battery",
    ),
    "charge-voltage": (
        "chemistry battery_temperature source_voltage current loop_resistance",
        "absorption_voltage float_voltage arriving_voltage shortfall reachable_charge",
    ),
}

every_check = pytest.mark.parametrize("check", CHECKS.values(), ids=CHECKS)


def test_checks_stand_in_the_order_a_reader_meets_them():
    assert [c for c in CHECKS if c in ORDER] == [c for c in ORDER if c in CHECKS]
    assert all(key == check.id for key, check in CHECKS.items())
    assert calc.checks() is CHECKS


@every_check
def test_stable_names_are_there(check):
    if check.id not in CONTRACT:
        pytest.skip("no names are promised for it")
    fields, keys = CONTRACT[check.id]
    assert set(fields.split()) <= {f.name for f in check.fields}
    assert set(keys.split()) <= {o.key for o in check.outputs}


@every_check
def test_a_check_is_declared_whole(check):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", check.id)
    assert check.question.endswith("?")
    assert check.about.endswith(".") and check.example_story.endswith(".")
    assert check.task in ("camp", "vehicle", "home")
    assert check.cases and check.guides
    for names in ([f.name for f in check.fields], [o.key for o in check.outputs]):
        assert len(set(names)) == len(names)
        assert all(re.fullmatch(r"[a-z]+(_[a-z0-9]+)*", name) for name in names)
    assert set(check.example) <= {f.name for f in check.fields}
    assert len({f.label for f in check.fields}) == len(check.fields)
    for output in check.outputs:
        assert quantity(output.quantity_name)


def assert_answer(check, answer):
    declared = {o.key: o for o in check.outputs}
    assert {o.key for o in check.outputs if o.always} <= set(answer.values) <= set(declared)
    for key, value in answer.values.items():
        assert value.unit == declared[key].quantity.unit
        assert value.text
        for number in (value.value, value.low, value.high):
            assert number is None or math.isfinite(number)
        if value.low is not None and value.high is not None:
            assert value.low <= value.high
    assert answer.verdicts
    for verdict in answer.verdicts:
        assert verdict.level in LEVELS
        assert verdict.text.endswith(".") and verdict.because.rstrip().endswith(".")
    for step in answer.steps:
        assert step.text and step.formula
        assert any(step.source.startswith(source.short) for source in SOURCES.values())
    words = json.dumps(answer.to_dict(), ensure_ascii=False, allow_nan=False)
    for slip in ("nan", "inf ", "Infinity", "None", "percent", "  ", "..", "degC", "mm2", "mohm"):
        assert not re.search(rf"(?<![\w]){re.escape(slip)}(?![\w])", " ".join(prose(answer))), slip
    assert "!" not in words


def prose(answer):
    yield from (v.text for v in answer.values.values())
    for verdict in answer.verdicts:
        yield from (verdict.text, verdict.because)
    yield from answer.cautions
    for step in answer.steps:
        yield from (step.text, step.formula)


@every_check
def test_the_worked_example_is_answered(check):
    answer = calc.run(check.id, check.example)
    assert_answer(check, answer)
    assert answer.cautions
    assert len(answer.steps) >= 2


@every_check
def test_every_cell_of_every_table_of_cases_is_answered(check):
    for cases in check.cases:
        assert isinstance(cases, Cases)
        assert cases.shows in {o.key for o in check.outputs}
        for _, row in cases.rows:
            for _, column in cases.columns:
                answer = calc.run(check.id, {**cases.inputs, **row, **column})
                assert_answer(check, answer)
                assert cases.shows in answer.values


@every_check
def test_the_same_inputs_give_the_same_answer(check):
    once, again = (json.dumps(calc.run(check.id, check.example).to_dict()) for _ in range(2))
    assert once == again


@every_check
def test_json_has_the_shape_that_other_programs_read(check):
    answer = calc.run(check.id, check.example).to_dict()
    shape = ["check", "inputs", "values", "verdicts", "cautions", "steps"]
    assert list(answer) == (shape if "search" not in answer else [*shape, "search"])
    assert set(answer["inputs"]) == {f.name for f in check.fields}
    for entry in answer["inputs"].values():
        assert set(entry) == {"value", "unit", "given"}
    for value in answer["values"].values():
        assert {"value", "unit", "label"} <= set(value)
    for verdict in answer["verdicts"]:
        assert set(verdict) == {"level", "text", "because"}
    for step in answer["steps"]:
        assert set(step) == {"text", "formula", "source"}


@every_check
def test_numbers_are_taken_as_well_as_text(check):
    entries = check.read(check.example)
    numbers = {k: (e.value if isinstance(e.value, (int, float, str)) else e.given) for k, e in entries.items()}
    numbers = {k: v for k, v in numbers.items() if v is not None}
    again = check.read(numbers)
    assert {k: e.value for k, e in again.items()} == {k: e.value for k, e in entries.items()}


@every_check
def test_a_default_given_changes_nothing(check):
    spelled = dict(check.example)
    for field in check.fields:
        if field.default and field.name not in spelled:
            spelled[field.name] = field.default
    plain, full = calc.run(check.id, check.example).to_dict(), calc.run(check.id, spelled).to_dict()
    for part in ("values", "verdicts", "cautions"):
        assert plain[part] == full[part]


def test_findings_take_declared_values_only():
    check = CHECKS["cable-drop"]
    found = Findings(check)
    with pytest.raises(KeyError):
        found.value("no_such_value", 1.0)


def test_a_caution_is_said_once():
    found = Findings(CHECKS["cable-drop"])
    found.caution("a", "b")
    found.caution("b", "c")
    assert found.cautions == ["a", "b", "c"]


def test_the_gravest_verdict_sets_the_level():
    assert calc.run("cable-drop", {"current": "100 A", "length": "6 m", "size": "2.5 mm2"}).level == "stop"


def test_an_unknown_source_is_a_mistake_of_ours():
    with pytest.raises(KeyError, match="there are:"):
        cite("no-such-source")
    assert cite("iec-60228", "Table 3") == "IEC 60228, Table 3"
