"""What the pages of set-ups ask the engine for: a look at one, its code, a comparison, what a check took from it."""

from __future__ import annotations

import io
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace

import segno

import calc
from calc import Answer, Check, units
from calc.fields import Entry, FieldError, is_blank
from calc.setup import consistency, file, link, starts
from calc.setup.model import Known, SetUp, SetUpError
from calc.setup.telling import telling
from site_src.drawing import drawing
from site_src.templating import LEVEL_WORDS, rendered

CODE_SCALE = 4
"""Size of a module of the square code, in the units of its own picture."""


def name_of(set_up: SetUp) -> str:
    """Return a set-up's name, or words for one that has none."""
    return set_up.name or "A vehicle with no name"


def rows(set_up: SetUp) -> list[dict]:
    """Return what is known part by part, for the summary."""
    found = []
    for part in set_up.model.parts:
        for number in range(set_up.count(part.key)):
            known = [
                set_up.known(part.key, number, f.name) for f in part.fields if set_up.asked(part.key, number, f.name)
            ]
            which = f" {number + 1}" if part.many > 1 and set_up.count(part.key) > 1 else ""
            lines = [(part.field(k.place[2]).label, k.entry.text, k.assumed) for k in known]
            found.append({"key": part.key, "number": number, "title": part.title + which, "lines": lines})
    return found


def place_key(place: tuple[str, int, str]) -> str:
    """Return a place as controls and errors name it: "load.1.current"."""
    return ".".join(map(str, place))


def shown(set_up: SetUp) -> dict:
    """Return everything that a look at a set-up shows."""
    return {
        "name": name_of(set_up),
        "set_up": file.to_file(set_up),
        "link": link.to_link(set_up),
        "drawing": drawing(set_up),
        "notes": rendered("set_up_notes.html", notes=consistency.notes(set_up)),
        "summary": rendered("set_up_summary.html", rows=rows(set_up)),
        "missing": rendered("set_up_missing.html", unknown=set_up.missing()),
        "errors": {place_key(p.place): p.sentence for p in set_up.problems()},
    }


def look(asked: dict) -> dict:
    """Look at a set-up that is given as its file's text."""
    return shown(file.from_file(str(asked["set_up"])))


def open_(asked: dict) -> dict:
    """Look at a set-up that came by link."""
    return shown(link.from_link(str(asked["link"])))


def compare(asked: dict) -> dict:
    """Return where several set-ups differ, as a table."""
    set_ups = [file.from_file(str(text)) for text in asked["set_ups"]]
    places = dict.fromkeys(place for s in set_ups for place in s.places())
    lines = []
    for place in places:
        known = [s.known(*place) if place in set(s.places()) else None for s in set_ups]
        texts = [said(k) for k in known]
        if len(set(texts)) > 1:
            label = next(k.label for k in known if k)
            lines.append((label, texts))
    return {"table": rendered("set_up_compare.html", names=[name_of(s) for s in set_ups], lines=lines)}


def said(known: Known | None) -> str:
    """Return what a set-up says at a place, in a table's cell."""
    if known is None:
        return "none"
    return f"{known.entry.text} (assumed)" if known.assumed else known.entry.text


def card(asked: dict) -> dict:
    """Return the camp card of a set-up in plain words, as the phone keeps it."""
    set_up = file.from_file(str(asked["set_up"]))
    check = next(check for check in calc.checks().values() if check.keeps)
    found = calc.run(check.id, {}, set_up)
    return {
        "card": {
            "name": name_of(set_up),
            "about": found.about,
            "says": [f"{LEVEL_WORDS[v.level]}: {v.text} {v.because}" for v in found.verdicts],
            "sheets": [
                {"title": s.title, "note": s.note, "headings": s.headings, "rows": s.rows} for s in found.sheets
            ],
            "cautions": found.cautions,
        }
    }


def write(asked: dict) -> dict:
    """Write an answer into a set-up: one value, or the run of a design."""
    set_up = file.from_file(str(asked["set_up"]))
    if "design" in asked:
        return {"set_up": file.to_file(starts.with_run(set_up, file.from_file(str(asked["design"]))))}
    part, name, text = (str(asked[key]) for key in ("part", "field", "text"))
    return {"set_up": file.to_file(starts.written(set_up, part, name, text))}


def code(asked: dict) -> dict:
    """Return an address as a square code, a picture that another phone's camera reads."""
    picture = io.BytesIO()
    try:
        made = segno.make(str(asked["address"]), error="l", micro=False)
    except segno.DataOverflowError:
        raise SetUpError("This set-up says more than one square code can hold. Send the link or the file.") from None
    made.save(
        picture, kind="svg", xmldecl=False, nl=False, scale=CODE_SCALE, light="#fff", svgclass="code", omitsize=True
    )
    return {"code": picture.getvalue().decode()}


def taken(entries: Mapping[str, Entry], set_up: SetUp) -> dict:
    """Return what each field took from a set-up: as it would be typed, and the note beside the field."""

    def note(entry: Entry) -> str:
        return f"{'Assumed, not in the set-up' if entry.start.assumed else f'From {name_of(set_up)}'}: {entry.text}"

    started = {key: entry for key, entry in entries.items() if entry.start}
    return {key: {"text": entry.start.text, "note": note(entry)} for key, entry in started.items()}


def of_form(check: Check, inputs: dict, set_up: SetUp) -> dict:
    """Return what the fields of a form took from a set-up while others still keep it from being answered."""
    entries = {}
    for field in check.fields:
        if is_blank(inputs.get(field.name)) and (start := check.start(field.name, set_up)):
            with suppress(FieldError):
                entries[field.name] = replace(field.read(start.text, entries), start=start)
    return taken(entries, set_up)


def of_answer(check: Check, inputs: dict, set_up: SetUp, found: Answer) -> dict:
    """Return what an answer took from a set-up, what is assumed in it, and what of it can be written back."""
    name = name_of(set_up)
    gives = []
    for key, (part, field) in check.gives.items():
        value = found.values.get(key)
        if value and value.value is not None:
            text = typed(value.value, value.unit, value.text)
            place = set_up.label((part, 0, field))
            gives.append(
                {"part": part, "field": field, "text": text, "words": f"Put {value.text} into {name} ({place})"}
            )
    if check.gives_run and found.design:
        gives.append({"design": file.to_file(found.design), "words": f"Put this run into {name}"})
    return {
        **({"link": link.to_link(set_up), "name": name} if check.whole else {}),
        "starts": taken(found.inputs, set_up),
        "gives": gives,
        "missing": rendered("missing_of_answer.html", unknown=telling(check, inputs, set_up, found)),
    }


def typed(value: float, unit: str, text: str) -> str:
    """Return a value as it is typed into a field: a size by its name, a number with its unit."""
    return units.tidy(text) if unit == "mm2" else f"{value:g} {unit}"
