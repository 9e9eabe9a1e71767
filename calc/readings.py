"""Meter readings on one line that a person can read and type: `second rested 11.9 V; starter running 14.2 V`.

A reading names its place, the state of the vehicle, and what the meter showed; “?” in place of a number says that it is
out of reach. A place or a state alone with “?” puts all its readings out of reach: `cranking ?`. Common other words are
taken; `Readings.plain` is the one spelling that links and forms carry.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from calc import units
from calc.fields import UNKNOWN, Entry, Field, FieldError
from calc.glossary import quantity
from calc.physics.faults import AMPERES, PROBES, STATES
from calc.tables import table

MOST_READINGS = 60
LONGEST_TEXT = 60 * MOST_READINGS
"""Characters that are read of all readings; one has about 25."""

EXAMPLE = "second rested 11.9 V; starter running 14.2 V; link-in running ?"
OTHER_STATES = {
    "rest": "rested", "at-rest": "rested", "resting": "rested", "idle": "running", "engine-on": "running",
    "loaded": "load-on", "on-load": "load-on", "running-load-on": "running-load", "running-loaded": "running-load",
    "headlamps": "lights", "lamps": "lights", "running-lights": "lights", "crank": "cranking", "starting": "cranking",
}  # fmt: skip
OTHER_PLACES = {
    "second-battery": "second", "starter-battery": "starter", "link-input": "link-in", "link-output": "link-out",
    "drain": "second-drain", "earth": "second-earth", "ground": "second-earth",
}  # fmt: skip
PIECE = re.compile(r"([A-Za-z][A-Za-z \-+]*?)[ :=]*(\?|[+-]?[.,]?\d.*)")
MOST_AMPERES = 200.0
"""Most that a clamp meter is believed to show at rest [A]."""


def there_is(place: str, state: str) -> bool:
    """Return whether a place can be read in a state."""
    return state in table("fault_readings").row(key=place)["states"].split()


@dataclass(frozen=True)
class Reading:
    """One reading.

    Attributes
    ----------
    place, state : keys of `calc.physics.faults`
    value : what the meter showed; None where it is out of reach [V], [A]
    """

    place: str
    state: str
    value: float | None

    @property
    def key(self) -> tuple[str, str]:
        """Place and state."""
        return self.place, self.state

    @property
    def unit(self) -> str:
        """What it is read in."""
        return "A" if self.place in AMPERES else "V"

    @property
    def plain(self) -> str:
        """The reading as it is typed."""
        shown = UNKNOWN if self.value is None else f"{self.value:.6g} {self.unit}"
        return f"{self.place} {self.state} {shown}"


@dataclass(frozen=True)
class Readings:
    """All readings, in the order they were given."""

    all: tuple[Reading, ...]

    @cached_property
    def plain(self) -> str:
        """The readings as they are typed."""
        return "; ".join(reading.plain for reading in self.all)

    @property
    def taken(self) -> tuple[Reading, ...]:
        """Those with a number."""
        return tuple(reading for reading in self.all if reading.value is not None)

    @property
    def skipped(self) -> tuple[Reading, ...]:
        """Those out of reach."""
        return tuple(reading for reading in self.all if reading.value is None)


@dataclass(frozen=True)
class ReadingsField(Field):
    """What a meter showed, reading by reading."""

    most = MOST_READINGS
    longest = LONGEST_TEXT

    @property
    def essential(self) -> bool:
        """Readings are what is asked for, though the first question needs none."""
        return True

    @property
    def takes(self) -> str:
        """How readings are written."""
        return f"readings such as {EXAMPLE}; up to {MOST_READINGS}"

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        if len(text) > LONGEST_TEXT:
            raise self.error(f"“{units.shorten(text)}” is too long to read")
        pieces = [piece.strip() for piece in text.split(";") if piece.strip()]
        if not 0 < len(pieces) <= MOST_READINGS:
            raise self.error(f"it takes from 1 to {MOST_READINGS} readings")
        found: dict[tuple[str, str], Reading] = {}
        for piece in pieces:
            for reading in self.reading(piece):
                if reading.key in found and reading.value is not None and found[reading.key].value is not None:
                    raise self.error(f"“{reading.place} {reading.state}” is given twice")
                if reading.key not in found or reading.value is not None:
                    found[reading.key] = reading
        readings = Readings(tuple(found.values()))
        return Entry(readings, "-", given, readings.plain.replace(" V", "\u00a0V").replace(" A", "\u00a0A"))

    def error(self, said: str) -> FieldError:
        """Return the error that says what was wrong, with an example."""
        return FieldError(f"{self.label}: {said}. For example {EXAMPLE}.")

    def reading(self, piece: str) -> list[Reading]:
        """Return the reading that a piece of the text means; several where a place or a state is out of reach."""
        match = PIECE.fullmatch(piece)
        if not match:
            raise self.error(f"“{units.shorten(piece)}” needs a place, a state and a number or “?”")
        words, shown = match.groups()
        place, state = self.named(words, piece)
        if shown != UNKNOWN:
            return [Reading(place, state, self.amount(shown, place, piece))]
        places = [place] if place else list(PROBES)
        states = [state] if state else list(STATES)
        return [Reading(p, s, None) for p in places for s in states if there_is(p, s)]

    def named(self, words: str, piece: str) -> tuple[str, str]:
        """Return place and state that some words name; one of them is "" where all of it is out of reach."""
        parts = re.split(r"[ \-]+", words.lower().strip(" -"))
        for n in range(len(parts) + 1):
            place, state = "-".join(parts[:n]), "-".join(parts[n:])
            place, state = OTHER_PLACES.get(place, place), OTHER_STATES.get(state, state)
            if (place in PROBES or not place) and (state in STATES or not state):
                if place and state and not there_is(place, state):
                    can = table("fault_readings").row(key=place)["states"].replace(" ", ", ")
                    raise self.error(f"{place} is not read {state}, but {can}")
                if piece.endswith(UNKNOWN) or place and state:
                    return place, state
        if any("-".join(parts[:n]) in PROBES for n in range(len(parts) + 1)):
            raise self.error(f"“{units.shorten(piece)}” needs a state: one of {', '.join(STATES)}")
        raise self.error(f"“{units.shorten(piece)}” names no place; the places are {', '.join(PROBES)}")

    def amount(self, shown: str, place: str, piece: str) -> float:
        """Return the number that a meter showed, in the unit of its place."""
        unit = "A" if place in AMPERES else "V"
        try:
            number, given = units.parse_number(shown)
            value = units.convert(number, given or unit, unit)
        except units.UnitsError as problem:
            raise self.error(f"in “{units.shorten(piece)}” {problem}; it is read in {unit}") from None
        most = quantity("voltage").high if unit == "V" else MOST_AMPERES
        if not -most <= value <= most:
            raise self.error(
                f"“{units.shorten(piece)}” is beyond {units.show(most, unit)} and cannot be; is the meter on another "
                "range, such as mV"
            )
        return value
