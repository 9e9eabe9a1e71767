"""Speed, as ratios against the bare runtime in the same browser and the same run. Printed, never asserted.

    python3 build.py build && .venv/bin/python -m tests.bench [runs [engine …]]

The bare runtime is the published one as it comes, started in a module worker with nothing else. Times are the page's
own, from the moment it was opened. The machine may be busy: read the ratios, not the seconds.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler
from pathlib import Path

from playwright.sync_api import sync_playwright

import calc
from site_src import builder, runtime, serve, settings
from tests.browser import engines, find_browser
from tests.browser.engines import Phone
from tests.browser.host import Host

HERE = Path(__file__).parent
CHECK = "cable-drop"
LINK = f"checks/{CHECK}/#current=25+A&length=6+m"
EDITS = 200
AT_ONCE = 20
"""Edits in one script: a driver ends one that takes a minute."""

TARGETS = {"Chromium": "0.25", "Firefox": "0.35", "WebKit": "0.25"}

HEAP = """
import pyodide_js
from site_src.exercise import warm_up

warm_up()
print(pyodide_js._module.HEAP8.length)
"""


def quiet(_: str) -> None:
    """Say nothing."""


def median(numbers: list[float]) -> float:
    """Return the middle of some numbers."""
    return statistics.median(numbers)


# Sites


class PlainHandler(SimpleHTTPRequestHandler):
    """Serves files as any host does, and says nothing."""

    def log_message(self, *_: object) -> None:
        """Requests are not reported."""


@contextmanager
def bare_site() -> Iterator[str]:
    """Serve the published runtime, as it comes, with the page that starts it; give its address."""
    with tempfile.TemporaryDirectory() as folder:
        for source in (*runtime.fetch_runtime(print).iterdir(), *(HERE / "bare").iterdir()):
            shutil.copy(source, folder)
        server = serve.QuietServer(("127.0.0.1", 0), partial(PlainHandler, directory=folder))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/"
        server.shutdown()
        server.server_close()


# What a page tells

WHEN_THERE = """
  await new Promise((resolve) => {
    const look = () => document.querySelector(given) && resolve();
    new MutationObserver(look).observe(document, { subtree: true, childList: true, attributes: true });
    look();
  });
  return performance.now() / 1000;
"""

HOLD = """
  const path = new URL("../../", location.href).pathname;
  window.held = await caches.open(`field-book-memory ${path} ${document.documentElement.dataset.edition}`);
"""

KEPT = """
  const edition = new URL(`../../e/${document.documentElement.dataset.edition}/`, location.href);
  if (!await caches.match(new URL("start", edition))) return 0;
  return (await (await caches.match(new URL("memory", edition))).arrayBuffer()).byteLength;
"""

EDIT = """
  const input = document.getElementById("current");
  const answer = document.getElementById("answer");
  const taken = [];
  for (let n = 0; n < given; n += 1) {
    const begun = performance.now();
    const changed = new Promise((resolve) => new MutationObserver((_, watch) => { watch.disconnect(); resolve(); })
      .observe(answer, { childList: true }));
    input.value = String(5 + n / 10);
    input.dispatchEvent(new Event("input", { bubbles: true }));
    await changed;
    taken.push(performance.now() - begun);
  }
  return taken;
"""


@contextmanager
def phone_of(engine: str) -> Iterator[Phone]:
    """Start an engine's browser."""
    with ExitStack() as stack:
        if engine == "Chromium":
            browser = stack.enter_context(sync_playwright()).chromium.launch(
                executable_path=str(find_browser.find_browser(print)),
                args=["--no-sandbox", "--disable-background-networking"],
            )
            stack.callback(browser.close)
            phone = engines.Chromium(browser)
        else:
            phone = {"Firefox": engines.Firefox, "WebKit": engines.WebKit}[engine]()
        stack.callback(phone.quit)
        yield phone


def save_book(phone: Phone, host: Host) -> int:
    """Save the book and the engine's memory, switch the signal off, and return that memory's size [bytes].

    The page stays open and holds the memory's cache, as WebKit's small browser forgets what no page holds.
    """
    phone.open(host.url + LINK)
    phone.wait_for(offline="ready")
    phone.run(HOLD)
    begun = time.monotonic()
    while not (size := phone.run(KEPT)):
        if time.monotonic() - begun > engines.LONGEST:
            break
        time.sleep(0.5)
    host.stop()
    phone.new_tab()
    return size


def time_of(phone: Phone, url: str, wanted: str) -> float:
    """Return the seconds from opening a page until something is on it."""
    phone.open(url)
    return phone.run(WHEN_THERE, wanted)


def time_edits(phone: Phone, url: str) -> list[float]:
    """Return the milliseconds from each edit to its answer on the page, with the engine running, in order of length."""
    time_of(phone, url, "#heading-answer:not([hidden])")
    phone.run(EDIT, AT_ONCE)
    return sorted(taken for _ in range(EDITS // AT_ONCE) for taken in phone.run(EDIT, AT_ONCE))


# What needs no browser


def fetched_bytes(dist: Path) -> int:
    """Return what a host that does not compress sends, until the book is whole on a phone."""
    pieces = dist.glob("pieces/*")
    loaded_before = [dist / "index.html", dist / "sw.js", dist / "manifest.webmanifest", dist / "icons/icon.svg"]
    loaded_by_pages = dist.glob("e/*/*.*")
    return sum(path.stat().st_size for path in (*pieces, *loaded_before, *loaded_by_pages))


def heap_bytes() -> int:
    """Return the memory of an engine that has answered every check, under node."""
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "heap.py"
        program.write_text(HEAP, "utf-8")
        return int(runtime.run_python(builder.engine(quiet), program))


def time_run() -> float:
    """Return the milliseconds of one check on the host."""
    check = calc.checks()[CHECK]
    begun = time.perf_counter()
    for n in range(EDITS):
        calc.run(CHECK, {**check.example, "current": f"{5 + n / 10} A"})
    return 1000 * (time.perf_counter() - begun) / EDITS


# The table


def report(name: str, value: str, target: str) -> None:
    """Print one line of the table."""
    print(f"| {name:<58} | {value:>22} | {target:<18} |", flush=True)


def report_engine(engine: str, runs: int, dist: Path, bare_url: str) -> None:
    """Measure in one engine, and print its lines."""
    with phone_of(engine) as phone, Host(dist) as host:
        kept = save_book(phone, host)
        bare, first = [], []
        for _ in range(runs):
            bare.append(time_of(phone, bare_url, "html[data-bare]"))
            first.append(time_of(phone, host.url + LINK, "#heading-answer:not([hidden])"))
        edits = time_edits(phone, host.url + LINK)
    report(f"{engine}: bare runtime's start", f"{median(bare):.2f} s", "(the yardstick)")
    report("  saved book, no signal, to the first live answer", f"{median(first):.2f} s", "")
    report("  as a share of the bare start", f"{median(first) / median(bare):.2f}", TARGETS[engine])
    report("  memory kept for it", f"{kept / 1e6:.1f} MB", "")
    report("  an edit to its answer, 95th percentile", f"{edits[int(0.95 * len(edits))]:.1f} ms", "16 ms")
    report("  an edit to its answer, median", f"{median(edits):.1f} ms", "")


def main(runs: int, chosen: list[str]) -> None:
    """Measure everything and print the table."""
    with tempfile.TemporaryDirectory() as folder, bare_site() as bare_url:
        dist = Path(folder) / "dist"
        builder.build(dist, quiet)
        begun = time.perf_counter()
        builder.build(dist, quiet)
        built = time.perf_counter() - begun
        print(f"\n{settings.NAME}, {runs} runs each, medians\n")
        report("what", "measured", "target")
        report("-" * 58, "-" * 22, "-" * 18)
        for engine in chosen:
            if sentence := engines.missing(engine):
                report(engine, "not here", sentence)
            else:
                report_engine(engine, runs, dist, bare_url)
        report("fetched until it works with no signal", f"{fetched_bytes(dist) / 1e6:.2f} MB", "5.0 MB")
        report("memory of an engine that answered every check", f"{heap_bytes() / 1e6:.1f} MB", "")
        report("the same check on the host", f"{time_run():.2f} ms", "")
        report("a full build, runtime fetched and packed before", f"{built:.2f} s", "10 s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5, sys.argv[2:] or list(engines.ENGINES))
