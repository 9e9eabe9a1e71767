"""How is the second battery wired, from the front of the vehicle to the loads: cables and fuses chosen together?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.checks import fuse_choice
from calc.checks.envelope import envelope_plot
from calc.fields import Choice, Number
from calc.physics import adiabatic, cable, fault, fuse
from calc.physics.cable_sizes import SAE, CableSize, catalogue
from calc.physics.charging import BASE_TEMPERATURE, stage_voltage
from calc.physics.run_design import HEAT, LOSS, POWER, RATING, SURGE, Fault, Feed, Guard, Laid, Piece, Task, lay
from calc.setup import starts
from calc.setup.model import SetUp, take_in
from calc.shared_fields import (
    AMBIENT,
    CAPACITY,
    CHEMISTRY,
    CURRENT,
    FAMILY,
    INSULATION,
    JOINTS,
    LEAD_ACID,
    LENGTH,
    RETURN_PATH,
)
from calc.tables import assumption
from calc.units import show

CHARGER = "charger"
LINKS = (
    ("wire", "Nothing: wired straight through"),
    ("switch", "A switch turned by hand"),
    ("relay", "A voltage-sensitive relay"),
    (CHARGER, "A DC-DC charger"),
)
CONTACT = {"switch": "switch_contact", "relay": "relay_contact"}
"""The assumption that holds what a link's contacts resist."""

ZONES = (("engine_bay", "Engine bay"), ("under", "Under the body"), ("cabin", "Inside the vehicle"))
COPPER, CLAD = "copper", "cca"
NO_CABLE = "none sold is thick enough"
NO_FUSE = "no cable, so no fuse"
PIECES = ("First piece", "Last piece", "Piece to the loads")
FUSES = ("Fuse 1", "Fuse 2", "Fuse 3")
SPLIT = "or lay two runs side by side, each with its own fuses and half the current"


@dataclass(frozen=True)
class Part:
    """A task with what belongs to it: the numbers of its pieces, counted from 0, which their fuses have too."""

    task: Task
    pieces: tuple[int, ...]
    best: tuple[int, ...] | None

    @property
    def laid(self) -> tuple[Laid, ...]:
        """The sizes chosen."""
        return self.task.laid(self.best)


@dataclass(frozen=True)
class Load:
    """What the rules of a single fuse ask of its load."""

    current: float
    chemistry: str
    surge_current: float | None
    surge_time: float


@dataclass(frozen=True)
class Chosen:
    """A fuse chosen for its guard, and the cable it guards as the rules of a single fuse see it."""

    number: int
    guard: Guard
    fuse: fuse_choice.Fuse
    run: fuse_choice.Run
    load: Load

    @property
    def where(self) -> str:
        """At which battery it stands."""
        return "starter battery" if self.number == 0 else "second battery"


@lru_cache(maxsize=16)
def sizes(family: str, metal: str) -> tuple[CableSize, ...]:
    """Return the sizes to choose from; copper-clad aluminium counts as the copper that conducts as well."""
    if metal == COPPER:
        return catalogue()[family]
    share = assumption("cca_conductivity")["value"]
    return tuple(replace(size, resistance_per_km=size.resistance_per_km / share) for size in catalogue()[family])


@lru_cache(maxsize=64)
def kinds(chemistry: str, capacity: float) -> tuple[str, ...]:
    """Return the kinds of fuse that may stand at a battery: none that is certain to be asked to break too much.

    Where every kind is, those that break most.
    """
    asked = fuse_choice.certain_short(
        chemistry, fault.weakest(chemistry, capacity, 0), fault.usual(chemistry, capacity, 0)
    )
    can = {key: fuse.family(key).breaking_capacity for key in fuse.FAMILIES}
    enough = tuple(key for key in can if can[key] >= asked)
    return enough or tuple(key for key in can if can[key] == max(can.values()))


@lru_cache(maxsize=64)
def guard(current, air, surge, surge_time, chemistry, capacity, others) -> Guard:
    """Return a guard, the same one for the same task, as it keeps what it found."""
    return Guard(kinds(chemistry, capacity), current, air, surge, surge_time, chemistry, capacity, others)


@lru_cache(maxsize=256)
def ladder(family: str, metal: str, piece: Piece) -> tuple[Laid, ...]:
    """Return every size laid as a piece."""
    return tuple(lay(size, piece) for size in sizes(family, metal))


def piece(i: Inputs, length: float, zone: str) -> Piece:
    """Return a piece of the run."""
    hot = zone == "engine_bay"
    heat = i.engine_bay_heat if hot else i.ambient
    return Piece(length, 2 if i.return_path == "cable" else 1, i.insulation, heat, hot, i.bundle)


def resists(i: Inputs, joints: float, end: str, contact: str | None = None) -> float:
    """Return what joints, contacts and the body resist: "value" as is usual, "high" at their worst [ohm]."""
    total = joints * assumption("joint_resistance")[end]
    if i.return_path == "body":
        total += assumption("body_return_resistance")[end]
    return total + (assumption(contact)[end] if contact else 0.0)


def output_voltage(i: Inputs) -> float:
    """Return what a charger gives out at most: the middle of what the second battery is charged with [V]."""
    ends = [stage_voltage(i.chemistry, f"absorption_{end}", BASE_TEMPERATURE) for end in ("low", "high")]
    return sum(ends) / 2


def inrush(i: Inputs) -> float:
    """Return what a flat battery takes as it is joined with no charger between [A]."""
    return i.current * assumption("straight_inrush")["value"]


def parts(i: Inputs) -> list[Part]:
    """Return the tasks of the run, each with its smallest sizes."""
    first, last = piece(i, i.length_1, i.zone_1), piece(i, i.length_2, i.zone_2)
    between = with_charger(i, first, last) if i.link == CHARGER else [straight(i, first, last)]
    tasks = [*between, to_loads(i, last.air)]
    numbers = [(0,), (1,), (2,)] if i.link == CHARGER else [(0, 1), (2,)]
    return [Part(task, which, task.best()) for task, which in zip(tasks, numbers, strict=True)]


def with_charger(i: Inputs, first: Piece, last: Piece) -> list[Task]:
    """Return the tasks on both sides of a charger: it asks for a power, and gives its current at its own voltage."""
    usual, worst = (resists(i, i.joints / 2, end) for end in ("value", "high"))
    power = output_voltage(i) * i.current / assumption("charger_efficiency")["value"]
    feeds = Feed(i.source_voltage, usual, power=power), Feed(output_voltage(i), usual, i.current)
    batteries = (i.starter_chemistry, i.starter_capacity), (i.chemistry, i.capacity)

    def guarded(air: float, battery: tuple[str, float]) -> Callable[[float], tuple[Guard, ...]]:
        return lambda amps: (guard(amps, air, 0.0, 0.0, *battery, worst),)

    return [
        Task(feed, [ladder(i.family, i.metal, p)], i.allowed_drop, guarded(p.air, battery))
        for feed, p, battery in zip(feeds, (first, last), batteries, strict=True)
    ]


def straight(i: Inputs, first: Piece, last: Piece) -> Task:
    """Return the task of both pieces with no charger between: one circuit, and each fuse guards both."""
    contact = CONTACT.get(i.link)
    usual, worst = (resists(i, i.joints, end, contact) for end in ("value", "high"))
    surge = inrush(i), assumption("straight_inrush_time")["value"]
    guards = (
        guard(i.current, first.air, *surge, i.starter_chemistry, i.starter_capacity, worst),
        guard(i.current, last.air, *surge, i.chemistry, i.capacity, worst),
    )
    ladders = [ladder(i.family, i.metal, p) for p in (first, last)]
    return Task(Feed(i.source_voltage, usual, i.current), ladders, i.allowed_drop, lambda amps: guards)


def to_loads(i: Inputs, air: float) -> Task:
    """Return the task of the piece to the loads; its fuse stands in the air of the second battery."""
    joints = assumption("joints_in_run")
    usual, worst = (resists(i, joints[end], end) for end in ("value", "high"))
    surge = i.load_surge or 0.0, assumption("load_surge_time")["value"]
    guards = (guard(i.load_current, air, *surge, i.chemistry, i.capacity, worst),)
    feed = Feed(assumption("load_battery_voltage")["value"], usual, i.load_current)
    rungs = ladder(i.family, i.metal, piece(i, i.load_length, "cabin"))
    return Task(feed, [rungs], i.allowed_drop, lambda amps: guards)


def choose(part: Part) -> list[Chosen]:
    """Return the fuses of a task whose sizes are chosen."""
    chosen = []
    for number, guard in zip(part.pieces, part.task.guards(part.best), strict=True):
        weakest_piece = min(part.laid, key=lambda one: one.withstand)
        battery = guard.chemistry, guard.capacity
        run = fuse_choice.Run(
            weakest_piece.size,
            min(one.allowable for one in part.laid),
            guard.needed,
            guard.largest(part.laid),
            guard.weakest(part.laid),
            guard.strongest,
            fault.weakest(*battery, 0),
            fault.usual(*battery, 0),
            guard.strongest,
            adiabatic.insulation_factor(weakest_piece.piece.insulation),
        )
        load = Load(guard.current, guard.chemistry, guard.surge or None, guard.surge_time)
        able = [fuse_choice.Fuse(*f) for f in guard.able(part.laid)]
        chosen.append(Chosen(number, guard, min(able, key=fuse_choice.preference(run, load)), run, load))
    return chosen


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    run = parts(i)
    laid = {n: one for part in run if part.best for n, one in zip(part.pieces, part.laid, strict=True)}
    fuses = {c.number: c for part in run if part.best for c in choose(part)}
    record(i, run, laid, fuses, found)
    for part in run:
        if not part.best:
            refuse(i, part, found)
    summary(i, run, laid, fuses, found)
    for part in run:
        if part.best:
            judge_pieces(i, part, fuses, found)
    judge_charging(i, run, found)
    judge_fuses(tuple(fuses.values()), found)
    judge_places(i, found)
    judge_materials(i, laid, found)
    working(i, run, laid, fuses, found)
    pictures(run, laid, fuses, found)
    if len(laid) == len(PIECES):
        found.design = design(i, laid, fuses)
    found.caution(cautions.SHORT_CIRCUIT, cautions.FUSE_LAST, cautions.BATTERY_HELD)
    found.caution(cautions.GAS if i.chemistry in LEAD_ACID else cautions.LITHIUM_COLD, cautions.LOCAL_CODE)


# Values


def record(i: Inputs, run: list[Part], laid: dict[int, Laid], fuses: dict[int, Chosen], found: Findings) -> None:
    """Record the values of the answer."""
    for n in range(len(PIECES)):
        if n in laid:
            found.value(f"size_{n + 1}", laid[n].size.area, text=laid[n].size.text)
            found.value(f"fuse_{n + 1}", fuses[n].fuse.rating, text=fuses[n].fuse.text)
        else:
            found.value(f"size_{n + 1}", None, text=NO_CABLE)
            found.value(f"fuse_{n + 1}", None, text=NO_FUSE)
    front, rear, loads = run[0], run[-2], run[-1]
    if rear.best:
        found.value("battery_voltage", rear.task.point(rear.best).voltage)
    else:
        found.value("battery_voltage", None, text="no cable brings enough")
    if i.link == CHARGER:
        if front.best:
            point = front.task.point(front.best)
            found.value("charger_input_voltage", point.voltage)
            found.value("input_current", point.current)
        else:
            for key in ("charger_input_voltage", "input_current"):
                found.value(key, None, text="no cable brings enough")
    before = ", before the charger" if i.link == CHARGER else ""
    for part, name, words in ((front, "", before), (rear, "_after_charger", ""), (loads, "_to_loads", "")):
        if name == "_after_charger" and i.link != CHARGER:
            continue
        if part.best:
            point = part.task.point(part.best)
            lost = part.task.feed.voltage - point.voltage
            found.value(f"loss{name}", lost, text=f"{show(lost, 'V', 2)}{words}")
            if not name:
                found.value("loss_percent", point.lost)
        else:
            found.value(f"loss{name}", None, text=NO_CABLE)
            if not name:
                found.value("loss_percent", None, text=NO_CABLE)


# Verdicts


def summary(i: Inputs, run: list[Part], laid: dict[int, Laid], fuses: dict[int, Chosen], found: Findings) -> None:
    """Say the whole run in one sentence."""
    if len(laid) < len(PIECES):
        return
    fitted = [f"{laid[n].size.text} with {show(fuses[n].fuse.rating, 'A')}" for n in range(len(PIECES))]
    rear = run[-2].task.point(run[-2].best)
    if i.link == CHARGER:
        point = run[0].task.point(run[0].best)
        because = (
            f"The charger gets {show(point.voltage, 'V', 2)} and draws {show(point.current, 'A')}; "
            f"{show(rear.voltage, 'V', 2)} of its {show(run[1].task.feed.voltage, 'V', 2)} arrives at the second "
            "battery."
        )
    else:
        because = (
            f"{show(rear.voltage, 'V', 2)} arrives at the second battery's posts while {i.text('current')} flows: "
            f"{show(rear.lost, 'percent', 1)} of {i.text('source_voltage')} is lost."
        )
    found.verdict(
        "ok",
        f"From the starter battery {fitted[0]}, to the second battery {fitted[1]}, to the loads {fitted[2]}.",
        because,
    )


def judge_pieces(i: Inputs, part: Part, fuses: dict[int, Chosen], found: Findings) -> None:
    """Say of each piece what was chosen, what decided it, and what a size less or more would do."""
    for place, number in enumerate(part.pieces):
        one, c = part.laid[place], fuses[number]
        found.verdict(
            "ok",
            f"{PIECES[number]}: {one.size.text}, and a {c.fuse.words} at the {c.where}.",
            f"{thinner(i, part, place)} {thicker(i, part, place)}",
        )


def thinner(i: Inputs, part: Part, place: int) -> str:
    """Say what binds a piece: which limit the next thinner size would break, and by how much this one keeps it."""
    down = part.task.next_to(part.best, place, -1)
    if down is None:
        return "It is the thinnest that is sold, and it is enough."
    keeps = part.laid[place]
    point = part.task.point(part.best)
    found = part.task.fault(down)
    margin = ""
    if found.limit == LOSS:
        margin = f" This one loses {show(point.lost, 'percent', 1)}."
    elif found.limit == HEAT:
        margin = f" This one may carry {show(keeps.allowable, 'A')}."
    elif found.limit == RATING:
        margin = f" This one allows a fuse of {show(part.task.guards(part.best)[found.place].largest(part.laid), 'A')}."
    return says(i, part, down, found, part.task.laid(down)[place]) + margin


def says(i: Inputs, part: Part, at: tuple[int, ...], found: Fault, one: Laid) -> str:
    """Say in a sentence or two which limit a size breaks, with its numbers."""
    task, name = part.task, one.size.text
    laid = task.laid(at)
    if found.limit == POWER:
        return (
            f"Power decides: through {name} this charger could draw {show(task.feed.most(laid), 'W')} at most, and it "
            f"asks for {show(task.feed.power, 'W')}."
        )
    if found.limit == HEAT:
        hot = laid[found.place]
        point = task.point(at)
        needs = point.current if point else task.feed.least_current
        return (
            f"Heat decides: {hot.size.text} may carry only {show(hot.allowable, 'A')} there, and {show(needs, 'A')} "
            "flows."
        )
    if found.limit == LOSS:
        point = task.point(at)
        lost = f"{show(point.lost, 'percent', 1)}" if point else "far more"
        return f"Loss decides: with {name} {lost} would be lost, and {i.text('allowed_drop')} is allowed."
    g = task.guards(at)[found.place]
    which = f"fuse {part.pieces[found.place] + 1}"
    if found.limit == RATING:
        return (
            f"The fuse decides: {which} has to be {show(g.sold[0][1] if g.sold else g.needed, 'A')} or more for the "
            f"current, and {name} may have {show(g.largest(laid), 'A')} at most."
        )
    if found.limit == SURGE:
        return (
            f"The surge decides: {which} has to ride through {show(g.surge, 'A')} for {show(g.surge_time, 's')}, and "
            f"none of the {show(g.largest(laid), 'A')} that {name} may have at most is sure to."
        )
    return (
        f"A short decides: at the far end as little as {show(g.weakest(laid), 'A')} may flow, and no {which} that "
        f"carries the load is sure to open before that spoils {name}."
    )


def thicker(i: Inputs, part: Part, place: int) -> str:
    """Say what the next thicker size would bring."""
    up = part.task.next_to(part.best, place, 1)
    if up is None:
        return "No thicker one is known here."
    point, other = part.task.point(part.best), part.task.point(up)
    more = part.task.laid(up)[place]
    saved = other.voltage - point.voltage
    share = 100 * (more.size.copper / part.laid[place].size.copper - 1)
    return (
        f"A size thicker, {more.size.text}, would bring {show(1000 * saved, 'mV', 0)} more, for "
        f"{show(share, 'percent', 0)} more metal."
    )


def refuse(i: Inputs, part: Part, found: Findings) -> None:
    """Say that no size will do, what binds at the thickest, and what to change."""
    task, at = part.task, part.task.thickest
    fails = task.fault(at)
    laid = task.laid(at)
    which = " and ".join(PIECES[n].lower() for n in part.pieces)
    name = laid[0].size.text
    if fails.limit == POWER:
        most = task.feed.most(laid)
        text = (
            f"This charger cannot draw that much through this cable: at most {show(most, 'W')} even through {name}, "
            f"and it asks for {show(task.feed.power, 'W')}."
        )
        because = "Shorten the first piece, fit a smaller charger, use fewer joints, " + SPLIT + "."
    elif fails.limit == HEAT:
        hot = laid[fails.place]
        text = (
            f"No cable sold is thick enough for the {PIECES[part.pieces[fails.place]].lower()}: {hot.size.text} may "
            f"carry {show(hot.allowable, 'A')} there, and {show(task.feed.least_current, 'A')} flows."
        )
        because = (
            "It would overheat, and heat starts fires. Choose cable with a higher insulation rating, a cooler way, or "
            "fewer cables tied together; " + SPLIT + "."
        )
        if hot.piece.air >= cable.rating_column(hot.piece.insulation):
            because = "The air there is as hot as its insulation stands, with no current at all. " + because
    elif fails.limit == LOSS:
        point = task.point(at)
        lost = f"loses {show(point.lost, 'percent', 1)}" if point else "loses far more"
        text = f"No cable sold is thick enough: even {name} {lost}, and {i.text('allowed_drop')} is allowed."
        because = f"That is the {which}. Shorten it, allow more loss, lower the current, save joints, {SPLIT}."
    else:
        g = task.guards(at)[fails.place]
        number = part.pieces[fails.place] + 1
        if fails.limit in (RATING, SURGE):
            asks = (
                f"{show(g.needed, 'A')} or more"
                if fails.limit == RATING
                else f"one that rides through {show(g.surge, 'A')} for {show(g.surge_time, 's')}"
            )
            text = f"No fuse {number} is sold that will do: the load asks for {asks}, and even {name} may have "
            text += f"{show(g.largest(laid), 'A')} at most."
            because = "A larger fuse would not guard the cable. Lower the current, " + SPLIT + "."
        else:
            text = (
                f"No fuse {number} is sure to open before a short spoils the insulation, even of {name}: at the far "
                f"end as little as {show(g.weakest(laid), 'A')} may flow."
            )
            because = "A shorter run, a larger battery or a smaller load helps, " + SPLIT + "."
    found.verdict("stop", text, because)


def judge_charging(i: Inputs, run: list[Part], found: Findings) -> None:
    """Say whether what arrives charges the battery, and what joining a flat one does."""
    if i.link == CHARGER:
        found.verdict(
            "ok",
            "A charger in order lets no short through, so each fuse guards the cable on its own side.",
            "The charger's current returns by its own negative cable: make that as thick as the positive. Its leaflet "
            "may ask for another fuse; follow it.",
        )
        return
    low = stage_voltage(i.chemistry, "absorption_low", BASE_TEMPERATURE)
    if run[0].best:
        point = run[0].task.point(run[0].best)
        if i.source_voltage < low:
            found.verdict(
                "caution",
                f"The second battery wants {show(low, 'V', 2)} or more to fill up, and no more than "
                f"{i.text('source_voltage')} can ever arrive.",
                "No cable makes up for that: it will charge slowly and not to the end. A DC-DC charger lifts the "
                "voltage.",
            )
        else:
            found.verdict(
                "ok",
                f"{show(point.voltage, 'V', 2)} arrives at {i.text('current')}, and more as the current falls.",
                f"The battery wants {show(low, 'V', 2)} or more to fill up, and gets it towards the end of the charge.",
            )
        surge = assumption("straight_inrush_time")["value"]
        found.verdict(
            "ok",
            f"The fuses ride through {show(inrush(i), 'A')} for {show(surge, 's')}, as a flat battery takes when it "
            "is joined.",
            "Nothing but the cable limits that current. The relay or switch must be made for it too. If a fuse blows "
            "on joining, do not fit a larger one: charge the flat battery first.",
        )
    if i.chemistry == "lfp" and i.starter_chemistry in LEAD_ACID:
        found.verdict(
            "caution",
            "A lithium battery joined straight can overheat the alternator.",
            "It takes all the alternator gives, and rests above a lead-acid one, so a relay may never open. Its makers "
            "ask for a DC-DC charger.",
        )


def named(several: Sequence[Chosen]) -> str:
    """Return some fuses by their numbers: "Fuse 1", "Fuses 1 and 3"."""
    numbers = [str(c.number + 1) for c in several]
    most = ", ".join(numbers[:-1])
    return f"Fuses {most} and {numbers[-1]}" if most else f"Fuse {numbers[0]}"


def judge_fuses(fuses: Sequence[Chosen], found: Findings) -> None:
    """Warn where fuses are above what their cables may carry, cannot be sure to break a short, or need a holder."""
    above = [c for c in fuses if c.fuse.rating > c.run.allowable]
    if above:
        may = " and ".join(dict.fromkeys(show(c.run.allowable, "A") for c in above))
        found.verdict(
            "caution",
            f"{named(above)} {'are' if above[1:] else 'is'} above what the thinnest cable behind may carry: {may}.",
            "Only the 150 % rule of 33 CFR 183.455 allows it: a slow overload can warm that cable past its rating. A "
            "size thicker there is kinder.",
        )
    by_level: dict[str, list[Chosen]] = {"stop": [], "caution": []}
    for c in fuses:
        if not fuse_choice.breaks(c.fuse, c.run.terminals_high):
            certain = fuse_choice.certain_short(c.guard.chemistry, c.run.terminals_low, c.run.terminals_usual)
            by_level["caution" if fuse_choice.breaks(c.fuse, certain) else "stop"].append(c)
    for level, weak in by_level.items():
        if weak:
            can = " and ".join(dict.fromkeys(show(c.fuse.family.breaking_capacity, "A") for c in weak))
            drives = {
                c.where: f"the {c.where} may drive {show(c.run.terminals_usual, 'A')} into a short at its posts, new "
                f"and full {show(c.run.terminals_high, 'A')}"
                for c in weak
            }
            found.verdict(
                level,
                f"{named(weak)} {'are' if weak[1:] else 'is'} made to break {can}; {', '.join(drives.values())}.",
                "A fuse asked to break more than it is made for can burst and go on burning. Ask its maker for its "
                "breaking capacity at 14 V: it has to be that much or more.",
            )
    for c in fuses:
        if not fuse_choice.holder_suffices(c.fuse, c.load):
            found.verdict(
                "caution",
                f"{FUSES[c.number]}: in-line holders for a {fuse_choice.NAMES[c.fuse.key]} were found for "
                f"{show(fuse.holder_current(c.fuse.key), 'A')} at most.",
                "A holder that carries more than it is made for melts while the fuse stays whole. Look for the "
                "holder's own rating, or fit a fuse that is bolted down.",
            )
    unseen = [c for c in fuses if not fuse.seen_to(c.fuse.key, c.fuse.rating)]
    if unseen:
        kinds_of = " and ".join(dict.fromkeys(fuse_choice.NAMES[c.fuse.key] for c in unseen))
        found.verdict(
            "caution",
            f"Compare the {kinds_of} you buy with its maker's time-current curve.",
            "The opening times of this kind are from memory here, with low confidence.",
        )


def judge_places(i: Inputs, found: Findings) -> None:
    """Say why each end has a fuse, where each stands, and in which order to work."""
    near, far = fuse.farthest_from_source(False), fuse.farthest_from_source(True)
    found.verdict(
        "ok",
        f"Each fuse stands within {show(near, 'm')} of its battery's post, along the cable.",
        f"Up to {show(far, 'm')} where the cable is sheathed or enclosed all the way. The piece before a fuse is not "
        "guarded by it. A local code may ask for less.",
    )
    found.verdict(
        "ok",
        "The run needs a fuse at both ends, as a battery stands at both.",
        "If the cable chafes through on the way, the starter battery feeds the short from one side and the second "
        "battery from the other. One fuse alone leaves the other side burning.",
    )
    found.verdict(
        "ok",
        "Lay and join everything first, the fuses out; negatives before positives; fit the fuses last.",
        "Sleeve the cable where it passes metal, hold it every 30 cm or so, and keep it off exhaust and fuel lines. "
        "Then measure: the volts lost at full current should be near those said here.",
    )


def judge_materials(i: Inputs, laid: dict[int, Laid], found: Findings) -> None:
    """Warn of what the cable is made of, how it is named, and the body as return."""
    if i.metal == CLAD:
        found.verdict(
            "caution",
            f"Copper-clad aluminium is counted as {show(100 * assumption('cca_conductivity')['value'], 'percent', 0)} "
            "of copper.",
            "It creeps under crimps and bolts and corrodes where it is cut, so its joints come loose and get hot. "
            "Copper is the better choice in a vehicle.",
        )
    if i.family == SAE and laid:
        found.verdict(
            "caution",
            "SAE battery cable is thinner than AWG of the same number.",
            "These sizes count the SAE copper; AWG cable of the same number is a little better.",
        )
    if i.return_path == "body":
        body = assumption("body_return_resistance")
        found.verdict(
            "caution",
            f"The body as return is counted as {show(1000 * body['value'], 'mohm')} for each circuit.",
            f"That holds for {body['words']}. Measure it, and let the strap at each end be as thick as the cable.",
        )
    if i.bundle >= 3:
        found.verdict(
            "ok",
            f"Tied together, each cable may carry {show(100 * cable.bundle_factor(i.bundle), 'percent', 0)} of what "
            "it may alone.",
            "The source asks for this from 50 V on and sets no limit below; it is applied here as prudence.",
        )


# Working and pictures


def working(i: Inputs, run: list[Part], laid: dict[int, Laid], fuses: dict[int, Chosen], found: Findings) -> None:
    """Show how the numbers came about."""
    if i.link == CHARGER:
        feed = run[0].task.feed
        efficiency = assumption("charger_efficiency")
        found.step(
            "What the charger draws: its output with its losses, as a constant power",
            f"P = {show(output_voltage(i), 'V', 2)} × {i.text('current')} ÷ {efficiency['value']:g} = "
            f"{show(feed.power, 'W')}",
            efficiency["source"],
            "efficiency; output at the battery's absorption voltage",
        )
    temperatures = {
        n: t
        for part in run
        if part.best
        for n, t in zip(part.pieces, part.task.point(part.best).temperatures, strict=True)
    }
    for n, one in laid.items():
        found.step(
            f"{PIECES[n]}: what {one.size.text} may carry in air at {show(one.piece.air, 'degC', 0)}"
            + (f", tied with {i.bundle:g} in all" if i.bundle >= 3 else ""),
            f"I = {show(one.allowable, 'A')}; it settles at {show(temperatures[n], 'degC', 0)}",
            "cfr-183-425",
            "Table 5 and its notes, as the heat balance",
        )
    for part in run:
        if part.best:
            feed, point = part.task.feed, part.task.point(part.best)
            ohms = (feed.voltage - point.voltage) / point.current
            found.step(
                f"Volts lost in the {' and the '.join(PIECES[n].lower() for n in part.pieces)}, cables warm, "
                f"{show(1000 * feed.others, 'mohm')} of it in joints, contacts and body",
                f"ΔU = {show(point.current, 'A')} × {show(1000 * ohms, 'mohm')} = "
                f"{show(feed.voltage - point.voltage, 'V', 2)} of {show(feed.voltage, 'V', 2)}",
                "ohm",
            )
    for n, c in fuses.items():
        found.step(
            f"{FUSES[n]}: from the load with a quarter to spare, in air at {show(c.guard.air, 'degC', 0)}, to the most "
            "that the law allows",
            f"{show(c.run.rating_low, 'A')} to {fuse.LEGAL_SHARE:g} × {show(c.run.allowable, 'A')} = "
            f"{show(c.run.rating_high, 'A')}",
            "cfr-183-455",
            "the quarter by a US Navy training text, the heat by one maker's row",
        )
        latest = fuse.slowest(c.fuse.key, c.fuse.rating, c.run.far_low)
        opens = f"open within {fuse_choice.brief(latest)}" if latest is not None else "perhaps never, and harmless"
        found.step(
            f"{FUSES[n]}: the weakest dead short, at the far end; and what the cable stands",
            f"{show(c.run.far_low, 'A')}: {opens}; k²S² = {show(c.run.withstand, 'A2s')}",
            "iec-60364-5-54",
            "annex A; opening times by ISO 8820, partly from memory",
        )


def pictures(run: list[Part], laid: dict[int, Laid], fuses: dict[int, Chosen], found: Findings) -> None:
    """Draw the fuses at both ends against the thinnest cable that each guards."""
    for n in (0, 1):
        if n in fuses:
            c = fuses[n]
            faults = {"weakest short, far end": c.run.far_low, "strongest, at the post": c.run.terminals_high}
            plot = envelope_plot(
                c.fuse.key, c.fuse.rating, c.fuse.words, c.run.size.text, c.run.factor, c.run.size.copper, faults
            )
            found.plots.append(replace(plot, title=f"{FUSES[n]} against its cable"))


def design(i: Inputs, laid: dict[int, Laid], fuses: dict[int, Chosen]) -> SetUp:
    """Return the run as a set-up, to be drawn and to be kept."""

    def stretch(n: int, length: float, zone: str, joints: float, **fitted: str) -> dict[str, str]:
        lies = {"length": f"{length:.6g} m", "size": laid[n].size.name, "zone": zone}
        return lies | {"insulation": f"{i.insulation:.6g} degC", "joints": f"{joints:g}"} | fitted

    rating = {n: f"{c.fuse.rating:g} A" for n, c in fuses.items()}
    half = i.joints / 2
    link = {"kind": i.link} | ({"rating": f"{i.current:.6g} A", "profile": i.chemistry} if i.link == CHARGER else {})
    return take_in(
        {
            "name": "The run as designed",
            "vehicle": {
                "earth_path": i.return_path,
                "engine_bay_heat": f"{i.engine_bay_heat:.6g} degC",
                "ambient": f"{i.ambient:.6g} degC",
            },
            "alternator": {"set_point": f"{i.source_voltage:.6g} V"},
            "starter": {"chemistry": i.starter_chemistry, "capacity": f"{i.starter_capacity:.6g} Ah"},
            "second": [{"chemistry": i.chemistry, "capacity": f"{i.capacity:.6g} Ah"}],
            "link": [link],
            "run": [
                stretch(0, i.length_1, i.zone_1, half, fuse=rating[0]),
                stretch(1, i.length_2, i.zone_2, half, fuse="0 A", end_fuse=rating[1]),
            ],
            "load": [{"name": "Loads", "current": f"{i.load_current:.6g} A", "use": "steady", "battery": "second"}],
        }
    )


def zone(name: str, label: str, help: str, default: str) -> Choice:
    """Return the field that asks where a piece lies."""
    return Choice(name, label, help, default, "under", ZONES)


CHECK = Check(
    id="wiring-run",
    title="Wiring run",
    question="How do I wire the second battery, all of it?",
    about="From the starter battery to the second one and on to the loads: which cable in each piece, which fuse at "
    "each end, and what arrives. All is chosen together, as one piece's loss is the other's.",
    task="vehicle",
    fields=(
        replace(
            CURRENT,
            label="Charging current",
            help="A charger's rated output; with no charger about a quarter of the battery's ampere-hours",
        ),
        replace(
            LENGTH,
            name="length_1",
            label="Length to the link, one way",
            help="From the starter battery to the switch, relay or charger, along the way the cable takes",
        ),
        Choice("link", "What joins the batteries", "What you have or mean to fit", "relay", CHARGER, LINKS),
        replace(
            LENGTH,
            name="length_2",
            label="Length from the link, one way",
            help="From there on to the second battery",
            default=f"{assumption('last_piece')['value']:g} m",
        ),
        zone("zone_1", "Where the first piece lies", "The hottest place it passes", "engine_bay"),
        zone("zone_2", "Where the last piece lies", "The hottest place it passes", "cabin"),
        Number(
            "source_voltage",
            "Voltage while the engine runs",
            "At the starter battery, engine warm and fast; of a smart alternator the lowest, about 12.5 V",
            "14.2 V",
            "14.2 V",
            "voltage",
            12,
            16,
        ),
        RETURN_PATH,
        replace(
            CURRENT,
            name="load_current",
            label="Current of all loads",
            help="All that may run at once from the second battery",
            default="15 A",
        ),
        Number(
            "load_surge",
            "Largest surge of the loads",
            "What a motor or inverter draws as it starts; leave it blank if nothing surges",
            "",
            "60 A",
            "current",
            0.1,
            2000,
            unknown="none",
        ),
        replace(
            LENGTH,
            name="load_length",
            label="Length to the loads, one way",
            help="From the second battery to the fuse box of the loads",
            default="2 m",
        ),
        replace(CHEMISTRY, label="Second battery's type", default="agm"),
        replace(CAPACITY, label="Second battery's capacity"),
        replace(CHEMISTRY, name="starter_chemistry", label="Starter battery's type", default="calcium"),
        replace(CAPACITY, name="starter_capacity", label="Starter battery's capacity", default="70 Ah"),
        replace(AMBIENT, label="Hottest air outside", help="Around the cable where it is not in the engine bay"),
        replace(
            AMBIENT,
            name="engine_bay_heat",
            label="Heat in the engine bay",
            help="The air around a cable there, driving slowly on a hot day; it counts as 50 °C at least",
            default="60 degC",
            example="60 degC",
        ),
        INSULATION,
        Number(
            "bundle",
            "Cables tied together",
            "Those that carry current at the same time, the return counted too",
            "2",
            "2",
            "number",
            1,
            100,
        ),
        Number(
            "allowed_drop",
            "Loss you allow",
            "3 % for charging and for what must work; of each circuit on its own",
            "3 %",
            "3 %",
            "share",
            0.1,
            50,
            part_of="source_voltage",
            part_unit="V",
        ),
        replace(
            JOINTS, help="Crimps, bolts, plugs and fuse holders between the batteries, there and back", default="8"
        ),
        Choice(
            "metal",
            "Metal of the cable",
            "Light cable sold cheap is often aluminium with a skin of copper",
            COPPER,
            COPPER,
            ((COPPER, "Copper"), (CLAD, "Copper-clad aluminium")),
        ),
        FAMILY,
    ),
    outputs=(
        Output("size_1", "area", "Cable from the starter battery"),
        Output("fuse_1", "current", "Fuse 1, at the starter battery"),
        Output("size_2", "area", "Cable to the second battery"),
        Output("fuse_2", "current", "Fuse 2, at the second battery"),
        Output("size_3", "area", "Cable to the loads"),
        Output("fuse_3", "current", "Fuse 3, at the second battery, for the loads"),
        Output("battery_voltage", "voltage", "Arrives at the second battery's posts"),
        Output("charger_input_voltage", "voltage", "Arrives at the charger", always=False),
        Output("input_current", "current", "The charger draws", always=False),
        Output("loss", "voltage_drop", "Lost on the way"),
        Output("loss_percent", "share", "As a share of the voltage fed in"),
        Output("loss_after_charger", "voltage_drop", "Lost after the charger", always=False),
        Output("loss_to_loads", "voltage_drop", "Lost on the way to the loads"),
    ),
    compute=compute,
    example={
        "current": "25 A",
        "length_1": "6 m",
        "link": "charger",
        "source_voltage": "13.8 V",
        "load_current": "12 A",
        "starter_chemistry": "flooded",
    },
    example_story="In an invented van a charger behind the seats gives 25 A; the starter battery is 6 m of cable away.",
    cases=(
        Cases(
            "Cable from the starter battery to a relay, half a metre before the second battery",
            tuple(
                (length.replace(" ", "\u00a0"), {"length_1": length}) for length in ("2 m", "4 m", "6 m", "8 m", "10 m")
            ),
            tuple(
                (amps.replace(" ", "\u00a0"), {"current": amps}) for amps in ("10 A", "20 A", "30 A", "40 A", "60 A")
            ),
            "size_1",
        ),
    ),
    guides=("cable-and-fuse", "joints-and-earths", "fuses", "joined-and-parted", "words"),
    starts={
        "current": starts.output_current,
        "length_1": starts.first_length,
        "link": starts.link_kind,
        "length_2": starts.last_length,
        "zone_1": starts.first_zone,
        "zone_2": starts.last_zone,
        "source_voltage": starts.lowest_set_point,
        "return_path": starts.at("vehicle", "earth_path"),
        "load_current": starts.loads_together,
        "chemistry": starts.at("second", "chemistry"),
        "capacity": starts.bank_capacity,
        "starter_chemistry": starts.at("starter", "chemistry"),
        "starter_capacity": starts.at("starter", "capacity"),
        "ambient": starts.at("vehicle", "ambient"),
        "engine_bay_heat": starts.at("vehicle", "engine_bay_heat"),
        "insulation": starts.poorest_insulation,
        "joints": starts.run_joints,
    },
    gives_run=True,
)
