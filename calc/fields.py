"""Fields: one declaration of an input, from which every form, help text, check and link is made.

A field takes text (or a number) and gives back an `Entry`: the value in the field's own unit, the text as it was
given, and the words a reader sees. What cannot be used raises `FieldError` with one sentence: what was wrong, what
is allowed, an example.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from calc import edition, units
from calc.glossary import Quantity, quantity
from calc.physics import cable_sizes

UNKNOWN = "?"
"""An entry that says: I do not know. It means the same as a blank one."""


class FieldError(ValueError):
    """One field's entry cannot be used; its text is the sentence that stands beside the field."""


def is_blank(given: object) -> bool:
    """Return whether an entry says nothing: left out, empty, or “?”."""
    return given is None or units.tidy(given) in ("", UNKNOWN)


@dataclass(frozen=True)
class Usual:
    """What an unknown stands for.

    Attributes
    ----------
    text : the usual value, as it is typed
    low, high : the spread to expect, as typed; "" for a choice
    source : as a reader sees it
    words : why this is usual
    find : how to find the true one out
    """

    text: str
    low: str
    high: str
    source: str
    words: str
    find: str


@dataclass(frozen=True)
class Start:
    """What a field starts from.

    Attributes
    ----------
    text : as it would be typed into the field
    places : where in the set-up it comes from
    label : the same for a reader
    usual : what it rests on where that is assumed; None where all of it was given
    """

    text: str
    places: tuple[tuple[str, int, str], ...]
    label: str
    usual: Usual | None

    @property
    def assumed(self) -> bool:
        """Whether something it rests on was not given."""
        return self.usual is not None


@dataclass(frozen=True)
class Entry:
    """What a field made of an entry.

    Attributes
    ----------
    value : number, key of a choice, or an object such as a cable size, which says what is `plain` in it; None where
        nothing is known
    unit : unit of the value, "-" for none
    given : the text as it was given, its spaces tidied; None where the field's default or a set-up stands in
    text : the value as a reader sees it
    start : what of a set-up it comes from; None where it does not
    """

    value: Any
    unit: str
    given: str | None
    text: str
    start: Start | None = None

    def number(self) -> float | str | None:
        """Return the value as JSON carries it: a number, a key, or None."""
        return self.value if isinstance(self.value, (int, float, str)) else getattr(self.value, "plain", None)


@dataclass(frozen=True)
class Field:
    """What every kind of field declares.

    Attributes
    ----------
    name : key in links, on the command line and in forms
    label : what a reader calls it, sentence case
    help : one short sentence on how to find or choose it
    default : the text that stands in when nothing is given; None where the field must be filled; "" where
        it may stay unknown
    example : an entry that works, quoted in sentences
    unknown : what leaving it blank means, where the default is ""
    """

    name: str
    label: str
    help: str
    default: str | None
    example: str
    unknown: str = field(default="not known", kw_only=True)

    @property
    def required(self) -> bool:
        """Whether the reader has to fill it."""
        return self.default is None

    @property
    def essential(self) -> bool:
        """Whether the reader has to look at it."""
        return self.required

    def read(self, given: object, before: Mapping[str, Entry]) -> Entry:
        """Return what an entry means; a missing or empty one means the default.

        `before` holds the entries of the fields declared before this one.
        """
        if not is_blank(given):
            text = units.tidy(given)
            return self.parse(text, text, before)
        if self.default is None:
            raise FieldError(f"Give the {self.label_in_text}, for example {self.example}.")
        if self.default == "":
            return Entry(None, "-", None, units.told(self.unknown))
        return self.parse(self.stands_in, None, before)

    @property
    def stands_in(self) -> str | None:
        """The text that stands in when nothing is given."""
        return self.default

    @property
    def blank_text(self) -> str:
        """What an entry left blank stands for, as a reader sees it; empty where it must be filled."""
        return "" if self.required else self.read(None, {}).text

    @property
    def label_in_text(self) -> str:
        """The label inside a sentence."""
        return self.label[0].lower() + self.label[1:] if self.label[1:2].islower() else self.label

    @property
    def takes(self) -> str:
        """What it takes, in a few words: limits, or the keys to choose from."""
        raise NotImplementedError

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        """Return what a text means; each kind of field has its own."""
        raise NotImplementedError


@dataclass(frozen=True)
class Number(Field):
    """A quantity with a unit.

    Attributes
    ----------
    quantity_name : its entry in the glossary, which gives unit, words and sane range
    low, high : a narrower range than the glossary's [unit]
    part_of : for a share, the field it is a share of: an entry in that field's unit is turned into a share,
        of its magnitude and never above 100 %
    part_unit : that field's unit
    """

    quantity_name: str = ""
    low: float | None = None
    high: float | None = None
    part_of: str | None = None
    part_unit: str | None = None

    @property
    def quantity(self) -> Quantity:
        """The quantity it carries."""
        return quantity(self.quantity_name)

    @property
    def unit(self) -> str:
        """The unit a bare number takes."""
        return self.quantity.unit

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest value that is allowed [unit]."""
        q = self.quantity
        return (q.low if self.low is None else self.low, q.high if self.high is None else self.high)

    @property
    def takes(self) -> str:
        """The limits as a reader sees them: "0.1 to 60 m"."""
        low, high = self.limits
        return units.span(low, high, self.unit)

    def show(self, value: float) -> str:
        """Return a value of this field in words, to the four digits that a reader may have given."""
        return units.show(value, self.unit, digits=4)

    @property
    def units(self) -> tuple[str, ...]:
        """The units it takes, the region's first; a bare number takes its own wherever it is read."""
        taken = (units.shown_in(self.unit), self.unit, *self.quantity.also)
        return tuple(dict.fromkeys((*taken, *([self.part_unit] if self.part_unit else []))))

    def magnitude(self, text: str, before: Mapping[str, Entry]) -> float:
        """Return the number that a text means, in this field's unit."""
        number, unit = units.parse_number(text)
        if self.part_of and unit and units.same_kind(unit, self.part_unit):
            whole = before[self.part_of].value if self.part_of in before else 1.0
            part = units.convert(number, unit, self.part_unit)
            return min(100 * part / abs(whole), 100.0) if whole else 0.0
        return units.convert(number, unit or self.unit, self.unit)

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        try:
            value = self.magnitude(text, before)
        except units.UnitsError as problem:
            kinds = " or ".join(units.sign(u) for u in self.units if u != "-")
            allowed = f"a number in {kinds}" if kinds else "a plain number"
            raise FieldError(f"{self.label}: {problem}. It takes {allowed}, for example {self.example}.") from None
        low, high = self.limits
        if not self.within(value):
            raise FieldError(
                f"{self.label} must be between {units.span(low, high, self.unit, between='and')}; "
                f"you gave {units.shorten(text)}. For example {self.example}."
            )
        value = min(max(value, low), high)
        return Entry(value, self.unit, given, self.show(value))

    def within(self, value: float) -> bool:
        """Whether a value is within the limits, or no further beyond them than the limits as a reader sees them.

        Those are rounded, and in the region's unit: "164 ft" for 50 m is 49.99 m, and 140 °F may come out as
        60.00000000000001 °C.
        """
        low, high = self.limits
        if low <= value <= high:
            return True
        seen = units.shown_in(self.unit)
        least, most = (units.parse_number(units.show(limit, self.unit))[0] for limit in (low, high))
        slack = 1e-12 * max(abs(least), abs(most))
        return least - slack <= units.convert(value, self.unit, seen) <= most + slack


@dataclass(frozen=True)
class Choice(Field):
    """One of a few answers.

    Attributes
    ----------
    options : pairs of key and label, in the order they are offered
    also : other spellings of a key
    """

    options: tuple[tuple[str, str], ...] = ()
    also: tuple[tuple[str, str], ...] = ()

    @property
    def takes(self) -> str:
        """The keys to choose from."""
        return ", ".join(key for key, _ in self.options)

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        wanted = text.lower()
        wanted = dict(self.also).get(wanted, wanted)
        for key, label in self.options:
            if wanted in (key, label.lower()):
                return Entry(key, "-", given, label)
        keys = [key for key, _ in self.options]
        raise FieldError(
            f"{self.label} must be one of {', '.join(keys[:-1])} or {keys[-1]}; you gave “{units.shorten(text)}”."
        )


@dataclass(frozen=True)
class Series(Choice):
    """A series of cable sizes; where none is chosen, the one that the region's trade sells."""

    @property
    def stands_in(self) -> str:
        """The region's usual series."""
        return edition.current().region.families[0]


def yes_no(name: str, label: str, help: str, default: str = "no") -> Choice:
    """Return a field that is answered by yes or no."""
    same = (("true", "yes"), ("on", "yes"), ("1", "yes"), ("y", "yes"))
    same += (("false", "no"), ("off", "no"), ("0", "no"), ("n", "no"))
    return Choice(name, label, help, default, default, (("no", "No"), ("yes", "Yes")), same)


@dataclass(frozen=True)
class Size(Field):
    """A cable size: by copper area, by gauge, or by overall diameter, as it is written on the reel."""

    @property
    def takes(self) -> str:
        """The ways to name a size, each by an example."""
        return "a size such as 16 mm2, 6 AWG, 2 SAE or 6 mm"

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        size = cable_sizes.gauge(text) or self._by_number(text)
        return Entry(size, "mm2", given, size.text)

    def _by_number(self, text: str) -> cable_sizes.CableSize:
        try:
            number, unit = units.parse_number(text)
            if unit and units.unit_of(unit).dimensionality == units.unit_of("m").dimensionality:
                size = cable_sizes.trade_diameter(units.convert(number, unit, "mm"))
            else:
                size = cable_sizes.metric(units.convert(number, unit or "mm2", "mm2"))
        except ValueError:
            size = None
        if size is None:
            smallest, *_, largest = cable_sizes.catalogue()[cable_sizes.METRIC]
            raise FieldError(
                f"{self.label}: “{units.shorten(text)}” is not a size known here. Write the copper area "
                f"({smallest.text} to {largest.text}), a gauge such as 6 AWG or 2 SAE, or a cable sold by its "
                "overall diameter such as 6 mm."
            )
        return size


@dataclass(frozen=True)
class Text(Field):
    """A few words of the reader's own, such as a name."""

    longest: int = 40

    @property
    def takes(self) -> str:
        """How long it may be."""
        return f"up to {self.longest} characters"

    def parse(self, text: str, given: str | None, before: Mapping[str, Entry]) -> Entry:
        if len(text) > self.longest or not units.printable(text):
            raise FieldError(
                f"{self.label} takes plain text of up to {self.longest} characters, such as {self.example}."
            )
        return Entry(text, "-", given, text)
