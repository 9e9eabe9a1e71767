"""Whose book this is: what a club that gives it out has set, as far as answers show it.

It is set once, by the builder, the command line, or what was built into the phone's copy, before anything is asked.
"""

from __future__ import annotations

import json
import pkgutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from calc.region import METRIC, REGIONS, Code, Region

FILE = "edition.json"
"""Stands beside this file in the phone's copy of a club's edition, and nowhere else."""


@dataclass(frozen=True)
class ClubCaution:
    """A caution of a club's: its words, and the checks beside whose answers it stands; none means all."""

    text: str
    checks: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Edition:
    """What a club has set of the answers; blank for the book as its makers give it out."""

    club: str = ""
    region: Region = METRIC
    codes: tuple[Code, ...] = ()
    cautions: tuple[ClubCaution, ...] = ()

    @property
    def all_codes(self) -> tuple[Code, ...]:
        """The club's codes, then its region's."""
        return (*self.codes, *self.region.codes)

    @property
    def codes_sentence(self) -> str:
        """The codes in a sentence, or "" where none is named."""
        named = "; ".join(f"{code.title} ({code.covers})" for code in self.all_codes)
        return f"Codes to follow here: {named}." if named else ""

    def cautions_of(self, check_id: str) -> list[str]:
        """Return the club's cautions beside a check, each marked as the club's."""
        own = (one.text for one in self.cautions if not one.checks or check_id in one.checks)
        return [f"{self.club} adds: {text}" for text in own]

    def to_text(self) -> str:
        """Return it as the text that the phone's copy carries."""
        return json.dumps(
            {
                "club": self.club,
                "region": self.region.key,
                "codes": [[code.title, code.covers, code.known] for code in self.codes],
                "cautions": [[one.text, *one.checks] for one in self.cautions],
            },
            ensure_ascii=False,
        )


def from_text(text: str) -> Edition:
    """Return what `to_text` wrote.

    Examples
    --------
    >>> from_text(Edition("Dry Creek", REGIONS["europe"]).to_text()).region.title
    'Europe'
    """
    read = json.loads(text)
    codes = tuple(Code(*code) for code in read["codes"])
    cautions = tuple(ClubCaution(words, tuple(checks)) for words, *checks in read["cautions"])
    return Edition(read["club"], REGIONS[read["region"]], codes, cautions)


def _built_in() -> Edition:
    """Return what was built into this copy, which is nothing on the host."""
    try:
        return from_text(pkgutil.get_data("calc", FILE).decode("utf-8"))
    except OSError:
        return Edition()


_current = _built_in()


def current() -> Edition:
    """Return the edition that answers are made for."""
    return _current


def use(edition: Edition) -> None:
    """Make answers for an edition from now on."""
    global _current
    _current = edition


@contextmanager
def used(edition: Edition) -> Iterator[None]:
    """Make answers for an edition within a block, and then as before."""
    before = _current
    use(edition)
    try:
        yield
    finally:
        use(before)
