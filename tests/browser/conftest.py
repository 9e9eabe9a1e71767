"""A built site, a browser, and the words in which the tests speak of them."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest
from filelock import FileLock
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from playwright.sync_api import Error as PlaywrightError

import calc
from calc.fields import Choice
from site_src import builder, packing, settings
from tests.browser.find_browser import VARIABLE, find_browser
from tests.browser.host import Host

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
PHONE = {"width": 360, "height": 740}
PATIENCE = 60_000
"""How long a state is waited for: machines are shared, and no test is about speed [ms]."""

SUB_PATH = "/some/sub/path/"
CHECKS = tuple(calc.checks())

EACH_KIND = ("cable-drop", "trip", "fault-finder", "commissioning-sheet")
"""A check of each kind: quick, simulated, led by questions, on paper."""

IN_EVERY_ENGINE = (
    "test_a_traveller_with_a_flat_battery_finds_the_fuse",
    "test_a_fitter_goes_from_a_described_van_to_sheets_to_sign",
    "test_a_member_of_a_club_keeps_the_link_and_plans_a_trip",
    "test_a_first_visit_answers_and_is_saved",
    "test_with_no_signal_every_check_answers",
    "test_a_newer_edition_is_offered_and_taken",
    "test_a_check_answers_what_the_command_line_answers",
)
"""What of the tests of three engines runs in all of them without `--all`; the rest then runs in Chromium only."""

ALWAYS = {
    # One case of many alike, or a few that differ most
    "test_a_check_answers_from_the_set_up_as_the_command_line_does_and_can_be_read": EACH_KIND,
    "test_a_check_of_each_kind_answers": ("/some/sub/path/-resting-voltage", "/some/sub/path/-trip"),
    "test_a_first_visit_that_fails_says_why_and_goes_on_later": ("a line that breaks",),
    "test_a_garbled_link_is_read_as_far_as_it_goes": ("current=%zz", "&&==&=x"),
    "test_a_host_that_knows_no_webassembly_serves_it_all_the_same": ("allow-text/plain",),
    "test_a_hostile_link_shows_sentences_and_runs_nothing": ("markup]", "ten thousand letters"),
    "test_a_kept_set_up_that_cannot_be_used_is_said_and_the_check_answers_without_it": ("damaged",),
    "test_a_link_reproduces_its_answer_on_another_phone": ("trip",),
    "test_a_page_can_be_read_and_tapped": ("]", "404", "checks/trip", "guides/fuses", "reset", "set-ups/]"),
    "test_a_script_that_does_not_come_is_asked_for_once_more_and_no_oftener": ("below a path",),
    "test_a_sheet_prints_whole_on_both_papers_without_its_form_and_folded": ("camp-card", "commissioning-sheet"),
    "test_a_step_fits_with_text_twice_as_large": ("320",),
    "test_a_worker_that_is_killed_goes_on_with_what_is_missing": ("0.4",),
    "test_a_broken_edition_never_replaces_a_whole_one": ("a changed byte", "a sign-in page"),
    "test_an_answer_can_be_read_and_tapped": ("trip", "charge-path"),
    "test_an_engine_that_cannot_be_fetched_is_said_to_be_unavailable": ("a sign-in page-book.zip",),
    "test_an_unknown_address_shows_the_missing_page": ("below a path-nonsense/x",),
    "test_every_page_opens": ("below a path",),
    "test_every_step_can_be_read_and_tapped": ("second",),
    "test_it_works_where_no_header_can_be_set": ("resting-voltage",),
    "test_it_answers_after_every_page_was_closed": ("below a path",),
    "test_it_can_be_read_and_tapped": ("first", "sure"),
    "test_leaving_at_any_time_keeps_what_was_typed": ("close",),
    "test_list_and_look_can_be_read_and_tapped": ("the list", "a look with notes"),
    "test_much_that_is_typed_in_a_short_while_is_answered_and_comes_into_the_address": ("WebKit",),
    "test_no_more_are_added_than_a_set_up_holds": ("load",),
    "test_nothing_jumps_from_first_sight_to_answer_to_error_and_back": ("cable-drop", "trip"),
    "test_nothing_jumps_on_a_first_visit": ("checks/",),
    "test_nothing_jumps_when_the_set_up_arrives": ("checks/", "set-ups/edit/#id"),
    "test_on_a_first_visit_an_unknown_address_leads_to_the_start": ("with headers-nonsense/deep/down-below",),
    "test_opening_and_changing_a_set_up_changes_nothing_else": ("All there is",),
    "test_the_address_reproduces_it_where_the_set_up_is_not": ("trip",),
    "test_the_answer_holds_phrasing_only": ("fault-finder", "commissioning-sheet"),
    "test_the_browser_finds_nothing_in_the_way_of_installing": ("/some/sub/path/",),
    "test_the_form_asks_for_every_field_by_its_name": EACH_KIND,
    "test_the_policy_is_in_force": ("saved-with headers", "from the host-with the page's own"),
    "test_the_square_code_is_the_link": ("light",),
    "test_what_cannot_be_written_back_is_never_written_over": ("of a newer edition", "nothing]"),
    "test_what_is_strange_harms_neither_list_nor_check": ("of a newer edition",),
    "test_what_is_wrong_with_it_costs_only_time": ("memory-changed",),
    "test_where_storage_is_refused_all_else_works_and_the_page_says_so": ("no storage",),
    "test_where_the_store_throws_checks_answer_and_set_ups_say_so": ("at every call",),
    "test_without_javascript_words_tables_and_example_are_there": EACH_KIND,
    # Told by another test too, in part or on a small edition
    "test_a_link_gives_the_same_form_and_answer_on_another_phone": (),
    "test_a_set_up_outlives_an_update": (),
    "test_a_tab_that_did_not_agree_goes_on_with_its_own_edition": (),
    "test_after_a_broken_edition_a_mended_one_comes": (),
    "test_an_edition_that_was_never_opened_does_not_push_out_the_one_before": (),
    "test_another_edition_does_not_take_it_up": (),
    "test_in_a_private_window_of_firefox_checks_answer_and_the_page_says_how_it_stands": (),
    "test_it_is_there_with_no_network_and_no_server_and_goes_on_working": (),
    "test_older_editions_go_one_by_one": (),
    "test_the_same_set_up_in_two_tabs_loses_nothing": (),
    "test_the_way_out_removes_it": (),
    "test_with_no_signal_every_page_opens": (),
}
"""How the names of those cases begin that run without `--all`; of some tests none does. A test of
the same name that has no cases runs always."""

LAST = ("test_degrade.py", "test_markup.py", "test_sheets.py", "test_trip.py")
"""Short files: begun last, so that neither of two processes waits long for the other."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: item.path.parent == HERE and item.path.name in LAST)
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if is_long(item):
                item.add_marker(pytest.mark.long)


def is_long(item: pytest.Item) -> bool:
    """Whether a test is one of several alike, of which some run always."""
    kept = ALWAYS.get(item.originalname)
    if kept == ():
        return True
    if not hasattr(item, "callspec"):
        return False
    if kept:
        return not any(f"[{part}" in item.name or f"-{part}" in item.name for part in kept)
    engine = item.callspec.params.get("engine", "Chromium")
    return engine != "Chromium" and item.originalname not in IN_EVERY_ENGINE


# The site


MORE = """

def count(asked: dict) -> dict:
    import time
    from calc import progress

    for n in range(asked["steps"]):
        time.sleep(asked["pause"])
        progress.tell((n + 1) / asked["steps"], f"Step {n + 1}")
    return {"counted": asked["steps"]}


def memory(asked: dict) -> dict:
    import gc
    import sys

    import pyodide_js

    gc.collect()
    return {"heap": pyodide_js._module.HEAP8.length, "blocks": sys.getallocatedblocks()}


def chance(asked: dict) -> dict:
    import random

    return {"drawn": random.random()}


DOERS |= {"count": count, "memory": memory, "chance": chance}
"""
"""What tests ask of an engine beside the book's own: something that takes as long as it is told to and tells how far
it is; what memory the engine takes; and what comes by chance."""


def once(make_temporary: pytest.TempPathFactory, name: str, build: Callable[[Path], object]) -> Path:
    """Return a folder that is built once, however many processes test: no test changes what lies in it."""
    base = make_temporary.getbasetemp()
    place = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / name
    with FileLock(place.with_suffix(".lock")):
        if not place.exists():
            build(place.with_suffix(".unfinished"))
            place.with_suffix(".unfinished").rename(place)
    return place


def build(folder: Path) -> None:
    """Build the site as it is."""
    builder.build(folder, lambda _: None)


def another_edition(folder: Path, sentence: str) -> Path:
    """Build an edition in which a sentence differs: every page is new, the engine is as it was."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "PROMISE", sentence)
        build(folder)
    return folder


def build_patient(folder: Path, scripts: Mapping[str, str] | None = None) -> None:
    """Build a site whose engine can be asked `MORE`, or in whose scripts something stands otherwise too."""
    sources, static = builder.book_sources(), builder.static()
    sources["site_src/render.py"] += MORE.encode()
    for old, new in (scripts or {}).items():
        assert sum(old.encode() in data for data in static.values()) == 1, old
        static = {path: data.replace(old.encode(), new.encode()) for path, data in static.items()}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(builder, "book_sources", lambda: sources)
        patch.setattr(builder, "static", lambda: static)
        build(folder)


@pytest.fixture(scope="session")
def built(tmp_path_factory) -> Path:
    """The site as it is."""
    return once(tmp_path_factory, "built", build)


@pytest.fixture(scope="session")
def newer(tmp_path_factory) -> Path:
    """A newer edition."""
    return once(tmp_path_factory, "newer", lambda to: another_edition(to, "The second edition of this sentence."))


@pytest.fixture(scope="session")
def newest(tmp_path_factory) -> Path:
    """A newer one still."""
    return once(tmp_path_factory, "newest", lambda to: another_edition(to, "The third edition of this sentence."))


def edition(folder: Path) -> str:
    """Return the name of a built edition."""
    return re.search(r'data-edition="([0-9a-f]+)"', (folder / "index.html").read_text("utf-8"))[1]


def packs(folder: Path) -> list[dict]:
    """Return what an edition's worker fetches."""
    return json.loads(re.search(r"const PACKS = (\[.*\]);", (folder / "sw.js").read_text("utf-8"))[1])


def saved_list(folder: Path) -> list[dict]:
    """Return the files that an edition's worker saves."""
    return [file for pack in packs(folder) for file in pack["files"]]


def pieces_of(folder: Path, kind: str = "") -> list[str]:
    """Return the path of every piece of an edition, or of the pack that holds a file of this name."""
    wanted = [pack for pack in packs(folder) if any(kind in file["path"] for file in pack["files"])]
    return [packing.place(piece["hash"]) for pack in wanted for piece in pack["pieces"]]


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


@pytest.fixture(scope="session")
def at_home(browser, built) -> Iterator[tuple[BrowserContext, Host]]:
    """A phone that has had the book for a while, and its host: both the book and its engine's memory are kept."""
    with Host(built) as host:
        context = phone(browser)
        keep_memory(visit(context.new_page(), f"{host.url}checks/{CHECKS[0]}/")).close()
        yield context, host
        context.close()


@pytest.fixture(scope="module")
def saved(at_home) -> Iterator[tuple[BrowserContext, Host]]:
    """The same, with nothing written: shared by the tests of one file, which open fresh pages."""
    context, host = at_home
    page = context.new_page()
    page.goto(f"{host.url}about/")
    page.evaluate("localStorage.clear()")
    page.close()
    yield context, host
    context.clear_permissions()


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
    """Wait until <html> has these data: `wait_for(page, offline="ready", engine_from="plain")`."""
    wanted = "".join(f'[data-{name.replace("_", "-")}="{value}"]' for name, value in state.items())
    try:
        page.wait_for_selector(f"html{wanted}", state="attached")
    except PlaywrightError as problem:
        problem.add_note(f"The page stands so: {page.evaluate(STANDS)}")
        raise


def wait_until(holds: Callable[[], object], what: str, page: Page | None = None, *, patience: float = PATIENCE) -> None:
    """Wait until something holds. What happens to a page is heard only while that page is waited for."""
    begun = time.monotonic()
    while not holds():
        assert time.monotonic() - begun < patience / 1000, f"Waited in vain until {what}."
        page.wait_for_timeout(50) if page else time.sleep(0.05)


STANDS = """async () => {
  const saved = await navigator.serviceWorker?.getRegistration();
  const workers = ["active", "waiting", "installing"].map((name) => [name, saved?.[name]?.state]);
  const { dataset } = document.documentElement;
  return JSON.stringify([location.href, { ...dataset }, history.state, Object.fromEntries(workers)]);
}"""
"""What a page says of itself, for a test that waited in vain."""


def visit(page: Page, url: str) -> Page:
    """Open a page and wait until the book is saved."""
    page.goto(url)
    wait_for(page, offline="ready")
    return page


PARTS_OF_MEMORY = """async () => {
  const found = {};
  for (const name of (await caches.keys()).filter((each) => each.startsWith("field-book-memory "))) {
    const cache = await caches.open(name);
    for (const { url } of await cache.keys()) {
      found[url.split("/").pop()] = (await (await cache.match(url)).blob()).size;
    }
  }
  return found;
}"""


def parts_of_memory(page: Page) -> dict[str, int]:
    """Return what is kept of an engine's memory: names and bytes."""
    return page.evaluate(PARTS_OF_MEMORY)


def keep_memory(page: Page) -> Page:
    """Wait until the engine's memory is kept whole."""
    wait_for(page, engine="ready", engine_from="plain")
    wait_until(lambda: "start" in parts_of_memory(page), "the engine's memory is kept", page, patience=2 * PATIENCE)
    return page


def on_show(page: Page) -> str:
    """Return the edition of the page that is open."""
    return page.get_attribute("html", "data-edition")


def fill(page: Page, check: str, inputs: Mapping[str, str]) -> None:
    """Fill a check's form as a reader would."""
    for name, text in inputs.items():
        folded = page.locator(f"details:not([open]):has(#{name}) > summary")
        if folded.count():
            folded.click()
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


SIMULATED = {"trip": 1e-8, "charge-path": 1e-8, "energy-budget": 1e-8, "camp-card": 1e-8}
"""How far these may differ between two machines: each step's length hangs on the last digits that the machine's own
functions give, and all that comes after on where the step ended. A run is followed to 1e-6."""


def same(shown: Mapping[str, str], expected: Mapping[str, float | None], check: str = "") -> bool:
    """Whether the page shows the same values, to 1e-12; what is simulated, to the last digits of a simulation."""
    within = SIMULATED.get(check, 1e-12)
    if shown.keys() != expected.keys():
        return False
    return all(
        shown[key] == "" if value is None else float(shown[key] or "nan") == pytest.approx(value, rel=within, abs=0)
        for key, value in expected.items()
    )


def expect_answer(page: Page, check: str, inputs: Mapping[str, str]) -> None:
    """Wait until the page shows what the command line answers, value for value."""
    expect_values(page, told(check, tuple(inputs.items()))["values"], check)


def expect_values(page: Page, answered: Mapping[str, dict], check: str) -> None:
    """Wait until the page shows these values of an answer, as JSON has them."""
    page.wait_for_selector("#heading-answer:not([hidden])")
    wait_for_texts(page, {key: value["text"] for key, value in answered.items()})
    expected = {key: value["value"] for key, value in answered.items()}
    shown = settled(lambda: values(page), expected, check)
    assert same(shown, expected, check), (shown, expected)


def settled(read: Callable[[], dict[str, str]], expected: Mapping[str, float | None], check: str) -> dict[str, str]:
    """Return the values on the page once they are those expected, or as they stand after long enough.

    While something is typed, the answer to half of it may round to the same texts.
    """
    deadline = time.monotonic() + PATIENCE / 1000
    while not same(shown := read(), expected, check) and time.monotonic() < deadline:
        time.sleep(0.05)
    return shown


def wait_for_texts(page: Page, texts: Mapping[str, str]) -> None:
    """Wait until the answer shows these texts by key, or long enough."""
    all_there = (
        "texts => { const all = [...document.querySelectorAll('#answer data[data-key]')];"
        " return all.length > 0 && all.every((d) => d.textContent === texts[d.dataset.key]); }"
    )
    deadline = time.monotonic() + PATIENCE / 1000
    while not page.evaluate(all_there, texts) and time.monotonic() < deadline:
        page.wait_for_timeout(50)  # the page's policy bars what a browser would poll by itself


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
