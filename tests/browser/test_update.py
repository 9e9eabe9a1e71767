"""A newer edition: saved whole beside the old one or not at all, and opened only when the reader says so."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import (
    CHECKS,
    answer_example,
    edition,
    expect_answer,
    fill,
    on_show,
    pieces_of,
    visit,
    wait_for,
)
from tests.browser.host import Fault

LOOK = """async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    await registration.update();
    const next = registration.installing;
    if (!next) return registration.waiting ? "waiting" : "nothing new";
    return new Promise((resolve) => {
        const tell = () => {
            if (next.state === "installed") resolve("waiting");
            if (next.state === "redundant") resolve("refused");
        };
        next.addEventListener("statechange", tell);
        tell();
    });
}"""
"""Looks for a newer edition now, and tells how its saving ended."""

FAULTS = {
    "a changed byte": lambda content: Fault(200, "application/octet-stream", content[:-1] + bytes([content[-1] ^ 1])),
    "a lost file": lambda content: Fault(404, "text/html", b"Not found"),
    "a failing host": lambda content: Fault(500, "text/html", b"Broken"),
    "a sign-in page": lambda content: Fault(200, "text/html", b"<title>Free Wi-Fi</title>"),
    "the way to a sign-in page": lambda content: Fault(302, "text/html", b"", to="/sign-in"),
    "half a file": lambda content: Fault(200, "application/octet-stream", content[: len(content) // 2]),
    "a line that breaks": lambda content: Fault(200, "application/octet-stream", content[:999], ends="cut"),
}
WHY = {
    "a changed byte": "changed",
    "a lost file": "download",
    "a failing host": "download",
    "a sign-in page": "changed",
    "the way to a sign-in page": "changed",
    "half a file": "changed",
    "a line that breaks": "download",
}
CHECK = "cable-drop"
TYPED = {"current": "31 A", "length": "7 m", "return_path": "body"}


def count_loads(page: Page) -> list[str]:
    """Return a list that grows by an address each time the page is opened anew."""
    loads = []
    page.on("domcontentloaded", lambda: loads.append(page.url))
    return loads


def break_piece(host, fault: str) -> str:
    """Let the last piece of the pages come wrong; return its path."""
    path = pieces_of(host.folder, "sources/")[-1]
    host.faults[path] = FAULTS[fault]((host.folder / path).read_bytes())
    return path


def offered(page: Page) -> bool:
    """Whether the page offers a newer edition."""
    return page.is_visible("#update")


@pytest.fixture
def reader(new_context, host):
    """A phone with the first edition saved and one page of it open, and the host."""
    page = visit(new_context().new_page(), host.url)
    return page, host


def test_a_newer_edition_waits_for_a_tap(reader, built, newer):
    page, host = reader
    page.goto(f"{host.url}checks/{CHECK}/")
    fill(page, CHECK, TYPED)
    expect_answer(page, CHECK, TYPED)
    host.folder = newer
    loads = count_loads(page)
    assert page.evaluate(LOOK) == "waiting"
    expect(page.locator("#update")).to_be_visible()
    other = page.context.new_page()
    other.goto(f"{host.url}about/")
    assert (on_show(page), on_show(other), loads) == (edition(built), edition(built), [])
    expect(other.locator("#update")).to_be_visible()

    page.click("#update-now")
    wait_for(page, edition=edition(newer), offline="ready")
    expect_answer(page, CHECK, TYPED)
    assert len(loads) == 1
    assert page.input_value("#current") == TYPED["current"]
    assert not offered(page)


def test_a_tab_that_did_not_agree_goes_on_with_its_own_edition(reader, built, newer, newest):
    """Also when a second newer edition has come: the files of what a tab shows stay, and go when it is left."""
    page, host = reader
    other = page.context.new_page()
    other.goto(f"{host.url}about/")
    wait_for(other, offline="ready")
    for folder in (newer, newest):
        host.folder = folder
        assert page.evaluate(LOOK) == "waiting"
        page.click("#update-now")
        wait_for(page, edition=edition(folder), offline="ready")
    host.stop()
    page.context.set_offline(True)
    assert on_show(other) == edition(built)
    for name in ("style.css", "engine/book.zip"):
        path = f"e/{edition(built)}/{name}"
        got = other.evaluate(
            "async (path) => [...new Uint8Array(await (await fetch(path)).arrayBuffer())]", host.url + path
        )
        assert bytes(got) == (built / path).read_bytes()
    expect(other.locator("#update")).to_be_visible()
    other.click("#update-now")
    wait_for(other, edition=edition(newest), offline="ready")
    assert not offered(other)


def test_the_host_may_go_back_to_an_older_edition(reader, built, newer):
    page, host = reader
    for folder in (newer, built, newer):
        host.folder = folder
        host.asked.clear()
        assert page.evaluate(LOOK) == "waiting"
        assert len([path for path in host.asked if path.startswith("pieces/")]) <= 2
        page.click("#update-now")
        wait_for(page, edition=edition(folder), offline="ready")


def test_an_edition_that_was_never_opened_does_not_push_out_the_one_before(reader, built, newer, newest):
    page, host = reader
    for folder in (newer, newest):
        host.folder = folder
        assert page.evaluate(LOOK) == "waiting"
    page.click("#update-now")
    wait_for(page, edition=edition(newest), offline="ready")
    assert saved_editions(page) == {edition(built), edition(newest)}


def saved_editions(page: Page) -> set[str]:
    """Return the editions of which anything is saved."""
    return {name.split()[-1] for name in page.evaluate("caches.keys()")}


def test_the_offer_comes_by_itself_when_the_book_is_opened_again(reader, newer):
    page, host = reader
    host.folder = newer
    page.reload()
    expect(page.locator("#update")).to_be_visible()


def test_a_page_that_was_opened_past_the_worker_takes_part_too(reader, newer):
    """A forced reload goes around the worker: such a page has none, and still has to follow."""
    page, host = reader
    page.context.new_cdp_session(page).send("Page.reload", {"ignoreCache": True})
    page.wait_for_function("!navigator.serviceWorker.controller")
    wait_for(page, offline="ready")
    host.folder = newer
    assert page.evaluate(LOOK) == "waiting"
    page.click("#update-now")
    wait_for(page, edition=edition(newer), offline="ready")


def test_a_tap_counts_also_while_the_engine_starts(reader, newer):
    """Chromium then never lets the new worker take over by itself."""
    page, host = reader
    host.folder = newer
    assert page.evaluate(LOOK) == "waiting"
    page.goto(f"{host.url}checks/{CHECK}/#current=20+A&length=5+m")
    page.click("#update-now")
    wait_for(page, edition=edition(newer), offline="ready")
    assert not offered(page)


AGREE = "history.replaceState({ leaves: document.documentElement.dataset.edition }, '')"
"""What the tap leaves beside the address, for the page that is opened anew."""

MISS = """
  const add = navigator.serviceWorker.addEventListener.bind(navigator.serviceWorker);
  navigator.serviceWorker.addEventListener = (kind, ...rest) => kind === "controllerchange" || add(kind, ...rest);
"""


def test_a_tap_counts_also_where_the_new_edition_takes_over_while_the_page_is_opened_anew(reader, built, newer):
    """Then the page that comes is of the old edition still, and was not there to be told (seen on a busy machine)."""
    page, host = reader
    page.reload()  # a page of the first visit forgets in Chromium what stands beside its address
    host.folder = newer
    assert page.evaluate(LOOK) == "waiting"
    page.add_init_script(MISS)
    page.evaluate(AGREE)
    page.reload()
    assert on_show(page) == edition(built)
    expect(page.locator("#update")).to_be_visible()
    take_over = "navigator.serviceWorker.getRegistration().then((r) => r.waiting.postMessage({ kind: 'take-over' }))"
    page.evaluate(take_over)
    wait_for(page, edition=edition(newer), offline="ready")
    assert not offered(page)
    assert not page.evaluate("history.state.leaves")


def test_what_was_agreed_to_does_not_count_for_another_edition(reader):
    """The host may go back to the edition that was left: that the reader left it once says nothing then."""
    page, _ = reader
    page.reload()
    page.evaluate("history.replaceState({ leaves: 'another' }, '')")
    page.reload()
    wait_for(page, offline="ready")
    assert not page.evaluate("history.state.leaves")


def test_what_is_typed_after_the_tap_does_not_take_it_back(reader, newer):
    """What is typed is written into the address, and beside the address stands that the reader agreed."""
    page, host = reader
    page.goto(f"{host.url}checks/{CHECK}/")
    host.folder = newer
    assert page.evaluate(LOOK) == "waiting"
    page.evaluate(AGREE)
    page.fill("#current", "31")
    page.wait_for_url("**/#*31*")
    assert page.evaluate("history.state.leaves") == on_show(page)


def test_a_page_of_the_old_edition_keeps_its_own_files(reader, built, newer):
    page, host = reader
    host.folder = newer
    assert page.evaluate(LOOK) == "waiting"
    page.click("#update-now")
    wait_for(page, edition=edition(newer), offline="ready")
    host.asked.clear()
    for name in ("style.css", "book.js", "worker.js", "engine/book.zip"):
        path = f"e/{edition(built)}/{name}"
        got = page.evaluate("async (path) => [...new Uint8Array(await (await fetch(path)).arrayBuffer())]", path)
        assert bytes(got) == (built / path).read_bytes()
    assert [path for path in host.asked if path != "sw.js"] == []


def test_only_what_changed_is_fetched(reader, built, newer):
    page, host = reader
    host.folder = newer
    host.asked.clear()
    assert page.evaluate(LOOK) == "waiting"
    assert sorted(path for path in host.asked if path != "sw.js") == sorted(pieces_of(newer, "sources/"))
    assert not set(pieces_of(newer, "sources/")) & set(pieces_of(built))


def test_older_editions_go_one_by_one(reader, built, newer, newest):
    page, host = reader
    for folder in (newer, newest):
        host.folder = folder
        assert page.evaluate(LOOK) == "waiting"
        page.click("#update-now")
        wait_for(page, edition=edition(folder), offline="ready")
    assert saved_editions(page) == {edition(newer), edition(newest)}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_broken_edition_never_replaces_a_whole_one(reader, built, newer, fault):
    page, host = reader
    host.folder = newer
    break_piece(host, fault)
    assert page.evaluate(LOOK) == "refused"
    assert not offered(page)
    wait_for(page, offline="ready", **{"not-updated": WHY[fault]})
    expect(page.locator("#not-updated")).to_be_visible()
    assert [w.get_attribute("data-why") for w in page.locator("#not-updated [data-why]:visible").all()] == [WHY[fault]]
    host.stop()
    page.context.set_offline(True)
    fresh = page.context.new_page()
    if fault == "a changed byte":
        answer_example(fresh, host.url, CHECK)
    fresh.goto(f"{host.url}sources/")
    assert on_show(fresh) == edition(built)
    assert not offered(fresh)


def test_after_a_broken_edition_a_mended_one_comes(reader, built, newer, newest):
    """What the broken edition left behind costs the old edition nothing, and is used again or goes."""
    page, host = reader
    host.folder = newer
    break_piece(host, "a lost file")
    assert page.evaluate(LOOK) == "refused"
    host.faults.clear()
    host.folder = newest
    assert page.evaluate(LOOK) == "waiting"
    page.click("#update-now")
    wait_for(page, edition=edition(newest), offline="ready")
    page.wait_for_function("async () => (await caches.keys()).length == 2")
    assert saved_editions(page) == {edition(built), edition(newest)}


# The first visit


@pytest.mark.parametrize("fault", FAULTS)
def test_a_first_visit_that_fails_says_why_and_goes_on_later(new_context, host, built, fault):
    page = new_context().new_page()
    broken = break_piece(host, fault)
    page.goto(host.url)
    wait_for(page, offline="unavailable", why=WHY[fault])
    expect(page.locator("#not-saved")).to_be_visible()
    assert [w.get_attribute("data-why") for w in page.locator("#not-saved [data-why]:visible").all()] == [WHY[fault]]
    assert page.locator(".kept").inner_text() == "Not saved"

    had = {path for path in host.asked if path.startswith("pieces/")} - {broken}
    assert had
    host.faults.clear()
    host.asked.clear()
    page.goto(f"{host.url}about/")
    wait_for(page, offline="ready")
    assert not page.is_visible("#not-saved")
    assert {path for path in host.asked if path.startswith("pieces/")} == set(pieces_of(built)) - had


def test_a_first_visit_with_no_room_says_so(new_context, host):
    page = new_context().new_page()
    page.goto(f"{host.url}reset.html")  # a page that saves nothing
    session = page.context.new_cdp_session(page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": host.origin, "quotaSize": 1_000_000})
    page.goto(host.url)
    wait_for(page, offline="unavailable", why="storage")
    expect(page.locator('#not-saved [data-why="storage"]')).to_be_visible()
    session.send("Storage.overrideQuotaForOrigin", {"origin": host.origin})
    visit(page, host.url)


@pytest.mark.parametrize("check", CHECKS[:1])
def test_a_book_that_could_not_be_saved_still_answers(new_context, host, check):
    page = new_context().new_page()
    break_piece(host, "a lost file")
    answer_example(page, host.url, check)
    wait_for(page, offline="unavailable", why="download", engine="ready")
