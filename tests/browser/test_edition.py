"""A club's edition on a phone: readable, whole with no signal, and its set-ups looked at before they are kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from site_src import builder
from tests.browser.conftest import phone, visit
from tests.browser.host import Host
from tests.browser.test_look import AXE
from tests.browser.test_markup import complaints

EXAMPLE = builder.HERE / "editions/example/edition.toml"
CLUB = "Dry Creek Tourers (invented)"
PAGES = ("", "welcome/", "guides/", "guides/salt-flats/", "about/", "set-ups/")


@pytest.fixture(scope="module")
def club(tmp_path_factory) -> Path:
    """The example of a club's edition, built."""
    folder = tmp_path_factory.mktemp("club") / "dist"
    builder.build(folder, lambda _: None, EXAMPLE)
    return folder


@pytest.fixture(scope="module")
def page(browser, club):
    """A page of a phone that has the club's book and has lost its signal."""
    with Host(club) as host:
        context = phone(browser)
        page = visit(context.new_page(), host.url)
        context.set_offline(True)
        page.site = host.url
        yield page
        context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_club_s_pages_can_be_read_and_tapped(page, scheme):
    page.emulate_media(color_scheme=scheme)
    for path in PAGES:
        page.goto(page.site + path)
        found = Axe().run(page, options=AXE).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], path


def test_the_club_s_pages_are_sound_html(club):
    assert complaints([club / path / "index.html" for path in PAGES], club) == []


def test_answers_come_with_no_signal_in_the_club_s_region_and_with_its_cautions(page):
    page.goto(page.site + "checks/cable-drop/")
    first = page.locator("#size ~ select.pick optgroup").first
    assert first.get_attribute("label").startswith("AWG")
    page.fill("#current", "25")
    page.fill("#length", "20")
    page.wait_for_selector("#heading-answer:not([hidden])")
    expect(page.locator('[data-key="smallest_size"]')).to_have_text("4\u00a0AWG")
    expect(page.locator('[data-key="conductor_temperature"]')).to_have_text("89\u00a0°F")
    assert page.url.endswith("#current=25&length=20+ft")
    page.goto(page.site + "checks/cable-drop/#current=25&length=20")
    expect(page.locator('[data-unit-of="length"]')).to_have_value("")
    expect(page.locator('[data-key="smallest_size"]')).not_to_have_text("4\u00a0AWG")
    cautions = page.locator(".cautions")
    expect(cautions).to_contain_text(f"{CLUB} adds: Salt flats")
    expect(cautions).to_contain_text("Where a local wiring code")
    expect(cautions).to_contain_text("NFPA 1192")


def test_its_set_up_is_looked_at_and_kept_only_when_the_reader_says_so(page):
    page.goto(page.site)
    expect(page.get_by_role("link", name="An edition of Dry Creek Tourers (invented)")).to_be_visible()
    page.get_by_role("link", name="Salt-lake tray (invented)").click()
    expect(page.locator("#opened-name")).to_have_text("Salt-lake tray (invented)")
    expect(page.locator("#drawing svg")).to_be_visible()
    expect(page.locator("#none-kept")).to_be_visible()
    page.click("#keep")
    expect(page.locator("#kept li h3")).to_have_text("Salt-lake tray (invented)")


def test_a_vehicle_is_described_in_the_region_s_units(page):
    page.goto(page.site + "set-ups/edit/#id=")
    name = "run.0.length"
    page.wait_for_selector("#set-up:not([hidden])")
    text = page.evaluate(
        """(name) => {
          const box = document.getElementsByName(name)[0];
          box.value = "20";
          box.dispatchEvent(new Event("input", { bubbles: true }));
          return box.nextElementSibling.textContent;
        }""",
        name,
    )
    assert text == "ft"
    for _ in range(100):
        if page.evaluate("Object.values(localStorage).some((text) => text.includes('20 ft'))"):
            return
        page.wait_for_timeout(100)
    raise AssertionError("20 ft is not kept")
