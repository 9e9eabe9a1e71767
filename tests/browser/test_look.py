"""Every page on a small phone, by day and by night: nothing sticks out, everything can be tapped and read."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.conftest import all_pages, expect_answer, fill, wait_for

PAGES = all_pages()
CHECK = "fuse-choice"
TYPED = {"current": "25 A", "size": "16 mm2", "length": "6 m", "surge_current": "60 A"}
WIDTHS = (360, 320)
SCHEMES = ("light", "dark")

SMALLEST_TAP = 48  # CSS px, as the largest of the platforms' guides asks; WCAG 2.5.5 asks for 44
SMALLEST_ENTRY = 16  # CSS px of type: below it a phone zooms in when the field is touched
LEAST_CONTRAST = 7  # WCAG 1.4.6, here without its exception for large type

# What WCAG 2 asks at its three levels, with the rules that axe leaves off unless they are named.
AXE = {
    "resultTypes": ["violations"],
    "runOnly": {
        "type": "tag",
        "values": [
            *("wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"),
        ],
    },
    "rules": {
        "color-contrast-enhanced": {"enabled": True},
        "target-size": {"enabled": True},
        "identical-links-same-purpose": {"enabled": True},
    },
}

COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "color-contrast-enhanced", "link-in-text-block"]}}
"""What of it hangs on the scheme."""

# The boxes that are too small. WCAG's exception for links is made for those only that stand within a sentence.
TOO_SMALL = """(least) => {
    const inSentence = (e) => {
        if (e.localName !== "a" || getComputedStyle(e).display !== "inline") return false;
        const block = e.closest("p, li, td, dd, blockquote");
        return block !== null && block.textContent.trim() !== e.textContent.trim();
    };
    return [...document.querySelectorAll("a, button, input, select, summary")]
        .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.matches(".skip:not(:focus)"))
        .filter((e) => !inSentence(e))
        .map((e) => e.closest("label") ?? e)  // a label around a control is tapped with it
        .map((e) => [e.textContent.trim().slice(0, 40) || e.id, e.getBoundingClientRect()])
        .filter(([, box]) => box.width < least - 0.01 || box.height < least - 0.01)
        .map(([name, box]) => `${name}: ${box.width} × ${box.height}`);
}"""

# Every text whose colour is too near to what lies behind it.
TOO_FAINT = """(least) => {
    const numbers = (colour) => colour.match(/[\\d.]+/g).map(Number);
    const linear = (c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    const luminance = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    const ground = (e) => {
        for (; e; e = e.parentElement) {
            const colour = numbers(getComputedStyle(e).backgroundColor);
            if (colour.length < 4 || colour[3] === 1) return colour;
            if (colour[3] !== 0) throw new Error(`half seen through: ${e.outerHTML.slice(0, 80)}`);
        }
        throw new Error("no ground");
    };
    const faint = new Set();
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let text = texts.nextNode(); text; text = texts.nextNode()) {
        const e = text.parentElement;
        if (!text.data.trim() || !e.checkVisibility({ visibilityProperty: true, opacityProperty: true })) continue;
        const [one, other] = [luminance(numbers(getComputedStyle(e).color)), luminance(ground(e))];
        const contrast = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
        if (contrast < least) faint.add(`${text.data.trim().slice(0, 40)}: ${contrast.toFixed(2)}`);
    }
    return [...faint];
}"""


def open_all(page: Page) -> None:
    """Open what is folded."""
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")


def problems(page: Page) -> list[str]:
    """Return what is wrong with the look of a page, in the scheme and at the width that are set."""
    found = []
    wide, room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    if wide > room:
        found.append(f"scrolls sideways: {wide} in {room}: {widest(page)}")
    found += page.evaluate(TOO_SMALL, SMALLEST_TAP)
    found += page.evaluate(TOO_FAINT, LEAST_CONTRAST)
    found += page.eval_on_selector_all(
        "input, select",
        "(all, least) => all.filter((e) => parseFloat(getComputedStyle(e).fontSize) < least).map((e) => e.id)",
        SMALLEST_ENTRY,
    )
    return found


def widest(page: Page) -> list[str]:
    """Return what sticks out."""
    return page.evaluate(
        """() => [...document.querySelectorAll("body *")]
            .filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5 && !e.parentElement.closest(".table"))
            .map((e) => e.outerHTML.slice(0, 60)).slice(0, 5)"""
    )


def axe(page: Page, options: dict = AXE) -> list[str]:
    """Return what axe finds."""
    page.evaluate("scrollTo(0, document.body.scrollHeight)")  # there the strip with the answer lies over nothing else
    found = Axe().run(page, options=options).response["violations"]
    return [f"{one['id']}: {node['html'][:120]} {node['failureSummary']}" for one in found for node in one["nodes"]]


def look(page: Page) -> dict[str, list[str]]:
    """Return what is wrong with a page, in both schemes, at both widths and as text twice as large."""
    found = {}
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 740})
            found[f"{scheme} {width}"] = problems(page)
        found[f"{scheme} axe"] = axe(page, AXE if scheme == SCHEMES[0] else COLOURS)
    return {where: what for where, what in found.items() if what}


@pytest.mark.parametrize("path", PAGES)
def test_a_page_can_be_read_and_tapped(page, url, path):
    page.goto(url + path)
    open_all(page)
    assert look(page) == {}


@pytest.mark.parametrize("path", [f"checks/{CHECK}/", "", "sources/"])
def test_text_twice_as_large_still_fits(page, url, path):
    page.goto(url + path)
    open_all(page)
    page.evaluate("document.documentElement.style.setProperty('font-size', '225%')")
    room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert room[0] <= room[1], widest(page)


def test_an_answer_can_be_read_and_tapped(page, url):
    page.goto(f"{url}checks/{CHECK}/")
    fill(page, CHECK, TYPED)
    expect_answer(page, CHECK, TYPED)
    open_all(page)
    assert look(page) == {}


def test_an_error_can_be_read_and_tapped(page, url):
    page.goto(f"{url}checks/{CHECK}/")
    fill(page, CHECK, TYPED | {"current": "5 kg"})
    page.focus("#size")
    expect(page.locator("#current-error")).to_be_visible()
    assert look(page) == {}


def test_what_the_page_says_of_its_state_can_be_read(page, url):
    """Every notice there is, shown at once."""
    page.goto(f"{url}checks/{CHECK}/")
    wait_for(page, engine="ready")
    for why in ("unsupported", "download", "changed", "storage"):
        page.evaluate(
            "(state) => Object.assign(document.documentElement.dataset, state)",
            {"offline": "unavailable", "engine": "unavailable", "why": why},
        )
        page.evaluate("document.getElementById('update').hidden = false")
        expect(page.locator(f'[data-why="{why}"]:visible')).to_have_count(2)  # the page itself, and its sentence
        expect(page.locator('[data-engine-is="unavailable"]')).to_be_visible()
        assert look(page) == {}


def test_the_skip_link_can_be_read_and_tapped(page, url):
    page.goto(url)
    page.focus(".skip")
    assert look(page) == {}


def test_a_row_of_a_table_keeps_its_heading_where_the_table_scrolls_sideways(page, url):
    page.goto(f"{url}checks/wiring-run/")
    table = page.locator("section.table:has(tbody th)").last
    table.evaluate("(table) => { table.scrollLeft = 1000; }")
    assert table.evaluate("(table) => table.scrollLeft") > 40
    heading, cell = (table.locator(f"tbody tr {kind}").first.bounding_box() for kind in ("th", "td"))
    assert cell["x"] < heading["x"]
    assert heading["x"] >= table.bounding_box()["x"] - 1


def test_a_reading_with_its_range_fits_a_phone_for_three_kinds_of_battery(page, url):
    page.goto(f"{url}checks/commissioning-sheet/")
    table = page.locator("section.table:has(tbody th)").last
    assert table.evaluate("(table) => table.scrollWidth - table.clientWidth") <= 0
