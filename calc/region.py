"""Where the book is read: in which units a quantity is said, which cable is sold, and which local codes it defers to.

A region changes words and what a field starts from, never a number: fields, physics and JSON keep the glossary's units.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from calc.tables import table

UNITS = ("m", "degC", "cm2")
"""Units of the glossary that a region may say in another."""


@dataclass(frozen=True)
class Code:
    """A local code to defer to: its title and number, what it covers, and how sure that is ("seen", "from memory")."""

    title: str
    covers: str
    known: str


@dataclass(frozen=True)
class Region:
    """How the trade speaks somewhere.

    Attributes
    ----------
    key : its name in settings and on the command line
    title : what a reader calls it
    units : unit of the glossary → the one it is said in
    families : series of cable, the usual one first; keys of `calc.physics.cable_sizes.FAMILIES`
    gauge : what a size of the series AWG is called
    codes : local codes to defer to
    """

    key: str
    title: str
    units: Mapping[str, str]
    families: tuple[str, ...]
    gauge: str
    codes: tuple[Code, ...]


def _read() -> dict[str, Region]:
    """Return all regions by key."""
    codes: dict[str, list[Code]] = {}
    for row in table("local_codes").rows:
        codes.setdefault(row["region"], []).append(Code(row["title"], row["covers"], row["known"]))
    return {
        row["region"]: Region(
            row["region"],
            row["title"],
            {unit: row[unit] for unit in UNITS},
            tuple(row["families"].split()),
            row["gauge"],
            tuple(codes.get(row["region"], ())),
        )
        for row in table("regions").rows
    }


REGIONS = _read()
METRIC = REGIONS["metric"]
"""The plain book's own, which names no local code."""
