"""The published values, as data: read from the TOML files beside this one; `compute.py` says what `calc` makes of them.

The same rows are computed on the host and inside the WebAssembly runtime. A row is

    [[value]]
    source = "cfr-183-425"        # key of calc.sources
    where = "Table 5, 105 degC"   # place in it
    confidence = "seen"           # "seen", "from memory" or "common practice, no source"
    call = "calc.physics.cable.table_current"   # what computes it …
    with = { copper = 13.3018, insulation = 105 }
    expect = 120.0
    within = 0.05                 # absolute; or percent = 1.0
    because = "printed in whole amperes"        # why that tolerance

or, in place of `call` and `with`, a whole check: `check`, `inputs` and the `key` of the value.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

FOLDER = Path(__file__).parent


def rows(folder: Path = FOLDER) -> list[dict]:
    """Return every row of every file, with the name of its file."""
    found = []
    for path in sorted(folder.glob("*.toml")):
        found += [{"file": path.stem, **row} for row in tomllib.loads(path.read_text("utf-8"))["value"]]
    return found


def tolerance(row: dict) -> float:
    """Return how far a computed value may be from the published one."""
    return row["within"] if "within" in row else abs(row["expect"]) * row["percent"] / 100
