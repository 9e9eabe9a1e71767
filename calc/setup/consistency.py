"""What cannot be together in a set-up, said in a sentence with both places named. Nothing is refused, nothing changed.

A rule looks only at what was given: two usual values never quarrel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from calc import units
from calc.physics import cable
from calc.setup.model import Known, SetUp
from calc.shared_fields import LEAD_ACID
from calc.units import show

Place = tuple[str, int, str]
JOINING = ("wire", "switch", "relay", "charger")
STRAIGHT = ("wire", "switch", "relay")
"""What passes the starter battery's voltage on as it is."""

LEGAL_FUSE = 1.5
"""A fuse may be at most this many times its cable's allowed current. 33 CFR 183.455."""

LITHIUM_TOO_HOT = 45.0
"""Above this LFP is not charged [degC]. Cell and pack specifications."""

TWENTY_FOUR = 20.0
"""A voltage from here on belongs to a 24 V vehicle [V]."""


@dataclass(frozen=True)
class Note:
    """What cannot be, or is unlikely to be, together: the sentence and the places it is about."""

    text: str
    places: tuple[Place, ...]


def notes(s: SetUp) -> list[Note]:
    """Return everything in a set-up that does not go together."""
    return [note for rule in RULES for note in rule(s)]


def given(s: SetUp, part: str, number: int, *names: str) -> list[Known] | None:
    """Return what is known at some places of one part, or None if one of them was not given or has no meaning."""
    found = [s.known(part, number, name) for name in names if s.asked(part, number, name)]
    return found if len(found) == len(names) and not any(known.assumed for known in found) else None


def numbers(s: SetUp, part: str) -> range:
    """Return the numbers of the parts of one kind."""
    return range(s.count(part))


def links(s: SetUp) -> Iterator[tuple[int, Known]]:
    """Yield each link that was said to join the batteries, with its number and kind."""
    for n in numbers(s, "link"):
        known = s.known("link", n, "kind")
        if not known.assumed and known.entry.value in JOINING:
            yield n, known


def two_links(s: SetUp) -> Iterator[Note]:
    """Two links side by side."""
    joined = list(links(s))
    for (_, one), (_, other) in zip(joined, joined[1:], strict=False):
        yield Note(
            f"{one.label} ({one.entry.text}) and {other.label} ({other.entry.text}) join the same two batteries side "
            "by side: current can go in a circle through both, and neither does its work. Keep one.",
            (one.place, other.place),
        )


def allowed(s: SetUp, n: int) -> float | None:
    """Return what the cable of a run may carry [A], or None if its size was not given."""
    if s.known("run", n, "size").assumed:
        return None
    size = s.known("run", n, "size").entry.value
    insulation = s.known("run", n, "insulation").entry.value
    bay = s.known("run", n, "zone").entry.value == "engine_bay"
    ambient = s.known("vehicle", 0, "engine_bay_heat" if bay else "ambient").entry.value
    return cable.allowable_current(size.copper, insulation, ambient, bay)


def fuse_above_cable(s: SetUp) -> Iterator[Note]:
    """A fuse that lets its cable burn."""
    for n in numbers(s, "run"):
        both = given(s, "run", n, "fuse", "size")
        may = allowed(s, n)
        if both and may is not None and both[0].entry.value > LEGAL_FUSE * may:
            fuse, size = both
            yield Note(
                f"{fuse.label} ({fuse.entry.text}) is too large for {size.label} ({size.entry.text}): that cable may "
                f"carry {show(may, 'A')} there, and a fuse may be at most one and a half times that (33 CFR 183.455).",
                (fuse.place, size.place),
            )


def cable_below_link(s: SetUp) -> Iterator[Note]:
    """A cable thinner than what its link can draw."""
    for m, kind in links(s):
        rating = given(s, "link", m, "rating")
        if not rating or kind.entry.value != "charger":
            continue
        for n in numbers(s, "run"):
            may = allowed(s, n)
            if may is not None and rating[0].entry.value > may:
                size = s.known("run", n, "size")
                yield Note(
                    f"{rating[0].label} ({rating[0].entry.text}) is more than {size.label} ({size.entry.text}) may "
                    f"carry there, {show(may, 'A')}.",
                    (rating[0].place, size.place),
                )


def fuse_below_link(s: SetUp) -> Iterator[Note]:
    """A fuse smaller than what its charger delivers."""
    for m, kind in links(s):
        rating = given(s, "link", m, "rating")
        for n in numbers(s, "run"):
            fuse = given(s, "run", n, "fuse")
            if kind.entry.value == "charger" and rating and fuse and 0 < fuse[0].entry.value < rating[0].entry.value:
                yield Note(
                    f"{fuse[0].label} ({fuse[0].entry.text}) is smaller than {rating[0].label} "
                    f"({rating[0].entry.text}): it will blow as the charger works.",
                    (fuse[0].place, rating[0].place),
                )


def profile_and_battery(s: SetUp) -> Iterator[Note]:
    """A charger set for another battery than the one it charges."""
    sources = [("link", n) for n, kind in links(s) if kind.entry.value == "charger"] + [("mains", 0)]
    for part, n in sources:
        profile = given(s, part, n, "profile")
        for m in numbers(s, "second"):
            chemistry = given(s, "second", m, "chemistry")
            if profile and chemistry and profile[0].entry.value != chemistry[0].entry.value:
                one, other = profile[0], chemistry[0]
                yield Note(
                    f"{one.label} says {one.entry.text}, and {other.label} says {other.entry.text}. Set the charger "
                    "for the battery it charges: the wrong voltages leave it empty or spoil it.",
                    (one.place, other.place),
                )


def lithium_straight(s: SetUp) -> Iterator[Note]:
    """A lithium battery that gets a lead-acid battery's voltage as it is."""
    for _, kind in links(s):
        for m in numbers(s, "second"):
            chemistry = given(s, "second", m, "chemistry")
            starter = s.known("starter", 0, "chemistry")
            if (
                chemistry
                and kind.entry.value in STRAIGHT
                and chemistry[0].entry.value == "lfp"
                and starter.entry.value in LEAD_ACID
            ):
                yield Note(
                    f"{kind.label} ({kind.entry.text}) and {chemistry[0].label} ({chemistry[0].entry.text}): a lithium "
                    "battery takes all the alternator gives and rests above a lead-acid one, so a straight link can "
                    "overheat the alternator and may never open. Its makers ask for a DC-DC charger.",
                    (kind.place, chemistry[0].place),
                )


def relay_points(s: SetUp) -> Iterator[Note]:
    """A relay that would connect below where it disconnects."""
    for n, _ in links(s):
        both = given(s, "link", n, "connects_at", "disconnects_at")
        if both and both[0].entry.value <= both[1].entry.value:
            on, off = both
            yield Note(
                f"{on.label} ({on.entry.text}) is not above {off.label} ({off.entry.text}): the relay would chatter.",
                (on.place, off.place),
            )


def smart_alternator(s: SetUp) -> Iterator[Note]:
    """A smart alternator with a link that needs a steady voltage, or cannot tell that the engine runs."""
    kind = s.known("alternator", 0, "kind")
    if kind.assumed or kind.entry.value != "smart":
        return
    for n, link in links(s):
        if link.entry.value == "relay":
            yield Note(
                f"{kind.label} ({kind.entry.text}) and {link.label} ({link.entry.text}): the alternator may hold "
                "less than the relay needs, so the relay opens while you drive and the second battery is not charged.",
                (kind.place, link.place),
            )
        sense = given(s, "link", n, "ignition_sense")
        if sense and sense[0].entry.value == "no":
            yield Note(
                f"{kind.label} ({kind.entry.text}) and {sense[0].label} ({sense[0].entry.text}): without that wire the "
                "charger takes the low voltage for a stopped engine and pauses.",
                (kind.place, sense[0].place),
            )


def alternator_outputs(s: SetUp) -> Iterator[Note]:
    """More output at idle than at full speed."""
    both = given(s, "alternator", 0, "idle_output", "rated_output")
    if both and both[0].entry.value > both[1].entry.value:
        yield Note(
            f"{both[0].label} ({both[0].entry.text}) is more than {both[1].label} ({both[1].entry.text}).",
            tuple(known.place for known in both),
        )


def charger_input(s: SetUp) -> Iterator[Note]:
    """A charger that would give out more than it takes in."""
    for n, _ in links(s):
        both = given(s, "link", n, "input_limit", "rating")
        if both and both[0].entry.value < 0.8 * both[1].entry.value:
            limit, rating = both
            yield Note(
                f"{limit.label} ({limit.entry.text}) is well below {rating.label} ({rating.entry.text}): a charger "
                "draws at least about what it delivers.",
                (limit.place, rating.place),
            )


def lithium_in_heat(s: SetUp) -> Iterator[Note]:
    """A lithium battery where it gets too hot to be charged."""
    for m in numbers(s, "second"):
        chemistry = given(s, "second", m, "chemistry")
        if not chemistry or chemistry[0].entry.value != "lfp":
            continue
        place, heat = given(s, "second", m, "place"), given(s, "second", m, "heat")
        hot = heat if heat and heat[0].entry.value > LITHIUM_TOO_HOT else None
        hot = place if place and place[0].entry.value == "engine_bay" else hot
        if hot:
            yield Note(
                f"{chemistry[0].label} ({chemistry[0].entry.text}) and {hot[0].label} ({hot[0].entry.text}): lithium "
                f"is not charged above {show(LITHIUM_TOO_HOT, 'degC')}.",
                (chemistry[0].place, hot[0].place),
            )


def sun_and_charger(s: SetUp) -> Iterator[Note]:
    """More panel than the charger's solar input takes."""
    panels = [known[0] for n in numbers(s, "sun") if (known := given(s, "sun", n, "power"))]
    for n, _ in links(s):
        limit = given(s, "link", n, "solar_input")
        if limit and panels and sum(p.entry.value for p in panels) > limit[0].entry.value > 0:
            yield Note(
                f"{panels[0].label} ({show(sum(p.entry.value for p in panels), 'W')} in all) is more than "
                f"{limit[0].label} takes ({limit[0].entry.text}).",
                (panels[0].place, limit[0].place),
            )


def twenty_four(s: SetUp) -> Iterator[Note]:
    """A voltage of a 24 V vehicle."""
    for problem in s.problems():
        part, number, name = problem.place
        this = s.model.part(part).field(name)
        if getattr(this, "unit", "") != "V":
            continue
        try:
            amount, unit = units.parse_number(s.typed(part, number, name))
            volts = units.convert(amount, unit or "V", "V")
        except units.UnitsError:
            continue
        if volts >= TWENTY_FOUR:
            chemistry = ("second", 0, "chemistry")
            yield Note(
                f"{s.label(problem.place)} ({show(volts, 'V')}) is of a 24 V vehicle, and "
                f"{s.model.part('second').title.lower()} and all the rest of this book is for 12 V.",
                (problem.place, chemistry),
            )


RULES: tuple[Callable[[SetUp], Iterator[Note]], ...] = (
    two_links,
    fuse_above_cable,
    cable_below_link,
    fuse_below_link,
    profile_and_battery,
    lithium_straight,
    relay_points,
    smart_alternator,
    alternator_outputs,
    charger_input,
    lithium_in_heat,
    sun_and_charger,
    twenty_four,
)
"""Every rule there is."""
