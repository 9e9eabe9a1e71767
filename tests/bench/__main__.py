"""Speed, as ratios against the bare runtime in the same browser and the same run. Printed, never asserted.

    python3 build.py build && .venv/bin/python -m tests.bench [runs]

The bare runtime is the published one as it comes, started in a module worker with nothing else. The machine may be
busy: read the ratios, not the seconds.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, sync_playwright

import calc
from site_src import builder, runtime, serve, settings
from tests.browser import find_browser

HERE = Path(__file__).parent
CHECK = "cable-drop"
EDITS = 200
LONGEST = 120_000
ANSWER = "#heading-answer:not([hidden])"


def quiet(_: str) -> None:
    """Say nothing."""


def median(numbers: list[float]) -> float:
    """Return the middle of some numbers."""
    return statistics.median(numbers)


@contextmanager
def bare_site():
    """Serve the published runtime, as it comes, with the page that starts it."""
    with tempfile.TemporaryDirectory() as folder:
        for source in (*runtime.fetch_runtime(print).iterdir(), *(HERE / "bare").iterdir()):
            shutil.copy(source, folder)
        with serve.start(folder) as server:
            yield server.url


def time_bare(context: BrowserContext, url: str) -> float:
    """Return the seconds from opening the bare page to its first sum."""
    page = context.new_page()
    begun = time.perf_counter()
    page.goto(url)
    page.wait_for_selector("html[data-bare]", timeout=LONGEST, state="attached")
    taken = time.perf_counter() - begun
    page.close()
    return taken


def saved_book(browser: Browser, url: str) -> BrowserContext:
    """Return a browser that has the book saved, its signal off."""
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(url)
    page.wait_for_selector('html[data-offline="ready"]', timeout=LONGEST)
    page.close()
    context.set_offline(True)
    return context


def time_first_answer(context: BrowserContext, url: str) -> float:
    """Return the seconds from opening a link with a form filled in to its live answer, with no signal."""
    page = context.new_page()
    begun = time.perf_counter()
    page.goto(f"{url}checks/{CHECK}/#current=25+A&length=6+m")
    page.wait_for_selector(ANSWER, timeout=LONGEST)
    taken = time.perf_counter() - begun
    page.close()
    return taken


EDIT = """async (edits) => {
  const input = document.getElementById("current");
  const answer = document.getElementById("answer");
  const taken = [];
  for (let n = 0; n < edits; n += 1) {
    const begun = performance.now();
    const changed = new Promise((resolve) => new MutationObserver((_, watch) => { watch.disconnect(); resolve(); })
      .observe(answer, { childList: true }));
    input.value = String(5 + n / 10);
    input.dispatchEvent(new Event("input", { bubbles: true }));
    await changed;
    taken.push(performance.now() - begun);
  }
  return taken;
}"""


def time_edits(context: BrowserContext, url: str) -> list[float]:
    """Return the milliseconds from each edit to its answer on the page, with the engine running."""
    page = context.new_page()
    page.goto(f"{url}checks/{CHECK}/#current=25+A&length=6+m")
    page.wait_for_selector(ANSWER, timeout=LONGEST)
    page.evaluate(EDIT, 20)
    taken = page.evaluate(EDIT, EDITS)
    page.close()
    return taken


def fetched_bytes(dist: Path) -> int:
    """Return what a host that does not compress sends, until the book is whole on a phone."""
    listed = [path for path in dist.rglob("*") if path.is_file() and path.name not in builder.NOT_SAVED]
    packed = {path.with_suffix("") for path in listed if path.suffix == ".gz"}
    return sum(path.stat().st_size for path in listed if path not in packed)


def time_run() -> float:
    """Return the milliseconds of one check on the host."""
    check = calc.checks()[CHECK]
    begun = time.perf_counter()
    for n in range(EDITS):
        calc.run(CHECK, {**check.example, "current": f"{5 + n / 10} A"})
    return 1000 * (time.perf_counter() - begun) / EDITS


def report(name: str, value: str, target: str) -> None:
    """Print one line of the table."""
    print(f"| {name:<58} | {value:>22} | {target:<18} |", flush=True)


def main(runs: int) -> None:
    """Measure everything and print the table."""
    with tempfile.TemporaryDirectory() as folder:
        dist = Path(folder) / "dist"
        builder.build(dist, quiet)
        begun = time.perf_counter()
        builder.build(dist, quiet)
        built = time.perf_counter() - begun
        with bare_site() as bare_url, serve.start(dist) as book, sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=str(find_browser.find_browser(print)),
                args=["--no-sandbox", "--disable-background-networking"],
            )
            context = saved_book(browser, book.url)
            plain = browser.new_context()
            bare, first = [], []
            for _ in range(runs):
                bare.append(time_bare(plain, bare_url))
                first.append(time_first_answer(context, book.url))
            edits = sorted(time_edits(context, book.url))
            version = browser.version
            browser.close()
        print(f"\n{settings.NAME}, Chromium {version}, {runs} runs each, medians\n")
        report("what", "measured", "target")
        report("-" * 58, "-" * 22, "-" * 18)
        report("bare runtime's start", f"{median(bare):.2f} s", "(the yardstick)")
        report("saved book, no signal, to the first live answer", f"{median(first):.2f} s", "")
        report("  as a share of the bare start", f"{median(first) / median(bare):.2f}", "0.25")
        report("fetched until it works with no signal", f"{fetched_bytes(dist) / 1e6:.2f} MB", "5.0 MB")
        report("an edit to its answer, 95th percentile", f"{edits[int(0.95 * len(edits))]:.1f} ms", "16 ms")
        report("an edit to its answer, median", f"{median(edits):.1f} ms", "")
        report("the same check on the host", f"{time_run():.2f} ms", "")
        report("a full build, runtime fetched and packed before", f"{built:.2f} s", "10 s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
