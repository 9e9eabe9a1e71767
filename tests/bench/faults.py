"""Faults in numbers: `.venv/bin/python -m tests.bench.faults`. Prints what came of them; ends with 1 if any did harm.

Every file of a small edition with transfers broken at many places, a worker cut off at each of its lines, and a sample
of forty faults at the real edition. It takes about a quarter of an hour.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from site_src import builder
from tests.browser.conftest import another_edition, phone
from tests.browser.faults import put_through, small_edition, table
from tests.browser.find_browser import find_browser


def main() -> int:
    """Put phones through all faults."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        small = [small_edition(Path(folder) / words, words) for words in ("older", "newer")]
        builder.build(Path(folder) / "real", lambda _: None)
        real = [Path(folder) / "real", another_edition(Path(folder) / "next", "The second edition.")]
        browser = playwright.chromium.launch(
            executable_path=find_browser(print), args=["--no-sandbox", "--disable-background-networking"]
        )
        harms = []
        for name, editions, fineness, step, most in (("small", small, 30, 1, 10_000), ("real", real, 5, 50, 20)):
            tried = put_through(phone(browser), tuple(editions), fineness, step, most)
            print(f"\nThe {name} edition\n{table(tried.tally)}", *tried.harms, sep="\n", flush=True)
            harms += tried.harms
    return bool(harms)


if __name__ == "__main__":
    sys.exit(main())
