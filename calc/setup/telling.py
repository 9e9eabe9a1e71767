"""What is not known of a set-up, the most telling first: which unknown moves an answer most between its usual ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from calc.check import Answer, Check, answer
from calc.errors import InputError
from calc.fields import Choice
from calc.setup.model import Known, SetUp
from calc.setup.vehicle import ranging

NOTICEABLE = 0.01
"""A change of a value that is worth a word, as a share of the value [-]."""

VERDICT_CHANGES = 10.0
"""A verdict that turns counts for more than any change of a number [-]."""


@dataclass(frozen=True)
class Telling:
    """An unknown, and what it does to an answer.

    Attributes
    ----------
    known : the place and the usual value that stands there
    effect : what changes between its ends, in words; "" where nothing noticeable does
    weight : how much it tells; 0 for nothing
    """

    known: Known
    effect: str
    weight: float


def telling(check: Check, inputs: Mapping[str, object], set_up: SetUp, found: Answer) -> list[Telling]:
    """Return the unknowns that an answer rests on, the most telling first.

    Of a check of a whole vehicle what its range counts is among them, and none is weighed: each would be a trip or two.

    Parameters
    ----------
    check, inputs, set_up : what was asked
    found : the answer to it
    """
    places = {place for entry in found.inputs.values() if entry.start for place in entry.start.places}
    if check.whole:
        places |= {known.place for known in ranging(set_up)}
    unknowns = [known for place in sorted(places) if (known := set_up.known(*place)).assumed]
    if check.whole:
        return [Telling(known, "", 0.0) for known in unknowns]
    return sorted(
        (weigh(known, check, inputs, set_up, found) for known in unknowns), key=lambda t: (-t.weight, t.known.place)
    )


def others(known: Known, set_up: SetUp) -> list[str]:
    """Return what else might stand at a place: the ends of the usual spread, or the other choices."""
    declared = set_up.model.part(known.place[0]).field(known.place[2])
    if isinstance(declared, Choice):
        return [key for key, _ in declared.options if key != known.text]
    return [text for text in (known.usual.low, known.usual.high) if text and text != known.text]


def weigh(known: Known, check: Check, inputs: Mapping[str, object], set_up: SetUp, found: Answer) -> Telling:
    """Return what an unknown does to an answer."""
    answers = [found]
    for text in others(known, set_up):
        try:
            answers.append(answer(check, inputs, set_up.changed(known.place, text)))
        except InputError:
            continue
    turns = len({(a.verdicts[0].level, a.level) for a in answers}) > 1
    effect, weight = "", VERDICT_CHANGES if turns else 0.0
    for key, value in found.values.items():
        there = [a.values[key] for a in answers if key in a.values and a.values[key].value is not None]
        numbers = [v.value for v in there]
        scale = max((abs(n) for n in numbers), default=0)
        change = (max(numbers) - min(numbers)) / scale if scale else 0.0
        if change > NOTICEABLE:
            low, high = min(there, key=lambda v: v.value), max(there, key=lambda v: v.value)
            effect = effect or f"{value.label}: {low.text} or {high.text}"
            weight += change
    if turns:
        effect = f"{effect}; it can turn the answer" if effect else "it can turn the answer"
    return Telling(known, effect, weight)
