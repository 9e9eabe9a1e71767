"""Will the battery start the engine, and how long does the second one have to help?"""

from __future__ import annotations

from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.fields import Choice, Number
from calc.physics import lead_acid
from calc.physics.battery import Battery, health_at
from calc.physics.starting import LONGEST_WAIT, Crank, Starter, Wait, needed_current, usual_cold_cranking, wait
from calc.setup import starts
from calc.shared_fields import CAPACITY, CHEMISTRY, ENGINES, LEAD_ACID
from calc.tables import table
from calc.units import show

HALVINGS = 30
"""Of the charge, until the least one that starts the engine is known to a millionth [-]."""

MOST_FUSE = 2.0
"""A fuse carries this many times its rating for the seconds of a start, hardly more [-]. Common practice, no source."""


def usual(key: str) -> str:
    """Return a set-up's usual value, as it is typed."""
    return table("set_up_assumptions").row(key=key)["value"]


@dataclass(frozen=True)
class Found:
    """Everything that is computed.

    Attributes
    ----------
    alone : what a start finds with the starter battery alone
    joined : with the second battery joined, at once
    wait : how long joined before it starts
    least : charge from which the starter battery starts the engine by itself; None if no charge does [%]
    from_second : what the second battery gives of the starter motor's current, joined [A]
    health : of the starter battery [-]
    """

    alone: Crank
    joined: Crank
    wait: Wait
    least: float | None
    from_second: float
    health: float


def find(i: Inputs) -> Found:
    """Compute everything."""
    health = health_at(i.chemistry, i.age) if i.health is None else i.health / 100
    own = Battery(i.chemistry, i.capacity, health=health)
    starter = Starter(own, i.engine, i.cold_cranking)
    second = Battery(i.second_chemistry, i.second_capacity, health_at(i.second_chemistry, assumed_age()))
    own_h, second_h = own.fullness(i.charge), second.fullness(i.second_charge)
    t, link = i.temperature, i.link_resistance
    joined = starter.crank_joined(own_h, t, second, second_h, t, link)
    emf, inner = Starter(second, i.engine).source(second_h, t)
    return Found(
        starter.crank(own_h, t),
        joined,
        wait(starter, i.charge, t, second, i.second_charge, link),
        least_charge(starter, t),
        max(0.0, (emf - joined.voltage) / (inner + link)),
        health,
    )


def assumed_age() -> float:
    """Return the usual age of a second battery, which is not asked here [year]."""
    return float(usual("second.age").partition(" ")[0])


def least_charge(starter: Starter, temperature: float) -> float | None:
    """Return the charge from which a battery starts the engine, as usual, or None where a full one does not [%]."""
    own = starter.battery

    def margin(charge: float) -> float:
        return starter.margin(own.fullness(charge), temperature)

    low, high = 0.0, 100.0
    if margin(high) < 0:
        return None
    if margin(low) >= 0:
        return low
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if margin(middle) < 0 else (low, middle)
    return high


def compute(i: Inputs, found: Findings) -> None:
    """Fill in everything."""
    f = find(i)
    answer(i, f, found)
    judge(i, f, found)
    if i.chemistry == "lfp" or i.second_chemistry == "lfp":
        found.caution(cautions.LITHIUM_CRANK)
    if i.chemistry == "lfp":
        found.caution(cautions.LITHIUM_COLD)
    if i.chemistry in LEAD_ACID:
        found.caution(cautions.GAS, cautions.FROZEN)
    found.caution(cautions.SHORT_CIRCUIT, cautions.LAST_CLAMP, cautions.ENGINE, cautions.EXHAUST)
    working(i, f, found)


def answer(i: Inputs, f: Found, found: Findings) -> None:
    """Record the values."""
    found.value("cranking_current", f.alone.current)
    found.value("cranking_voltage", f.alone.voltage, f.alone.low, f.alone.high, ranged(f.alone))
    found.value("least_charge", f.least, text=None if f.least is not None else "not even full")
    found.value("joined_voltage", f.joined.voltage, f.joined.low, f.joined.high, ranged(f.joined))
    found.value("from_second", f.from_second)
    found.value("wait_joined", f.wait.joined, text=waiting(f.wait.joined))
    found.value("wait_alone", f.wait.alone, text=waiting(f.wait.alone))


def ranged(crank: Crank) -> str:
    """Return a voltage while cranking with its range."""
    return f"{show(crank.voltage, 'V', 1)} ({show(crank.low, '-', 1)} to {show(crank.high, '-', 1)})"


def waiting(hours: float | None) -> str:
    """Return a wait in words."""
    if hours is None:
        return f"not within {show(LONGEST_WAIT, 'h')}"
    if hours == 0:
        return "none"
    return show(hours * 60, "min", 0) if hours < 1 else show(hours, "h", 1)


def judge(i: Inputs, f: Found, found: Findings) -> None:
    """Say whether it starts, and what to do if it does not."""
    least = show(table("battery_models").row(key="cranking_voltage")["value"], "V", 1)
    draws = show(f.alone.current, "A", 0)
    range_ = f"{show(f.alone.low, '-', 1)} to {show(f.alone.high, 'V', 1)}"
    because = (
        f"While the starter motor draws about {draws}, the posts show {show(f.alone.voltage, 'V', 1)} ({range_}); an "
        f"engine starts on {least} or more, often on a little less."
    )
    if is_frozen(i):
        found.verdict(
            "stop",
            f"At this charge the acid freezes at {show(freezes(i.charge), 'degC', 0)}, so the battery may be frozen.",
            "Do not start from it, jump it or charge it. Thaw it first, somewhere warm, and look for cracks.",
        )
    elif f.alone.verdict == "yes":
        found.verdict("ok", "The battery will start the engine.", because)
    elif f.alone.verdict == "perhaps":
        level = "ok" if f.alone.margin >= 0 else "caution"
        text = "The battery should start the engine." if level == "ok" else "The battery may just fail to start it."
        found.verdict(level, text, f"{because} {charge_words(f)}")
    else:
        found.verdict("stop", "The battery will not start the engine.", f"{because} {charge_words(f)}")
    if f.alone.verdict != "yes" and not is_frozen(i):
        helping(i, f, found)


def charge_words(f: Found) -> str:
    """Say which charge it takes."""
    if f.least is None:
        return "Even full it would be too weak in this cold."
    return f"It takes about {show(f.least, '%', 0)} of charge."


def is_frozen(i: Inputs) -> bool:
    """Return whether the acid of the starter battery may be frozen."""
    return i.chemistry in LEAD_ACID and i.temperature <= freezes(i.charge)


def freezes(charge: float) -> float:
    """Return where the acid of a battery freezes [degC], by its charge [%]."""
    return lead_acid.freezing_point(lead_acid.gravity(charge))


def helping(i: Inputs, f: Found, found: Findings) -> None:
    """Say what the second battery can do."""
    share = show(f.from_second, "A", 0)
    guard = (
        f"Then {share} come from the second battery through what joins them. Only a switch, cable and fuses made "
        f"for that may carry it; a fuse below about {show(f.from_second / MOST_FUSE, 'A', 0)} blows. Never crank "
        "through the cable of a charger or a small relay."
    )
    if i.second_chemistry == "lfp":
        found.verdict(
            "caution",
            "Let a lithium battery charge the starter battery, and do not crank with it.",
            f"Joined, it charges the starter battery until that starts the engine alone: {waiting(f.wait.alone)}. Part "
            "the two before you turn the key.",
        )
    elif f.wait.alone is not None and f.wait.alone > 0:
        found.verdict(
            "caution",
            f"Join the second battery, wait {waiting(f.wait.alone)}, part the two, and try then.",
            "It charges the starter battery meanwhile, which then starts the engine by itself. This needs no thick "
            "cable. Engine, fridge and lights off while you wait.",
        )
    elif f.wait.joined is not None:
        first = "at once" if f.wait.joined == 0 else f"after {waiting(f.wait.joined)}"
        found.verdict("caution", f"With the second battery joined it should start {first}.", guard)
    else:
        found.verdict(
            "stop",
            "The second battery does not help enough either.",
            f"Within {show(LONGEST_WAIT, 'h')} neither the two together nor the starter battery alone would start it. "
            "Charge the starter battery from the mains or another vehicle, or warm it.",
        )


def working(i: Inputs, f: Found, found: Findings) -> None:
    """Show how the numbers came about."""
    warm = needed_current(i.engine, 26.7)
    found.step(
        "What the starter motor draws, warm and as cold as this",
        f"{show(warm, 'A', 0)} → {show(f.alone.current, 'A', 0)} at {i.text('temperature')}",
        "memory",
    )
    if i.chemistry in LEAD_ACID:
        rated = i.cold_cranking or usual_cold_cranking(i.chemistry, i.capacity)
        found.step(
            "Inside resistance of a new, full battery, from its cold cranking current: 7.2 V at −18 °C",
            f"CCA = {show(rated, 'A', 0)}, at {i.text('temperature')} more or less by the cold table",
            "tm-5-4210",
            "table 3",
        )
    found.step(
        "What is left of the battery; its resistance grows as that falls, and as it empties",
        f"health {show(100 * f.health, '%', 0)}, charge {i.text('charge')}",
        "memory",
    )
    found.step(
        "Voltage at the posts while cranking",
        f"U = E − I · R = {show(f.alone.voltage, 'V', 2)}",
        "ohm",
    )
    found.step(
        "With the second battery joined, solved as a network; until then it charges the starter battery",
        f"{show(f.joined.voltage, 'V', 2)} at once; alone again after: {waiting(f.wait.alone)}",
        "ohm",
    )


TEMPERATURE = Number(
    "temperature",
    "Temperature of battery and engine",
    "After a night it is that of the air at dawn",
    "5 degC",
    "-10 degC",
    "temperature",
    -30,
    60,
)

CHECK = Check(
    id="engine-start",
    title="Engine start",
    question="Will the engine start, and can the second battery help?",
    about="A starter motor draws hundreds of amperes for some seconds. Cold, age and a low charge make the "
    "voltage sink below what the engine needs. Joined to the starter battery, the second one helps at once through a "
    "thick cable, or charges it in some minutes through a thin one. What an engine needs is known only roughly.",
    task="camp",
    fields=(
        Number(
            "charge",
            "Starter battery, charge",
            "From its voltage at rest: see the question how much charge is left",
            "60 %",
            "40 %",
            "charge",
        ),
        TEMPERATURE,
        Choice("engine", "Engine", "It decides what a start takes", usual("vehicle.engine"), "diesel", ENGINES),
        replace(CHEMISTRY, label="Starter battery, type", default=usual("starter.chemistry")),
        replace(CAPACITY, label="Starter battery, capacity", default=usual("starter.capacity")),
        Number(
            "cold_cranking",
            "Cold cranking current",
            "On its label in amperes, beside EN, SAE or CCA",
            "",
            "640 A",
            "current",
            100,
            2000,
            unknown="usual for its size",
        ),
        Number(
            "age",
            "Starter battery, age",
            "Since it was new",
            usual("starter.age"),
            "3 years",
            "years",
            0,
            40,
        ),
        Number(
            "health",
            "Starter battery, capacity left",
            "By a battery tester",
            "",
            "80 %",
            "share",
            20,
            100,
            unknown="by its age",
        ),
        replace(CHEMISTRY, name="second_chemistry", label="Second battery, type", default=usual("second.chemistry")),
        replace(CAPACITY, name="second_capacity", label="Second battery, capacity", default=usual("second.capacity")),
        Number(
            "second_charge",
            "Second battery, charge",
            "From its voltage at rest",
            "70 %",
            "60 %",
            "charge",
        ),
        Number(
            "link_resistance",
            "Resistance between the two",
            "Of the cable there and back with all joints, or of jump leads",
            "20 mohm",
            "20 mohm",
            "resistance",
            0.0005,
            10,
        ),
    ),
    outputs=(
        Output("cranking_voltage", "voltage", "Voltage while cranking"),
        Output("cranking_current", "current", "Current of the starter motor"),
        Output("least_charge", "charge", "Charge from which it starts alone"),
        Output("joined_voltage", "voltage", "Voltage while cranking, both joined"),
        Output("from_second", "current", "Current from the second battery, joined"),
        Output("wait_joined", "hours", "Wait until both together start it"),
        Output("wait_alone", "hours", "Wait until the starter battery starts it alone"),
    ),
    compute=compute,
    example={"charge": "35 %", "temperature": "2 degC", "second_charge": "80 %", "link_resistance": "12 mohm"},
    example_story="A cold morning by a lake: a lamp was left on, and the starter battery is down to a third.",
    cases=(
        Cases(
            "Voltage while cranking, by the starter battery's charge and the temperature: diesel, calcium, 70 Ah",
            tuple((f"{q}\u00a0%", {"charge": f"{q} %"}) for q in (100, 80, 60, 40, 20)),
            tuple((f"{t}\u00a0°C".replace("-", "−"), {"temperature": f"{t} degC"}) for t in (20, 0, -10, -20)),
            "cranking_voltage",
        ),
        Cases(
            "Wait until a flat starter battery (10 %) starts the engine alone, joined to AGM of 100 Ah, by its "
            "charge and what joins them, at 15 °C, small petrol engine",
            tuple((f"{q}\u00a0%", {"second_charge": f"{q} %"}) for q in (100, 80, 60)),
            tuple((f"{r}\u00a0mΩ", {"link_resistance": f"{r} mohm"}) for r in (5, 10, 20, 40)),
            "wait_alone",
            {"charge": "10 %", "temperature": "15 degC", "engine": "petrol_small"},
        ),
    ),
    guides=("starting-from-the-second", "flat-at-camp", "reading-a-battery"),
    starts={
        "engine": starts.at("vehicle", "engine"),
        "chemistry": starts.at("starter", "chemistry"),
        "capacity": starts.at("starter", "capacity"),
        "cold_cranking": starts.known_at("starter", "cold_cranking"),
        "age": starts.at("starter", "age"),
        "health": starts.known_at("starter", "health"),
        "second_chemistry": starts.at("second", "chemistry"),
        "second_capacity": starts.bank_capacity,
        "link_resistance": starts.run_resistance,
    },
)
