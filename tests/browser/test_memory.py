"""The memory of a started engine is kept and taken up again: quickly where it serves, harmlessly where it does not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

import calc
from tests.browser.conftest import (
    CHECKS,
    EACH_KIND,
    answer_example,
    build_patient,
    expect_answer,
    keep_memory,
    link_of,
    parts_of_memory,
    phone,
    visit,
    wait_for,
    wait_until,
)
from tests.browser.host import Host

PAGE = 16_384
"""The unit of what is kept [bytes]."""

CALM = "const CALM = 10_000;"
SOON = {CALM: "const CALM = 50;"}
"""The memory is kept as soon as the engine runs, so that no test waits for calm."""

HARM = """async ([part, how]) => {
  const [name] = (await caches.keys()).filter((each) => each.startsWith("field-book-memory "));
  const cache = await caches.open(name);
  const { url } = (await cache.keys()).find((each) => each.url.endsWith(`/${part}`));
  const whole = await cache.match(url);
  const headers = new Headers(whole.headers);
  let bytes = new Uint8Array(await whole.arrayBuffer());
  if (how === "truncated") bytes = bytes.slice(0, bytes.length / 2);
  if (how === "changed") bytes[bytes.length - 100] += 1;
  if (how === "of another browser") headers.set("X-Browser", "Another browser");
  if (how === "of another runtime") {
    bytes[20] += 1;
    const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)).join(" ");
    headers.set("X-Hash", hash);
  }
  await cache.put(url, new Response(bytes, { headers }));
}"""


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    """A site that keeps its engine's memory at once."""
    folder = tmp_path_factory.mktemp("memory") / "dist"
    build_patient(folder, SOON)
    return folder


@pytest.fixture(scope="module")
def kept(browser, site) -> Iterator[tuple[BrowserContext, Host]]:
    """A phone on which the engine's memory is kept, and its host, which is gone."""
    with Host(site) as host:
        context = phone(browser)
        keep_memory(visit(context.new_page(), f"{host.url}checks/{CHECKS[0]}/")).close()
        host.stop()
        yield context, host
        context.close()


@pytest.fixture
def page(kept) -> Iterator[Page]:
    """A fresh page of that phone."""
    page = kept[0].new_page()
    yield page
    page.close()


@pytest.fixture
def url(kept) -> str:
    """Where the book stood."""
    return kept[1].url


def ask(page: Page, request: dict) -> dict:
    """Ask the engine of a page of its own."""
    return page.evaluate(
        "async (request) => { const script = document.querySelector('script[src$=\"form.js\"]').src;"
        " const { Engine } = await import(new URL('engine.js', script)); return new Engine().ask(request); }",
        request,
    )


def test_every_check_is_answered_from_it(request, page, url):
    """What was not imported before could not be imported after."""
    for check in CHECKS if request.config.getoption("--all") else EACH_KIND:
        answer_example(page, url, check)
        wait_for(page, engine="ready", engine_from="kept")


def test_a_later_start_takes_it_up(page, url):
    inputs = calc.checks()[CHECKS[0]].example
    page.goto(url + link_of(CHECKS[0], inputs))
    expect_answer(page, CHECKS[0], inputs)
    wait_for(page, engine="ready", engine_from="kept")


def test_pages_of_zeros_are_not_kept(page, url):
    page.goto(url)
    pages, kept = page.evaluate(
        "async () => { const [name] = (await caches.keys()).filter((each) => each.startsWith('field-book-memory '));"
        " const cache = await caches.open(name);"
        " const { url } = (await cache.keys()).find((each) => each.url.endsWith('/memory'));"
        " return [...new Uint32Array(await (await cache.match(url)).arrayBuffer(), 0, 2)]; }"
    )
    assert 0 < kept < 0.95 * pages
    assert parts_of_memory(page)["memory"] < 0.95 * pages * PAGE


def test_chance_does_not_repeat_itself(page, url):
    drawn = set()
    for _ in range(2):
        page.goto(f"{url}checks/{CHECKS[0]}/")
        drawn.add(ask(page, {"do": "chance"})["drawn"])
        wait_for(page, engine_from="kept")
    assert len(drawn) == 2


@pytest.mark.parametrize(
    ("part", "how"),
    [
        ("memory", "changed"),
        ("start", "of another runtime"),
        ("memory", "truncated"),
        ("start", "truncated"),
        ("start", "of another browser"),
    ],
)
def test_what_is_wrong_with_it_costs_only_time(page, url, part, how):
    """It is dropped, the engine starts plainly, the answer is right, and the next visit takes up a sound one."""
    page.goto(url)
    page.evaluate("async () => { for (const n of await caches.keys()) if (n.startsWith('field-book-memory'))"
                  " await (await caches.open(n)).delete((await (await caches.open(n)).keys())"
                  ".find((r) => r.url.endsWith('/begun'))); }")  # fmt: skip
    page.evaluate(HARM, [part, how])
    inputs = calc.checks()[CHECKS[0]].example
    page.goto(url + link_of(CHECKS[0], inputs))
    expect_answer(page, CHECKS[0], inputs)
    keep_memory(page)
    page.goto(f"{url}checks/{CHECKS[0]}/")
    wait_for(page, engine="ready", engine_from="kept")


def test_another_edition_does_not_take_it_up(new_context, site, built):
    with Host(site) as host:
        page = new_context().new_page()
        keep_memory(visit(page, f"{host.url}checks/{CHECKS[0]}/"))
        host.folder = built
        page.evaluate("navigator.serviceWorker.getRegistration().then((r) => r.update())")
        page.wait_for_selector("#update:not([hidden])")
        page.click("#update-now")
        wait_for(page, edition=next(built.glob("e/*")).name, engine="ready", engine_from="plain")
        answer_example(page, host.url, CHECKS[0])


def test_it_is_not_tried_for_ever(new_context, site):
    with Host(site) as host:
        page = new_context().new_page()
        page.goto(host.url)
        wait_for(page, offline="ready")
        page.evaluate(
            "async (edition) => { const cache = await caches.open(`field-book-memory / ${edition}`);"
            " await cache.put(`/e/${edition}/begun`, new Response('3')); }",
            page.get_attribute("html", "data-edition"),
        )
        closed = []
        page.on("worker", lambda worker: worker.on("close", lambda _: closed.append(worker)))
        page.goto(f"{host.url}checks/{CHECKS[0]}/")
        wait_for(page, engine="ready")
        wait_until(lambda: closed, "the engine is ended", page)
        assert parts_of_memory(page) == {"begun": 1}


def test_a_phone_low_on_memory_is_spared(new_context, site):
    with Host(site) as host:
        page = new_context().new_page()
        page.add_init_script("Object.defineProperty(Navigator.prototype, 'deviceMemory', { get: () => 2 })")
        visit(page, f"{host.url}checks/{CHECKS[0]}/")
        wait_for(page, engine="ready")
        workers = []
        page.on("worker", lambda worker: workers.append(worker))
        page.wait_for_timeout(1000)
        assert not workers
        assert parts_of_memory(page) == {}


def test_the_way_out_removes_it(new_context, site):
    with Host(site) as host:
        page = new_context().new_page()
        keep_memory(visit(page, f"{host.url}checks/{CHECKS[0]}/"))
        page.goto(f"{host.url}reset.html")
        page.click("#remove")
        page.wait_for_selector("#done:not([hidden])")
        assert page.evaluate("caches.keys()") == []
