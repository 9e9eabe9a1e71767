"""A trip as legs, on one line that a person can read and type: `drive 3 h, camp 2 d clear 8..22 degC, plugged 10 h`.

A leg says what the vehicle does and for how long; it may add the sky and the coldest and hottest air. The order of the
words is free, and common other words are taken; `Journey.plain` is the one spelling that links and forms carry.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from calc import units
from calc.fields import Entry, Field, FieldError, Number

MOST_LEGS = 60
LONGEST_TRIP = 365 * 24
"""Of all legs together [h]."""

SHORTEST_LEG = 1 / 60
"""[h]."""

LONGEST_TEXT = 60 * MOST_LEGS
"""Characters that are read of a trip; a leg with all that it may say has about 40."""

KINDS = (
    ("drive", "Drive"),
    ("stop", "Stop"),
    ("camp", "Camp"),
    ("plugged", "Plugged in"),
)
SKIES = (
    ("clear", "Clear sky"),
    ("half", "Half clouded"),
    ("overcast", "Overcast"),
)
OTHER_KINDS = (
    ("driving", "drive"),
    ("stopped", "stop"),
    ("parked", "stop"),
    ("park", "stop"),
    ("camping", "camp"),
    ("plug", "plugged"),
    ("mains", "plugged"),
    ("shore", "plugged"),
    ("hookup", "plugged"),
    ("hook-up", "plugged"),
)
OTHER_SKIES = (
    ("sun", "clear"),
    ("sunny", "clear"),
    ("mixed", "half"),
    ("partly", "half"),
    ("cloudy", "overcast"),
    ("clouds", "overcast"),
    ("grey", "overcast"),
    ("gray", "overcast"),
    ("rain", "overcast"),
)
FILLERS = ("in", "for", "and", "with", "clouded", "sky")
"""Words that say nothing here."""

LASTS = Number("lasts", "How long", "A number with min, h or d", "3 h", "3 h", "hours", SHORTEST_LEG, LONGEST_TRIP)
AIR = Number("air", "Air", "Of the air outside", "15 degC", "8 degC", "temperature", -50, 60)

NUMBER = r"([+-]?\d+(?:[.,]\d+)?)"
DEGREES = r"((?:°|º|deg|degrees)? ?[CF])"
AIR_FROM_TO = re.compile(rf"{NUMBER} ?(?:\.\.+|…|to) ?{NUMBER}(?: ?{DEGREES}\b)?", re.IGNORECASE)
AIR_ALONE = re.compile(rf"{NUMBER} ?{DEGREES}\b", re.IGNORECASE)
LENGTH = re.compile(rf"{NUMBER} ?([A-Za-z]+)")
BETWEEN = re.compile(r"[,;](?!\d)")
"""What parts two legs: a comma, unless it is a decimal one."""

AIR_BETWEEN = ".."
"""What stands between the coldest and the hottest air of a leg."""

EXAMPLE = "drive 3 h, camp 2 d clear 8..22 degC"


@dataclass(frozen=True)
class Leg:
    """A stretch of a trip.

    Attributes
    ----------
    kind : a key of KINDS
    hours : how long it lasts [h]
    sky : a key of SKIES; None where the leg does not say
    coldest, hottest : the air outside, at night and in the afternoon [degC]; None where the leg does not say
    """

    kind: str
    hours: float
    sky: str | None = None
    coldest: float | None = None
    hottest: float | None = None

    @property
    def plain(self) -> str:
        """The leg as it is typed: kind, number, unit, and what it adds."""
        return self.typed("degC")

    def typed(self, unit: str) -> str:
        """Return the same with the air in a unit of temperature."""
        said = [self.kind, lasting(self.hours)]
        if self.sky:
            said.append(self.sky)
        if self.coldest is not None:
            ends = (exact(units.convert(air, "degC", unit)) for air in (self.coldest, self.hottest))
            said.append(f"{AIR_BETWEEN.join(ends)} {unit}")
        return " ".join(said)

    @property
    def text(self) -> str:
        """The leg as a reader sees it."""
        said = [
            f"{dict(KINDS)[self.kind].lower()} {lasting(self.hours)}".replace(" d", "\u00a0d").replace(" h", "\u00a0h")
        ]
        if self.sky:
            said.append(dict(SKIES)[self.sky].lower())
        if self.coldest is not None:
            said.append(units.span(self.coldest, self.hottest, "degC"))
        return ", ".join(said)


@dataclass(frozen=True)
class Journey:
    """A whole trip."""

    legs: tuple[Leg, ...]

    @cached_property
    def plain(self) -> str:
        """The trip as it is typed."""
        return ", ".join(leg.plain for leg in self.legs)

    @property
    def typed(self) -> str:
        """The same in the region's unit, for its legs to be edited on a page."""
        return ", ".join(leg.typed(units.shown_in("degC")) for leg in self.legs)

    @property
    def text(self) -> str:
        """The trip as a reader sees it."""
        return "; ".join(leg.text for leg in self.legs)

    @property
    def hours(self) -> float:
        """How long all of it lasts [h]."""
        return sum(leg.hours for leg in self.legs)


def exact(number: float) -> str:
    """Return a number with its digits down to the ninth decimal, and no idle noughts: 3.0 → 3."""
    return f"{round(number, 9) + 0.0:.9f}".rstrip("0").rstrip(".")


def lasting(hours: float) -> str:
    """Return a time as it is typed, in days or minutes where these are whole.

    Examples
    --------
    >>> lasting(48), lasting(36), lasting(0.5), lasting(24)
    ('2 d', '36 h', '30 min', '1 d')
    """
    if hours % 24 == 0:
        return f"{exact(hours / 24)} d"
    minutes = round(60 * hours, 6)
    if hours < 1 and minutes % 1 == 0:
        return f"{exact(minutes)} min"
    return f"{exact(hours)} h"


@dataclass(frozen=True)
class Legs(Field):
    """A trip, leg by leg.

    Attributes
    ----------
    journeys : common trips to pick from, each a name and the text that stands for it
    """

    journeys: tuple[tuple[str, str], ...] = ()

    kinds = KINDS
    skies = SKIES
    most = MOST_LEGS
    longest = LONGEST_TEXT

    @property
    def essential(self) -> bool:
        """A trip is what is asked about, whether or not one stands there at first."""
        return True

    @property
    def takes(self) -> str:
        """How a trip is written."""
        return f"legs such as {self.regional(EXAMPLE)}; up to {MOST_LEGS}"

    @property
    def air_unit(self) -> str:
        """The unit that a leg's air is edited in: the region's."""
        return units.shown_in("degC")

    @property
    def air_sign(self) -> str:
        """The same as a reader sees it."""
        return units.sign(self.air_unit)

    @property
    def ready(self) -> tuple[tuple[str, str], ...]:
        """The common trips, each a name and what is typed for it."""
        return tuple((name, self.regional(text)) for name, text in self.journeys)

    @property
    def blank_plain(self) -> str:
        """What is typed for what an entry left blank stands for; empty where it must be filled."""
        return "" if self.required else self.read(None, {}).value.typed

    def regional(self, text: str) -> str:
        """Return a usual trip as it is typed in the region: its air in whole degrees there."""

        def whole(air: float | None) -> float | None:
            if air is None:
                return None
            return units.convert(round(units.convert(air, "degC", self.air_unit)), self.air_unit, "degC")

        legs = self.parse(text, text, {}).value.legs
        legs = (replace(leg, coldest=whole(leg.coldest), hottest=whole(leg.hottest)) for leg in legs)
        return Journey(tuple(legs)).typed

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        if len(text) > LONGEST_TEXT:
            raise self.error(f"“{units.shorten(text)}” is too long to read")
        pieces = [piece.strip() for piece in BETWEEN.split(text)]
        if len(pieces) > 1 and not pieces[-1]:
            pieces.pop()
        if len(pieces) > MOST_LEGS:
            raise self.error(f"a trip has at most {MOST_LEGS} legs, and this one has {len(pieces)}")
        journey = Journey(tuple(self.leg(piece, n) for n, piece in enumerate(pieces, 1)))
        if journey.hours > LONGEST_TRIP:
            raise self.error(
                f"the legs together last at most {units.show(LONGEST_TRIP / 24)} days, and these last "
                f"{units.show(journey.hours / 24)}"
            )
        return Entry(journey, "-", given, journey.text[:1].upper() + journey.text[1:])

    def error(self, said: str) -> FieldError:
        """Return the error that says what was wrong, with an example."""
        return FieldError(f"{self.label}: {said}. For example {self.regional(EXAMPLE)}.")

    def leg(self, text: str, number: int) -> Leg:
        """Return the leg that a piece of the text means."""
        name = f"leg {number}, “{units.shorten(text)}”,"
        rest, coldest, hottest = self.air(text, name)
        found = LENGTH.search(rest)
        if not found:
            raise self.error(f"{name} does not say how long it lasts, in min, h or d")
        hours = self.part(LASTS, found[0].lower(), name)
        words = (rest[: found.start()] + " " + rest[found.end() :]).lower().split()
        kind, sky = self.words(words, name)
        return Leg(kind, hours, sky, coldest, hottest)

    def air(self, text: str, name: str) -> tuple[str, float | None, float | None]:
        """Return a leg's text without the air, and the coldest and hottest air."""
        if found := AIR_FROM_TO.search(text):
            ends, unit = found.group(1, 2), found[3]
        elif found := AIR_ALONE.search(text):
            ends, unit = (found[1],), found[2]
        else:
            return text, None, None
        unit = "degF" if (unit or "c")[-1] in "fF" else "degC"
        temperatures = [self.part(AIR, f"{end} {unit}", name) for end in ends]
        return text[: found.start()] + " " + text[found.end() :], min(temperatures), max(temperatures)

    def part(self, field: Number, text: str, name: str) -> float:
        """Return the number of one part of a leg."""
        try:
            return field.read(text, {}).value
        except FieldError as problem:
            raise self.error(f"{name} is not clear: {str(problem).split('. ')[0].rstrip('.').split(';')[0]}") from None

    def words(self, words: list[str], name: str) -> tuple[str, str | None]:
        """Return a leg's kind and its sky, from its words."""
        kinds = {**{key: key for key, _ in KINDS}, **dict(OTHER_KINDS)}
        skies = {**{key: key for key, _ in SKIES}, **dict(OTHER_SKIES)}
        kind = sky = None
        for word in words:
            if word in kinds and kind is None:
                kind = kinds[word]
            elif word in skies and sky is None:
                sky = skies[word]
            elif word not in (*FILLERS, kind):
                raise self.error(f"{name} holds “{units.shorten(word)}”, which says nothing here")
        if kind is None:
            raise self.error(f"{name} must say {', '.join(key for key, _ in KINDS[:-1])} or {KINDS[-1][0]}")
        return kind, sky
