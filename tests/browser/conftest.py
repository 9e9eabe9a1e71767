"""A built site, a browser, and the words in which the tests speak of them."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

import calc
from calc.fields import Choice
from site_src import builder, settings
from tests.browser.find_browser import VARIABLE, find_browser
from tests.browser.host import Host

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
PHONE = {"width": 360, "height": 740}
PATIENCE = 60_000
"""How long a state is waited for: machines are shared, and no test is about speed [ms]."""

SUB_PATH = "/some/sub/path/"
CHECKS = tuple(calc.checks())


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


# The site


@pytest.fixture(scope="session")
def built(tmp_path_factory) -> Path:
    """The site as it is."""
    folder = tmp_path_factory.mktemp("site") / "dist"
    builder.build(folder, lambda _: None)
    return folder


def another_edition(folder: Path, sentence: str) -> Path:
    """Build an edition in which a sentence differs: every page is new, the engine is as it was."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "PROMISE", sentence)
        builder.build(folder, lambda _: None)
    return folder


@pytest.fixture(scope="session")
def newer(tmp_path_factory) -> Path:
    """A newer edition."""
    return another_edition(tmp_path_factory.mktemp("newer") / "dist", "The second edition of this sentence.")


@pytest.fixture(scope="session")
def newest(tmp_path_factory) -> Path:
    """A newer one still."""
    return another_edition(tmp_path_factory.mktemp("newest") / "dist", "The third edition of this sentence.")


def edition(folder: Path) -> str:
    """Return the name of a built edition."""
    return re.search(r'data-edition="([0-9a-f]+)"', (folder / "index.html").read_text("utf-8"))[1]


def saved_list(folder: Path) -> list[dict]:
    """Return the files that an edition's worker saves."""
    return json.loads(re.search(r"const FILES = (\[.*\]);", (folder / "sw.js").read_text("utf-8"))[1])


def pages_of(folder: Path) -> list[str]:
    """Return the address of every page that is saved, below the site's start."""
    return [file["path"] for file in saved_list(folder) if file["type"].startswith("text/html")]


def all_pages() -> list[str]:
    """Return the address of every page, saved or not, before anything is built."""
    return sorted(re.sub(r"index\.html$", "", path) for path in builder.pages() if path.endswith(".html"))


@pytest.fixture
def host(built) -> Iterator[Host]:
    """The site on a host of its own."""
    with Host(built) as host:
        yield host


# The browser


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = os.environ.get(VARIABLE) or find_browser(print)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-background-networking"]
        )
        yield browser
        browser.close()


@pytest.fixture
def new_context(browser) -> Iterator[Callable[..., BrowserContext]]:
    """Make a fresh phone: nothing saved, nothing visited."""
    made = []

    def make(**options) -> BrowserContext:
        made.append(phone(browser, **options))
        return made[-1]

    yield make
    for context in made:
        context.close()


def phone(browser: Browser, **options) -> BrowserContext:
    """Return a fresh phone."""
    context = browser.new_context(**{"viewport": PHONE, "device_scale_factor": 2, **options})
    context.set_default_timeout(PATIENCE)
    return context


expect.set_options(timeout=PATIENCE)


@pytest.fixture(scope="module")
def saved(browser, built) -> Iterator[tuple[BrowserContext, Host]]:
    """A phone on which the book is saved, and its host: shared by the tests of one file, which open fresh pages."""
    with Host(built) as host:
        context = phone(browser)
        visit(context.new_page(), host.url).close()
        yield context, host
        context.close()


@pytest.fixture
def page(saved) -> Iterator[Page]:
    """A fresh page of the phone on which the book is saved."""
    page = saved[0].new_page()
    yield page
    page.close()


@pytest.fixture
def url(saved) -> str:
    """Where the saved book stands."""
    return saved[1].url


# What a page says


def wait_for(page: Page, **state: str) -> None:
    """Wait until <html> has these data: `wait_for(page, offline="ready")`."""
    wanted = "".join(f'[data-{name}="{value}"]' for name, value in state.items())
    page.wait_for_selector(f"html{wanted}", state="attached")


def visit(page: Page, url: str) -> Page:
    """Open a page and wait until the book is saved."""
    page.goto(url)
    wait_for(page, offline="ready")
    return page


def on_show(page: Page) -> str:
    """Return the edition of the page that is open."""
    return page.get_attribute("html", "data-edition")


def fill(page: Page, check: str, inputs: Mapping[str, str]) -> None:
    """Fill a check's form as a reader would."""
    for name, text in inputs.items():
        if isinstance(calc.checks()[check].field(name), Choice):
            page.select_option(f"#{name}", text)
        else:
            page.fill(f"#{name}", text)


def values(page: Page) -> dict[str, str]:
    """Return every value of the answer on the page, as its number stands there."""
    shown = page.eval_on_selector_all("#answer data[data-key]", "all => all.map((d) => [d.dataset.key, d.value])")
    return dict(shown)


@cache
def told(check: str, inputs: tuple[tuple[str, str], ...]) -> dict:
    """Return what the command line answers."""
    pairs = [f"{name}={text}" for name, text in inputs]
    command = [sys.executable, "-m", "calc", check, *pairs, "--json"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    return json.loads(done.stdout)


def command_line(check: str, inputs: Mapping[str, str]) -> dict[str, float | str | None]:
    """Return every value that the command line answers."""
    return {key: value["value"] for key, value in told(check, tuple(inputs.items()))["values"].items()}


def same(shown: Mapping[str, str], expected: Mapping[str, float | None]) -> bool:
    """Whether the page shows the same values, to 1e-12."""
    if shown.keys() != expected.keys():
        return False
    return all(
        shown[key] == "" if value is None else float(shown[key] or "nan") == pytest.approx(value, rel=1e-12, abs=0)
        for key, value in expected.items()
    )


def expect_answer(page: Page, check: str, inputs: Mapping[str, str]) -> None:
    """Wait until the page shows what the command line answers, value for value."""
    expected = command_line(check, inputs)
    page.wait_for_selector("#heading-answer:not([hidden])")
    texts = {key: value["text"] for key, value in told(check, tuple(inputs.items()))["values"].items()}
    page.wait_for_function(
        "texts => { const all = [...document.querySelectorAll('#answer data[data-key]')];"
        " return all.length && all.every((d) => d.textContent === texts[d.dataset.key]); }",
        arg=texts,
    )
    shown = values(page)
    assert same(shown, expected), (shown, expected)


def answer_example(page: Page, url: str, check: str) -> None:
    """Open a check, fill in its example, and expect the command line's answer."""
    page.goto(f"{url}checks/{check}/")
    inputs = calc.checks()[check].example
    fill(page, check, inputs)
    expect_answer(page, check, inputs)


def link_of(check: str, inputs: Mapping[str, str]) -> str:
    """Return the address of a filled form, below the site's start."""
    from urllib.parse import urlencode

    return f"checks/{check}/#{urlencode(inputs)}"
