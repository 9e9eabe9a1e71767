"""Answers that guides and their pictures quote: each asked of `calc` once, however often it is quoted."""

from __future__ import annotations

import calc
from calc import edition
from calc.setup.model import SetUp
from calc.setup.usual import usual_set_up

Question = tuple[str, tuple[tuple[str, str], ...]]
"""A check's id, and its inputs by name, sorted."""

_known: dict[tuple[edition.Edition, Question], calc.Answer] = {}


def answer(check_id: str, inputs: tuple[tuple[str, str], ...]) -> calc.Answer:
    """Return a check's answer; an input named as a place of a set-up, "load.battery", changes the usual vehicle."""
    place = edition.current(), (check_id, inputs)
    if place not in _known:
        fields = {name: text for name, text in inputs if "." not in name}
        places = {name: text for name, text in inputs if "." in name}
        _known[place] = calc.run(check_id, fields, changed(places) if places else None)
    return _known[place]


def know(question: Question, found: calc.Answer) -> None:
    """Take an answer that another process worked out for the same edition."""
    _known[edition.current(), question] = found


def changed(places: dict[str, str]) -> SetUp:
    """Return the usual vehicle with some places changed, in all of that part (all loads); a part it lacks is added."""
    parts = {key: [dict(one) for one in several] for key, several in usual_set_up().entries.items()}
    for place, text in places.items():
        part, _, name = place.partition(".")
        for one in parts.setdefault(part, [{}]):
            one[name] = text
    return SetUp("", parts)


def question(check_id: str, **inputs: str) -> Question:
    """Return a question with its inputs by name, in any order."""
    return check_id, tuple(sorted(inputs.items()))


def asked(check_id: str, **inputs: str) -> calc.Answer:
    """Return the answer to a question with its inputs by name, in any order."""
    return answer(*question(check_id, **inputs))
