"""What `calc` makes of a published row. Imports nothing but `calc`, so that it also runs inside the phone's Python."""

from __future__ import annotations

import importlib

import calc


def compute(row: dict) -> float:
    """Return the number that a row's check or function gives."""
    if "check" in row:
        return calc.run(row["check"], row["inputs"]).values[row["key"]].value
    module, name = row["call"].rsplit(".", 1)
    return float(getattr(importlib.import_module(module), name)(**row["with"]))
