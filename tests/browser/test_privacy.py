"""Nothing leaves the site, nothing foreign runs in it, and a phone can install it."""

from __future__ import annotations

import json
import re
import struct
from base64 import b64encode
from hashlib import sha256
from html import unescape
from pathlib import Path

import pytest
from playwright.sync_api import Page

from site_src import settings
from tests.browser.conftest import CHECKS, SUB_PATH, answer_example, pages_of, visit, wait_for
from tests.browser.host import Host

FORBIDDEN = {
    "an inline script": "add('script', (e) => { e.textContent = 'window.ran = true'; })",
    "a handler in markup": "add('img', (e) => { e.setAttribute('onerror', 'window.ran = true'); e.src = 'data:,'; })",
    "an inline style": "add('style', (e) => { e.textContent = 'body { color: red }'; })",
    "another site": "fetch('https://other.invalid/').catch(() => {})",
    "code from text": "import('data:text/javascript,window.ran = true').catch(() => {})",
}
TRY = """new Promise((resolve) => {
    document.addEventListener("securitypolicyviolation", (event) => resolve(event.effectiveDirective), { once: true });
    const add = (name, fill) => { const e = document.createElement(name); fill(e); document.head.append(e); };
    %s;
    setTimeout(() => resolve("nothing was stopped"), 5000);
})"""


def test_no_request_leaves_the_site(new_context, host, built):
    """Every page, an answer of each kind, the worker that thinks and the one that saves."""
    context = new_context()
    asked = []
    context.on("request", lambda request: asked.append(request.url))
    page = visit(context.new_page(), host.url)
    for path in [*pages_of(built), "404.html", "reset.html", "nothing/here"]:
        page.goto(host.url + path)
    for check in (CHECKS[0], "trip", "fault-finder", "commissioning-sheet"):
        answer_example(page, host.url, check)
    assert len(asked) > 50
    assert any(url.endswith("pyodide.asm.wasm") for url in asked)
    assert {url for url in asked if not url.startswith((host.url, "data:", "blob:"))} == set()


def test_no_page_names_a_file_of_another_site(built):
    for path in built.rglob("*.html"):
        assert re.findall(r'(?:src|srcset|href|action|poster)="(?:https?:)?//[^"]*"', path.read_text("utf-8")) == [], (
            path
        )
    assert "http" not in re.sub(r"http://www\.w3\.org/\d+/svg", "", style_of(built))


def style_of(built: Path) -> str:
    """Return the style sheet."""
    return next(built.glob("e/*/style.css")).read_text("utf-8")


def tried(page: Page, what: str) -> str:
    """Try what the policy forbids; return the directive that stopped it."""
    directive = page.evaluate(TRY % FORBIDDEN[what])
    assert page.evaluate("window.ran") is None
    return directive


@pytest.mark.parametrize("headers", [True, False], ids=["with headers", "with the page's own policy alone"])
@pytest.mark.parametrize("kept", [False, True], ids=["from the host", "saved"])
def test_the_policy_is_in_force(new_context, built, headers, kept):
    with Host(built, headers=headers) as host:
        page = new_context(service_workers="allow" if kept else "block").new_page()
        if kept:
            visit(page, host.url)
        response = page.goto(f"{host.url}checks/{CHECKS[0]}/")
        assert response.from_service_worker == kept
        if headers or kept:
            assert response.header_value("content-security-policy") == settings.CSP
        assert page.get_attribute("meta[http-equiv=Content-Security-Policy]", "content") == settings.PAGE_CSP
        stopped = {what: tried(page, what).split("-")[0] for what in FORBIDDEN}
        assert stopped == {
            "an inline script": "script",
            "a handler in markup": "script",
            "an inline style": "style",
            "another site": "connect",
            "code from text": "script",
        }
        answer_example(page, host.url, CHECKS[0])


@pytest.mark.parametrize("check", CHECKS[:2])
def test_it_works_where_no_header_can_be_set(new_context, built, check):
    with Host(built, SUB_PATH, headers=False) as host:
        page = new_context().new_page()
        visit(page, host.url)
        answer_example(page, host.url, check)


def test_every_page_is_guarded(built):
    for path in built.rglob("*.html"):
        text = path.read_text("utf-8")
        assert 'http-equiv="Content-Security-Policy"' in text, path
        assert text.index("Content-Security-Policy") < min(text.index("<link"), text.index("<title")), path
        assert not re.search(r"\son\w+=|\sstyle=|javascript:", text), path
        policy = unescape(re.search('Content-Security-Policy" content="([^"]*)"', text)[1])
        for inline in re.findall(r'<script(?![^>]*\b(?:src=|type="text/plain"))[^>]*>(.*?)</script>', text, re.DOTALL):
            assert path.name in ("404.html", settings.ONE_FILE)  # which have to be whole at any address
            assert f"'sha256-{b64encode(sha256(inline.encode()).digest()).decode()}'" in policy


# Installing


def test_the_manifest_is_whole(built):
    manifest = json.loads((built / "manifest.webmanifest").read_text("utf-8"))
    for key in ("name", "short_name", "description", "start_url", "scope", "display", "id", "lang", "icons"):
        assert manifest[key], key
    assert manifest["display"] == "standalone"
    assert len(manifest["short_name"]) <= 12
    assert not manifest.get("prefer_related_applications")
    sizes = {icon["sizes"] for icon in manifest["icons"]}
    assert {"192x192", "512x512"} <= sizes
    assert any("maskable" in icon["purpose"] for icon in manifest["icons"])
    for icon in manifest["icons"]:
        data = (built / icon["src"]).read_bytes()
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        assert "{}x{}".format(*struct.unpack(">II", data[16:24])) == icon["sizes"]
        assert icon["type"] == "image/png"


@pytest.mark.parametrize("prefix", ["/", SUB_PATH])
def test_the_browser_finds_nothing_in_the_way_of_installing(new_context, built, prefix):
    with Host(built, prefix) as host:
        page = visit(new_context().new_page(), host.url)
        session = page.context.new_cdp_session(page)
        found = session.send("Page.getAppManifest")
        assert found["errors"] == []
        assert found["url"] == f"{host.url}manifest.webmanifest"
        assert json.loads(found["data"])["start_url"] == "./"
        in_the_way = [one["errorId"] for one in session.send("Page.getInstallabilityErrors")["installabilityErrors"]]
        assert set(in_the_way) <= {"in-incognito"}  # a test's browser is always private


def test_every_page_leads_to_the_manifest_and_the_icons(built):
    for path in built.rglob("index.html"):
        text = path.read_text("utf-8")
        for href in re.findall(r'<link rel="(?:manifest|icon|apple-touch-icon|stylesheet)" href="([^"]+)"', text):
            assert (path.parent / href).resolve().is_file(), (path, href)
        assert len(re.findall(r'rel="(?:manifest|icon|apple-touch-icon|stylesheet)"', text)) == 4


# The way out


def test_reset_removes_this_book_and_no_other(new_context, built, newer, tmp_path):
    """Two books on one origin share its storage."""
    for name, folder in (("one", built), ("other", newer)):
        (tmp_path / name).symlink_to(folder, target_is_directory=True)
    with Host(tmp_path) as host:
        page = new_context().new_page()
        visit(page, f"{host.url}one/")
        visit(page, f"{host.url}other/")
        assert len(page.evaluate("caches.keys()")) == 2
        page.goto(f"{host.url}one/reset.html")
        page.click("#remove")
        page.wait_for_selector("#done:not([hidden])")
        names = page.evaluate("caches.keys()")
        assert [name.split()[1] for name in names if name.startswith("field-book ")] == [
            "/book/".replace("book", "other")
        ]
        left = page.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).map((r) => r.scope)")
        assert left == [f"{host.url}other/"]
        page.click("#done a")
        wait_for(page, offline="ready")
