"""Saving that is cut off goes on where it stopped: no piece that has arrived is fetched again."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.browser.conftest import answer_example, pieces_of, visit, wait_for
from tests.browser.host import Fault

GONE = Fault(200, "application/octet-stream", b"half", ends="cut")
HELD = Fault(200, "application/octet-stream", b"half", ends="stalled")
AT_ONCE = 3  # as in sw.js: so many may be on their way when saving is cut off


def percent(page) -> int:
    """Return how far saving is, as the page says."""
    return int(page.inner_text("#saved-percent"))


def arrived(host) -> Counter:
    """Return how often each piece was sent whole."""
    return Counter(path for path in host.asked if path.startswith("pieces/") and path not in host.faults)


def test_a_signal_lost_after_every_piece_costs_no_piece_twice(request, new_context, host, built):
    """Without `--all` after every third."""
    page = new_context().new_page()
    pieces = pieces_of(built)
    whole = Counter()
    for count in range(0, len(pieces), 1 if request.config.getoption("--all") else 3):
        host.faults = dict.fromkeys(pieces[count:], GONE)
        host.asked.clear()
        page.goto(f"{host.url}about/")
        wait_for(page, offline="unavailable", why="download")
        whole += arrived(host)
        assert whole == dict.fromkeys(pieces[:count], 1)
    host.faults = {}
    host.asked.clear()
    visit(page, host.url)
    assert whole + arrived(host) == dict.fromkeys(pieces, 1)
    host.stop()
    answer_example(page, host.url, "cable-drop")


@pytest.mark.parametrize("share", [0.0, 0.4, 0.8, 1.0])
def test_a_worker_that_is_killed_goes_on_with_what_is_missing(new_context, host, built, share):
    page = new_context().new_page()
    pieces = pieces_of(built)
    at = round(share * (len(pieces) - 1))
    host.faults = dict.fromkeys(pieces[at:], HELD)
    page.goto(f"{host.url}about/")
    assert host.stalled.wait(30)
    page.wait_for_timeout(300)  # what is on its way arrives
    whole = arrived(host)
    assert whole == dict.fromkeys(pieces[:at], 1)
    devtools = page.context.new_cdp_session(page)
    devtools.send("ServiceWorker.enable")
    devtools.send("ServiceWorker.stopAllWorkers")
    wait_for(page, offline="unavailable", why="download")
    host.faults = {}
    host.let_go()
    host.asked.clear()
    page.goto(f"{host.url}reset.html")
    page.goto(f"{host.url}about/")
    page.wait_for_selector("#saved-share:not([hidden]), html[data-offline=ready]", state="attached")
    assert page.get_attribute("html", "data-offline") == "ready" or percent(page) >= 100 * (at - 1) / len(pieces) - 1
    wait_for(page, offline="ready")
    again = arrived(host)
    assert not set(again) & set(pieces[: max(0, at - AT_ONCE)])
    assert set(whole + again) == set(pieces)


def test_it_goes_on_by_itself_when_the_signal_is_back(new_context, host, built):
    page = new_context().new_page()
    host.faults = dict.fromkeys(pieces_of(built)[5:], GONE)
    page.goto(f"{host.url}about/")
    wait_for(page, offline="unavailable", why="download")
    host.faults = {}
    host.asked.clear()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_for(page, offline="ready")
    assert arrived(host) == dict.fromkeys(pieces_of(built)[5:], 1)


def test_what_came_to_harm_in_the_phone_is_fetched_again(new_context, host, built):
    """A kept piece whose bytes are no longer right is found when its pack is opened; the next attempt mends it."""
    page = new_context().new_page()
    pieces = pieces_of(built)
    host.faults = {pieces[-1]: GONE}
    page.goto(f"{host.url}about/")
    wait_for(page, offline="unavailable", why="download")
    page.evaluate(
        """async (place) => {
            const name = (await caches.keys()).find((each) => each.endsWith("pieces"));
            await (await caches.open(name)).put(new URL(place, location), new Response(new Uint8Array(9)));
            for (const other of await caches.keys()) if (other !== name) await caches.delete(other);
        }""",
        host.url + pieces[0],
    )
    page.reload()
    wait_for(page, offline="unavailable", why="changed")
    host.faults = {}
    visit(page, f"{host.url}about/")
