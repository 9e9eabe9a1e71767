"""Two invented set-ups, marked as invented, so that a newcomer sees every part working at once."""

from __future__ import annotations

from pkgutil import get_data

from calc.setup.file import from_file
from calc.setup.model import SetUp

NAMES = ("island_van", "desert_truck")
"""A panel van on a wet autumn tour of Scottish islands, and an open truck in a hot desert January."""

STORIES = {
    "island_van": "An invented panel van on a wet autumn tour of Scottish islands.",
    "desert_truck": "An invented open truck in a hot desert January.",
}
"""What each is, in a sentence."""


def text(name: str) -> str:
    """Return a demo's file."""
    return get_data("calc.setup.demos", f"{name}.json").decode("utf-8")


def demo(name: str) -> SetUp:
    """Return a demo."""
    return from_file(text(name))
