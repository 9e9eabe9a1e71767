"""A search for a fault on a phone: question by question, offline, changed, shared, kept, printed, by keyboard."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Page, expect

import calc
from calc.physics import faults
from calc.setup.usual import usual_set_up
from site_src import stories
from tests.browser.conftest import expect_answer, wait_for
from tests.browser.set_ups import VAN, keep, site_path
from tests.browser.test_look import look, open_all

CHECK = "fault-finder"
FUSE = [one.plain for one in stories.told("rear_fuse").search.taken]
FOREIGN = ("", "{", "null", "[]", "7", '{"hash": 1}', '{"hash": "#x", "vehicle": "", "name": {}, "told": "", "at": 1}')


@pytest.fixture
def finder(page, url) -> Page:
    """The finder's page as it opens, nothing kept."""
    page.goto(url)
    page.evaluate("localStorage.clear()")
    page.goto(f"{url}checks/{CHECK}/")
    wait_for(page, engine="ready")
    return page


def asked(page: Page) -> str:
    """Return the key of the reading that is asked for."""
    return page.get_attribute(".entry", "data-key")


def readings(page: Page) -> list[str]:
    """Return what the text field holds, reading by reading."""
    return [text for text in page.input_value("#readings").split("; ") if text]


def plain(page: Page) -> list[str]:
    """Return the readings as Python writes them into the page."""
    return page.eval_on_selector_all("[data-plain]", "all => all.map((e) => e.dataset.plain)")


def put_in(page: Page, shown: str) -> None:
    """Type what the meter shows, and wait for what comes of it."""
    key = asked(page)
    page.fill("#reading", shown)
    page.click("text=Put it in")
    expect(page.locator(f'.taken [data-key="{key}"]')).to_be_visible()


def key_of(text: str) -> str:
    """Return place and state of a reading as it is typed."""
    return " ".join(text.split(" ")[:2])


def open_with(page: Page, url: str, *texts: str) -> None:
    """Open the page with some readings."""
    page.goto("about:blank")
    page.goto(f"{url}checks/{CHECK}/#readings={'; '.join(texts)}")
    expect_answer(page, CHECK, {"readings": "; ".join(texts)})


def test_a_search_from_start_to_end_with_no_signal(saved, finder):
    known = stories.vehicle(usual_set_up())
    broken = stories.vehicle_with(known, "rear_fuse", 0.5, 0.5)
    saved[0].set_offline(True)
    try:
        finder.reload()
        while finder.locator(".sure").count() == 0:
            place, state = asked(finder).split(" ")
            assert len(readings(finder)) < stories.MOST_READINGS
            put_in(finder, f"{faults.read(faults.at_points(broken, state), place, broken.meter):.2f}")
        expect_answer(finder, CHECK, {"readings": "; ".join(readings(finder))})
    finally:
        saved[0].set_offline(False)
    assert plain(finder) == FUSE
    expect(finder.locator("#question-heading")).to_contain_text("Open fuse at the second battery")
    expect(finder.locator(".causes li").first).to_contain_text("Do not fit a bigger fuse")
    finder.click("text=Take one more reading")
    expect(finder.locator("#reading")).to_be_visible()


def test_the_first_question_stands_before_anything_runs(new_context, host):
    page = new_context(java_script_enabled=False).new_page()
    page.goto(f"{host.url}checks/{CHECK}/")
    first = calc.run(CHECK, {}).search.ahead[0]
    expect(page.locator(".instruction")).to_have_text(first.instruction)
    expect(page.locator(".probes")).to_be_visible()
    expect(page.locator(".entry")).to_be_hidden()
    page.click(".healthy summary")
    assert first.healthy in page.inner_text(".healthy table")


def test_what_is_out_of_reach_is_left_out_and_can_be_asked_for_again(finder):
    first = asked(finder)
    finder.click("text=I can’t reach that")
    expect(finder.locator(f'.taken [data-key="{first}"]')).to_contain_text("out of reach")
    assert asked(finder) != first and readings(finder) == [f"{first} ?"]
    finder.click("text=Ask again")
    expect(finder.locator(".taken")).to_be_hidden()
    assert asked(finder) == first and readings(finder) == []


def test_a_reading_is_changed_in_its_place_removed_and_taken_back(finder, url):
    open_with(finder, url, *FUSE)
    finder.locator(".taken li").first.get_by_role("button", name="Change").click()
    expect(finder.locator("#reading")).to_be_focused()
    assert asked(finder) == key_of(FUSE[0]) and finder.input_value("#reading") == FUSE[0].split(" ")[2]
    finder.fill("#reading", "0.3")
    finder.press("#reading", "Enter")
    expect(finder.locator(".taken li").first).to_contain_text("0.30")
    assert readings(finder) == [f"{key_of(FUSE[0])} 0.3 V", *FUSE[1:]]
    finder.locator(".taken li").first.get_by_role("button", name="Remove").click()
    expect(finder.locator(".taken li")).to_have_count(len(FUSE) - 1)
    assert readings(finder) == FUSE[1:]
    finder.click("text=Back by one")
    expect(finder.locator(".taken li")).to_have_count(len(FUSE) - 2)
    assert readings(finder) == FUSE[1:-1]


def test_another_reading_can_be_taken_first(finder):
    other = finder.locator("#rather option").nth(3).get_attribute("value")
    finder.select_option("#rather", other)
    expect(finder.locator(f'.entry[data-key="{other}"]')).to_be_visible()
    expect(finder.locator("#reading")).to_be_focused()
    put_in(finder, "12.3")
    assert readings(finder) == [f"{other} 12.3 V"]


def test_sign_unit_and_comma_are_taken_as_they_are_typed(finder):
    first = asked(finder)
    finder.fill("#reading", "450")
    finder.click("[data-turn]")
    finder.select_option("#reading-unit", "mV")
    finder.click("text=Put it in")
    expect(finder.locator(f'.taken [data-key="{first}"]')).to_contain_text("−0.45")
    second = asked(finder)
    put_in(finder, "12,1")
    assert readings(finder)[-1] == f"{second} 12.1 V"
    assert plain(finder) == [f"{first} -0.45 V", f"{second} 12.1 V"]


def test_what_is_no_reading_is_refused_beside_the_entry_and_costs_nothing(finder):
    put_in(finder, "0.2")
    before, key = readings(finder), asked(finder)
    finder.fill("#reading", "abc")
    finder.click("text=Put it in")
    expect(finder.locator("#reading-error")).to_contain_text("abc")
    assert "reading-error" in finder.get_attribute("#reading", "aria-describedby")
    expect(finder.locator("#reading")).to_be_focused()
    assert finder.get_attribute("#reading", "aria-invalid") == "true"
    assert (readings(finder), asked(finder)) == (before, key)
    expect(finder.locator("#heading-answer")).to_be_visible()
    finder.fill("#reading", "12")
    expect(finder.locator("#reading-error")).to_be_hidden()


def test_it_works_by_keyboard_and_says_what_came_of_it(finder):
    finder.focus("#reading")
    finder.keyboard.type("0.05")
    finder.keyboard.press("Enter")
    expect(finder.locator("#question-heading")).to_be_focused()
    expect(finder.locator("#question-heading")).to_contain_text("Reading 2")
    expect(finder.locator("#told")).to_contain_text("Not sure yet")
    for _ in range(9):
        finder.keyboard.press("Tab")
        if finder.evaluate("document.activeElement.id") == "reading":
            break
    finder.keyboard.type("12.4")
    finder.keyboard.press("Tab")
    finder.keyboard.press("Tab")
    finder.keyboard.press("Enter")
    expect(finder.locator(".taken li")).to_have_count(2)


def test_a_link_gives_the_same_search_on_another_phone(new_context, host, finder, url):
    keep(finder, url, VAN)
    finder.goto(f"{url}checks/{CHECK}/")
    expect(finder.locator(".for-vehicle")).to_contain_text("a DC-DC charger")
    put_in(finder, "11.9")
    expect(finder.locator("#heading-answer")).to_be_visible()
    expect(finder).to_have_url(re.compile("set-up="))
    other = new_context(service_workers="block").new_page()
    other.goto(finder.url.replace(url, host.url))
    expect(other.locator(".taken li")).to_have_count(1)
    expect(other.locator("#heading-answer")).to_be_visible()
    assert other.inner_text("#guided") == finder.inner_text("#guided")
    assert other.inner_text("#answer") == finder.inner_text("#answer")


def test_a_search_is_gone_on_with_after_the_page_was_closed(finder, url):
    put_in(finder, "0.2")
    first = readings(finder)
    finder.goto("about:blank")
    finder.goto(f"{url}checks/{CHECK}/")
    expect(finder.locator("#sessions li")).to_have_count(1)
    expect(finder.locator("#sessions li")).to_contain_text("A usual vehicle")
    finder.click("[data-go]")
    expect(finder.locator(".taken li")).to_have_count(1)
    expect(finder.locator("#sessions")).to_be_hidden()
    assert readings(finder) == first
    put_in(finder, "12.3")
    finder.goto("about:blank")
    finder.goto(f"{url}checks/{CHECK}/")
    expect(finder.locator("#sessions li")).to_have_count(1)
    finder.click("[data-delete]")
    expect(finder.locator("#sessions")).to_be_hidden()
    finder.reload()
    expect(finder.locator("#sessions")).to_be_hidden()


def test_only_the_last_searches_of_a_vehicle_are_kept(finder, url):
    for volts in ("0.1", "0.2", "0.3", "0.4", "0.5"):
        finder.goto("about:blank")
        finder.goto(f"{url}checks/{CHECK}/")
        put_in(finder, volts)
    finder.goto("about:blank")
    finder.goto(f"{url}checks/{CHECK}/")
    expect(finder.locator("#sessions li")).to_have_count(3)
    finder.locator("#sessions li").first.locator("[data-go]").click()
    expect(finder.locator(".taken")).to_contain_text("0.50")


def test_what_is_no_search_harms_nothing(finder, url):
    evil = {"hash": "#readings=<img src=x onerror=ran()>", "vehicle": "", "name": "<b>", "told": "<img src=x>", "at": 1}
    start = f"field-book {site_path(finder)} search "
    for n, text in enumerate((*FOREIGN, json.dumps(evil))):
        finder.evaluate("([key, text]) => localStorage.setItem(key, text)", [f"{start}{n}", text])
    failed = []
    finder.on("pageerror", lambda error: failed.append(error))
    finder.goto("about:blank")
    finder.goto(f"{url}checks/{CHECK}/")
    expect(finder.locator("#sessions li")).to_have_count(1)
    assert finder.locator("#sessions img, #sessions b").count() == 0
    finder.click("[data-go]")
    expect(finder.locator("#readings-error")).to_be_visible()
    expect(finder.locator("#readings")).to_be_visible()
    assert finder.locator("main img").count() == 0 and not failed


def test_where_nothing_can_be_kept_it_says_so_and_goes_on(new_context, host):
    page = new_context().new_page()
    page.add_init_script("Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }")
    page.goto(f"{host.url}checks/{CHECK}/")
    put_in(page, "0.2")
    expect(page.locator("#session-not-kept")).to_be_visible()
    put_in(page, "12.3")


def test_on_paper_stand_readings_causes_and_what_to_do(finder, url):
    open_with(finder, url, *FUSE)
    finder.emulate_media(media="print")
    for there in (".taken", ".causes", ".causes h5 >> text=Do now"):
        expect(finder.locator(there).first).to_be_visible()
    for gone in (".question", ".taken button", ".more"):
        expect(finder.locator(gone).first).to_be_hidden()


@pytest.mark.parametrize("taken", [(), FUSE[:1], FUSE], ids=["first", "on the way", "sure"])
def test_it_can_be_read_and_tapped(finder, url, taken):
    if taken:
        open_with(finder, url, *taken)
    open_all(finder)
    assert look(finder) == {}


def test_with_the_entry_in_the_hand_the_drawing_is_on_the_screen(finder):
    put_in(finder, "0.2")
    entry, picture = finder.locator(".entry").bounding_box(), finder.locator(".probes").bounding_box()
    tall = finder.viewport_size["height"]
    assert entry["y"] + entry["height"] <= tall + 1
    assert picture["y"] < entry["y"]
