"""Random and hostile requests: no traceback, no number that is none, no markup but the book's own, and sentences."""

import json

import pytest

import calc
from site_src import builder, runtime
from tests.calc import hostile
from tests.calc.hostile import harm, harms, requests

SEEDS = range(8)
EACH = 1000
"""Requests of one seed; `python -m tests.bench.fuzz` makes 100,000."""

IN_THE_ENGINE = 2000

PROGRAM = """
import json, sys
from tests.calc.hostile import harms

print(json.dumps(harms(**json.load(sys.stdin))))
"""
RIGHT = {"check": "cable-drop", "inputs": {"current": "25 A", "length": "6 m"}}


@pytest.mark.parametrize("seed", SEEDS)
def test_no_request_does_harm(seed):
    assert harms(seed, EACH) == []


@pytest.mark.wasm
@pytest.mark.slow
def test_no_request_does_harm_in_the_engine(tmp_path):
    """In the phone's Python, with the library that ships."""
    judge = {path: (builder.ROOT / path).read_bytes() for path in ("tests/__init__.py", "tests/calc/__init__.py")}
    judge["tests/calc/hostile.py"] = (builder.ROOT / "tests/calc/hostile.py").read_bytes()
    exercise = f"{builder.EXERCISE}\nfrom tests.calc.hostile import harms\nharms(1, 20)\n"
    files = runtime.engine_files(builder.book_sources() | judge, print, exercise)
    program = tmp_path / "ask_all.py"
    program.write_text(PROGRAM, "utf-8")
    asked = json.dumps({"seed": len(SEEDS), "count": IN_THE_ENGINE})
    assert json.loads(runtime.run_python(files, program, asked)) == []


def is_long(asked: dict) -> bool:
    """Whether a request follows a vehicle through days."""
    return asked.get("check") in calc.checks() and calc.checks()[asked["check"]].whole


def test_requests_are_of_every_kind():
    """Many are refused, and enough are not; every check is asked, links and files are opened."""
    asked = [each for each in requests(1, 1000) if not is_long(each)]
    assert {each.get("check") for each in requests(1, 3000)} >= set(calc.checks())
    told = [json.loads(hostile.reply(json.dumps(each))) for each in asked]
    answered = {each["check"] for each, reply in zip(asked, told, strict=True) if "answer" in reply}
    opened = {each["do"] for each, reply in zip(asked, told, strict=True) if "drawing" in reply}
    assert answered == {check.id for check in calc.checks().values() if not check.whole}
    assert opened == {"open", "look"}
    assert sum("errors" in reply or "error" in reply for reply in told) > 400


@pytest.mark.parametrize(
    "bad",
    [
        '{"answer": "<p onclick=x>"}',
        '{"answer": "<b>x</b>"}',
        '{"pictures": "<path d=\\"M nan 3\\">"}',
        '{"answer": "<data value=\\"inf\\">"}',
        '{"link": NaN}',
        '{"level": 1e999}',
        '{"errors": {"current": "Traceback (most recent call last)"}}',
        '{"errors": {"current": "no"}}',
        '{"error": ""',
    ],
)
def test_the_judge_sees_harm(monkeypatch, bad):
    monkeypatch.setattr(hostile, "reply", lambda _: bad)
    assert harm(RIGHT)


def test_the_judge_lets_pass_what_is_right():
    assert harm(RIGHT) is None
    assert harm({"check": "cable-drop", "inputs": {"current": "<b>"}}) is None


def test_the_same_seed_makes_the_same_requests():
    assert list(requests(5, 50)) == list(requests(5, 50)) != list(requests(6, 50))
