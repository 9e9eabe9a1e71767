"""Nothing jumps under the reader's finger, and the engine starts beside the page, not in its way."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

import calc
from tests.browser.conftest import CHECKS, expect_answer, fill, wait_for

MOST_SHIFT = 0.02  # a fifth of what Core Web Vitals call good
LONG_TASK = 50  # ms, the shortest that the browser reports

WATCH = """
window.shift = 0;
window.longTasks = [];
new PerformanceObserver((list) => {
    for (const one of list.getEntries()) if (!one.hadRecentInput) window.shift += one.value;
}).observe({ type: "layout-shift", buffered: true });
new PerformanceObserver((list) => {
    for (const one of list.getEntries()) window.longTasks.push(Math.round(one.duration));
}).observe({ type: "longtask", buffered: true });
"""


def shift(page: Page) -> float:
    """Return how far the page has moved by itself, once all is drawn."""
    page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))")
    return page.evaluate("window.shift")


def write(page: Page, field: str, text: str) -> None:
    """Fill a field; a list of legs key by key, as its rows come and go with what is typed and the browser excuses only
    what keys have moved."""
    if field != "legs":
        page.fill(f"#{field}", text)
        return
    page.focus(f"#{field}")
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


@pytest.mark.parametrize("check", CHECKS)
def test_nothing_jumps_from_first_sight_to_answer_to_error_and_back(page, url, check):
    page.add_init_script(WATCH)
    page.goto(f"{url}checks/{check}/")
    wait_for(page, engine="ready", offline="ready")
    assert shift(page) <= MOST_SHIFT
    inputs = calc.checks()[check].example
    if "legs" in inputs:
        write(page, "legs", inputs["legs"])
    fill(page, check, inputs)
    expect_answer(page, check, inputs)
    number = next(f.name for f in calc.checks()[check].fields if f.name in inputs and not hasattr(f, "options"))
    write(page, number, "5 kg")
    page.locator(f"#{number}").blur()
    expect(page.locator(f"#{number}-error")).to_be_visible()
    write(page, number, inputs[number])
    expect_answer(page, check, inputs)
    page.click("button[type=reset]")
    expect(page.locator("#heading-example")).to_be_visible()
    assert shift(page) <= MOST_SHIFT


@pytest.mark.parametrize("path", ["", "sources/", f"checks/{CHECKS[0]}/"])
def test_nothing_jumps_on_a_first_visit(new_context, host, path):
    page = new_context().new_page()
    page.add_init_script(WATCH)
    page.goto(host.url + path)
    wait_for(page, offline="ready")
    assert shift(page) <= MOST_SHIFT


def test_the_engine_starts_beside_the_page(new_context, host, record_property):
    """Told, not judged: how long a task takes depends on the machine, which others share."""
    page = new_context().new_page()
    page.add_init_script(WATCH)
    page.goto(f"{host.url}checks/{CHECKS[0]}/")
    wait_for(page, engine="ready")
    tasks = page.evaluate("window.longTasks")
    print(f"tasks over {LONG_TASK} ms on the page's own thread while the engine started: {tasks or 'none'}")
    record_property("long_tasks_ms", tasks)
    assert sum(tasks) < 2000
