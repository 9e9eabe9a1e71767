"""How a build grows with a club's guides: the cost of each of 100 and of 1,000. Printed, never asserted.

    .venv/bin/python -m tests.bench.guides [guides …]

Each guide asks the book two questions of its own. Costs are processor seconds of this process, as the machine may be
busy: read the ratio, which is 1 where a build is linear in its guides.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from site_src import builder

GUIDE = """\
title: Guide {n} of the bench
summary: An invented guide, to be counted.
task: home
order: {n}
checks: cable-drop

Over {{{{ given("cable-drop", "length", current="10 A", length="{length} m") }}}} of cable the book takes
{{{{ value("cable-drop", "smallest_size", current="10 A", length="{length} m") }}}}, and at twice the current
{{{{ value("cable-drop", "smallest_size", current="20 A", length="{length} m") }}}}. A battery, a fuse and an earth lead
are words of the trade; {{{{ link("cable-drop", "work it out", current="10 A") }}}}.

{{{{ caution("FUSE_LAST") }}}}
"""


def club(folder: Path, guides: int) -> Path:
    """Write a club's settings with as many guides, and return the settings' file."""
    (folder / "guides").mkdir()
    for n in range(1, guides + 1):
        (folder / "guides" / f"bench-{n}.md").write_text(GUIDE.format(n=n, length=f"{0.5 + n / 100:g}"), "utf-8")
    settings = folder / "edition.toml"
    settings.write_text('club = "The bench (invented)"\n' + ('guides = "guides"\n' if guides else ""), "utf-8")
    return settings


def time_build(guides: int) -> tuple[float, float]:
    """Return the processor's and the clock's seconds for a build with as many guides."""
    with tempfile.TemporaryDirectory() as folder:
        settings = club(Path(folder), guides)
        used, begun = time.process_time(), time.perf_counter()
        builder.build(Path(folder) / "dist", lambda _: None, settings)
        return time.process_time() - used, time.perf_counter() - begun


def main(counts: list[int]) -> None:
    """Build with each number of guides, and print the table."""
    time_build(0)  # what is remembered from build to build is made here
    bare, _ = time_build(0)
    print(f"\na build with no guide of a club: {bare:.2f} s of the processor\n")
    print("| guides |  processor |    clock | each guide |\n| ------ | ---------- | -------- | ---------- |")
    each = []
    for count in counts:
        used, clock = time_build(count)
        each.append((used - bare) / count)
        print(f"| {count:>6} | {used:>8.2f} s | {clock:>6.1f} s | {1000 * each[-1]:>7.2f} ms |", flush=True)
    print(f"\neach of {counts[-1]:,} against each of {counts[0]:,}: {each[-1] / each[0]:.2f}")


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [100, 1000])
