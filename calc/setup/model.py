"""The set-up: one description of a vehicle that every check starts from.

A set-up is kept as it was typed: text by part and field, nothing lost. What is known of it is read from that text; what
is not known stands for a usual value with a stated spread, and is marked as assumed wherever it is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from calc import units
from calc.fields import Entry, Field, FieldError, Usual, is_blank
from calc.setup.parts import PARTS, Part
from calc.sources import cite
from calc.tables import Table, table

LONGEST_TEXT = units.LONGEST_ENTRY
"""Characters that one entry may have: no field reads a longer one."""

LONGEST_NAME = 40
"""Characters that a set-up's name may have."""


class SetUpError(ValueError):
    """A set-up that cannot be taken in; its text is the sentence for the reader."""


@dataclass(frozen=True)
class Known:
    """What is known at one place of a set-up.

    Attributes
    ----------
    place : part, number and field, such as ("load", 1, "current")
    part : its part as a reader sees it
    label : the place as a reader sees it
    text : the entry that stands, typed or usual
    entry : what the field made of it
    usual : where the entry is assumed, what it stands for; None where it was given
    """

    place: tuple[str, int, str]
    part: str
    label: str
    text: str
    entry: Entry
    usual: Usual | None

    @property
    def assumed(self) -> bool:
        """Whether nobody gave it."""
        return self.usual is not None


@dataclass(frozen=True)
class Problem:
    """An entry that its field cannot read. It is kept all the same.

    Attributes
    ----------
    place : where it stands
    part : its part as a reader sees it
    sentence : what its field says
    """

    place: tuple[str, int, str]
    part: str
    sentence: str


@dataclass(frozen=True)
class Model:
    """The declaration that forms, files, links and checks are made from.

    Attributes
    ----------
    parts : what a set-up consists of
    assumptions : the table of usual values
    """

    parts: tuple[Part, ...] = PARTS
    assumptions: Table = field(default_factory=lambda: table("set_up_assumptions"))

    def part(self, key: str) -> Part:
        """Return the part of that key; KeyError lists the keys there are."""
        for part in self.parts:
            if part.key == key:
                return part
        raise KeyError(f"no part “{key}”; there are {', '.join(part.key for part in self.parts)}")

    @cached_property
    def usual(self) -> Mapping[str, Usual]:
        """The usual value of every place, by "<part>.<field>"."""
        return {
            row["key"]: Usual(
                row["value"],
                row["low"],
                row["high"],
                cite(row["source"]),
                row["words"],
                row["find"] or "",
            )
            for row in self.assumptions.rows
        }

    def fields(self) -> Iterator[tuple[Part, Field]]:
        """Yield every field with its part."""
        for part in self.parts:
            for each in part.fields:
                yield part, each


MODEL = Model()


@dataclass(frozen=True)
class SetUp:
    """One vehicle, as it was typed.

    Attributes
    ----------
    name : what its owner calls it
    entries : part key → for each of that part, field name → text
    model : the declaration it follows
    """

    name: str
    entries: Mapping[str, tuple[Mapping[str, str], ...]]
    model: Model = MODEL

    def count(self, part: str) -> int:
        """Return how many of a part there are; a part that every vehicle has once counts as one."""
        there = len(self.entries.get(part, ()))
        return max(1, there) if self.model.part(part).many == 1 else there

    def typed(self, part: str, number: int, name: str) -> str:
        """Return the text that was typed at a place, "" where none was."""
        several = self.entries.get(part, ())
        return several[number].get(name, "") if number < len(several) else ""

    def asked(self, part: str, number: int, name: str) -> bool:
        """Return whether a place has a meaning here: a relay's set points have none for a charger."""
        condition = self.model.part(part).when.get(name)
        return not condition or self.known(part, number, condition[0]).entry.value in condition[1]

    def known(self, part: str, number: int, name: str) -> Known:
        """Return what is known at a place: what was typed if its field can read it, else the usual value."""
        declared = self.model.part(part)
        this = declared.field(name)
        place = (part, number, name)
        text = self.typed(part, number, name)
        if not is_blank(text):
            try:
                return Known(place, self.which(part, number), self.label(place), text, this.read(text, {}), None)
            except FieldError:
                pass
        usual = self.model.usual[f"{part}.{name}"]
        return Known(place, self.which(part, number), self.label(place), usual.text, self.usual(part, name), usual)

    def usual(self, part: str, name: str) -> Entry:
        """Return what an unknown stands for, as its field reads it."""
        return self.model.part(part).field(name).read(self.model.usual[f"{part}.{name}"].text, {})

    def label(self, place: tuple[str, int, str]) -> str:
        """Return a place as a reader sees it: "Second battery 2, capacity"."""
        part, number, name = place
        return f"{self.which(part, number)}, {self.model.part(part).field(name).label_in_text}"

    def which(self, part: str, number: int) -> str:
        """Return a part as a reader sees it, with its number where there are several: "Second battery 2"."""
        numbered = self.model.part(part).many > 1 and self.count(part) > 1
        return self.model.part(part).title + (f" {number + 1}" if numbered else "")

    def places(self) -> Iterator[tuple[str, int, str]]:
        """Yield every place that has a meaning here."""
        for part in self.model.parts:
            for number in range(self.count(part.key)):
                for each in part.fields:
                    if self.asked(part.key, number, each.name):
                        yield part.key, number, each.name

    def changed(self, place: tuple[str, int, str], text: str) -> SetUp:
        """Return the set-up with another entry at a place, "" to remove it; a part that is not there is added.

        Raises
        ------
        SetUpError
            where no file could hold the entry: see `take_in`.
        """
        part, number, name = place
        several = [dict(one) for one in self.entries.get(part, ())]
        several += [{} for _ in range(number + 1 - len(several))]
        several[number][name] = text
        taken = take_in_part(several, self.model.part(part))
        others = {key: entries for key, entries in self.entries.items() if key != part}
        return SetUp(self.name, others | ({part: taken} if taken else {}), self.model)

    def problems(self) -> list[Problem]:
        """Return every entry that its field cannot read, with the field's sentence."""
        found = []
        for part, several in self.entries.items():
            for number, one in enumerate(several):
                for name, text in one.items():
                    try:
                        self.model.part(part).field(name).read(text, {})
                    except FieldError as problem:
                        found.append(Problem((part, number, name), self.which(part, number), str(problem)))
        return found

    def missing(self) -> list[Known]:
        """Return every place that stands for a usual value."""
        return [known for place in self.places() if (known := self.known(*place)).assumed]


def take_in(data: object, model: Model = MODEL) -> SetUp:
    """Return the set-up that a plain mapping holds: {"name": text, part: {field: text}, part: [{field: text}, …]}.

    A part that a vehicle may have several of is a list, even where there is one.

    Raises
    ------
    SetUpError
        where it is not of that form, or holds a part or a field that is not declared; what a field cannot read is no
        error here (see `SetUp.problems`).
    """
    if not isinstance(data, dict):
        raise SetUpError("This is not a set-up: it is not a list of parts with their fields.")
    name = data.get("name", "")
    if not isinstance(name, str) or len(name) > LONGEST_NAME or not units.printable(name):
        raise SetUpError(f"The set-up's name must be plain text of at most {LONGEST_NAME} characters.")
    declared = {part.key: part for part in model.parts}
    entries = {}
    for key, content in data.items():
        if key == "name":
            continue
        if key not in declared:
            raise SetUpError(f"The set-up holds a part “{units.shorten(key)}” that this edition does not know.")
        part = declared[key]
        if isinstance(content, list) != (part.many > 1):
            form = "a list, one for each" if part.many > 1 else "one group of fields"
            raise SetUpError(f"{part.title}: what stands under “{key}” must be {form}.")
        if taken := take_in_part(content if part.many > 1 else [content], part):
            entries[key] = taken
    return SetUp(name, entries, model)


def take_in_part(several: list, part: Part) -> tuple[dict[str, str], ...]:
    """Return the entries of all parts of a kind, () where nothing was entered, or raise SetUpError."""
    if len(several) > part.many:
        raise SetUpError(f"{part.title}: a set-up holds at most {part.many}, and this would be {len(several)}.")
    taken = tuple(take_in_one(one, part) for one in several)
    return taken if part.many > 1 or any(taken) else ()


def take_in_one(one: object, part: Part) -> dict[str, str]:
    """Return the entries of one part, or raise SetUpError."""
    if not isinstance(one, dict):
        raise SetUpError(f"{part.title}: this is not a group of fields with their entries.")
    known = {each.name for each in part.fields}
    for name, text in one.items():
        if name not in known:
            raise SetUpError(f"{part.title} holds “{units.shorten(name)}”, a field that this edition does not know.")
        if not isinstance(text, str) or len(text) > LONGEST_TEXT or not units.printable(text):
            place = f"{part.title}, {part.field(name).label_in_text}"
            raise SetUpError(f"{place}: an entry must be plain text of at most {LONGEST_TEXT} characters.")
    return {each.name: one[each.name] for each in part.fields if one.get(each.name)}


def give_out(set_up: SetUp) -> dict:
    """Return a set-up as the plain mapping that `take_in` reads, parts and fields in declared order."""
    given: dict = {"name": set_up.name}
    for part in set_up.model.parts:
        several = [dict(one) for one in set_up.entries.get(part.key, ())]
        if part.many > 1 and several:
            given[part.key] = several
        elif several and several[0]:
            given[part.key] = several[0]
    return given
