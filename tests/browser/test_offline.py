"""After one visit: no network, no server, and the whole book answers as the command line does."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

import calc
from tests.browser.conftest import (
    CHECKS,
    SUB_PATH,
    answer_example,
    edition,
    expect_answer,
    fill,
    on_show,
    pages_of,
    phone,
    pieces_of,
    visit,
    wait_for,
    wait_until,
)
from tests.browser.host import Host


@pytest.fixture(scope="module", params=["/", SUB_PATH], ids=["at the root", "below a path"])
def left(request, browser, built):
    """A phone that visited once and then drove off: the network is off and the host gone."""
    with Host(built, request.param) as host:
        context = phone(browser)
        visit(context.new_page(), host.url)
        host.stop()
        context.set_offline(True)
        yield context, host.url
        context.close()


@pytest.fixture
def fresh(left):
    """A fresh page on that phone, and where the book stands."""
    context, url = left
    page = context.new_page()
    yield page, url
    page.close()


@pytest.mark.parametrize(
    ("left", "check"),
    [(SUB_PATH, CHECKS[0]), (SUB_PATH, "trip"), (SUB_PATH, "fault-finder"), ("/", CHECKS[0])],
    indirect=["left"],
)
def test_a_check_of_each_kind_answers(fresh, check):
    """`test_journeys` asks them all."""
    answer_example(*fresh, check)
    wait_for(fresh[0], offline="ready", engine="ready")


@pytest.mark.parametrize("check", CHECKS[:1])
def test_it_answers_after_every_page_was_closed(left, check):
    context, url = left
    for page in context.pages:
        page.close()
    page = context.new_page()
    answer_example(page, url, check)
    page.close()


MOVE = """async ([from, to]) => {
    for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        const found = await cache.match(new URL(from, location));
        if (found) await cache.put(new URL(to, location), found);
        if (found) await cache.delete(new URL(from, location));
    }
}"""


def test_a_script_that_does_not_come_is_asked_for_once_more_and_no_oftener(fresh, built):
    page, url = fresh
    script, aside = f"{url}e/{edition(built)}/set-ups.js", f"{url}aside"
    page.goto(f"{url}missing/")
    page.evaluate(MOVE, [script, aside])
    loads = []
    page.on("request", lambda request: loads.append(request) if request.is_navigation_request() else None)
    page.goto(f"{url}set-ups/", wait_until="commit")
    page.wait_for_timeout(4000)
    assert page.inner_text("h1") == "Your set-ups"
    page.evaluate(MOVE, [aside, script])
    assert len(loads) == 2
    page.goto(f"{url}missing/")
    page.goto(f"{url}set-ups/")
    expect(page.locator("#all")).to_be_visible()
    page.wait_for_timeout(1000)
    assert len(loads) == 4


def test_every_page_opens(fresh, built):
    page, url = fresh
    for path in pages_of(built):
        response = page.goto(url + path)
        assert (response.status, response.from_service_worker, on_show(page)) == (200, True, edition(built)), path
        assert styled(page), path
        assert page.locator("h1").count() == 1, path


def styled(page) -> bool:
    """Whether the page's style sheet is in force."""
    return page.evaluate("getComputedStyle(document.body).maxWidth") != "none"


def test_a_page_opens_by_its_other_names(fresh):
    page, url = fresh
    for other in ("checks/cable-drop/index.html", "checks/cable-drop", "checks/cable-drop/?from=home", "index.html"):
        assert page.goto(url + other).status == 200, other
        assert page.url.startswith(url)


@pytest.mark.parametrize("path", ["nonsense", "nonsense/x", "checks/nothing/deep/down/"])
def test_an_unknown_address_shows_the_missing_page(fresh, path):
    page, url = fresh
    response = page.goto(url + path)
    assert response.status == 404
    assert page.inner_text("h1") == "There is no such page in the book"
    assert styled(page)
    page.click("main a")
    assert page.url == url
    assert page.inner_text("h1") == "What do you need to know?"


@pytest.mark.parametrize("prefix", ["/", SUB_PATH], ids=["at the root", "below a path"])
@pytest.mark.parametrize("path", ["nonsense", "nonsense/deep/down", "checks/nothing/"])
@pytest.mark.parametrize("headers", [True, False], ids=["with headers", "with the page's own policy alone"])
def test_on_a_first_visit_an_unknown_address_leads_to_the_start(new_context, built, prefix, path, headers):
    """The host shows its page for what is not there, at any depth: in its own style, with a link that leads home."""
    with Host(built, prefix, headers=headers) as host:
        page = new_context().new_page()
        assert page.goto(host.url + path).status == 404
        assert page.inner_text("h1") == "There is no such page in the book"
        assert page.evaluate("getComputedStyle(document.body).maxWidth") != "none"
        page.click("#start")
        page.wait_for_url(host.url)
        assert on_show(page) == edition(built)


LOOK_AGAIN = "document.dispatchEvent(new Event('visibilitychange'))"


def test_a_book_that_the_phone_threw_away_is_fetched_again(new_context, built):
    """The page on show goes on, says what happened, and has the book again as soon as there is a signal."""
    with Host(built) as host:
        context = new_context()
        page = visit(context.new_page(), host.url)
        answer_example(page, host.url, CHECKS[0])
        host.stop()
        page.evaluate("async () => { for (const name of await caches.keys()) await caches.delete(name); }")
        page.evaluate(LOOK_AGAIN)
        wait_for(page, offline="unavailable", why="lost")
        assert page.locator('#not-saved [data-why="lost"]').is_visible()
        fill(page, CHECKS[0], calc.checks()[CHECKS[0]].example)
        expect_answer(page, CHECKS[0], calc.checks()[CHECKS[0]].example)
        host.start()
        page.evaluate("dispatchEvent(new Event('online'))")
        wait_for(page, offline="ready")
        host.stop()
        page.goto(f"{host.url}about/")
        wait_for(page, offline="ready")


def test_one_lost_file_is_noticed(new_context, built):
    with Host(built) as host:
        page = visit(new_context().new_page(), host.url)
        page.evaluate("""async () => {
            for (const name of await caches.keys()) await (await caches.open(name)).delete(new URL("about/", location));
        }""")
        host.asked.clear()
        page.evaluate(LOOK_AGAIN)
        there = "async () => Boolean(await caches.match(new URL('about/', location)))"
        wait_until(lambda: page.evaluate(there), "the lost page is there again", page)
        assert {path for path in host.asked if path != "sw.js"} == set(pieces_of(built, "sources/"))
