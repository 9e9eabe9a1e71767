"""A trip on the page: its legs are edited one by one or as text, a finger reads its plot, and it can be stopped."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

import calc
from calc.checks import trips
from calc.setup import file, link
from tests.browser.conftest import expect_answer, wait_for
from tests.browser.set_ups import VAN, clear, expect_told, keep, told
from tests.browser.test_look import look, open_all

CHECK = "trip"
LEGS = "drive 3 h, camp 1 d clear 8..22 degC, stop 30 min"
LONG = ", ".join(["drive 1 h, camp 13 d"] * 26)
"""Nearly a year: long enough to be stopped."""


@pytest.fixture
def trip(page, url) -> Page:
    """The trip's page, as it opens where no set-up is kept."""
    clear(page, url)
    page.goto(f"{url}checks/{CHECK}/")
    expect(page.locator("[data-legs]")).to_be_visible()
    return page


def legs(page: Page) -> str:
    """Return the trip as its text says."""
    return page.input_value("#legs")


def rows(page: Page) -> list[list[str]]:
    """Return what stands in each leg."""
    return page.eval_on_selector_all(
        ".leg", "all => all.map((leg) => [...leg.querySelectorAll('[data-part]')].map((e) => e.value))"
    )


def focused(page: Page) -> str:
    """Return the id of what has the focus."""
    return page.evaluate("document.activeElement.id")


def test_it_opens_with_the_usual_trip_leg_by_leg(trip):
    assert legs(trip) == trips.LEGS.blank_plain
    assert rows(trip) == [
        ["drive", "2", "h", "", "", ""],
        ["camp", "2", "d", "", "", ""],
        ["drive", "2", "h", "", "", ""],
    ]
    expect(trip.locator("#heading-example")).to_be_visible()


def test_a_common_trip_is_picked_and_answered(trip):
    name, plain = trips.LEGS.ready[0]
    trip.select_option("#legs-journey", label=name)
    assert legs(trip) == plain
    expect_answer(trip, CHECK, {"legs": plain})
    assert trip.input_value("#legs-journey") == ""


def test_legs_are_changed_added_moved_and_removed_by_keyboard(trip):
    trip.fill("#legs-1-number", "5")
    trip.select_option("#legs-2-sky", "clear")
    trip.fill("#legs-2-coldest", "-3")
    trip.fill("#legs-2-hottest", "9,5")
    assert legs(trip) == "drive 5 h, camp 2 d clear -3..9,5 degC, drive 2 h"
    trip.focus("[data-add]")
    trip.keyboard.press("Enter")
    assert len(rows(trip)) == 4 and focused(trip) == "legs-4-kind"
    trip.select_option("#legs-4-kind", "plugged")
    trip.locator(".leg").nth(3).locator("[data-up]").focus()
    trip.keyboard.press("Enter")
    assert [row[0] for row in rows(trip)] == ["drive", "camp", "plugged", "drive"]
    trip.keyboard.press("Enter")
    trip.keyboard.press("Enter")
    assert [row[0] for row in rows(trip)] == ["plugged", "drive", "camp", "drive"]
    assert focused(trip) == "legs-1-kind"
    trip.locator(".leg").nth(1).locator("[data-remove]").click()
    assert legs(trip) == "plugged 2 h, camp 2 d clear -3..9,5 degC, drive 2 h"
    expect_answer(trip, CHECK, {"legs": legs(trip)})


def test_one_leg_cannot_be_removed_and_sixty_are_the_most(trip):
    trip.fill("#legs", "drive 3 h")
    expect(trip.locator(".leg")).to_have_count(1)
    expect(trip.locator("[data-remove]")).to_be_hidden()
    trip.fill("#legs", ", ".join(["stop 1 h"] * trips.LEGS.most))
    expect(trip.locator(".leg")).to_have_count(trips.LEGS.most)
    expect(trip.locator("[data-add]")).to_be_hidden()


def test_other_words_become_legs_once_they_are_understood(trip):
    trip.fill("#legs", "3 h driving; camping 1 day in sun 8 to 22 C; parked 30 min")
    expect(trip.locator("#legs-3-kind")).to_have_value("stop")
    assert rows(trip)[1] == ["camp", "1", "d", "clear", "8", "22"]
    assert legs(trip) == "3 h driving; camping 1 day in sun 8 to 22 C; parked 30 min"
    expect_answer(trip, CHECK, {"legs": LEGS})


def test_a_leg_that_cannot_be_read_is_named_once_it_is_left(trip):
    trip.fill("#legs-2-number", "two")
    expect(trip.locator("#legs-error")).to_be_hidden()
    trip.focus("#legs-1-number")
    expect(trip.locator("#legs-error")).to_contain_text("leg 2")
    assert "legs-error" in trip.locator(".leg").nth(1).get_attribute("aria-describedby")
    trip.fill("#legs-2-number", "2")
    expect(trip.locator("#legs-error")).to_be_hidden()


def test_a_link_and_clear_bring_the_legs_along(trip, url):
    trip.goto(f"{url}checks/{CHECK}/#legs={LEGS.replace(' ', '+').replace(',', '%2C')}")
    expect_answer(trip, CHECK, {"legs": LEGS})
    assert [row[0] for row in rows(trip)] == ["drive", "camp", "stop"]
    trip.click("button[type=reset]")
    expect(trip.locator("#heading-example")).to_be_visible()
    assert legs(trip) == trips.LEGS.blank_plain and len(rows(trip)) == 3


def test_without_scripts_the_trip_is_one_field_of_text(new_context, host):
    page = new_context(java_script_enabled=False).new_page()
    page.goto(f"{host.url}checks/{CHECK}/")
    assert page.is_visible("#legs") and not page.is_visible("[data-legs]")
    assert not page.is_visible(".read input")
    assert page.is_visible("#pictures svg")


# The plot


def test_a_slider_and_a_finger_read_the_plot(trip):
    said = trip.locator(".read output")
    first = said.inner_text()
    assert first.startswith("Day 1, 9:00")
    trip.focus(".read input")
    for _ in range(3):
        trip.keyboard.press("ArrowRight")
    later = said.inner_text()
    assert later != first and trip.get_attribute(".read input", "aria-valuetext") == later
    assert trip.get_attribute(".cursor", "transform").startswith("translate(")
    picture = trip.locator(".read > svg")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    trip.mouse.move(box["x"] + box["width"] - 2, box["y"] + 100)
    trip.mouse.down()
    trip.mouse.up()
    last = said.inner_text()
    assert last.startswith("Day 3") and trip.input_value(".read input") == trip.get_attribute(".read input", "max")
    trip.mouse.move(box["x"] + 60, box["y"] + 100)
    assert said.inner_text() == last, "moving without touching reads nothing"


def test_the_plot_is_that_of_the_command_line(trip):
    trip.fill("#legs", LEGS)
    expect_answer(trip, CHECK, {"legs": LEGS})
    (plot,) = calc.run(CHECK, {"legs": LEGS}).plots
    shown = trip.locator(".read output").inner_text().replace("\u00a0", " ")
    assert shown == plot.readings[0][1].replace("\u00a0", " ")
    assert trip.locator("#pictures table").count() == 2


# The vehicle


@pytest.fixture
def exported(tmp_path) -> Path:
    """The file of the van."""
    path = tmp_path / "van.json"
    path.write_text(file.to_file(VAN), "utf-8")
    return path


def test_the_usual_vehicle_is_said_and_ones_own_is_a_tap_away(trip):
    trip.fill("#legs", LEGS)
    expect(trip.locator("#answer .about-vehicle")).to_contain_text("usual vehicle")
    expect(trip.locator("#describe a")).to_be_visible()
    assert "set-up=" not in trip.url


def test_the_link_of_an_answer_carries_the_vehicle(new_context, host, page, url, exported):
    keep(page, url, VAN)
    page.goto(f"{url}checks/{CHECK}/")
    page.fill("#legs", LEGS)
    expect_told(page, told(CHECK, {"legs": LEGS}, exported))
    expect(page.locator("#answer .about-vehicle")).to_contain_text("This is about Van")
    assert re.search(r"[#&]set-up=([\w-]+)", page.url)[1] == link.to_link(VAN)
    shown = page.inner_text("#answer")
    other = new_context(service_workers="block").new_page()
    other.goto(page.url.replace(url, host.url))
    expect_told(other, told(CHECK, {"legs": LEGS}, exported))
    assert other.inner_text("#answer") == shown
    assert other.locator("#from-set-up option:checked").inner_text() == "Van"
    assert link.to_link(VAN) in other.url and "from=" not in other.url
    other.select_option("#from-set-up", "")
    expect(other.locator("#answer .about-vehicle")).to_contain_text("usual vehicle")
    expect(other).not_to_have_url(re.compile("set-up="))


def test_a_damaged_link_is_said_and_answered_with_the_usual_vehicle(page, url):
    page.goto(f"{url}checks/{CHECK}/#legs={LEGS.replace(' ', '+')}&set-up={link.to_link(VAN)[:-4]}")
    expect(page.locator("#from-error")).to_contain_text("damaged")
    expect(page.locator("#answer .about-vehicle")).to_contain_text("usual vehicle")


def test_the_kept_vehicle_is_as_the_file_says(page, url, exported):
    keep(page, url, VAN)
    page.goto(f"{url}checks/{CHECK}/")
    page.fill("#legs", LEGS)
    expect_told(page, told(CHECK, {"legs": LEGS}, exported))
    expect(page.locator("#answer .about-vehicle")).to_contain_text("This is about Van")


# What takes its time


NOTE_WORDS = """() => {
  window.words = [];
  const shown = document.getElementById("at-work-words");
  new MutationObserver(() => window.words.push(shown.textContent)).observe(shown, { childList: true });
}"""
"""Has all words on how far an answer is at hand, as window.words: a look may come too late for the first."""


def test_a_long_trip_says_how_far_it_is_and_can_be_stopped(trip):
    wait_for(trip, engine="ready")
    trip.evaluate(NOTE_WORDS)
    trip.fill("#legs", LONG)
    work = trip.locator("#at-work")
    expect(work).to_be_visible()
    expect(trip.locator("#at-work-words")).not_to_be_empty()
    assert trip.evaluate("window.words[0]") == "As usual"
    assert 0 < float(trip.get_attribute("#at-work-share", "value")) < 1
    trip.click("#stop")
    expect(trip.locator("#stopped")).to_contain_text("Stopped")
    expect(work).to_be_hidden()
    assert trip.inner_text("#answer") == ""
    trip.fill("#legs", LEGS)
    expect_answer(trip, CHECK, {"legs": LEGS})
    expect(trip.locator("#stopped span")).to_be_hidden()


def test_what_was_stopped_can_be_asked_again(trip):
    wait_for(trip, engine="ready")
    trip.fill("#legs", LONG)
    expect(trip.locator("#at-work")).to_be_visible()
    trip.click("#stop")
    trip.click("#again")
    expect(trip.locator("#at-work")).to_be_visible()


# How it looks


@pytest.mark.parametrize("check", ["trip", "charge-path", "energy-budget", "engine-start"])
def test_an_answer_can_be_read_and_tapped(page, url, check):
    page.goto(f"{url}checks/{check}/")
    page.fill(
        "#legs" if check in ("trip", "charge-path") else "#days" if check == "energy-budget" else "#charge",
        {
            "trip": trips.LEGS.ready[-1][1],
            "charge-path": "drive 1 h, camp 1 d",
            "energy-budget": "1 day",
            "engine-start": "10 %",
        }[check],
    )
    expect(page.locator("#heading-answer")).to_be_visible()
    open_all(page)
    assert look(page) == {}
