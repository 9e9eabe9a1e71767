"""The book in one file, opened from where it lies with no server, in three engines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Page

import calc
from site_src import settings
from tests.browser import test_journeys as reader
from tests.browser import test_look as looks
from tests.browser.conftest import CHECKS, EACH_KIND, SIMULATED, expect_answer, phone, wait_until
from tests.browser.engines import Phone
from tests.browser.test_trip import LONG

CHECK, TYPED = reader.CHECK, reader.TYPED
engine = reader.engine


@pytest.fixture(scope="module")
def file(tmp_path_factory, built) -> Path:
    """The file, alone in a folder, as it is on the phone that it was sent to."""
    alone = tmp_path_factory.mktemp("sent") / settings.ONE_FILE
    alone.write_bytes((built / settings.ONE_FILE).read_bytes())
    return alone


@pytest.fixture(scope="module")
def book(engine, file) -> Iterator[Phone]:
    """A phone on which the file is open; tests go on from where the one before went."""
    engine.start_anew()
    engine.open(file.as_uri())
    engine.run("localStorage.clear();")
    yield engine
    engine.start_anew()


def address(path: str = "", inputs: dict[str, str] | None = None) -> str:
    """Return what follows the name of the file, for a page and what it carries."""
    return f"#/{path}" + (f"?{urlencode(inputs)}" if inputs else "")


def go(book: Phone, path: str = "", inputs: dict[str, str] | None = None) -> None:
    """Go to a page, as a link within the file does."""
    book.run("location.hash = given;", address(path, inputs))


def titles(built: Path) -> dict[str, tuple[str, str]]:
    """Return the title and the heading of every page that phones save."""
    found = {}
    for place in sorted(built.rglob("index.html")):
        text = place.read_text("utf-8")
        heading = re.sub(r"<.*?>", "", re.search(r"<h1.*?>(.*?)</h1>", text)[1])
        path = place.relative_to(built).as_posix().removesuffix("index.html")
        found[path] = (unescape(re.search(r"<title>(.*?)</title>", text)[1]), unescape(heading))
    return found


def expect_page(book: Phone, title: str) -> None:
    """Wait until a page is on show."""
    book.wait_until("document.title === given", title)


# In three engines


def test_every_page_is_in_it(book, built):
    assert book.text("h1") == titles(built)[""][1]
    assert book.sees('[data-offline-is="ready"]')
    assert not book.sees("#only-this") and not book.sees("#not-whole")
    for path, (title, heading) in titles(built).items():
        go(book, path)
        expect_page(book, title)
        assert book.text("h1").split() == heading.split()
        assert book.run(
            "return [...document.querySelectorAll('main [data-held-in]')].map((e) => e.dataset.heldIn)"
        ) in (
            [],
            ["file"],
        )


def test_a_check_answers_what_the_command_line_answers(book):
    go(book, f"checks/{CHECK}/")
    book.wait_to_see("#current")
    reader.fill(book, TYPED)
    reader.expect_answer(book, CHECK, TYPED)


def test_back_brings_the_form_back_and_a_guide_opens_by_its_link(book, built):
    book.click('main a[href="#/guides/cable-and-fuse/"]')
    expect_page(book, titles(built)["guides/cable-and-fuse/"][0])
    assert book.is_so("document.activeElement.localName === 'h1'")
    book.run("history.back();")
    reader.expect_answer(book, CHECK, TYPED)
    assert book.value("#length") == "7"


def test_a_set_up_is_kept_and_opened_again(book, file):
    go(book, "set-ups/edit/")
    book.wait_to_see("#set-up")
    reader.turn_to_step(book, "second")
    book.fill('[name="second.0.capacity"]', "95 Ah")
    reader.turn_to_step(book, "name")
    book.fill("#set-up-name", "Van")
    book.click("#done")
    book.wait_to_see("#opened")
    assert book.text("#opened-name") == "Van"
    assert [one["second"] for one in reader.kept(book)] == [[{"capacity": "95 Ah"}]]
    go(book, "set-ups/edit/")
    book.wait_to_see("#set-up")
    go(book, "set-ups/")
    book.wait_to_see('[data-do="edit"]')
    book.click('[data-do="edit"]')
    book.wait_to_see("#set-up")
    assert book.value('[name="second.0.capacity"]') == "95 Ah"


def test_a_link_opens_its_form_in_the_file_of_another(book, file):
    book.open(file.as_uri() + address(f"checks/{CHECK}/", TYPED))
    reader.expect_answer(book, CHECK, TYPED)
    assert [one["name"] for one in reader.kept(book)] == ["Van"]


# In Chromium alone


@pytest.fixture(scope="module")
def opened(browser, file) -> Iterator[Page]:
    """The file open in a phone of its own, with all that it fetched and all that went wrong."""
    context = phone(browser)
    page = context.new_page()
    page.fetched, page.wrong = [], []
    page.on("request", lambda request: page.fetched.append(request.url))
    page.on("pageerror", lambda problem: page.wrong.append(str(problem)))
    page.on("console", lambda said: page.wrong.append(said.text) if said.type in ("error", "warning") else None)
    page.goto(file.as_uri())
    yield page
    context.close()


def turn(page: Page, path: str, inputs: dict[str, str] | None = None) -> None:
    """Go to a page within the file, and wait until it is on show."""
    before = page.query_selector("main")
    page.evaluate("(text) => { location.hash = text; }", address(path, inputs))
    wait_until(lambda: not before.evaluate("(e) => e.isConnected"), f"{path} is on show", page)


def test_every_check_answers_and_nothing_is_fetched(request, opened, file):
    """What is simulated takes long: a trip stands for what is made of trips."""
    for check in CHECKS if request.config.getoption("--all") else EACH_KIND:
        if check in SIMULATED and check != "trip":
            continue
        inputs = dict(calc.checks()[check].example)
        turn(opened, f"checks/{check}/", inputs)
        expect_answer(opened, check, inputs)
    assert opened.fetched[0] == file.as_uri()
    assert {url.partition(":")[0] for url in opened.fetched[1:]} <= {"blob", "data"}
    assert opened.wrong == []


def test_what_is_left_behind_never_reaches_the_page_that_came(opened):
    """An answer that comes late belongs to the page that asked."""
    turn(opened, "checks/trip/", dict(calc.checks()["trip"].example))
    turn(opened, "checks/resting-voltage/", {"voltage": "12.5"})
    expect_answer(opened, "resting-voltage", {"voltage": "12.5"})
    opened.wait_for_timeout(500)
    expect_answer(opened, "resting-voltage", {"voltage": "12.5"})
    assert opened.evaluate("location.hash").startswith("#/checks/resting-voltage/?")
    assert opened.wrong == []


def test_stopping_starts_a_fresh_engine(opened):
    turn(opened, "checks/trip/", {"legs": LONG})
    opened.wait_for_selector("#at-work:not([data-idle])")
    opened.evaluate("document.getElementById('stop').click()")
    opened.wait_for_selector("#stopped span:not([hidden])")
    turn(opened, "checks/resting-voltage/", {"voltage": "12.6"})
    expect_answer(opened, "resting-voltage", {"voltage": "12.6"})


@pytest.mark.parametrize(
    "link",
    [
        "https://club.example/book/checks/resting-voltage/#voltage=12.4",
        "field-book.html#/checks/resting-voltage/?voltage=12.4",
        "#/checks/resting-voltage/#voltage=12.4",
    ],
)
def test_a_link_that_somebody_sent_can_be_put_in(opened, link):
    turn(opened, "")
    opened.fill("#link-in", "a line of words")
    opened.press("#link-in", "Enter")
    opened.wait_for_selector("#link-in-error:not([hidden])")
    opened.fill("#link-in", link)
    opened.press("#link-in", "Enter")
    expect_answer(opened, "resting-voltage", {"voltage": "12.4"})


def test_what_is_shared_does_not_say_where_the_file_lies(opened):
    opened.evaluate("navigator.share = async (sent) => { window.sent = sent; }")
    turn(opened, "set-ups/", {"demo": "island_van"})
    opened.wait_for_selector("#opened:not([hidden])")
    opened.click("#copy")
    link = opened.input_value("#link")
    assert link.startswith(f"{settings.ONE_FILE}#/set-ups/?set-up=")
    opened.click("#share")
    assert opened.evaluate("window.sent") == {"title": opened.inner_text("#opened-name"), "text": link}


def test_a_set_up_goes_out_and_in_as_a_file(opened, tmp_path):
    turn(opened, "")
    turn(opened, "set-ups/", {"demo": "island_van"})
    opened.wait_for_selector("#opened:not([hidden])")
    name = opened.inner_text("#opened-name")
    with opened.expect_download() as coming:
        opened.click("#save-file")
    coming.value.save_as(tmp_path / "van.json")
    opened.click("#close")
    opened.set_input_files("#import", tmp_path / "van.json")
    opened.wait_for_selector("#opened:not([hidden])")
    assert opened.inner_text("#opened-name") == name
    opened.click("#keep")
    opened.wait_for_selector("#is-kept:not([hidden])")
    assert opened.locator("#kept li h3").all_inner_texts() == [name]


def test_places_within_pages_and_files_that_are_no_pages_can_be_reached(opened, built):
    turn(opened, "guides/words/")
    place = opened.evaluate("[...document.querySelectorAll('dt[id]')].at(-1).id")
    opened.evaluate("(text) => { location.hash = text; }", address(f"guides/words/?{place}"))
    opened.wait_for_timeout(100)
    assert opened.evaluate("document.activeElement.id") == place
    assert opened.evaluate("scrollY") > 1000
    turn(opened, "set-ups/schema.json")
    assert opened.inner_text("pre").strip() == (built / "set-ups/schema.json").read_text("utf-8").strip()
    turn(opened, "no/such/page/")
    assert opened.inner_text("h1") == "There is no such page in the book"


def test_pages_can_be_read_and_tapped(opened):
    for path in ("", "about/", f"checks/{looks.CHECK}/"):
        turn(opened, "sources/")
        turn(opened, path)
        assert looks.look(opened) == {}, path


def test_without_javascript_the_first_page_can_be_read(new_context, file, built):
    page = new_context(java_script_enabled=False).new_page()
    page.goto(file.as_uri())
    assert page.inner_text("h1") == titles(built)[""][1]
    assert page.is_visible("#only-this")
    assert page.locator(".questions a").count() == len(CHECKS)


def test_where_no_worker_runs_the_first_page_says_that_only_it_can_be_read(new_context, file):
    page = new_context().new_page()
    page.add_init_script("Worker = class { constructor() { throw new Error('none'); } };")
    page.goto(file.as_uri() + address("about/"))
    page.wait_for_selector("#only-this")
    assert page.is_visible("main")


def test_a_file_that_broke_off_says_so(new_context, file):
    content = file.read_bytes()
    broken = file.with_name("broken.html")
    broken.write_bytes(content[: len(content) * 2 // 3])
    page = new_context().new_page()
    page.goto(broken.as_uri())
    page.wait_for_selector("#not-whole:not([hidden])")


@pytest.mark.parametrize(("pack", "path"), [(0, ""), (1, f"checks/{CHECK}/")], ids=["pages", "engine"])
def test_a_file_that_was_changed_says_so(new_context, file, pack, path):
    text = file.read_text("utf-8")
    at = text.index(f'id="pack-{pack}">') + 100_000
    changed = file.with_name("changed.html")
    changed.write_text(text[:at] + ("A" if text[at] != "A" else "B") + text[at + 1 :], "utf-8")
    page = new_context().new_page()
    page.goto(changed.as_uri() + address(path))
    page.wait_for_selector("#not-whole:not([hidden])")
