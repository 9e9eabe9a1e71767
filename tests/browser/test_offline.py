"""After one visit: no network, no server, and the whole book answers as the command line does."""

from __future__ import annotations

import pytest

from tests.browser.conftest import CHECKS, SUB_PATH, answer_example, edition, on_show, pages_of, phone, visit, wait_for
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


@pytest.mark.parametrize("check", CHECKS)
def test_every_check_answers(fresh, check):
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
