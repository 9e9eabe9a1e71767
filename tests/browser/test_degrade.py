"""Where something is missing, the rest still serves, and the page says what is missing."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

import calc
from tests.browser.conftest import CHECKS, answer_example, wait_for
from tests.browser.host import Fault, Host

CHECK = CHECKS[0]


@pytest.mark.parametrize("check", CHECKS)
def test_without_javascript_words_tables_and_example_are_there(new_context, host, check):
    page = new_context(java_script_enabled=False).new_page()
    page.goto(f"{host.url}checks/{check}/")
    declared = calc.checks()[check]
    expect(page.locator("h1")).to_have_text(declared.question)
    expect(page.locator("noscript p")).to_be_visible()
    assert "JavaScript" in page.inner_text("noscript p")
    expect(page.locator("#story")).to_have_text(declared.example_story)
    example = calc.run(check, declared.example)
    shown = page.inner_text("#answer")
    assert all(value.text in shown for value in example.values.values())
    assert all(verdict.text in shown for verdict in example.verdicts)
    for cases in declared.cases:
        expect(page.get_by_text(cases.caption)).to_be_visible()
    assert page.locator("#working li").count() > 0
    page.locator("#working summary").click()
    expect(page.locator("#working ol li").first).to_be_visible()


def test_without_javascript_no_state_is_promised(new_context, host):
    page = new_context(java_script_enabled=False).new_page()
    page.goto(host.url)
    assert page.inner_text(".kept").strip() == ""
    page.goto(f"{host.url}checks/{CHECK}/")
    assert page.inner_text(".engine").strip() == ""


def test_without_a_service_worker_the_engine_still_answers(new_context, host):
    page = new_context(service_workers="block").new_page()
    page.add_init_script("delete Navigator.prototype.serviceWorker")
    answer_example(page, host.url, CHECK)
    wait_for(page, offline="unavailable", why="unsupported", engine="ready")
    expect(page.locator('#not-saved [data-why="unsupported"]')).to_be_visible()


def test_where_registering_is_refused_the_engine_still_answers(new_context, host):
    page = new_context().new_page()
    page.add_init_script(
        "ServiceWorkerContainer.prototype.register = () => Promise.reject(new DOMException('no', 'SecurityError'))"
    )
    answer_example(page, host.url, CHECK)
    wait_for(page, offline="unavailable", why="unsupported", engine="ready")


def test_without_webassembly_the_page_says_so(new_context, host):
    page = new_context(service_workers="block").new_page()
    page.add_init_script("delete window.WebAssembly")
    page.goto(f"{host.url}checks/{CHECK}/")
    page.focus("form#check input")
    wait_for(page, engine="unavailable")
    expect(page.locator('[data-engine-is="unavailable"]')).to_be_visible()
    assert "WebAssembly" in page.inner_text('[data-engine-is="unavailable"]')
    assert page.locator("#answer data[data-key]").count() > 0


def test_without_workers_the_page_says_so(new_context, host):
    page = new_context(service_workers="block").new_page()
    page.add_init_script("delete window.Worker")
    page.goto(f"{host.url}checks/{CHECK}/")
    wait_for(page, engine="unavailable")
    expect(page.locator('[data-engine-is="unavailable"]')).to_be_visible()


@pytest.mark.parametrize("file", ["pyodide.asm.wasm", "python.zip", "book.zip", "pyodide.asm.js", "pyodide-lock.json"])
@pytest.mark.parametrize("status", [404, 200], ids=["missing", "a sign-in page"])
def test_an_engine_that_cannot_be_fetched_is_said_to_be_unavailable(new_context, host, built, file, status):
    """Also the WebAssembly file, at the loss of which the runtime itself would wait for ever."""
    path = next(built.glob(f"e/*/engine/{file}")).relative_to(built).as_posix()
    host.faults[path] = Fault(status, "text/html", b"<title>Free Wi-Fi</title>")
    page = new_context(service_workers="block").new_page()
    page.goto(f"{host.url}checks/{CHECK}/")
    wait_for(page, engine="unavailable")
    expect(page.locator('[data-engine-is="unavailable"]')).to_be_visible()
    assert page.locator("#answer data[data-key]").count() > 0


@pytest.mark.parametrize("served_as", ["application/octet-stream", "text/plain"])
@pytest.mark.parametrize("kept", ["allow", "block"])
def test_a_host_that_knows_no_webassembly_serves_it_all_the_same(new_context, built, served_as, kept):
    types = {".wasm": served_as, ".zip": served_as, ".webmanifest": served_as}
    with Host(built, headers=False, types=types) as host:
        page = new_context(service_workers=kept).new_page()
        answer_example(page, host.url, CHECK)
        wait_for(page, engine="ready", offline="ready" if kept == "allow" else "unavailable")
