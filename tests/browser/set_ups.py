"""The words in which the tests speak of set-ups on a phone."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Page, expect

from calc.setup import demos, file
from calc.setup.model import SetUp, take_in
from tests.browser.conftest import ROOT, expect_values, wait_for

VAN = take_in(
    {
        "name": "Van",
        "vehicle": {"earth_path": "cable"},
        "alternator": {"kind": "smart", "set_point": "?"},
        "second": [{"chemistry": "agm", "capacity": "95 Ah", "place": "cabin"}],
        "link": [{"kind": "charger", "rating": "25 A", "profile": "agm"}],
        "run": [{"length": "6.2 m", "size": "16 mm2", "zone": "under", "fuse": "40 A"}],
        "load": [{"name": "Fridge", "current": "4 A", "use": "duty", "duty": "30 %", "battery": "second"}],
    }
)
"""A set-up in which much is said and much is not."""

DEMOS = {name: demos.demo(name) for name in demos.NAMES}


def key(page: Page, id: str) -> str:
    """Return the key under which the browser keeps a set-up."""
    return f"field-book {site_path(page)} set-up {id}"


def site_path(page: Page) -> str:
    """Return where the site stands, from the address of a page in it."""
    path = urlsplit(page.url).path
    for part in ("set-ups/", "checks/", "about/", "missing/"):
        path = path.partition(part)[0]
    return path


def kept(page: Page) -> dict[str, dict]:
    """Return every kept set-up by its id, as it stands in the browser's store."""
    found = page.evaluate("() => ({ ...localStorage })")
    start = key(page, "")
    return {name.removeprefix(start): json.loads(text) for name, text in found.items() if name.startswith(start)}


def written(page: Page) -> dict[str, str]:
    """Return all that the browser's store holds, but for the cards, which the book makes anew by itself."""
    found = page.evaluate("() => ({ ...localStorage })")
    return {name: text for name, text in found.items() if not re.match("field-book .* card ", name)}


def chosen(page: Page) -> str | None:
    """Return the id of the set-up that answers start from."""
    return page.evaluate("(key) => localStorage.getItem(key)", f"field-book {site_path(page)} chosen")


def clear(page: Page, url: str) -> None:
    """Make the browser forget every set-up."""
    page.goto(f"{url}missing/")
    page.evaluate("localStorage.clear()")


def keep(page: Page, url: str, *set_ups: SetUp | str) -> None:
    """Have these set-ups kept and no other, under the ids 0, 1, …; answers start from the first."""
    clear(page, url)
    for id, one in enumerate(set_ups):
        text = one if isinstance(one, str) else file.to_file(one)
        page.evaluate("([key, text]) => localStorage.setItem(key, text)", [key(page, str(id)), text])
    if set_ups:
        page.evaluate("(key) => localStorage.setItem(key, '0')", f"field-book {site_path(page)} chosen")


def look_at(page: Page, url: str, id: str = "0") -> None:
    """Open the look at a kept set-up."""
    page.goto(f"{url}set-ups/#id={id}")
    expect(page.locator("#opened")).to_be_visible()


def edit(page: Page, url: str, id: str | None = None) -> None:
    """Open the page on which a set-up is described, and wait until it is drawn."""
    page.goto(f"{url}set-ups/edit/" + (f"#id={id}" if id else ""))
    wait_for(page, engine="ready")
    expect(page.locator("#drawing svg")).to_be_visible()


def step(page: Page, part: str) -> None:
    """Turn to the step of a part by Next and Back, as a reader would."""
    order = page.eval_on_selector_all(".part", "all => all.map((e) => e.dataset.part)")
    by = order.index(part) + 1 - int(page.inner_text("#step"))
    for _ in range(abs(by)):
        page.click("#next" if by > 0 else "#back")
    expect(page.locator(f'.part[data-part="{part}"]')).to_be_visible()


def entry(page: Page, place: str) -> str:
    """Return what stands in a place of the form, such as "load.1.current"."""
    return page.evaluate("(name) => document.forms['set-up'].elements.namedItem(name).value", place)


def link_on_show(page: Page) -> str:
    """Return the link of the set-up that is open."""
    page.click("#copy")
    return page.input_value("#link")


def told(check: str, inputs: dict[str, str], file: Path | None = None) -> dict:
    """Return what the command line answers from a set-up's file."""
    pairs = [f"{name}={text}" for name, text in inputs.items()]
    set_up = ["--setup", str(file)] if file else []
    command = [sys.executable, "-m", "calc", check, *set_up, *pairs, "--json"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def expect_told(page: Page, answered: dict) -> None:
    """Wait until the page shows what the command line answered, value for value."""
    expect_values(page, answered["values"], answered["check"])
