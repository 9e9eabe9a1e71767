"""Which fuse protects this cable, and will it?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output, Plot
from calc.checks.envelope import envelope_plot
from calc.fields import Choice, Number
from calc.physics import adiabatic, cable, fault, fuse
from calc.physics.cable_sizes import METRIC, CableSize, catalogue
from calc.setup import starts
from calc.shared_fields import AMBIENT, CAPACITY, CHEMISTRY, CURRENT, ENGINE_BAY, INSULATION, LENGTH, SIZE
from calc.tables import assumption
from calc.units import show

ANY = "any"
NAMES = {
    "blade": "blade fuse (type C or F)",
    "large": "large blade fuse (type E)",
    "bolt": "single-bolt fuse",
    "strip": "bolt-in strip fuse",
}
"""What a reader calls each kind of fuse."""

COLD = 20.0
"""The copper in the strongest short has not been warmed by a load [degC]."""

SPLIT = "No thicker cable of the sizes known here will do: share the load between two cables, each with its own fuse."


@dataclass(frozen=True)
class Run:
    """The cable as it lies: what it carries, what a short drives through it, what it stands."""

    size: CableSize
    allowable: float
    rating_low: float
    rating_high: float
    far_low: float
    far_high: float
    terminals_low: float
    terminals_usual: float
    terminals_high: float
    factor: float

    @property
    def withstand(self) -> float:
        """I²t that the cable stands [A2s]."""
        return adiabatic.withstand(self.factor, self.size.copper)

    @property
    def harmless(self) -> bool:
        """Whether the weakest short is no more than the cable may carry for good."""
        return self.far_low <= self.allowable


@dataclass(frozen=True)
class Fuse:
    """One fuse that is sold."""

    key: str
    rating: float

    @property
    def family(self) -> fuse.Family:
        """Its kind."""
        return fuse.family(self.key)

    @property
    def text(self) -> str:
        """Its rating as a reader sees it, with its colour where the standard gives one."""
        colour = fuse.colour(self.key, self.rating)
        return show(self.rating, "A") + (f", {colour}" if colour else "")

    @property
    def words(self) -> str:
        """Its kind and rating: "single-bolt fuse of 40 A"."""
        return f"{NAMES[self.key]} of {show(self.rating, 'A')}"


@dataclass(frozen=True)
class Pick:
    """What was chosen, or which test left nothing; and what would have done but for the surge."""

    fuse: Fuse | None
    fails: str | None = None
    before_surge: Fuse | None = None


def air_at_fuse(i: Inputs) -> float:
    """Return the temperature of the air around the fuse [degC]."""
    return max(i.ambient, cable.ENGINE_SPACE_AMBIENT) if i.engine_bay == "yes" else i.ambient


def lay(size: CableSize, i: Inputs) -> Run:
    """Return how a size lies in the run that was asked about."""
    allowable = cable.allowable_current(size.copper, i.insulation, i.ambient, i.engine_bay == "yes")
    joints, each = assumption("joints_in_run"), assumption("joint_resistance")
    warm = adiabatic.start_temperature(i.insulation)
    most = 2 * cable.length_resistance(size.resistance_per_km, i.length, warm) + joints["high"] * each["high"]
    least = 2 * cable.length_resistance(size.resistance_per_km, i.length, COLD) + joints["low"] * each["low"]
    return Run(
        size,
        allowable,
        fuse.rating_needed(i.current, air_at_fuse(i)),
        fuse.rating_allowed(allowable),
        fault.weakest(i.chemistry, i.capacity, most),
        fault.strongest(i.chemistry, i.capacity, least),
        fault.weakest(i.chemistry, i.capacity, 0),
        fault.usual(i.chemistry, i.capacity, 0),
        fault.strongest(i.chemistry, i.capacity, 0),
        adiabatic.insulation_factor(i.insulation),
    )


def surges(i: Inputs) -> bool:
    """Return whether there is a surge above the steady load."""
    return i.surge_current is not None and i.surge_current > i.current


def rides(f: Fuse, i: Inputs) -> bool:
    """Return whether even the fastest such fuse stays whole in the surge."""
    return not surges(i) or fuse.fastest(f.key, f.rating, i.surge_current) > i.surge_time


def protects(f: Fuse, run: Run) -> bool:
    """Return whether even the slowest such fuse opens before a dead short spoils the insulation."""
    start = run.terminals_high if run.harmless else run.far_low
    let_through = fuse.largest_let_through(f.key, f.rating, start, max(start, run.terminals_high))
    if let_through is None:
        return run.terminals_high <= run.allowable
    return let_through <= run.withstand


def breaks(f: Fuse, current: float) -> bool:
    """Return whether a fuse is made to break a current."""
    return f.family.breaking_capacity >= current


def certain_short(chemistry: str, low: float, usual: float) -> float:
    """Return what a fuse at the battery's posts is certain to be asked to break [A].

    From a lead-acid battery what it drives even when it is weak, as the trade fits these very fuses to such batteries
    (common practice, no source); from a lithium one what it drives in its usual state, as there the trade asks for
    more.
    """
    return usual if chemistry == "lfp" else low


def holder_suffices(f: Fuse, i: Inputs) -> bool:
    """Return whether in-line holders for this kind of fuse carry the load."""
    most = fuse.holder_current(f.key)
    return most is None or i.current <= most and f.rating <= most


def preference(run: Run, i: Inputs) -> Callable[[Fuse], tuple]:
    """Return how to rank fuses: no larger than the cable may carry, near to breaking the usual short, then small.

    The first two keys do not depend on the load, so that more load never gets a smaller fuse.
    """
    return lambda f: (
        f.rating > run.allowable,
        max(0.0, run.terminals_usual - f.family.breaking_capacity),
        f.rating,
        not breaks(f, run.terminals_high),
        not holder_suffices(f, i),
        fuse.FAMILIES.index(f.key),
    )


def choose(run: Run, i: Inputs, kind: str) -> Pick:
    """Return the fuse to fit, or the test that no fuse of this kind passes."""
    if i.current > run.allowable:
        return Pick(None, "load")
    if run.rating_low > run.rating_high:
        return Pick(None, "window")
    keys = fuse.FAMILIES if kind == ANY else (kind,)
    left = [
        Fuse(key, rating)
        for key in keys
        for rating in fuse.family(key).ratings
        if run.rating_low <= rating <= run.rating_high
    ]
    rank = preference(run, i)
    before_surge = None
    for name, passes in (
        ("ratings", lambda f: True),
        ("short", lambda f: protects(f, run)),
        ("surge", lambda f: rides(f, i)),
    ):
        left = [f for f in left if passes(f)]
        if not left:
            return Pick(None, name, before_surge)
        if name == "short":
            before_surge = min(left, key=rank)
    return Pick(min(left, key=rank), None, before_surge)


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    run = lay(i.size, i)
    pick = choose(run, i, i.fuse_type)
    record(i, run, pick.fuse, found)
    if pick.fuse:
        judge_choice(i, run, pick, found)
        judge_short(i, run, pick.fuse, found)
        judge_breaking(i, run, pick.fuse, found)
        judge_holder(i, pick.fuse, found)
        found.plots.append(picture(run, pick.fuse))
    else:
        refuse(i, run, pick, found)
    judge_place(found)
    working(i, run, pick.fuse, found)
    found.caution(cautions.SHORT_CIRCUIT, cautions.FUSE_LAST, cautions.LOCAL_CODE)


def picture(run: Run, f: Fuse) -> Plot:
    """Return the fuse against its cable, with the weakest and the strongest short marked."""
    faults = {"weakest short, far end": run.far_low, "strongest, at the post": run.terminals_high}
    return envelope_plot(f.key, f.rating, f.words, run.size.text, run.factor, run.size.copper, faults)


def record(i: Inputs, run: Run, f: Fuse | None, found: Findings) -> None:
    """Record the values of the answer."""
    if f:
        found.value("fuse_rating", f.rating, text=f.text)
    else:
        found.value("fuse_rating", None, text="none fits")
    found.value("rating_low", run.rating_low)
    found.value("rating_high", run.rating_high)
    found.value("allowable_current", run.allowable)
    found.value(
        "fault_current",
        run.far_low,
        run.far_low,
        run.far_high,
        text=f"{show(run.far_low)} to {show(run.far_high, 'A')}, by the state of the battery",
    )
    opens = fuse.slowest(f.key, f.rating, run.far_low) if f else None
    if opens is not None:
        found.value("opens_within", opens, text=brief(opens))
    else:
        found.value("opens_within", None, text="it may never open" if f else "no fuse, so never")
    stands = adiabatic.withstand_time(run.far_low, run.factor, run.size.copper)
    found.value(
        "cable_withstands",
        stands,
        text="for good: it may carry that much" if run.harmless else stands_text(stands, opens or 0.0),
    )
    if f and surges(i):
        rides_for = fuse.fastest(f.key, f.rating, i.surge_current)
        found.value("surge_rides_through", rides_for, text=f"at least {brief(rides_for)}")
    found.value("breaking_capacity_needed", run.terminals_high, text=show(run.terminals_high, "A"))
    if f:
        found.value("fuse_breaking_capacity", f.family.breaking_capacity)
    near, far = fuse.farthest_from_source(False), fuse.farthest_from_source(True)
    found.value(
        "furthest_from_battery",
        near,
        text=f"{show(near, 'm')} along the cable (7 in); {show(far, 'm')} (40 in) if sheathed all the way",
    )


def brief(seconds: float) -> str:
    """Return a time in words that claim no more than an envelope knows."""
    if seconds < 0.01:
        return f"{show(0.01, 's')} or less"
    if seconds < 120:
        return show(float(f"{seconds:.2g}"), "s")
    return show(float(f"{seconds / 60:.2g}"), "min") if seconds < 7200 else show(float(f"{seconds / 3600:.2g}"), "h")


def stands_text(seconds: float, asked: float = 0.0) -> str:
    """Return how long the cable stands a short, in words: the law is exact to 5 s, and a least value after.

    `asked` is the time it has to stand; where that is more than 5 s, the least value is told.
    """
    if seconds <= adiabatic.LONGEST:
        return brief(seconds)
    return f"{brief(seconds) if asked > adiabatic.LONGEST else show(adiabatic.LONGEST, 's')} and more"


def judge_choice(i: Inputs, run: Run, pick: Pick, found: Findings) -> None:
    """Say which fuse to fit and why not a smaller or larger one."""
    f = pick.fuse
    because = (
        f"The load needs a rating of {show(run.rating_low, 'A')} or more, and the law lets {run.size.text} have "
        f"{show(run.rating_high, 'A')} at most."
    )
    if pick.before_surge.rating > 2 * run.rating_low:
        because += " It guards the cable; give the load a smaller fuse of its own further along."
    found.verdict("ok", f"Fit a {f.words} at the battery.", because)
    if f.rating > run.allowable:
        larger = thicker(i, lambda run, f: f.rating <= run.allowable)
        found.verdict(
            "caution",
            f"{show(f.rating, 'A')} is more than the {show(run.allowable, 'A')} the cable may carry here.",
            "Only the 150 % rule of 33 CFR 183.455 allows it: a slow overload can warm the cable past its rating. "
            + larger,
        )
    if surges(i):
        f0 = pick.before_surge
        found.verdict(
            "ok",
            f"It rides through {i.text('surge_current')} for {i.text('surge_time')}.",
            (
                f"A {f0.words} would carry the load, but may open after "
                f"{brief(fuse.fastest(f0.key, f0.rating, i.surge_current))} of the surge."
                if not rides(f0, i)
                else f"Even the fastest such fuse holds for {brief(fuse.fastest(f.key, f.rating, i.surge_current))}."
            ),
        )
    if not fuse.seen_to(f.key, f.rating):
        found.verdict(
            "caution",
            f"Compare the {NAMES[f.key]} you buy with its maker's time-current curve.",
            "The opening times of this kind are from memory here, with low confidence.",
        )


def judge_short(i: Inputs, run: Run, f: Fuse, found: Findings) -> None:
    """Say what happens in a dead short at the far end."""
    opens = fuse.slowest(f.key, f.rating, run.far_low)
    if opens is None:
        found.verdict(
            "caution",
            f"A short at the far end may be too weak to open the fuse: as little as {show(run.far_low, 'A')}.",
            f"That does the cable no harm, as it may carry {show(run.allowable, 'A')}; but it empties the battery and "
            "heats the place of the short. A shorter run or a thicker cable lets more through.",
        )
    elif run.harmless:
        found.verdict(
            "ok",
            f"The weakest short at the far end, {show(run.far_low, 'A')}, opens it within {brief(opens)}.",
            "The cable may carry that much for good.",
        )
    else:
        stands = adiabatic.withstand_time(run.far_low, run.factor, run.size.copper)
        found.verdict(
            "ok",
            f"The weakest short at the far end, {show(run.far_low, 'A')}, opens it within {brief(opens)}.",
            f"The cable stands that for {stands_text(stands, opens)}. Only a dead short is counted: one that makes "
            "poor contact can glow for long with no fuse noticing.",
        )


def judge_breaking(i: Inputs, run: Run, f: Fuse, found: Findings) -> None:
    """Say whether the fuse can break what the battery can drive: a stop where it is certain to be asked for more."""
    can = f.family.breaking_capacity
    if breaks(f, run.terminals_high):
        found.verdict(
            "ok",
            f"It can break {show(can, 'A')}; this battery drives at most {show(run.terminals_high, 'A')} into a short.",
            "A fuse must be able to put out the arc of the worst short, right at the battery.",
        )
        return
    why = "A fuse asked to break more than it is made for can burst and go on burning. "
    if i.chemistry == "lfp":
        why += "The battery's own switch may be quicker; do not count on it. "
    if not breaks(f, certain_short(i.chemistry, run.terminals_low, run.terminals_usual)):
        found.verdict(
            "stop",
            f"This battery can drive {show(run.terminals_usual, 'A')} into a short at its terminals, up to "
            f"{show(run.terminals_high, 'A')}; a {NAMES[f.key]} is made to break {show(can, 'A')}.",
            why + stronger(i, run, f),
        )
    else:
        found.verdict(
            "caution",
            f"This battery may drive {show(run.terminals_usual, 'A')} into a short at its terminals, new and full "
            f"{show(run.terminals_high, 'A')}; a {NAMES[f.key]} is made to break {show(can, 'A')}.",
            why + stronger(i, run, f),
        )


def stronger(i: Inputs, run: Run, f: Fuse) -> str:
    """Say which fuse could break more."""
    others = [choose(run, i, key).fuse for key in fuse.FAMILIES if key != f.key]
    others = [
        g for g in others if g and g.family.breaking_capacity > f.family.breaking_capacity and g.rating <= run.allowable
    ]
    good = [g for g in others if breaks(g, run.terminals_high)]
    if good:
        return f"Fit a {min(good, key=preference(run, i)).words} instead."
    ask = (
        f"Ask the maker of the fuse for its breaking capacity at 14 V: it has to be {show(run.terminals_high, 'A')} "
        "or more."
    )
    if others:
        best = min(others, key=preference(run, i))
        return f"A {best.words} breaks {show(best.family.breaking_capacity, 'A')}, which is nearer. {ask}"
    if f.key in ("blade", "large"):
        ask += " Or feed a box of blade fuses through a stronger fuse at the battery; the cable between them helps."
    return ask


def judge_holder(i: Inputs, f: Fuse, found: Findings) -> None:
    """Warn where the usual holder is the weak part."""
    if not holder_suffices(f, i):
        found.verdict(
            "caution",
            f"In-line holders for a {NAMES[f.key]} were found for {show(fuse.holder_current(f.key), 'A')} at most.",
            "A holder that carries more than it is made for melts while the fuse stays whole. Look for the holder's "
            "own rating, or fit a fuse that is bolted down.",
        )


def judge_place(found: Findings) -> None:
    """Say where the fuse goes, and that a cable between two batteries needs two."""
    found.verdict(
        "ok",
        f"The fuse goes within {show(fuse.farthest_from_source(False), 'm')} of the battery's post.",
        "The piece of cable before the fuse is not protected by it. A cable between two batteries can be fed from "
        "either side, so it needs a fuse at both ends. A local code may name another distance: AS/NZS 3001.2 is "
        "said to ask for 0.2 m, or less than 1 m if enclosed.",
    )


def thicker(i: Inputs, suits: Callable[[Run, Fuse], bool] = lambda run, f: True, otherwise: str = SPLIT) -> str:
    """Say which is the thinnest thicker cable with a fuse that suits, or what to do where there is none."""
    for name in dict.fromkeys((i.size.family, METRIC)):
        for size in catalogue()[name]:
            if size.copper <= i.size.copper:
                continue
            run = lay(size, i)
            f = choose(run, i, i.fuse_type).fuse
            if f and suits(run, f):
                return f"The thinnest cable that would do is {size.text}, with a {f.words}."
    return otherwise


def refuse(i: Inputs, run: Run, pick: Pick, found: Findings) -> None:
    """Say why no fuse fits, and what to change."""
    kind = "fuse" if i.fuse_type == ANY else NAMES[i.fuse_type]
    because = thicker(i)
    if pick.fails == "load":
        text = f"No fuse makes this safe: {run.size.text} may carry {show(run.allowable, 'A')} here, and the load is "
        text += f"{i.text('current')}."
        because = "A fuse large enough for the load would let the cable overheat, and heat starts fires. " + because
    elif pick.fails == "window":
        text = (
            f"No fuse fits: the load needs {show(run.rating_low, 'A')} or more, and {run.size.text} may have "
            f"{show(run.rating_high, 'A')} at most."
        )
    elif pick.fails == "ratings":
        text = (
            f"No {kind} is sold with a rating from {show(run.rating_low, 'A')} to {show(run.rating_high, 'A')}, "
            "which is what the load and the cable leave."
        )
        because = another_kind(i, run) or because
    elif pick.fails == "short":
        text = (
            f"No {kind} is sure to open before a short spoils the insulation: at the far end as little as "
            f"{show(run.far_low, 'A')} may flow."
        )
        because = another_kind(i, run) or "A shorter run or a larger battery drives more. " + thicker(i, otherwise="")
    else:
        text = (
            f"Every {kind} that protects {run.size.text} may open in the surge of {i.text('surge_current')} "
            f"for {i.text('surge_time')}."
        )
        because = another_kind(i, run) or because
    found.verdict("stop", text, because.strip())


def another_kind(i: Inputs, run: Run) -> str:
    """Say which other kind of fuse would do, if one was ruled out by choice."""
    other = choose(run, i, ANY).fuse if i.fuse_type != ANY else None
    return f"A {other.words} would do." if other else ""


def working(i: Inputs, run: Run, f: Fuse | None, found: Findings) -> None:
    """Show how the numbers came about."""
    air = air_at_fuse(i)
    found.step(
        f"The load with a quarter to spare, and the fuse in air at {show(air, 'degC', 0)}",
        f"{fuse.OVERLOAD_HEADROOM:g} × {i.text('current')} ÷ {show(fuse.heat_factor(air))} = "
        f"{show(run.rating_low, 'A')}",
        "neets",
        "overload rule; heat by the one maker's row found, for a 40 A large blade fuse",
    )
    found.step(
        f"The largest fuse for {run.size.text}, which may carry {show(run.allowable, 'A')} here",
        f"{fuse.LEGAL_SHARE:g} × {show(run.allowable, 'A')} = {show(run.rating_high, 'A')}",
        "cfr-183-455",
        "below 50 V, of the amperes of Table 5",
    )
    volts, inside = fault.driving_voltage(i.chemistry), fault.internal_resistance(i.chemistry, i.capacity)
    found.step(
        "The weakest short at the far end: a weak battery, the cable there and back hot at its insulation's rating, "
        "poor joints",
        f"I = U/R = {show(volts[0], 'V')} ÷ {show(1000 * volts[0] / run.far_low, 'mohm')} = {show(run.far_low, 'A')}",
        "memory",
        f"internal resistance {show(1000 * inside[0])} to {show(1000 * inside[2], 'mohm')}",
    )
    found.step(
        "The strongest short, at the battery's own terminals: a new, full, warm battery",
        f"I = U/R = {show(volts[2], 'V')} ÷ {show(1000 * inside[0], 'mohm')} = {show(run.terminals_high, 'A')}",
        "memory",
        "internal resistance at its low end",
    )
    start, end = adiabatic.start_temperature(i.insulation), adiabatic.end_temperature(i.insulation)
    found.step(
        f"What the cable stands: copper at {show(start, 'degC', 0)} as the short begins, insulation spoilt at "
        f"{show(end, 'degC', 0)} "
        + ("(taken as PVC)" if end == assumption("insulation_end")["value"] else "(taken as cross-linked)"),
        f"k²S² = ({show(run.factor)} × {show(run.size.copper)})² = {show(run.withstand, 'A2s')}",
        "iec-60364-5-54",
        "annex A; exact to 5 s, on the safe side after",
    )
    if f:
        opens = fuse.slowest(f.key, f.rating, run.far_low)
        latest = "it may never open" if opens is None else f"open within {brief(opens)}"
        seen = fuse.seen_to(f.key, f.rating)
        where = "as quoted by makers, at 23 °C"
        if run.far_low > seen * f.rating:
            where += f"; above {100 * seen:g} % of the rating from memory"
        found.step(
            f"Opening time of a {f.words}, between the edges of its envelope on log-log axes",
            f"{show(run.far_low / f.rating)} × its rating: {latest}",
            "iso-8820" if seen else "memory",
            where if seen else "no text was found for this kind",
        )
        found.step(
            "What it can break",
            f"{show(f.family.breaking_capacity, 'A')} at {show(f.family.voltage, 'V')}",
            "iso-8820" if f.key != "strip" else "memory",
            f"part {f.family.part}",
        )


CHECK = Check(
    id="fuse-choice",
    title="Fuse for a cable",
    question="Which fuse protects this cable?",
    about="A fuse protects the cable, not the load: it must carry the load for good, and open before a short "
    "spoils the insulation.",
    task="vehicle",
    fields=(
        CURRENT,
        Number(
            "surge_current",
            "Surge current",
            "What a motor or inverter draws as it starts; leave it blank if nothing surges",
            "",
            "60 A",
            "current",
            0.1,
            2000,
            unknown="none",
        ),
        Number(
            "surge_time",
            "Length of the surge",
            "A small motor takes about half a second to start",
            "0.5 s",
            "0.5 s",
            "duration",
            0.01,
            600,
        ),
        SIZE,
        replace(LENGTH, default="5 m"),
        INSULATION,
        replace(AMBIENT, label="Air around cable and fuse", help="The hottest it gets where they are"),
        ENGINE_BAY,
        CHEMISTRY,
        CAPACITY,
        Choice(
            "fuse_type",
            "Kind of fuse",
            "Name the kind you have a holder for, or have it chosen",
            ANY,
            "blade",
            ((ANY, "Choose for me"), *((key, name[0].upper() + name[1:]) for key, name in NAMES.items())),
            (("c", "blade"), ("f", "blade"), ("e", "large"), ("single-bolt", "bolt")),
        ),
    ),
    outputs=(
        Output("fuse_rating", "current", "Fuse to fit"),
        Output("rating_low", "current", "Smallest rating for the load"),
        Output("rating_high", "current", "Largest rating the law allows"),
        Output("allowable_current", "current", "This cable may carry"),
        Output("fault_current", "fault_current", "A short at the far end drives"),
        Output("opens_within", "duration", "The weakest such short opens the fuse within"),
        Output("cable_withstands", "duration", "The cable stands that short for"),
        Output("surge_rides_through", "duration", "The fuse holds in the surge for", always=False),
        Output("breaking_capacity_needed", "fault_current", "A short at the battery may drive"),
        Output("fuse_breaking_capacity", "fault_current", "This kind of fuse can break", always=False),
        Output("furthest_from_battery", "distance", "Farthest from the battery's post"),
    ),
    compute=compute,
    example={"current": "25 A", "size": "16 mm2", "length": "6 m", "capacity": "70 Ah"},
    example_story="The 25 A charger behind the seats hangs on 6 m of 16 mm² cable, "
    "which starts at a flooded starter battery of 70 Ah.",
    cases=(
        Cases(
            "Fuse for a 5 m run from a flooded 100 Ah battery, cable rated 75 °C, air at 30 °C",
            tuple(
                (size.replace(" mm2", "\u00a0mm²"), {"size": size})
                for size in ("1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2", "25 mm2")
            ),
            tuple((amps.replace(" ", "\u00a0"), {"current": amps}) for amps in ("5 A", "10 A", "20 A", "40 A", "60 A")),
            "fuse_rating",
        ),
    ),
    guides=("fuses", "cable-and-fuse"),
    starts={
        "current": starts.charging_current,
        "size": starts.run_size,
        "length": starts.run_length,
        "insulation": starts.run_insulation,
        "ambient": starts.run_ambient,
        "engine_bay": starts.in_engine_bay,
        "chemistry": starts.at("second", "chemistry"),
        "capacity": starts.bank_capacity,
    },
    gives={"fuse_rating": ("run", "fuse")},
)
