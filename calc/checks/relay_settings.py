"""Will the relay between the batteries hold, drop out or chatter?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.fields import Choice, Number
from calc.physics import cable, relay
from calc.physics.fault import REFERENCE_CAPACITY, internal_resistance
from calc.physics.relay import Circuit, Parting, State, Store
from calc.physics.rest_voltage import charge_at_rest, voltage_at_rest
from calc.setup import starts
from calc.shared_fields import AMBIENT, CAPACITY, CHEMISTRY, JOINTS, LENGTH, RETURN_PATH, SIZE
from calc.tables import assumption, table
from calc.units import show

STARTS = 50.0
"""Charge that a starter battery needs to start an engine in most weather [%]. Common practice, no source."""

ROUNDING = 1e-6
"""A current below this is none: it comes of rounding [A]."""

LONGEST_DELAY = 600.0
"""A delay that is longer than this is not sold [s]. Common practice, no source."""

CHARGER = "A charger between the two (d.c. to d.c.) limits the current, and cures this whatever the set points."
"""What helps where set points do not."""

LIFT = (
    "No cable cures that. A charger between the two (d.c. to d.c.) with an ignition wire does. Lower the set points "
    "only as far as the answer for the engine off allows."
)
"""What helps where the alternator holds too few volts."""

MORE = "A faster engine or less load helps; meanwhile both batteries help out and go down."
"""What helps where the alternator gives too few amperes."""


def usual(key: str) -> str:
    """Return a set-up's usual value, as it is typed."""
    return table("set_up_assumptions").row(key=key)["value"]


@dataclass(frozen=True)
class Found:
    """Everything that is computed.

    Attributes
    ----------
    circuit : with the usual resistances
    rests : resting voltages of the starter and the second battery at their lowest charge [V]
    full : the same when full [V]
    open : sensed before closing, in the end [V]
    connects : whether that reaches the connecting point
    itself : whether the second battery alone, at rest and full, reaches it on a relay that looks at both sides
    starter : inside the starter battery as the relay closes [V]
    closing : as it closes, both at their lowest charge
    every : the same with all that is not known
    after : sensed when the delay is over [V]
    sagging : where the sensed voltage sinks to in the next minutes, as the starter battery helps; None if it does not
    steady : in the end
    hold_at : highest disconnecting point that holds [V]
    holds_from : lowest charge of the second battery from which it holds on closing; None if it never does [%]
    delay_needed : after which the sensed voltage has recovered; infinity if it never has [s]
    parting : with the engine off
    """

    circuit: Circuit
    rests: tuple[float, float]
    full: tuple[float, float]
    open: float
    connects: bool
    itself: bool
    starter: float
    closing: State
    every: tuple[State, ...]
    after: float
    sagging: float | None
    steady: State
    hold_at: float
    holds_from: float | None
    delay_needed: float
    parting: Parting


def reads(state: State, i: Inputs) -> float:
    """Return what the relay senses: its side of the starter battery, or the higher of both."""
    return max(state.sensed, state.output) if i.sense_side == "either" else state.sensed


def surface(chemistry: str) -> tuple[float, float]:
    """Return how much a battery's surface adds after charging [V], and in what time half of it [h]."""
    tail = "_lfp" if chemistry == "lfp" else ""
    return assumption(f"surface_after_charge{tail}")["value"], assumption(f"surface_settling{tail}")["value"]


def resistance(i: Inputs) -> float:
    """Return the resistance of the cable between relay and second battery, there and back [ohm]."""
    conductors = 2 if i.return_path == "cable" else 1
    body = assumption("body_return_resistance")["value"] if i.return_path == "body" else 0.0
    wire = cable.length_resistance(i.size.resistance_per_km, i.length, i.ambient)
    return conductors * wire + body + i.joints * assumption("joint_resistance")["value"]


def work_out(i: Inputs) -> Found:
    """Return everything there is to say."""
    firsts, others = (
        internal_resistance(*of) for of in ((i.starter_chemistry, i.starter_capacity), (i.chemistry, i.capacity))
    )
    c = Circuit(
        i.alternator_voltage,
        i.alternator_current,
        assumption("alternator_resistance")["value"],
        firsts[1],
        assumption("relay_contact")["value"],
        resistance(i),
        others[1],
        i.load,
    )
    first = (STARTS, 100.0) if i.starter_charge is None else (i.starter_charge,) * 2
    other = (0.0, 100.0) if i.charge is None else (i.charge,) * 2
    rests = voltage_at_rest(first[0], i.starter_chemistry), voltage_at_rest(other[0], i.chemistry)
    best = voltage_at_rest(first[1], i.starter_chemistry), voltage_at_rest(other[1], i.chemistry)
    full = voltage_at_rest(100, i.starter_chemistry), voltage_at_rest(100, i.chemistry)
    tails = tuple(
        assumption("tail_current")["value"] * ah / REFERENCE_CAPACITY for ah in (i.starter_capacity, i.capacity)
    )
    least = min(c.limit, tails[0])
    open_ = c.holds - c.alternator * least if c.limit > 0 else full[0]
    second_open = rests[1] - c.second * c.load
    sensed = max(open_, second_open) if i.sense_side == "either" else open_

    def close(at: Circuit, rest: tuple[float, float]) -> State:
        return relay.joined(at, starter_at(i, at, rest[0]), rest[1])

    closing = close(c, rests)
    weak, strong = replace(c, starter=firsts[2], second=others[0]), replace(c, starter=firsts[0], second=others[2])
    starter, (most, half_time) = starter_at(i, c, rests[0]), surface(i.chemistry)
    grown = relay.rise(most, half_time, i.delay) if closing.through > c.load + ROUNDING else 0.0
    after = reads(relay.joined(c, starter, rests[1] + grown), i) if grown else reads(closing, i)
    need, takes = second_needed(c, starter, i.disconnects_at)
    steady = relay.settled(c, tails, full, voltage_at_rest(0, i.chemistry))
    held = reads(closing, i) >= i.disconnects_at
    return Found(
        c,
        rests,
        full,
        sensed,
        sensed >= i.connects_at,
        i.sense_side == "either" and voltage_at_rest(90 if i.chemistry == "lfp" else 100, i.chemistry) >= i.connects_at,
        starter,
        closing,
        (closing, close(weak, rests), close(c, best), close(strong, best)),
        after,
        reads(relay.joined(c, rests[0], rests[1] + most), i) if closing.helping > 0 else None,
        steady,
        min(after, reads(steady, i)),
        holds_from(i, need - (relay.rise(most, half_time, i.delay) if takes else 0.0)),
        0.0 if held else relay.rise_time(need - rests[1], most, half_time) if takes else math.inf,
        parting(i, c, i.disconnects_at),
    )


def parting(i: Inputs, c: Circuit, point: float) -> Parting:
    """Return how the relay parts two full batteries at a point, engine off."""
    stores = (
        Store(chemistry, capacity, 100.0, *surface(chemistry))
        for chemistry, capacity in ((i.starter_chemistry, i.starter_capacity), (i.chemistry, i.capacity))
    )
    return relay.parting(c, point, i.delay, i.sense_side == "either", *stores)


def starter_at(i: Inputs, c: Circuit, rest: float) -> float:
    """Return the voltage inside the starter battery as the relay closes [V]."""
    return relay.risen(c, rest, min(i.connects_at, c.holds)) if c.limit > relay.LEAST_LIMIT else rest


def second_needed(c: Circuit, starter: float, sensed: float) -> tuple[float, bool]:
    """Return the voltage inside the second battery for a sensed one [V], and whether it then takes charge."""
    need = relay.needed(c, starter, sensed)
    return need, sensed - need > c.load * c.loop


def holds_from(i: Inputs, rest: float) -> float | None:
    """Return the lowest charge at which the second battery rests at a voltage or above [%]."""
    if rest > voltage_at_rest(100, i.chemistry):
        return None
    return 0.0 if rest <= voltage_at_rest(0, i.chemistry) else charge_at_rest(rest, i.chemistry)


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    f = work_out(i)
    record(i, f, found)
    judge_points(i, found)
    judge_lithium(i, found)
    judge_running(i, f, found)
    judge_parked(i, f, found)
    working(i, f, found)
    found.caution(cautions.ENGINE, cautions.SHORT_CIRCUIT)
    if {i.chemistry, i.starter_chemistry} != {"lfp"}:
        found.caution(cautions.GAS)
    if i.starter_chemistry == "lfp":
        found.caution(cautions.LITHIUM_CRANK)
    if "lfp" in (i.chemistry, i.starter_chemistry):
        found.caution(cautions.LITHIUM_COLD)
    found.caution(cautions.FUSE_LAST, cautions.LOCAL_CODE)


def record(i: Inputs, f: Found, found: Findings) -> None:
    """Record the values of the answer."""
    sensed = [reads(state, i) for state in f.every]
    rush = [state.through for state in f.every]
    found.value("sensed_open", f.open)
    if f.connects:
        found.value("sensed_closing", sensed[0], min(sensed), max(sensed), spread(sensed, "V", 2))
        back = ", from the second battery back" if rush[0] < 0 else ""
        low, high = sorted((min(map(abs, rush)), max(map(abs, rush))))
        found.value("inrush_current", abs(rush[0]), low, high, spread([abs(a) for a in rush], "A", 0) + back)
        found.value("sensed_after", f.after)
        least = "at no charge" if f.holds_from is None else show(math.ceil(f.holds_from), "%")
        found.value("holds_from", f.holds_from, text=least)
        found.value("delay_needed", *delay_words(f))
    else:
        for key in ("sensed_closing", "inrush_current", "sensed_after", "holds_from", "delay_needed"):
            found.value(key, None, text="it never connects")
    found.value("sensed_steady", reads(f.steady, i))
    found.value("lowest_disconnect", f.hold_at)
    found.value("second_gets", f.steady.arriving)
    hours = f.parting.hours
    found.value("parts_after", hours, text=time(hours) if hours is not None else "not within 30 days, or not at all")
    found.value("starter_left", f.parting.starter)


def spread(numbers: list[float], unit: str, places: int) -> str:
    """Return the first of some numbers in words, and the range of all of them in brackets."""
    ends = f"{show(min(numbers), '-', places)} to {show(max(numbers), unit, places)}"
    return f"{show(numbers[0], unit, places)} ({ends})"


def delay_words(f: Found) -> tuple:
    """Return the delay that would do: value, low, high, words."""
    seconds = f.delay_needed
    if seconds == 0:
        return 0.0, None, None, "none"
    if not math.isfinite(seconds) or seconds > 1e6:
        return None, None, None, "no delay would do"
    words = (
        show(seconds, "s", 0) if seconds <= LONGEST_DELAY else f"{show(seconds / 60, 'min', 0)}, longer than is sold"
    )
    return seconds, None, None, words


def time(hours: float) -> str:
    """Return a time in the unit that suits it."""
    if hours < 1 / 60:
        return show(3600 * hours, "s", 0)
    return show(60 * hours, "min", 0) if hours < 1 else show(hours, "h", 0 if hours >= 10 else 1)


def judge_points(i: Inputs, found: Findings) -> None:
    """Say where the two set points cannot be."""
    if i.connects_at <= i.disconnects_at:
        found.verdict(
            "stop",
            f"Set it to connect above where it disconnects: {i.text('connects_at')} is not above "
            f"{i.text('disconnects_at')}.",
            "Between the two points neither open nor closed can last, so the relay chatters. Half a volt between them "
            "is common.",
        )


def judge_lithium(i: Inputs, found: Findings) -> None:
    """Say that lithium wants a charger and not a relay."""
    if i.chemistry == "lfp" and i.starter_chemistry != "lfp":
        found.verdict(
            "stop",
            "Do not join a lithium battery to a lead-acid one by a relay: put a charger between them.",
            "It takes all that an alternator can give, which can overheat the alternator; and half charged it rests at "
            f"{show(voltage_at_rest(50, 'lfp'), 'V', 1)}, above where a relay parts, so the two stay joined. Its "
            "makers ask for a charger (d.c. to d.c.).",
        )


def judge_running(i: Inputs, f: Found, found: Findings) -> None:
    """Say what the relay does while the engine runs."""
    steady = reads(f.steady, i)
    if f.itself:
        found.verdict(
            "stop",
            "The second battery alone keeps this relay closed, engine or not.",
            f"It looks at both sides, and a nearly full second battery rests at or above {i.text('connects_at')}. "
            "Sense the starter battery only, or raise the connecting point.",
        )
    if f.connects and f.after < i.disconnects_at:
        chatters(i, f, found)
    elif not f.connects and steady >= i.disconnects_at:
        found.verdict(
            "caution",
            f"The relay never connects: the alternator gets the starter battery to {show(f.open, 'V', 2)}, and it "
            f"waits for {i.text('connects_at')}.",
            "The second battery is not charged. " + LIFT,
        )
    if steady < i.disconnects_at:
        again = "" if f.connects else f"It does not close again either, as it waits for {i.text('connects_at')}. "
        found.verdict(
            "caution",
            f"The relay drops out while you drive: in the end it senses {show(steady, 'V', 2)}, and parts below "
            f"{i.text('disconnects_at')}.",
            f"{why_low(i, f)} {again}{MORE if too_few_amperes(f) and f.circuit.holds >= i.disconnects_at else LIFT}",
        )
    elif i.load > i.alternator_current and f.connects:
        found.verdict(
            "caution",
            f"The relay drops out while you drive, once the batteries have gone down: the load takes {i.text('load')}, "
            f"and the alternator gives {i.text('alternator_current')}.",
            MORE,
        )
    elif f.connects and f.after >= i.disconnects_at:
        holds(i, f, found)


def why_low(i: Inputs, f: Found) -> str:
    """Say why the sensed voltage is low in the end."""
    if f.circuit.holds < i.disconnects_at:
        return "The alternator holds less than that, as a smart one may while cruising."
    if too_few_amperes(f):
        return f"The alternator gives at most {i.text('alternator_current')}, less than load and batteries take."
    return "The alternator holds hardly more than that, and its voltage sinks a little as it gives current."


def too_few_amperes(f: Found) -> bool:
    """Return whether the alternator is at its limit in the end, and not just low in volts."""
    return f.steady.through - f.steady.helping > f.circuit.limit * (1 - 1e-9)


def chatters(i: Inputs, f: Found, found: Findings) -> None:
    """Say that the relay cannot stay closed, and what would help."""
    rush, sensed = show(abs(f.closing.through), "A", 0), show(f.after, "V", 2)
    if i.delay == 0:
        text = "The relay buzzes: there may be no steady position at all."
        because = (
            f"Closed, {rush} pull the sensed voltage down to {sensed}, and it opens; open, the voltage is back, and it "
            "closes at once. That goes on until its contacts weld or wear. It needs a delay, or other points. "
        )
    else:
        text = "The relay chatters: it opens again after it has closed, over and over."
        because = (
            f"{rush} rush into the second battery, and after {i.text('delay')} the relay still senses {sensed}, below "
            f"{i.text('disconnects_at')}. It clicks on and off, {show(2 * i.delay, 's')} or more for each round, until "
            "the second battery has filled or its contacts weld or wear. "
        )
    found.verdict("stop", text, because + remedies(i, f))


def remedies(i: Inputs, f: Found) -> str:
    """Say what would make the relay hold."""
    point = math.floor(10 * f.hold_at + 1e-6) / 10
    said = []
    parked = parting(i, f.circuit, point)
    if parked.hours is not None and parked.starter >= STARTS:
        said.append(
            f"Set it to disconnect at {show(point, 'V', 1)} or less; at that point, engine off, it parts after "
            f"{time(parked.hours)} and leaves the starter battery {show(parked.starter, '%', 0)}."
        )
    else:
        said.append(
            f"It would hold if it disconnected at {show(point, 'V', 1)}, but then it parts too late, engine off."
        )
    if i.delay < f.delay_needed <= LONGEST_DELAY:
        said.append(f"A delay of {show(math.ceil(f.delay_needed), 's')} would do too.")
    if f.holds_from is not None and f.holds_from > lowest_charge(i):
        said.append(
            f"It holds once the second battery has {show(math.ceil(f.holds_from), '%')} or more: charge it elsewhere "
            "first."
        )
    said.append("Thicker cable is no cure here, as it lets a larger rush through.")
    return " ".join([*said, CHARGER])


def lowest_charge(i: Inputs) -> float:
    """Return the lowest charge of the second battery that is asked about [%]."""
    return 0.0 if i.charge is None else i.charge


def holds(i: Inputs, f: Found, found: Findings) -> None:
    """Say that the relay holds, and what may yet open it."""
    state = (
        "whatever the second battery's charge" if i.charge is None else f"with the second battery at {i.text('charge')}"
    )
    smart = assumption("smart_alternator_rests")
    because = (
        f"The rush of {show(abs(f.closing.through), 'A', 0)} leaves {show(f.after, 'V', 2)} to sense, and it parts "
        f"below {i.text('disconnects_at')}. In the end {show(f.steady.arriving, 'V', 2)} arrive at the second battery."
    )
    if smart["low"] < i.disconnects_at:
        because += f" A smart alternator may fall to {show(smart['value'], 'V', 1)} while cruising: then it opens."
    go_on(found, f"The relay holds, {state}.", because)
    lowest = min(reads(state, i) for state in f.every)
    if lowest < i.disconnects_at and i.connects_at > i.disconnects_at:
        found.verdict(
            "caution",
            "With a tired starter battery or a very good second one it may still chatter.",
            f"Then it senses as little as {show(lowest, 'V', 2)} on closing. To be sure, set it to disconnect below "
            "that, or listen to it after a start with the second battery low.",
        )
    if f.sagging is not None and f.sagging < i.disconnects_at:
        found.verdict(
            "caution",
            "At this engine speed it may drop out after some minutes.",
            f"Batteries and load take more than the {i.text('alternator_current')} that the alternator gives, so the "
            f"starter battery helps out and sinks, at worst to {show(f.sagging, 'V', 2)}. Faster than idle the "
            "alternator gives more: ask again with its rated current.",
        )


def go_on(found: Findings, text: str, because: str) -> None:
    """Say that it is well, unless something forbids it."""
    if all(v.level != "stop" for v in found.verdicts):
        found.verdict("ok", text, because)


def judge_parked(i: Inputs, f: Found, found: Findings) -> None:
    """Say what the relay does once the engine has stopped."""
    p = f.parting
    left = show(p.starter, "%", 0)
    if p.hours is None and i.load > 0:
        found.verdict(
            "stop",
            "With the engine off it does not part in time, and the load drains the starter battery too.",
            f"The joined pair stays above {i.text('disconnects_at')} until the starter battery is down to {left}. "
            f"Raise the disconnecting point: a full starter battery rests at {show(f.full[0], 'V', 2)}.",
        )
    elif p.hours is None:
        found.verdict(
            "caution",
            "With the engine off and no load it does not part within 30 days.",
            f"The pair rests at {i.text('disconnects_at')} or above, so a load on the second battery draws from both: "
            "enter it to see how far down.",
        )
    elif p.starter < STARTS:
        found.verdict(
            "stop",
            f"With the engine off it parts too late: the starter battery is down to {left}.",
            f"It parts after {time(p.hours)}. An engine may not start on less than {show(STARTS, '%', 0)}. Raise the "
            "disconnecting point.",
        )
    else:
        load = i.text("load") if i.load else "no load"
        go_on(
            found,
            f"With the engine off it parts after about {time(p.hours)}, and the starter battery keeps {left}.",
            f"Counted from a long drive, both batteries full, with {load} on the second. Surface charge holds the two "
            f"together at first. With {show(STARTS, '%', 0)} or more an engine still starts in most weather.",
        )


def working(i: Inputs, f: Found, found: Findings) -> None:
    """Show how the numbers came about."""
    c = f.circuit
    found.step(
        "Resistance from the starter battery to the second one and back: cable, joints"
        + (", body" if i.return_path == "body" else "")
        + " and the relay's contacts",
        f"R = {show(1000 * c.cable, 'mohm')} + {show(1000 * c.contact, 'mohm')}",
        "ohm",
    )
    found.step(
        "Inside the batteries and the alternator, as usual for their size; the range counts new and tired batteries",
        f"R1 = {show(1000 * c.starter, 'mohm')}, R2 = {show(1000 * c.second, 'mohm')}, "
        f"Ra = {show(1000 * c.alternator, 'mohm')}",
        "memory",
    )
    counted = f" (counted as {show(STARTS, '%', 0)} charged)" if i.starter_charge is None else ""
    found.step(
        f"Before it closes: the starter battery at rest{counted}, lifted by its surface charge as far as the "
        "relay needs to close; the second one at rest at its lowest charge",
        f"E1 = {show(f.starter, 'V', 2)}, E2 = {show(f.rests[1], 'V', 2)}",
        "practice",
    )
    found.step(
        "As it closes, solved as a network; the relay stands beside the starter battery. At the far end of the cable "
        "it would read what arrives there",
        f"{show(f.closing.through, 'A', 0)} flow, sensed {show(reads(f.closing, i), 'V', 2)}, at the far end "
        f"{show(f.closing.arriving, 'V', 2)}",
        "ohm",
    )
    most, half_time = surface(i.chemistry)
    found.step(
        "The second battery's voltage rises as its surface charges; a real one may rise faster in the first seconds",
        f"E2(t) = E2 + {show(most, 'V')} · t / (t + {show(half_time, 'h')}); after {i.text('delay')} sensed "
        f"{show(f.after, 'V', 2)}",
        "memory",
    )
    found.step(
        "In the end each battery takes 2 A for each 100 Ah, and the load its own"
        if f.steady.helping <= 0
        else "In the end the alternator is at its limit, and both batteries help",
        f"sensed {show(reads(f.steady, i), 'V', 2)}, at the second battery {show(f.steady.arriving, 'V', 2)}",
        "practice",
    )
    found.step(
        "Engine off: both full, the surface charge settles, and both share the load until the relay parts them",
        f"E(t) = E + {show(most, 'V')} / (1 + t / {show(half_time, 'h')}), in steps of at most 1 % of charge",
        "memory",
    )


CHECK = Check(
    id="relay-settings",
    title="Relay settings",
    question="Will the relay between the batteries hold, drop out or chatter?",
    about="A voltage-sensitive relay joins the batteries when the starter battery's voltage is high, and parts them "
    "when it is low. As it closes, a rush of current pulls that voltage down. Whether it stays closed hangs on the set "
    "points, the delay, the cable and both batteries.",
    task="vehicle",
    fields=(
        LENGTH,
        SIZE,
        Number(
            "connects_at",
            "Connects at",
            "In its leaflet; about 13.3 V is common",
            usual("link.connects_at"),
            "13.3 V",
            "voltage",
            10,
            16,
        ),
        Number(
            "disconnects_at",
            "Disconnects at",
            "In its leaflet; about 12.8 V is common",
            usual("link.disconnects_at"),
            "12.8 V",
            "voltage",
            10,
            16,
        ),
        Number(
            "delay",
            "Delay before it acts",
            "In its leaflet, the same both ways; 0 if it acts at once",
            usual("link.delay"),
            "10 s",
            "duration",
            0,
            LONGEST_DELAY,
        ),
        Choice(
            "sense_side",
            "Looks at",
            "A relay of two directions looks at both sides and closes for either",
            "starter",
            "starter",
            (("starter", "The starter battery only"), ("either", "Either battery")),
        ),
        Number(
            "alternator_voltage",
            "Voltage the alternator holds",
            "At the starter battery, engine warm and fast; try 12.5 V for a smart one cruising",
            usual("alternator.set_point"),
            "14.2 V",
            "voltage",
            10,
            16,
        ),
        Number(
            "alternator_current",
            "Current it can give",
            "At this engine speed, less what engine and lights take; idle is the worst case",
            usual("alternator.idle_output"),
            "30 A",
            "current",
            0,
            600,
        ),
        replace(CHEMISTRY, label="Second battery, type", default=usual("second.chemistry")),
        replace(CAPACITY, label="Second battery, capacity"),
        Number(
            "charge",
            "Second battery, charge",
            "When the engine is started; leave it blank for all from flat to full",
            "",
            "40 %",
            "charge",
            unknown="flat to full",
        ),
        Number(
            "load",
            "Load on the second battery",
            "What draws current from it all the time, as an average",
            usual("load.current"),
            "4 A",
            "current",
            0,
            600,
        ),
        replace(CHEMISTRY, name="starter_chemistry", label="Starter battery, type", default=usual("starter.chemistry")),
        replace(
            CAPACITY, name="starter_capacity", label="Starter battery, capacity", default=usual("starter.capacity")
        ),
        Number(
            "starter_charge",
            "Starter battery, charge",
            "Just after the start; leave it blank for all from half charged to full",
            "",
            "80 %",
            "charge",
            unknown="half charged to full",
        ),
        RETURN_PATH,
        AMBIENT,
        JOINTS,
    ),
    outputs=(
        Output("sensed_open", "voltage", "Sensed before it closes, in the end"),
        Output("sensed_closing", "voltage", "Sensed as it closes, at worst"),
        Output("inrush_current", "current", "Rush of current as it closes"),
        Output("sensed_after", "voltage", "Sensed when the delay is over"),
        Output("sensed_steady", "voltage", "Sensed in the end, engine running"),
        Output("lowest_disconnect", "voltage", "Holds if it disconnects at or below"),
        Output("holds_from", "charge", "Holds from this charge of the second battery"),
        Output("delay_needed", "duration", "Delay needed to hold"),
        Output("second_gets", "voltage", "Arrives at the second battery in the end"),
        Output("parts_after", "hours", "Engine off: parts after"),
        Output("starter_left", "charge", "Starter battery's charge then"),
    ),
    compute=compute,
    example={
        "length": "5 m",
        "size": "25 mm2",
        "alternator_current": "40 A",
        "chemistry": "flooded",
        "capacity": "110 Ah",
        "charge": "20 %",
        "load": "3 A",
        "return_path": "body",
    },
    example_story="A van idles after a night at a lake: its second battery, 5 m of cable away, is down to a fifth.",
    cases=(
        Cases(
            "Sensed as the relay closes at 13.3 V, by the second battery's charge and the cable: 6 m and back by the "
            "body, AGM of 100 Ah, starter battery of 70 Ah, at idle",
            tuple((f"{q}\u00a0%", {"charge": f"{q} %"}) for q in (0, 20, 40, 60, 80, 100)),
            tuple((f"{a}\u00a0mm²", {"size": f"{a} mm2"}) for a in (6, 16, 25, 50)),
            "sensed_closing",
            {"length": "6 m", "return_path": "body"},
        ),
        Cases(
            "Starter battery's charge when the relay parts, by where it disconnects and the load, engine off",
            tuple((f"{u}\u00a0V", {"disconnects_at": f"{u} V"}) for u in ("12.0", "12.2", "12.4", "12.6", "12.8")),
            tuple((f"{a}\u00a0A", {"load": f"{a} A"}) for a in (1, 4, 10, 30)),
            "starter_left",
            {"length": "6 m", "size": "16 mm2", "return_path": "body"},
        ),
    ),
    guides=("joined-and-parted", "alternators", "charging-from-the-alternator"),
    starts={
        "length": starts.run_length,
        "size": starts.run_size,
        "connects_at": starts.at("link", "connects_at"),
        "disconnects_at": starts.at("link", "disconnects_at"),
        "delay": starts.at("link", "delay"),
        "alternator_voltage": starts.at("alternator", "set_point"),
        "alternator_current": starts.at("alternator", "idle_output"),
        "chemistry": starts.at("second", "chemistry"),
        "capacity": starts.bank_capacity,
        "load": starts.usual_load,
        "starter_chemistry": starts.at("starter", "chemistry"),
        "starter_capacity": starts.at("starter", "capacity"),
        "return_path": starts.at("vehicle", "earth_path"),
        "ambient": starts.run_ambient,
        "joints": starts.run_joints,
    },
)
