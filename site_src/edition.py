"""A club's edition of the book: what of it differs from the plain one. It is read by `site_src.edition_file`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import TYPE_CHECKING

import calc
from calc import units
from calc.edition import ClubCaution
from calc.edition import Edition as Answering
from calc.edition import used as answering
from calc.region import METRIC, Region
from site_src import colours, icons, settings

if TYPE_CHECKING:
    from site_src.guides import Guide


@dataclass(frozen=True)
class ClubSetUp:
    """A set-up of a club's: its file's name and text, what it is called, and what it is in a sentence."""

    file: str
    text: str
    name: str
    about: str


@dataclass(frozen=True, eq=False)
class Edition:
    """What differs from the plain book; nothing, where `club` is blank.

    `answers` is the part of it that answers show, on the host and on the phone.
    """

    club: str = ""
    name: str = ""
    short_name: str = ""
    contact: str = ""
    welcome: Guide | None = None
    guides: tuple[Guide, ...] = ()
    set_ups: tuple[ClubSetUp, ...] = ()
    colours: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    letters: str = ""
    ember: str = ""
    answers: Answering = field(default_factory=Answering)

    @property
    def settings(self) -> object:
        """The site's settings as this edition has them."""
        if not self.club:
            return settings
        own = {"NAME": self.name, "SHORT_NAME": self.short_name}
        own |= {key: self.palette(time)["paper"] for key, time in (("PAPER", "day"), ("NIGHT", "night"))}
        kept = {key: each for key, each in vars(settings).items() if key.isupper()}
        return SimpleNamespace(**kept | {key: each for key, each in own.items() if each})

    def palette(self, time: str) -> dict[str, str]:
        """Return every colour by day or by night."""
        return colours.palette(time, **self.colours.get(time, {}))

    @property
    def icon(self) -> tuple:
        """What its icon is drawn of."""
        day, night = self.palette("day"), self.palette("night")
        return icons.rectangles(day["paper"], night["paper"], self.ember or icons.EMBER, self.letters)

    @property
    def own_parts(self) -> str:
        """What a club added of its own, in words."""
        parts = {
            "its welcome page": self.welcome,
            "its guides": self.guides,
            "its set-ups": self.set_ups,
            "its cautions": self.answers.cautions,
            "the codes it names": self.answers.codes,
        }
        return ", ".join(words for words, there in parts.items() if there) or "nothing"

    @property
    def changes(self) -> list[tuple[str, str]]:
        """What was changed, each as a heading and a sentence, in the order of the settings."""
        answers = self.answers
        said = {
            "Name": self.name and f"{self.name}, in place of {settings.NAME}.",
            "Colours": "; ".join(
                f"by {time}: {' and '.join(f'{part} {colour}' for part, colour in each.items())}"
                for time, each in self.colours.items()
            ),
            "Icon": " and ".join(
                filter(None, (self.letters and f"the letters {self.letters}", self.ember and f"colour {self.ember}"))
            ),
            "Welcome page": self.welcome and self.welcome.title,
            "Guides added": "; ".join(guide.title for guide in self.guides),
            "Set-ups added": "; ".join(one.name for one in self.set_ups),
            "Cautions added": " ".join(f"“{one.text}” {where(one)}." for one in answers.cautions),
            "Local codes named": "; ".join(code.title for code in answers.codes),
            "Region": answers.region is not METRIC and f"{answers.region.title}: {in_units(answers.region)}.",
        }
        return [(heading, text) for heading, text in said.items() if text]


def where(caution: ClubCaution) -> str:
    """Return beside which answers a caution stands, in words."""
    titles = [calc.checks()[check].title for check in caution.checks]
    return f"(beside {', '.join(titles)})" if titles else "(beside every answer)"


def in_units(region: Region) -> str:
    """Return in which units a region says things, in words."""
    length, temperature = (units.sign(region.units[unit]) for unit in ("m", "degC"))
    series = {"metric": "mm²", "awg": region.gauge}[region.families[0]]
    named = f", and {len(region.codes)} local codes are named" if region.codes else ""
    return f"lengths in {length}, temperatures in {temperature}, cable in {series} first{named}"


PLAIN = Edition()
_current = PLAIN


def current() -> Edition:
    """Return the edition that is being built."""
    return _current


@contextmanager
def building(edition: Edition) -> Iterator[None]:
    """Build an edition within a block: pages and answers are its own there."""
    global _current
    before, _current = _current, edition
    try:
        with answering(edition.answers):
            yield
    finally:
        _current = before
