"""The path of each of the three people, from the first page to what they came for, with no signal, in three engines."""

from __future__ import annotations

import json

import calc
from calc.check import answer
from calc.physics import faults
from calc.setup import file
from calc.setup.link import to_link
from calc.setup.usual import usual_set_up
from site_src import stories
from tests.browser.engines import Phone
from tests.browser.phones import describe_van, engine, expect_values, kept, phone, saved  # noqa: F401
from tests.browser.set_ups import VAN

TAPPED = "document.querySelector('[data-tapped]')"


def tap(phone: Phone, words: str) -> None:
    """Tap the first link or button on show with these words; where it leads to another page, wait for that."""
    phone.wait_until(
        "[...document.querySelectorAll('a, button')].some((e) => e.textContent.includes(given) && e.checkVisibility())",
        words,
    )
    phone.run(
        "for (const e of document.querySelectorAll('[data-tapped]')) e.removeAttribute('data-tapped');"
        "[...document.querySelectorAll('a, button')].find((e) => e.textContent.includes(given) && e.checkVisibility())"
        ".setAttribute('data-tapped', '');",
        words,
    )
    leaves = phone.is_so(f"((e) => e.href && e.href.split('#')[0] !== location.href.split('#')[0])({TAPPED})")
    phone.click("[data-tapped]")
    if leaves:
        phone.wait_until(f"!{TAPPED} && document.readyState === 'complete'")


def expect_same(phone: Phone, check: str, found: calc.Answer) -> None:
    """Wait until the page shows an answer of the host's, value for value."""
    expect_values(phone, check, found.to_dict()["values"])


def test_a_traveller_with_a_flat_battery_finds_the_fuse(saved):
    """At camp, at night: from the first page to the fuse that is open, and to what not to do."""
    phone, host = saved
    known = stories.vehicle(usual_set_up())
    broken = stories.vehicle_with(known, "rear_fuse", 0.5, 0.5)
    phone.open(host.url)
    host.stop()
    tap(phone, "At camp")
    tap(phone, "What is wrong, by a few meter readings?")
    phone.wait_until("document.querySelector('#reading')?.checkVisibility()")
    taken = 0
    while not phone.sees(".sure"):
        assert taken < stories.MOST_READINGS
        key = phone.run("return document.querySelector('.entry').dataset.key;")
        place, state = key.split(" ")
        phone.fill("#reading", f"{faults.read(faults.at_points(broken, state), place, broken.meter):.2f}")
        tap(phone, "Put it in")
        phone.wait_to_see(f'.taken [data-key="{key}"]')
        taken += 1
    assert "Open fuse at the second battery" in phone.text("#question-heading")
    assert "Do not fit a bigger fuse" in phone.text(".causes")
    assert phone.text(".cautions")
    tap(phone, "All questions")
    tap(phone, "What do my readings mean at camp")
    assert "V" in phone.text("#pictures table")


def test_a_fitter_goes_from_a_described_van_to_sheets_to_sign(saved):
    """Beside the vehicle: the van is described once; parts, order of work, and what each point must read."""
    phone, host = saved
    host.stop()
    phone.open(host.url)
    tap(phone, "Your set-ups")
    tap(phone, "Describe a vehicle")
    describe_van(phone)
    [one] = kept(phone)
    van = file.from_file(json.dumps(one))
    phone.open(host.url)
    tap(phone, "Beside the vehicle")
    tap(phone, "What do I buy and fit")
    expect_same(phone, "job-sheet", answer(calc.checks()["job-sheet"], {}, van))
    assert "95\u00a0Ah" in phone.text("#pictures")
    phone.open(host.url)
    tap(phone, "What must the meter read at every point")
    expect_same(phone, "commissioning-sheet", answer(calc.checks()["commissioning-sheet"], {}, van))
    for point, shown in (("starter rested", "12.6"), ("second rested", "9,1")):
        phone.fill(f'[data-key="{point}"]', shown)
        phone.press("Enter")
        phone.wait_until("document.querySelector('#readings').value.includes(given)", point)
    read = {"readings": "starter rested 12.6 V; second rested 9.1 V"}
    found = answer(calc.checks()["commissioning-sheet"], read, van)
    assert found.values["passed"].value == found.values["look_again"].value == 1
    expect_same(phone, "commissioning-sheet", found)


def test_a_member_of_a_club_keeps_the_link_and_plans_a_trip(saved):
    """One link for all: it is looked at first, kept when the member says so, and answers where there is no signal."""
    phone, host = saved
    phone.open(f"{host.url}set-ups/#set-up={to_link(VAN)}")
    phone.wait_to_see("#opened")
    assert phone.text("#opened-name") == "Van"
    assert kept(phone) == []
    tap(phone, "Keep")
    phone.wait_to_see("#is-kept")
    host.stop()
    phone.open(host.url)
    tap(phone, "At home, before the trip")
    tap(phone, "Will the fridge stay on")
    legs = {"legs": "drive 1 h, camp 1 d"}
    phone.fill("#legs", legs["legs"])
    expect_same(phone, "trip", answer(calc.checks()["trip"], legs, VAN))


def test_each_part_of_the_first_page_is_one_tap_away(phone, host):
    phone.open(host.url)
    for words in ("At camp", "Beside the vehicle", "At home, before the trip", "Your vehicle"):
        tap(phone, words)
        heading = "[...document.querySelectorAll('main h2')].find((h) => h.textContent === given)"
        phone.wait_until(f"Math.abs({heading}.getBoundingClientRect().top) < 200", words)
