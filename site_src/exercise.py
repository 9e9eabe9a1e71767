"""Uses the whole book once: each check, each invented set-up, each thing that a page may ask, and what is refused.

When the site is built, it shows which files of Python's library ship (see `site_src.runtime`). On the phone a shorter
round warms the engine whose memory is kept for later starts, so that nothing is left to import then.
"""

from __future__ import annotations

import gc
import json
import random

import calc
from calc import Check, progress
from calc.setup import demos
from site_src.render import reply

READ_OR_NOT = ("1,5", "1e400", "9" * 100, "x", "20 ft", "104 degF", "3 furlongs")
"""Entries of each kind: read, out of range, or not read at all."""


def ask(**request: object) -> dict:
    """Return the reply to a page's request."""
    return json.loads(reply(json.dumps(request)))


def expect(holds: object, about: object) -> None:
    """End the exercise where something is not as it has to be."""
    if not holds:
        raise AssertionError(about)


def answer_example(check: Check) -> None:
    """Ask a check its example, for its page."""
    answered = ask(check=check.id, inputs=dict(check.example))
    expect(answered["answer"] and answered["working"], check.id)


def refuse(check: Check) -> None:
    """Ask a check what it cannot read."""
    refused = ask(check=check.id, inputs={field.name: "5 kg" for field in check.fields})
    expect(refused["errors"], check.id)


def use_set_up(text: str) -> None:
    """Do with a set-up what its own pages do."""
    seen = ask(do="look", set_up=text)
    expect(seen["drawing"] and seen["link"], seen)
    opened = ask(do="open", link=seen["link"])
    expect(opened["set_up"] == seen["set_up"], opened)
    expect("table" in ask(do="compare", set_ups=[text, opened["set_up"]]), text)
    expect(ask(do="card", set_up=text)["card"]["sheets"], text)
    expect("svg" in ask(do="code", address="#set-up=" + seen["link"])["code"], seen)


def start_from(text: str, check: Check) -> None:
    """Start a check from a set-up, and write back what it gives."""
    inputs = {name: each for name, each in check.example.items() if name not in check.starts}
    answered = ask(check=check.id, inputs=inputs, set_up=text)
    expect(answered["starts"], answered)
    for give in answered["gives"]:
        expect(ask(do="write", set_up=text, **give)["set_up"], give)


def use_all() -> None:
    """Use the whole book once."""
    for check in calc.checks().values():
        answer_example(check)
        refuse(check)
        json.dumps(calc.run(check.id, dict(check.example)).to_dict())
    for text in map(demos.text, demos.NAMES):
        use_set_up(text)
        for check in calc.checks().values():
            start_from(text, check)
    expect("error" in ask(do="open", link="1abc"), "a damaged link")
    for text in READ_OR_NOT:
        ask(check="cable-drop", inputs={"current": text, "length": text})


def warm_up() -> None:
    """Make ready for the memory to be kept: everything used once, and nothing left lying about."""
    for check in calc.checks().values():
        answer_example(check)
        refuse(check)
    use_set_up(demos.text(demos.NAMES[0]))
    progress.listen(None)
    gc.collect()


def wake_up() -> None:
    """Make ready after the memory was brought back: chance must not repeat itself."""
    random.seed()
