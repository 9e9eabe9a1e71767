"""A phone of each engine as a fixture, and the words for what a reader does on any of them."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import same, settled, told
from tests.browser.engines import ENGINES, Chromium, Firefox, Phone, WebKit, missing
from tests.browser.host import Host


def started(engine: str, browser: Browser) -> Phone:
    """Return a phone of an engine. A browser that does not come up is no fault of the book's: it is tried twice."""
    if engine == "Chromium":
        return Chromium(browser)
    start = {"Firefox": Firefox, "WebKit": WebKit}[engine]
    try:
        return start()
    except Exception as problem:
        print(f"{engine} did not come up and is started once more: {problem}")
        return start()


@pytest.fixture(scope="session", params=ENGINES)
def engine(request, browser) -> Iterator[Phone]:
    """A phone of each engine; in CI none may be missing."""
    sentence = missing(request.param)
    if sentence and os.environ.get("CI"):
        pytest.fail(sentence)
    if sentence:
        pytest.skip(sentence)
    phone = started(request.param, browser)
    yield phone
    phone.quit()


@pytest.fixture
def phone(engine) -> Phone:
    """A phone that knows nothing of the test before."""
    engine.start_anew()
    return engine


@pytest.fixture
def saved(phone, host) -> tuple[Phone, Host]:
    """A phone on which the book is saved, and its host."""
    visit(phone, host)
    return phone, host


# What a reader does


def visit(phone: Phone, host: Host) -> None:
    """Open the book and wait until it is saved."""
    phone.open(host.url)
    phone.wait_for(offline="ready")


def fill(phone: Phone, inputs: dict[str, str]) -> None:
    """Fill a check's form, unfolded where it is folded."""
    phone.run("for (const folded of document.querySelectorAll('form details')) folded.open = true;")
    for name, text in inputs.items():
        phone.fill(f"#{name}", text)


def shown(phone: Phone) -> dict[str, str]:
    """Return every value of the answer on the page, as its number stands there."""
    return phone.run(
        "return Object.fromEntries("
        "[...document.querySelectorAll('#answer data[data-key]')].map((d) => [d.dataset.key, d.value]));"
    )


def expect_answer(phone: Phone, check: str, inputs: dict[str, str]) -> None:
    """Wait until the page shows what the command line answers, value for value."""
    expect_values(phone, check, told(check, tuple(inputs.items()))["values"])


def expect_values(phone: Phone, check: str, values: dict[str, dict]) -> None:
    """Wait until the page shows these values of an answer, as JSON has them."""
    phone.wait_to_see("#heading-answer")
    phone.wait_until(
        "[...document.querySelectorAll('#answer data[data-key]')].length && "
        "[...document.querySelectorAll('#answer data[data-key]')].every((d) => d.textContent === given[d.dataset.key])",
        {key: value["text"] for key, value in values.items()},
    )
    expected = {key: value["value"] for key, value in values.items()}
    found = settled(lambda: shown(phone), expected, check)
    assert same(found, expected, check), (found, expected)


def describe_van(phone: Phone) -> str:
    """On the page that asks, describe a van with a gel battery of 95 Ah; return the id under which it is kept."""
    phone.wait_to_see("#set-up")
    turn_to_step(phone, "second")
    phone.click('label:has(input[name="second.0.chemistry"][value="gel"])')
    phone.fill('[name="second.0.capacity"]', "95 Ah")
    turn_to_step(phone, "name")
    phone.fill("#set-up-name", "Van")
    phone.wait_until("location.hash.startsWith('#id=')")
    return phone.run("return location.hash.slice('#id='.length);")


def turn_to_step(phone: Phone, part: str) -> None:
    """Turn to the step of a part by Next."""
    while not phone.sees(f'.part[data-part="{part}"]'):
        step = phone.text("#step")
        phone.click("#next")
        phone.wait_until("document.querySelector('#step').innerText !== given", step)


def kept(phone: Phone) -> list[dict]:
    """Return every set-up that is kept, by name."""
    found = phone.run("return { ...localStorage };")
    return sorted((json.loads(text) for key, text in found.items() if " set-up " in key), key=lambda one: one["name"])
