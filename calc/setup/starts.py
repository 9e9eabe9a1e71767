"""From a set-up into a check: what each of its fields starts from.

A check names one of these functions for each field that a set-up can fill. What rests on an assumed entry is itself
assumed, and says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from calc.fields import Start, Usual
from calc.physics import cable
from calc.physics.charging import BASE_TEMPERATURE, stage_voltage
from calc.physics.loads import NOMINAL
from calc.setup.model import Known, SetUp
from calc.tables import assumption

Source = Callable[[SetUp], Start | None]


def start(text: str, *known: Known) -> Start:
    """Return a start that rests on some places; the first assumed one marks it."""
    usual = next((k.usual for k in known if k.assumed), None)
    return Start(text, tuple(dict.fromkeys(k.place for k in known)), together(known), usual)


def together(known: Sequence[Known]) -> str:
    """Return places in words: up to two by their own labels, more by their parts: "Load 1, Load 2 and Load 3"."""
    labels = list(dict.fromkeys(k.label for k in known))
    if len(labels) > 2:
        labels = list(dict.fromkeys(k.part for k in known))
    return " and ".join(filter(None, (", ".join(labels[:-1]), labels[-1])))


def typed(value: float, unit: str) -> str:
    """Return a computed value as it would be typed, to six digits."""
    return f"{value:.6g} {unit}"


def at(part: str, name: str) -> Source:
    """Return the source of a field that one place of the set-up holds, the first of its kind."""

    def source(s: SetUp) -> Start:
        known = s.known(part, 0, name)
        return start(known.text, known)

    return source


def known_at(part: str, name: str) -> Source:
    """Return the source of a field that stays open where its place of the set-up is not known."""

    def source(s: SetUp) -> Start | None:
        found = at(part, name)(s)
        return None if found.assumed else found

    return source


def pieces(s: SetUp, name: str) -> list[Known]:
    """Return one field of every piece of the run, the usual piece where none was entered."""
    return [s.known("run", n, name) for n in range(max(1, s.count("run")))]


def run_length(s: SetUp) -> Start:
    """The whole run, one way."""
    lengths = pieces(s, "length")
    if len(lengths) == 1:
        return start(lengths[0].text, *lengths)
    return start(typed(sum(k.entry.value for k in lengths), "m"), *lengths)


def run_size(s: SetUp) -> Start:
    """The thinnest piece of the run."""
    thinnest = min(pieces(s, "size"), key=lambda k: k.entry.value.copper)
    return start(thinnest.text, thinnest)


def known_run_size(s: SetUp) -> Start | None:
    """The thinnest piece of the run, or None where nobody knows it: then it is chosen."""
    found = run_size(s)
    return None if found.assumed else found


def air_along(s: SetUp, n: int) -> Known:
    """The hottest air around one piece."""
    return s.known("vehicle", 0, "engine_bay_heat" if in_bay(s, n) else "ambient")


def in_bay(s: SetUp, n: int) -> bool:
    """Whether a piece lies in the engine bay."""
    return s.known("run", n, "zone").entry.value == "engine_bay"


def allowed(s: SetUp, n: int) -> float:
    """Return what a piece may carry where it lies [A]."""
    size, insulation = (s.known("run", n, name).entry.value for name in ("size", "insulation"))
    return cable.allowable_current(size.copper, insulation, air_along(s, n).entry.value, in_bay(s, n))


def weakest(s: SetUp) -> int:
    """Return the number of the piece that may carry least: it decides what the run may carry."""
    return min(range(max(1, s.count("run"))), key=lambda n: allowed(s, n))


def run_insulation(s: SetUp) -> Start:
    """The insulation of the piece that may carry least."""
    known = s.known("run", weakest(s), "insulation")
    return start(known.text, known)


def run_joints(s: SetUp) -> Start:
    """All joints of the run."""
    joints = pieces(s, "joints")
    return start(f"{sum(k.entry.value for k in joints):g}", *joints)


def in_engine_bay(s: SetUp) -> Start:
    """Whether the piece that may carry least lies in the engine bay."""
    n = weakest(s)
    return start("yes" if in_bay(s, n) else "no", s.known("run", n, "zone"))


def run_ambient(s: SetUp) -> Start:
    """The hottest air around the piece that may carry least."""
    heat = air_along(s, weakest(s))
    return start(heat.text, heat)


def last_piece(s: SetUp) -> int | None:
    """Return the number of the piece behind the link, or None where only one piece is known."""
    return s.count("run") - 1 if s.count("run") > 1 else None


def before_last(s: SetUp) -> range:
    """Return the numbers of the pieces before the link."""
    return range(last_piece(s) or 1)


def first_length(s: SetUp) -> Start:
    """The run up to what joins the batteries: all pieces but the last."""
    lengths = [s.known("run", n, "length") for n in before_last(s)]
    if len(lengths) == 1:
        return start(lengths[0].text, *lengths)
    return start(typed(sum(k.entry.value for k in lengths), "m"), *lengths)


def first_zone(s: SetUp) -> Start:
    """The hottest place that the run passes before the link."""
    hottest = max(before_last(s), key=lambda n: (air_along(s, n).entry.value, in_bay(s, n)))
    zone = s.known("run", hottest, "zone")
    return start(zone.text, zone)


def last_length(s: SetUp) -> Start:
    """From what joins the batteries to the second one: the last piece, or the usual one."""
    n = last_piece(s)
    if n is not None:
        length = s.known("run", n, "length")
        return start(length.text, length)
    usual = assumption("last_piece")
    text = typed(usual["value"], "m")
    return replace(start(text, s.known("run", 0, "length")), usual=Usual(text, "", "", "", usual["words"], ""))


def last_zone(s: SetUp) -> Start:
    """Where the last piece lies, or where the second battery stands if only one piece is known."""
    n = last_piece(s)
    if n is not None:
        zone = s.known("run", n, "zone")
        return start(zone.text, zone)
    place = s.known("second", 0, "place")
    return start({"load_bed": "under"}.get(place.entry.value, place.entry.value), place)


def poorest_insulation(s: SetUp) -> Start:
    """The lowest insulation rating in the run."""
    known = min(pieces(s, "insulation"), key=lambda k: k.entry.value)
    return start(known.text, known)


def bank(s: SetUp) -> list[Known]:
    """The capacities of all second batteries: they stand side by side."""
    return [s.known("second", n, "capacity") for n in range(max(1, s.count("second")))]


def bank_capacity(s: SetUp) -> Start:
    """All second batteries together."""
    capacities = bank(s)
    if len(capacities) == 1:
        return start(capacities[0].text, *capacities)
    return start(typed(sum(k.entry.value for k in capacities), "Ah"), *capacities)


def charging_current(s: SetUp) -> Start:
    """What flows in the run while it charges: a charger's input, else what the batteries take of themselves."""
    if has_charger(s):
        return charger_input(s)
    taken = assumption("bulk_charge_share")
    text = typed(taken["value"] * sum(k.entry.value for k in bank(s)), "A")
    rests_on = start(text, *bank(s), *unsure_kind(s))
    return replace(rests_on, usual=rests_on.usual or Usual(text, "", "", "", taken["words"], ""))


def charger_input(s: SetUp) -> Start:
    """What a charger draws: as its leaflet says, else its rating with the usual losses."""
    limit, rating = s.known("link", 0, "input_limit"), s.known("link", 0, "rating")
    if rating.assumed or not limit.assumed:
        return start(limit.text, limit)
    losses = s.usual("link", "input_limit").value / s.usual("link", "rating").value
    _, most = s.model.part("link").field("input_limit").limits
    return start(typed(min(rating.entry.value * losses, most), "A"), rating, limit)


def conductors(s: SetUp) -> int:
    """Return how many cables a piece of the run has: one where the current comes back by the body."""
    return 1 if s.known("vehicle", 0, "earth_path").entry.value == "body" else 2


def body_resistance(s: SetUp) -> float:
    """Return the resistance of the way back by the body, 0 where a cable leads back [ohm]."""
    return assumption("body_return_resistance")["value"] if conductors(s) == 1 else 0.0


def piece_resistance(s: SetUp, n: int) -> tuple[float, list[Known]]:
    """Return the resistance of a piece of the run there and back, with its joints [ohm], and what that rests on."""
    length, size, joints = (s.known("run", n, name) for name in ("length", "size", "joints"))
    heat = air_along(s, n)
    per_km = size.entry.value.resistance_per_km
    cables = conductors(s) * cable.length_resistance(per_km, length.entry.value, heat.entry.value)
    return cables + joints.entry.value * assumption("joint_resistance")["value"], [length, size, joints, heat]


def run_resistance(s: SetUp) -> Start:
    """The resistance of the run there and back, piece by piece, with its joints."""
    total, rests_on = body_resistance(s), [s.known("vehicle", 0, "earth_path")]
    for n in range(max(1, s.count("run"))):
        resistance, known = piece_resistance(s, n)
        total += resistance
        rests_on += known
    return start(typed(1000 * total, "mohm"), *rests_on)


def has_charger(s: SetUp) -> bool:
    """Whether a DC-DC charger joins the batteries: then it sets the voltage that charges."""
    return s.known("link", 0, "kind").entry.value == "charger"


def unsure_kind(s: SetUp) -> list[Known]:
    """The kind of link where nobody gave it: what rests on its being no charger rests on it too."""
    kind = s.known("link", 0, "kind")
    return [kind] if kind.assumed else []


def source_voltage(s: SetUp) -> Start:
    """What charges the second battery: a charger's own voltage, else the alternator's."""
    if not has_charger(s):
        holds = s.known("alternator", 0, "set_point")
        return start(holds.text, holds, *unsure_kind(s))
    profile = s.known("link", 0, "profile")
    chemistry = profile.entry.value
    ends = [stage_voltage(chemistry, f"absorption_{end}", BASE_TEMPERATURE) for end in ("low", "high")]
    return start(typed(sum(ends) / 2, "V"), profile)


def link_kind(s: SetUp) -> Start | None:
    """What joins the batteries, or None where nothing does."""
    kind = s.known("link", 0, "kind")
    return None if kind.entry.value == "none" else start(kind.text, kind)


def lowest_set_point(s: SetUp) -> Start:
    """What the alternator holds; where that is not known of a smart one, what it falls to."""
    holds, kind = s.known("alternator", 0, "set_point"), s.known("alternator", 0, "kind")
    if not holds.assumed or kind.entry.value != "smart":
        return start(holds.text, holds)
    rests = assumption("smart_alternator_rests")
    text = typed(rests["value"], "V")
    return replace(start(text, holds, kind), usual=Usual(text, "", "", "", rests["words"], ""))


def output_current(s: SetUp) -> Start:
    """What flows into the second battery: a charger's rating, else what the battery takes of itself."""
    if not has_charger(s):
        return charging_current(s)
    rating = s.known("link", 0, "rating")
    return start(rating.text, rating)


def output_resistance(s: SetUp) -> Start | None:
    """The resistance between what charges and the battery; of the cable after a charger nothing is asked."""
    return None if has_charger(s) else run_resistance(s)


def charger_rating(s: SetUp) -> Start | None:
    """The strongest charger there is, by mains or between the batteries; None where there is none."""
    fitted = s.known("mains", 0, "fitted").entry.value == "yes"
    found = [(s.known("mains", 0, "rating"), [])] if fitted else []
    found += [(s.known("link", 0, "rating"), unsure_kind(s))] if has_charger(s) else []
    if not found:
        return None
    rating, unsure = max(found, key=lambda one: one[0].entry.value)
    return start(rating.text, rating, *unsure)


def load_current(s: SetUp, n: int) -> tuple[float, list[Known]]:
    """Return what a load draws while it runs [A], and what that rests on."""
    use = s.known("load", n, "use")
    if use.entry.value != "burst":
        current = s.known("load", n, "current")
        return current.entry.value, [current, use]
    power = s.known("load", n, "power")
    return power.entry.value / assumption("inverter_efficiency")["value"] / NOMINAL, [power, use]


def load_average(s: SetUp, n: int) -> tuple[float, list[Known]]:
    """Return what a load draws as an average over the day [A], and what that rests on."""
    current, rests_on = load_current(s, n)
    use = s.known("load", n, "use").entry.value
    name, whole = {"timed": ("hours", 24), "burst": ("hours", 24), "duty": ("duty", 100)}.get(use, (None, 1))
    if name is None:
        return current, rests_on
    part = s.known("load", n, name)
    return current * part.entry.value / whole, [*rests_on, part]


def usual_load(s: SetUp) -> Start | None:
    """What runs from the second battery, as an average over the day."""
    total, rests_on = 0.0, []
    for n in range(s.count("load")):
        battery = s.known("load", n, "battery")
        if battery.entry.value == "second":
            average, known = load_average(s, n)
            total += average
            rests_on += [*known, battery]
    return start(typed(total, "A"), *rests_on) if rests_on else None


def loads_together(s: SetUp) -> Start | None:
    """What runs from the second battery, all at once, or None where that is next to nothing."""
    numbers = [n for n in range(s.count("load")) if s.known("load", n, "battery").entry.value == "second"]
    currents = [load_current(s, n) for n in numbers]
    total = sum(current for current, _ in currents)
    if total < 0.1:
        return None
    rests_on = [known for _, several in currents for known in several]
    return start(typed(total, "A"), *rests_on, *(s.known("load", n, "battery") for n in numbers))


def written(s: SetUp, part: str, name: str, text: str) -> SetUp:
    """Return the set-up with an answer written into it: a size into every piece of the run, else into the first."""
    places = range(max(1, s.count(part))) if name == "size" else range(1)
    for number in places:
        s = s.changed((part, number, name), text)
    return s


def with_run(s: SetUp, design: SetUp) -> SetUp:
    """Return the set-up with a design's run of cable written into it.

    A design has two pieces: one up to the link, one behind it. Sizes and fuses go into the pieces that there are; where
    there are fewer than two, lengths and places too. All pieces before the last are taken as one, with one fuse.
    """
    first, last = design.entries["run"]
    count = s.count("run")
    if count < 2:
        own = dict(s.entries["run"][0]) if count else {}
        fitted = ({**first, **own, **{k: first[k] for k in ("size", "fuse")}}, last)
        for n, one in enumerate(fitted):
            for name, text in one.items():
                s = s.changed(("run", n, name), text)
        return s
    for n in range(count):
        of = last if n == count - 1 else first
        s = s.changed(("run", n, "size"), of["size"])
        s = s.changed(("run", n, "fuse"), first["fuse"] if n == 0 else "0 A")
        s = s.changed(("run", n, "end_fuse"), last["end_fuse"] if n == count - 1 else "")
    return s
