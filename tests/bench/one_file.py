"""How soon the book in one file answers, against the saved book with no signal in the same browser and the same run.

    .venv/bin/python -m tests.bench.one_file [runs [engine …]]

Both are opened at a link with a form filled in, and timed by the page itself until its live answer stands. The saved
book starts from the memory that it keeps of its engine, where the browser keeps one; the file unpacks its engine anew.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from site_src import builder, settings
from tests.bench.__main__ import LINK, median, phone_of, quiet, save_book, time_of
from tests.browser import engines
from tests.browser.host import Host

ANSWER = "#heading-answer:not([hidden])"


def report(engine: str, runs: int, dist: Path) -> None:
    """Measure in one engine, and print a line."""
    with phone_of(engine) as phone, Host(dist) as host:
        memory = "its memory kept" if save_book(phone, host) else "no memory kept"
        file = (dist / settings.ONE_FILE).as_uri()
        saved, alone = [], []
        for _ in range(runs):
            saved.append(time_of(phone, host.url + LINK, ANSWER))
            alone.append(time_of(phone, f"{file}#/{LINK}", ANSWER))
    one, other = median(alone), median(saved)
    print(f"| {engine:<8} | {other:5.2f} s ({memory}) | {one:6.2f} s | {one / other:5.1f} |", flush=True)


def main(runs: int, chosen: list[str]) -> None:
    """Measure, and print the table."""
    with tempfile.TemporaryDirectory() as folder:
        dist = Path(folder) / "dist"
        builder.build(dist, quiet)
        print(f"{settings.ONE_FILE}: {(dist / settings.ONE_FILE).stat().st_size / 1e6:.2f} MB; medians of {runs} runs")
        print("| engine   | saved book, no signal    | one file | ratio |")
        for engine in chosen:
            if sentence := engines.missing(engine):
                print(f"| {engine:<8} | {sentence} |")
            else:
                report(engine, runs, dist)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5, sys.argv[2:] or list(engines.ENGINES))
