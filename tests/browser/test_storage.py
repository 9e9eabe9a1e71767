"""What is written outlives a store that fails, is full or of another time, and a browser that dies, or it is said."""

from __future__ import annotations

import json
import os
import re
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from calc.setup import file
from tests.browser.conftest import CHECKS, PATIENCE, answer_example, edition, on_show, visit, wait_for, wait_until
from tests.browser.engines import Firefox, missing
from tests.browser.find_browser import VARIABLE, find_browser
from tests.browser.host import Fault
from tests.browser.set_ups import VAN, edit, keep, kept, key, step, written
from tests.browser.test_update import LOOK

CHECK = CHECKS[0]


# No room


def test_an_update_with_no_room_leaves_the_edition_and_what_is_written(new_context, host, built, newer):
    page = visit(new_context().new_page(), host.url)
    keep(page, host.url, VAN)
    session = page.context.new_cdp_session(page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": host.origin, "quotaSize": 1000})
    host.folder = newer
    assert page.evaluate(LOOK) == "refused"
    host.stop()
    page.goto(f"{host.url}about/")
    assert on_show(page) == edition(built)
    assert list(kept(page)) == ["0"]


def test_a_store_that_others_have_filled_is_told_and_the_address_holds_what_is_typed(page, url):
    """The room of one address is shared by all that stands there."""
    page.goto(f"{url}missing/")
    page.evaluate(
        "() => { let text = 'x'.repeat(1 << 20); for (let n = 0; text.length > 0; n += 1)"
        " try { localStorage.setItem(`other ${n}`, text); } catch { text = text.slice(text.length / 2 + 1); } }"
    )
    edit(page, url)
    step(page, "second")
    page.fill('[name="second.0.capacity"]', "95 Ah")
    expect(page.locator("#store-refused")).to_be_visible()
    expect(page).to_have_url(re.compile("#set-up="))
    page.reload()
    step(page, "second")
    expect(page.locator('[name="second.0.capacity"]')).to_have_value("95 Ah")


# A store that throws


NO_STORE = "const no = () => { throw new DOMException('', 'SecurityError'); };"
THROWS = {
    "at every call": f"{NO_STORE} for (const name of ['getItem', 'setItem', 'removeItem', 'key', 'clear'])"
    " Storage.prototype[name] = no;",
    "at a look at it": f"{NO_STORE} for (const name of ['localStorage', 'sessionStorage', 'indexedDB', 'caches'])"
    " Object.defineProperty(window, name, { get: no });",
    "and is not there": "for (const name of ['localStorage', 'sessionStorage', 'indexedDB', 'caches'])"
    " Object.defineProperty(window, name, { value: undefined });",
}


@pytest.mark.parametrize("how", THROWS)
def test_where_the_store_throws_checks_answer_and_set_ups_say_so(new_context, host, how):
    page = new_context().new_page()
    thrown = []
    page.on("pageerror", lambda problem: thrown.append(str(problem)))
    page.add_init_script(THROWS[how])
    answer_example(page, host.url, CHECK)
    page.goto(f"{host.url}set-ups/")
    expect(page.locator("#store-refused")).to_be_visible()
    edit(page, host.url)
    expect(page.locator("#store-refused")).to_be_visible()
    step(page, "second")
    page.fill('[name="second.0.capacity"]', "95 Ah")
    expect(page).to_have_url(re.compile("#set-up="))
    assert thrown == []


# What another edition wrote, or nobody


def newer_file() -> str:
    """Return the van as a newer edition might keep it, with more to say."""
    data = json.loads(file.to_file(VAN))
    return json.dumps(data | {"version": 2, "rocket": [{"thrust": "5 N"}]})


def one_more_field() -> str:
    """Return the van with a field that this edition has not."""
    data = json.loads(file.to_file(VAN))
    data["second"][0]["colour"] = "red"
    return json.dumps(data)


STRANGE = {
    "of a newer edition": newer_file(),
    "with a field more": one_more_field(),
    "cut off": file.to_file(VAN)[:100],
    "no object": "[]",
    "nothing": "null",
    "a number": "5",
    "a list for a group": json.dumps(json.loads(file.to_file(VAN)) | {"vehicle": [{"earth_path": "cable"}]}),
    "nothing for a group": json.dumps(json.loads(file.to_file(VAN)) | {"vehicle": None}),
    "of another kind": '{"format": "a-recipe", "version": 1}',
    "markup": "<img src=x onerror=alert(1)>",
    "a name of another kind": json.dumps(json.loads(file.to_file(VAN)) | {"name": {"a": 1}}),
}


@pytest.fixture
def strange(page, url, request) -> tuple[Page, str]:
    """A page beside which something strange is kept, and chosen."""
    keep(page, url, STRANGE[request.param])
    return page, STRANGE[request.param]


@pytest.mark.parametrize("strange", STRANGE, indirect=True)
def test_what_cannot_be_written_back_is_never_written_over(strange, url):
    page, text = strange
    page.goto(f"{url}set-ups/edit/#id=0")
    expect(page.locator("#left-alone")).to_be_visible()
    step(page, "second")
    page.fill('[name="second.0.capacity"]', "95 Ah")
    expect(page).to_have_url(re.compile("#id=(?!0$)"))
    stored = written(page)
    assert stored.pop(key(page, "0")) == text
    assert sum("95 Ah" in each for each in stored.values()) == 1


@pytest.mark.parametrize("strange", STRANGE, indirect=True)
def test_what_is_strange_harms_neither_list_nor_check(strange, url):
    page, text = strange
    thrown = []
    page.on("pageerror", lambda problem: thrown.append(str(problem)))
    page.goto(f"{url}set-ups/")
    wait_for(page, engine="ready")
    page.click('[data-do="copy"]')
    expect(page.locator("#kept li")).to_have_count(2)
    page.click('#kept li[data-id="0"] [data-do="open"]')
    expect(page.locator("#problem")).to_be_visible()
    page.goto(f"{url}checks/cable-drop/")
    expect(page.locator("#from-error")).to_be_visible()
    page.fill("#current", "25 A")
    page.fill("#length", "6 m")
    expect(page.locator("#heading-answer")).to_be_visible()
    assert page.evaluate("(key) => localStorage.getItem(key)", key(page, "0")) == text
    assert page.locator("main img").count() == 0
    assert thrown == []


def test_keys_of_a_newer_edition_are_left_alone(new_context, host):
    """Also by the way out, which removes the saved book and nothing that was written."""
    page, url = visit(new_context().new_page(), host.url), host.url
    keep(page, url, VAN)
    newer_keys = {key(page, "x").replace(" set-up x", " readings 1"): "{}", "field-book": "2", "other": "mine"}
    page.evaluate("(all) => { for (const [k, v] of Object.entries(all)) localStorage.setItem(k, v); }", newer_keys)
    before = written(page)
    page.goto(f"{url}set-ups/")
    expect(page.locator("#kept li")).to_have_count(1)
    page.goto(f"{url}checks/cable-drop/")
    page.fill("#current", "25 A")
    expect(page.locator("#heading-answer")).to_be_visible()
    page.goto(f"{url}reset.html")
    page.click("#remove")
    expect(page.locator("#done")).to_be_visible()
    assert written(page) == before


# A window that forgets


def test_in_a_private_window_of_firefox_checks_answer_and_the_page_says_how_it_stands(host):
    sentence = missing("Firefox")
    if sentence:
        pytest.skip(sentence)
    firefox = Firefox()
    try:
        firefox.new_private_window()
        firefox.open(f"{host.url}checks/cable-drop/")
        firefox.fill("#current", "25 A")
        firefox.fill("#length", "6 m")
        firefox.wait_to_see("#heading-answer")
        firefox.wait_until("document.documentElement.dataset.offline !== 'saving'")
        assert firefox.sees("#not-saved") == (firefox.state("offline") == "unavailable")
        firefox.open(f"{host.url}set-ups/")
        firefox.wait_for(engine="ready")
    finally:
        firefox.quit()


# A browser that dies


CLOSING = 30.0
"""How long a browser may take to close; what was written before is on the disk long before that [s]."""


@contextmanager
def living(browser: Browser, profile: Path) -> Iterator[tuple[BrowserContext, subprocess.Popen]]:
    """Start a browser on a profile, and yield it with its process, to be killed."""
    port_file = profile / "DevToolsActivePort"
    port_file.unlink(missing_ok=True)
    path = os.environ.get(VARIABLE) or find_browser(print)
    options = ["--headless=new", "--no-sandbox", "--no-first-run", "--disable-background-networking"]
    process = subprocess.Popen(
        [path, *options, f"--user-data-dir={profile}", "--remote-debugging-port=0", "about:blank"],
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until(lambda: port_file.exists() and "\n" in port_file.read_text(), "the browser can be driven")
        port = port_file.read_text().splitlines()[0]
        context = browser.browser_type.connect_over_cdp(f"http://127.0.0.1:{port}").contexts[0]
        context.set_default_timeout(PATIENCE)
        yield context, process
    finally:
        die(process)


def close_in_peace(page: Page, process: subprocess.Popen) -> None:
    """Close a browser as its owner does, so that what it holds is on the disk."""
    page.context.new_cdp_session(page).send("Browser.close")
    try:
        process.wait(CLOSING)
    except subprocess.TimeoutExpired:
        die(process)


def die(process: subprocess.Popen) -> None:
    """End a browser without a warning, as a phone that needs the room does."""
    process.kill()
    process.wait()


WRITE_ON = """([key, text]) => {
    window.written = 0;
    setInterval(() => { localStorage.setItem(key, text.replace("Van", `Van ${window.written += 1}`)); }, 0);
}"""


def test_a_browser_that_dies_while_it_writes_leaves_what_was_written(browser, host, built, tmp_path):
    with living(browser, tmp_path) as (context, process):
        page = visit(context.new_page(), host.url)
        keep(page, host.url, VAN)
        close_in_peace(page, process)
    with living(browser, tmp_path) as (context, process):
        page = context.new_page()
        page.goto(f"{host.url}missing/")
        page.evaluate(WRITE_ON, [key(page, "0"), file.to_file(VAN)])
        wait_until(lambda: page.evaluate("window.written") >= 300, "much is written", page)
        die(process)
    host.stop()
    with living(browser, tmp_path) as (context, process):
        page = context.new_page()
        page.goto(f"{host.url}set-ups/")
        assert on_show(page) == edition(built)
        (one,) = kept(page).values()
        assert one.pop("name").startswith("Van")
        expected = json.loads(file.to_file(VAN))
        expected.pop("name")
        assert one == expected


def half_of_what_is_new(older: Path | None, newer: Path) -> dict[str, Fault]:
    """Return faults by which every file that an older edition has not stalls half-way."""
    paths = {path.relative_to(newer).as_posix(): path for path in newer.rglob("*") if path.is_file()}
    new = {name: path.read_bytes() for name, path in paths.items() if not (older and (older / name).is_file())}
    kept_whole = ("sw.js", ".html", ".css", ".js")
    return {
        name: Fault(200, "application/octet-stream", content[: len(content) // 2], ends="stalled")
        for name, content in new.items()
        if not name.endswith(kept_whole)
    }


def test_a_browser_that_dies_during_the_first_visit_goes_on_at_the_next(browser, host, built, tmp_path):
    host.faults = half_of_what_is_new(None, built)
    with living(browser, tmp_path) as (context, process):
        context.new_page().goto(host.url)
        assert host.stalled.wait(20)
        die(process)
    host.faults.clear()
    host.let_go()
    with living(browser, tmp_path) as (context, process):
        answer_example(visit(context.new_page(), host.url), host.url, CHECK)


def test_a_browser_that_dies_during_an_update_keeps_the_edition_and_what_is_written(
    browser, host, built, newer, tmp_path
):
    with living(browser, tmp_path) as (context, process):
        page = visit(context.new_page(), host.url)
        keep(page, host.url, VAN)
        close_in_peace(page, process)
    with living(browser, tmp_path) as (context, process):
        page = context.new_page()
        host.folder = newer
        host.faults = half_of_what_is_new(built, newer)
        page.goto(host.url)
        assert host.stalled.wait(20)
        die(process)
    host.faults.clear()
    host.let_go()
    with living(browser, tmp_path) as (context, process):
        page = visit(context.new_page(), f"{host.url}set-ups/")
        assert on_show(page) == edition(built)
        assert list(kept(page)) == ["0"]
        expect(page.locator("#update")).to_be_visible()
        page.click("#update-now")
        wait_for(page, edition=edition(newer), offline="ready")
        assert list(kept(page)) == ["0"]
