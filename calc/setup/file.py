"""A set-up as a file: JSON of a documented, versioned form, and the JSON Schema that is made from the declaration."""

from __future__ import annotations

import json
import re

from calc.fields import UNKNOWN, Choice, Field
from calc.setup.model import LONGEST_NAME, LONGEST_TEXT, MODEL, Model, SetUp, SetUpError, give_out, take_in
from calc.setup.parts import Part

FORMAT = "second-battery-set-up"
VERSION = 1
LARGEST = 64_000
"""Characters of a file that are read; a usual set-up has 1 500, and none that the model allows has more."""


DEEPEST = 3
"""Brackets that stand within each other in a set-up. Thousands would end the phone's Python, not only the reading."""

STRING = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"')


def to_file(set_up: SetUp) -> str:
    """Return a set-up as the text of a file."""
    return json.dumps({"format": FORMAT, "version": VERSION, **give_out(set_up)}, ensure_ascii=False, indent=1) + "\n"


def from_file(text: str, model: Model = MODEL) -> SetUp:
    """Return the set-up that a file holds.

    Raises
    ------
    SetUpError
        with a sentence, where the text is too long, is no JSON, is another format or a newer version, or holds what
        is not declared.
    """
    if len(text) > LARGEST:
        raise SetUpError("This file is far too large for a set-up.")
    data = read_json(text.removeprefix("\ufeff"), "This file is damaged, or is not a set-up: it is not JSON.")
    if not isinstance(data, dict) or data.pop("format", None) != FORMAT:
        raise SetUpError(f"This file is not a set-up: it does not say “format”: “{FORMAT}”.")
    check_version(data.pop("version", None))
    return take_in(data, model)


def read_json(text: str, damaged: str) -> object:
    """Return what a JSON text holds, or raise SetUpError with a sentence.

    A key that stands twice is damage, and so is a text nested deeper than any set-up.
    """

    def once(pairs: list[tuple[str, object]]) -> dict:
        found = dict(pairs)
        if len(found) != len(pairs):
            raise ValueError
        return found

    try:
        if depth(text) > DEEPEST:
            raise ValueError
        return json.loads(text, object_pairs_hook=once)
    except ValueError:
        raise SetUpError(damaged) from None


def depth(text: str) -> int:
    """Return how many brackets stand within each other in a JSON text."""
    deepest = now = 0
    for bracket in re.findall(r"[\[\]{}]", STRING.sub("", text)):
        now += 1 if bracket in "[{" else -1
        deepest = max(deepest, now)
    return deepest


def check_version(version: object) -> None:
    """Raise SetUpError unless this edition can read that version."""
    number = version if isinstance(version, int) and not isinstance(version, bool) else 0
    if number == VERSION:
        return
    if number > VERSION:
        raise SetUpError(
            "This set-up was made with a newer edition of the book. Fetch the newer edition, then open it."
        )
    raise SetUpError("This set-up does not say which version it is, or says one that never was.")


def schema(model: Model = MODEL) -> dict:
    """Return the JSON Schema (draft 2020-12) of the file form."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A set-up of a second battery",
        "description": "Every entry is text as it is typed, with its unit; “?” or leaving it out means: not known.",
        "type": "object",
        "required": ["format", "version"],
        "additionalProperties": False,
        "properties": {
            "format": {"const": FORMAT},
            "version": {"type": "integer", "const": VERSION},
            "name": {"type": "string", "maxLength": LONGEST_NAME},
            **{part.key: part_schema(part) for part in model.parts},
        },
    }


def part_schema(part: Part) -> dict:
    """Return the schema of a part: an object, or a list of them where a vehicle may have several."""
    one = {
        "type": "object",
        "title": part.title,
        "description": part.about,
        "additionalProperties": False,
        "properties": {each.name: field_schema(each) for each in part.fields},
    }
    return one if part.many == 1 else {"type": "array", "maxItems": part.many, "items": one}


def field_schema(each: Field) -> dict:
    """Return the schema of a field's entry: always text, so that nothing typed is lost."""
    words = {"title": each.label, "description": f"{each.help}. Takes {each.takes}."}
    examples = [key for key, _ in each.options] if isinstance(each, Choice) else [each.example]
    return {"type": "string", "maxLength": LONGEST_TEXT, **words, "examples": [*examples, UNKNOWN]}
