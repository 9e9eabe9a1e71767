"""The engine's own promises: it tells how far it is, can be stopped, and starts again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

import calc
from tests.browser.conftest import CHECKS, build_patient, wait_for
from tests.browser.host import Host

QUICK = {
    "cable-drop": "current",
    "fuse-choice": "current",
    "resting-voltage": "voltage",
    "charge-voltage": "source_voltage",
}
"""The quick checks, each with a field that takes any number near twelve."""

ANSWERS = 1000

ASK = """async (request) => {
  const heard = [];
  const reply = await window.engine.ask(request, { progress: (each) => heard.push(each) });
  return { reply, heard };
}"""

STOP = """async (request) => {
  let stopped = false;
  const one = window.engine.ask(request, { progress: () => { if (!stopped) window.engine.stop(); stopped = true; } });
  const two = window.engine.ask(request);
  return Promise.all([one, two]);
}"""

ASK_ALL = """async (requests) => {
  let answered = 0;
  for (const request of requests) answered += "answer" in await window.engine.ask(request);
  return answered;
}"""


MADE = """
window.made = [];
window.Worker = class extends Worker {
  constructor(...how) { super(...how); window.made.push(this); }
};
"""
"""Has the page's workers at hand, as window.made."""


@pytest.fixture(scope="module")
def patient(tmp_path_factory) -> Iterator[Host]:
    """A host of the site, in whose engine something takes long."""
    folder = tmp_path_factory.mktemp("patient") / "dist"
    build_patient(folder)
    with Host(folder) as host:
        yield host


@pytest.fixture
def engine_page(new_context, patient) -> Page:
    """A page with an engine at hand, as window.engine."""
    page = new_context(service_workers="block").new_page()
    page.add_init_script(MADE)
    page.goto(patient.url)
    script = next(Path(patient.folder).glob("e/*/engine.js")).relative_to(patient.folder).as_posix()
    page.evaluate(
        "async (url) => { const { Engine } = await import(url); window.engine = new Engine(); window.engine.start(); }",
        patient.url + script,
    )
    wait_for(page, engine="ready")
    return page


def test_a_long_answer_tells_how_far_it_is(engine_page):
    told = engine_page.evaluate(ASK, {"do": "count", "steps": 5, "pause": 0.15})
    assert told["reply"] == {"counted": 5}
    assert told["heard"] == [{"share": n / 5, "words": f"Step {n}"} for n in (1, 2, 3, 4, 5)]


def test_many_words_on_how_far_it_is_are_thinned(engine_page):
    told = engine_page.evaluate(ASK, {"do": "count", "steps": 500, "pause": 0.001})
    assert told["reply"] == {"counted": 500}
    assert 0 < len(told["heard"]) < 500


def test_what_is_stopped_says_so_and_the_next_question_is_answered(engine_page):
    both = engine_page.evaluate(STOP, {"do": "count", "steps": 10_000, "pause": 0.05})
    assert both == [{"stopped": True}] * 2
    told = engine_page.evaluate(ASK, {"check": CHECKS[0], "inputs": {}})
    assert told["reply"].keys() & {"answer", "errors"}
    wait_for(engine_page, engine="ready")


DIE_LOUDLY = """() => {
  window.made[0].dispatchEvent(new MessageEvent("message", { data: { kind: "failed" } }));
  window.made[0].dispatchEvent(new MessageEvent("message", { data: { kind: "again" } }));
  window.made[0].dispatchEvent(new ErrorEvent("error", { message: "Uncaught" }));
}"""
"""A worker that is ended in the middle of its work may still report that something went wrong in it."""


def test_what_a_stopped_worker_still_says_is_not_heard(engine_page):
    both = engine_page.evaluate(STOP, {"do": "count", "steps": 10_000, "pause": 0.05})
    assert both == [{"stopped": True}] * 2
    engine_page.evaluate(DIE_LOUDLY)
    assert engine_page.evaluate("window.made.length") == 2
    wait_for(engine_page, engine="ready")
    engine_page.evaluate(DIE_LOUDLY)
    told = engine_page.evaluate(ASK, {"check": CHECKS[0], "inputs": {}})
    assert told["reply"].keys() & {"answer", "errors"}
    wait_for(engine_page, engine="ready")


def questions(count: int) -> list[dict]:
    """Return questions to the quick checks, no two alike."""
    names = list(QUICK)
    checks = [calc.checks()[names[n % len(names)]] for n in range(count)]
    return [
        {"check": check.id, "inputs": {**check.example, QUICK[check.id]: str(12 + n / 2000)}}
        for n, check in enumerate(checks)
    ]


def test_a_thousand_answers_leave_nothing_behind(engine_page):
    examples = [{"check": check.id, "inputs": dict(check.example)} for check in calc.checks().values()]
    assert engine_page.evaluate(ASK_ALL, examples) == len(examples)
    engine_page.evaluate(ASK_ALL, questions(ANSWERS // 10))
    before = engine_page.evaluate(ASK, {"do": "memory"})["reply"]
    assert engine_page.evaluate(ASK_ALL, questions(ANSWERS)) == ANSWERS
    after = engine_page.evaluate(ASK, {"do": "memory"})["reply"]
    assert after["heap"] <= 1.05 * before["heap"]
    assert after["blocks"] <= 1.05 * before["blocks"]
