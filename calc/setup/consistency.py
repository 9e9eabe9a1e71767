"""What cannot be together in a set-up, said in a sentence with both places named. Nothing is refused, nothing changed.

A rule looks only at what was given: two usual values never quarrel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from calc import units
from calc.setup.model import Known, SetUp
from calc.setup.starts import air_along, allowed, load_average
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

CHARGER_LOSSES = 0.8
"""A charger whose input is below this share of its output would be a wonder [-]. Common practice, no source."""

STARTER_STANDS = 3.0
"""Days that a vehicle may stand and still start: a long weekend. Common practice, no source."""

STARTER_SHARE = 0.5
"""Share of a starter battery's capacity that may be gone when it has to start [-]. Common practice, no source."""

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


def between(one: Known, other: Known, why: str) -> Note:
    """Return a note on two places: what each says, and why they do not go together."""
    return Note(
        f"“{one.label}: {one.entry.text}” and “{other.label}: {other.entry.text}”: {why}", (one.place, other.place)
    )


def given(s: SetUp, part: str, number: int, *names: str) -> list[Known] | None:
    """Return what is known at some places of one part, or None if one of them was not given or has no meaning."""
    found = [s.known(part, number, name) for name in names if s.asked(part, number, name)]
    return found if len(found) == len(names) and not any(known.assumed for known in found) else None


def one(s: SetUp, part: str, number: int, name: str) -> Known | None:
    """Return what is known at a place, or None if it was not given or has no meaning."""
    return (given(s, part, number, name) or [None])[0]


def numbers(s: SetUp, part: str) -> range:
    """Return the numbers of the parts of one kind."""
    return range(s.count(part))


def links(s: SetUp, *kinds: str) -> Iterator[tuple[int, Known]]:
    """Yield each link that was said to be of some kinds, with its number and kind."""
    for n in numbers(s, "link"):
        known = one(s, "link", n, "kind")
        if known and known.entry.value in kinds:
            yield n, known


def two_links(s: SetUp) -> Iterator[Note]:
    """Two links side by side."""
    joined = [kind for _, kind in links(s, *JOINING)]
    for first, second in zip(joined, joined[1:], strict=False):
        yield between(
            first,
            second,
            "they join the same batteries side by side, so current can go in a circle through both, and neither does "
            "its work. Keep one.",
        )


def carries(s: SetUp, n: int) -> tuple[float, str] | None:
    """Return what the cable of a run may carry [A] and that in words, or None if its size was not given."""
    size = one(s, "run", n, "size")
    if not size:
        return None
    insulation, air, may = s.known("run", n, "insulation"), air_along(s, n), allowed(s, n)
    taken_as = f", its insulation taken as {insulation.entry.text}" if insulation.assumed else ""
    return may, f"that cable may carry {show(may, 'A')} in air of {air.entry.text}{taken_as}"


def guard(s: SetUp, n: int) -> Known | None:
    """Return the fuse that guards a piece of the run from the starter battery's side, where it was given."""
    for m in range(n, -1, -1):
        fuse = one(s, "run", m, "fuse")
        if not fuse or fuse.entry.value > 0:
            return fuse
    return None


def fuse_above_cable(s: SetUp) -> Iterator[Note]:
    """A fuse that lets its cable burn."""
    fuses = [(n, guard(s, n)) for n in numbers(s, "run")]
    fuses += [(n, one(s, "run", n, "end_fuse")) for n in numbers(s, "run")]
    for n, fuse in fuses:
        may = carries(s, n)
        if fuse and may and fuse.entry.value > LEGAL_FUSE * may[0]:
            yield between(
                fuse,
                s.known("run", n, "size"),
                f"this fuse is too large, as {may[1]}. A fuse may be at most one and a half times that (33 CFR "
                "183.455).",
            )


def no_fuse(s: SetUp) -> Iterator[Note]:
    """A cable that starts at a battery with no fuse."""
    fuse = one(s, "run", 0, "fuse")
    other = one(s, "run", 0, "size") or next((kind for _, kind in links(s, *JOINING)), None)
    if fuse and other and fuse.entry.value == 0:
        yield between(
            fuse,
            other,
            "a cable that starts at a battery with no fuse burns in a short, and the vehicle with it. Fit a fuse at "
            "the battery.",
        )


def no_end_fuse(s: SetUp) -> Iterator[Note]:
    """A cable that ends at a second battery with no fuse there."""
    last = s.count("run") - 1
    fuse = one(s, "run", last, "end_fuse") if last >= 0 else None
    kind = next((kind for _, kind in links(s, *JOINING)), None)
    if fuse and kind and fuse.entry.value == 0:
        yield between(
            fuse,
            kind,
            "the second battery feeds this cable too, and in a short it burns from that side. Fit a fuse at each "
            "battery.",
        )


def draws(s: SetUp, m: int, n: int) -> list[Known]:
    """Return what a charger draws through a piece of the run, as far as given: its input in the first, else its output.

    Where the charger stands along the run nobody asks; its input flows at least in the first piece.
    """
    found = [one(s, "link", m, "input_limit") if n == 0 else None, one(s, "link", m, "rating")]
    return [known for known in found if known]


def cable_below_link(s: SetUp) -> Iterator[Note]:
    """A cable thinner than what its charger can draw."""
    for m, _ in links(s, "charger"):
        for n in numbers(s, "run"):
            may = carries(s, n)
            for current in draws(s, m, n):
                if may and current.entry.value > may[0]:
                    yield between(current, s.known("run", n, "size"), f"{may[1]}, and the charger can draw more.")
                    break


def fuse_below_link(s: SetUp) -> Iterator[Note]:
    """A fuse smaller than what its charger draws."""
    for m, _ in links(s, "charger"):
        for n in numbers(s, "run"):
            fuse = one(s, "run", n, "fuse")
            for current in draws(s, m, n):
                if fuse and 0 < fuse.entry.value < current.entry.value:
                    yield between(fuse, current, "this fuse is too small, and will blow as the charger works.")
                    break


def fuse_above_link(s: SetUp) -> Iterator[Note]:
    """No fuse on the way that guards a relay or a switch."""
    fuses = [fuse for n in numbers(s, "run") if (fuse := one(s, "run", n, "fuse")) and fuse.entry.value > 0]
    for m, _ in links(s, "switch", "relay"):
        rating = one(s, "link", m, "rating")
        if rating and fuses:
            smallest = min(fuses, key=lambda fuse: fuse.entry.value)
            if smallest.entry.value > rating.entry.value:
                yield between(smallest, rating, "no fuse given here opens before the contacts carry too much.")


def profile_and_battery(s: SetUp) -> Iterator[Note]:
    """A charger set for another battery than the one it charges."""
    for part, n in [*(("link", n) for n, _ in links(s, "charger")), ("mains", 0)]:
        profile = one(s, part, n, "profile")
        for m in numbers(s, "second"):
            chemistry = one(s, "second", m, "chemistry")
            if profile and chemistry and profile.entry.value != chemistry.entry.value:
                yield between(
                    profile,
                    chemistry,
                    "set the charger for the battery it charges. The wrong voltages leave it empty or spoil it.",
                )


def two_types(s: SetUp) -> Iterator[Note]:
    """Second batteries of two types."""
    types = [chemistry for n in numbers(s, "second") if (chemistry := one(s, "second", n, "chemistry"))]
    for other in types[1:]:
        if other.entry.value != types[0].entry.value:
            yield between(
                types[0],
                other,
                "batteries side by side share one voltage, and these want different ones. Keep one type.",
            )


def lithium_straight(s: SetUp) -> Iterator[Note]:
    """A lithium battery that gets a lead-acid battery's voltage as it is."""
    for _, kind in links(s, *STRAIGHT):
        for m in numbers(s, "second"):
            chemistry = one(s, "second", m, "chemistry")
            starter = s.known("starter", 0, "chemistry")
            if chemistry and chemistry.entry.value == "lfp" and starter.entry.value in LEAD_ACID:
                yield between(
                    kind,
                    chemistry,
                    "a lithium battery takes all the alternator gives and rests above a lead-acid one, so a straight "
                    "link can overheat the alternator and may never open. Its makers ask for a DC-DC charger.",
                )


def relay_points(s: SetUp) -> Iterator[Note]:
    """A relay that would connect below where it disconnects, or never."""
    holds = one(s, "alternator", 0, "set_point")
    for n, _ in links(s, "relay"):
        on, off = one(s, "link", n, "connects_at"), one(s, "link", n, "disconnects_at")
        if on and off and on.entry.value <= off.entry.value:
            yield between(on, off, "the relay would chatter, as it connects no higher than it disconnects.")
        if on and holds and holds.entry.value < on.entry.value:
            yield between(holds, on, "the alternator never gets that high, so the relay never connects.")


def smart_alternator(s: SetUp) -> Iterator[Note]:
    """A smart alternator with a link that needs a steady voltage, or cannot tell that the engine runs."""
    kind = one(s, "alternator", 0, "kind")
    if not kind or kind.entry.value != "smart":
        return
    for _, link in links(s, "relay"):
        yield between(
            kind,
            link,
            "the alternator may hold less than the relay needs, so the relay opens while you drive and the second "
            "battery is not charged.",
        )
    for n, _ in links(s, "charger"):
        sense = one(s, "link", n, "ignition_sense")
        if sense and sense.entry.value == "no":
            yield between(
                kind, sense, "without that wire the charger takes the low voltage for a stopped engine and pauses."
            )


def alternator_outputs(s: SetUp) -> Iterator[Note]:
    """More output at idle than at full speed."""
    both = given(s, "alternator", 0, "idle_output", "rated_output")
    if both and both[0].entry.value > both[1].entry.value:
        yield between(*both, "an alternator gives less at idle than at speed.")


def charger_above_alternator(s: SetUp) -> Iterator[Note]:
    """A charger that draws more than the alternator makes."""
    output = one(s, "alternator", 0, "rated_output")
    for n, _ in links(s, "charger"):
        for current in draws(s, n, 0):
            if output and current.entry.value > output.entry.value:
                yield between(current, output, "the charger can draw more than the alternator makes, which overheats.")
                break


def charger_input(s: SetUp) -> Iterator[Note]:
    """A charger that would give out more than it takes in."""
    for n, _ in links(s, "charger"):
        both = given(s, "link", n, "input_limit", "rating")
        if both and both[0].entry.value < CHARGER_LOSSES * both[1].entry.value:
            yield between(*both, "a charger draws at least about what it delivers.")


def lithium_in_heat(s: SetUp) -> Iterator[Note]:
    """A lithium battery where it gets too hot to be charged."""
    for m in numbers(s, "second"):
        chemistry, place, heat = (one(s, "second", m, name) for name in ("chemistry", "place", "heat"))
        limit = show(LITHIUM_TOO_HOT, "degC")
        if not chemistry or chemistry.entry.value != "lfp":
            continue
        if place and place.entry.value == "engine_bay":
            yield between(
                chemistry, place, f"an engine bay gets hotter than {limit}, and lithium is not charged above."
            )
        elif heat and heat.entry.value > LITHIUM_TOO_HOT:
            yield between(chemistry, heat, f"lithium is not charged above {limit}.")


def flooded_inside(s: SetUp) -> Iterator[Note]:
    """A battery that gives off gas where people sleep."""
    for m in numbers(s, "second"):
        chemistry, place = one(s, "second", m, "chemistry"), one(s, "second", m, "place")
        if chemistry and place and chemistry.entry.value == "flooded" and place.entry.value == "cabin":
            yield between(
                chemistry,
                place,
                "it gives off hydrogen and acid mist while it charges. Inside, it needs a closed box with a pipe to "
                "the open air.",
            )


def starter_left_on(s: SetUp) -> Iterator[Note]:
    """A load that empties the starter battery while the vehicle stands."""
    capacity = one(s, "starter", 0, "capacity")
    for n in numbers(s, "load"):
        battery = one(s, "load", n, "battery")
        average, rests_on = load_average(s, n)
        if not capacity or not battery or battery.entry.value != "starter" or any(k.assumed for k in rests_on):
            continue
        if average * 24 * STARTER_STANDS > STARTER_SHARE * capacity.entry.value:
            yield between(
                battery,
                capacity,
                f"this load takes {show(average * 24, 'Ah')} a day, so a vehicle that stands for "
                f"{show(STARTER_STANDS)} days may not start.",
            )


def sun_and_charger(s: SetUp) -> Iterator[Note]:
    """More panel than the charger's solar input takes."""
    panels = [power for n in numbers(s, "sun") if (power := one(s, "sun", n, "power"))]
    total = sum(panel.entry.value for panel in panels)
    for n, _ in links(s, "charger"):
        limit = one(s, "link", n, "solar_input")
        if limit and total > limit.entry.value > 0:
            yield between(panels[0], limit, f"the panels together make {show(total, 'W')}, more than that input takes.")


def twenty_four(s: SetUp) -> Iterator[Note]:
    """A voltage of a 24 V vehicle, wherever it stands."""
    other = ("second", 0, "chemistry")
    for problem in s.problems():
        part, number, name = problem.place
        if problem.place == other:  # a kind of battery, not a number
            continue
        own = getattr(s.model.part(part).field(name), "unit", "-")
        try:
            amount, unit = units.parse_number(s.typed(part, number, name))
            volts = units.convert(amount, unit or own, "V")
        except units.UnitsError:
            continue
        if abs(volts) >= TWENTY_FOUR:
            yield Note(
                f"“{s.label(problem.place)}: {show(volts, 'V')}” belongs to a 24 V vehicle; “{s.label(other)}” and all "
                "else here is for 12 V.",
                (problem.place, other),
            )


RULES: tuple[Callable[[SetUp], Iterator[Note]], ...] = (
    no_fuse,
    no_end_fuse,
    fuse_above_cable,
    cable_below_link,
    fuse_below_link,
    fuse_above_link,
    two_links,
    lithium_straight,
    lithium_in_heat,
    flooded_inside,
    profile_and_battery,
    two_types,
    relay_points,
    smart_alternator,
    alternator_outputs,
    charger_above_alternator,
    charger_input,
    starter_left_on,
    sun_and_charger,
    twenty_four,
)
"""Every rule there is, the dangerous first."""
