"""The small server: strict headers, right types, any path."""

import http.client
import socket
from urllib.parse import urlsplit

import pytest

from site_src import serve
from site_src.settings import CSP
from site_src.trouble import Trouble

PREFIX = "/some/sub/path/"


@pytest.fixture
def site(tmp_path):
    """A small site, served below a path."""
    for name, content in {
        "index.html": "<title>Home</title>",
        "checks/cable-drop/index.html": "Cable é",
        "empty/x.txt": "x",
        "app.js": "1",
        "data.csv": "a",
        "a.svg": "s",
        "manifest.webmanifest": "{}",
        "engine/pyodide.asm.wasm": "w",
        "engine/book.zip": "z",
    }.items():
        path = tmp_path / "dist" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, "utf-8")
    (tmp_path / "secret.txt").write_text("secret")
    with serve.start(tmp_path / "dist", prefix=PREFIX) as server:
        server.directory = tmp_path / "dist"
        yield server


def get(server, path: str, method: str = "GET") -> tuple[http.client.HTTPResponse, bytes]:
    connection = http.client.HTTPConnection(urlsplit(server.url).netloc, timeout=10)
    connection.request(method, path)
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer, body


@pytest.mark.parametrize("path", ["", "app.js", "nothing-here", "empty/"])
def test_every_answer_has_the_strict_headers(site, path):
    answer, _ = get(site, PREFIX + path)
    assert answer.headers["Content-Security-Policy"] == CSP
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer.headers["Cache-Control"] == "no-cache"


def test_the_policy_allows_no_inline_script_and_no_eval():
    assert "default-src 'none'" in CSP
    assert "'unsafe-inline'" not in CSP
    assert "'unsafe-eval'" not in CSP


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("", "text/html; charset=utf-8"),
        ("app.js", "text/javascript; charset=utf-8"),
        ("engine/pyodide.asm.wasm", "application/wasm"),
        ("engine/book.zip", "application/zip"),
        ("manifest.webmanifest", "application/manifest+json; charset=utf-8"),
        ("a.svg", "image/svg+xml; charset=utf-8"),
    ],
)
def test_types_are_what_browsers_insist_on(site, path, kind):
    answer, _ = get(site, PREFIX + path)
    assert (answer.status, answer.headers["Content-Type"]) == (200, kind)


def test_a_folder_shows_its_page(site):
    answer, body = get(site, PREFIX + "checks/cable-drop/")
    assert (answer.status, body.decode()) == (200, "Cable é")


def test_a_folder_without_its_slash_is_sent_on(site):
    answer, _ = get(site, PREFIX + "checks/cable-drop")
    assert answer.status == 301
    assert urlsplit(answer.headers["Location"]).path == PREFIX + "checks/cable-drop/"


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/app.js",
        "/some/sub/app.js",
        PREFIX + "../../../../secret.txt",
        PREFIX + "%2e%2e/secret.txt",
        PREFIX + "empty/",
    ],
)
def test_nothing_else_is_served(site, path):
    answer, body = get(site, path)
    assert answer.status == 404
    assert b"secret" not in body


def test_the_sites_own_page_is_shown_for_what_is_not_found(site):
    (site.directory / "404.html").write_text("Not in this book")
    answer, body = get(site, PREFIX + "nothing-here")
    assert (answer.status, body) == (404, b"Not in this book")
    answer, body = get(site, PREFIX + "nothing-here", "HEAD")
    assert (answer.status, body) == (404, b"")


def test_a_browser_that_leaves_is_not_reported(site, capfd):
    with socket.create_connection(urlsplit(site.url).netloc.split(":")) as connection:
        connection.sendall(f"GET {PREFIX}app.js HT".encode())
    get(site, PREFIX)
    assert capfd.readouterr() == ("", "")


def test_a_taken_port_is_said_in_words(site, tmp_path):
    with pytest.raises(Trouble, match=f"Port {site.port} .* cannot be used"):
        serve.start(tmp_path, port=site.port)


def test_a_stopped_server_frees_its_port(tmp_path):
    first = serve.start(tmp_path)
    first.stop()
    with serve.start(tmp_path, port=first.port) as second:
        assert second.port == first.port


def test_a_prefix_without_slashes_is_a_mistake(tmp_path):
    with pytest.raises(ValueError, match="slash"):
        serve.start(tmp_path, prefix="sub")
