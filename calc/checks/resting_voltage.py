"""How much charge does a resting voltage speak of?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.checks.odd_readings import MEANINGS
from calc.fields import Choice, Number
from calc.glossary import quantity
from calc.physics import lead_acid, lfp, peukert, rest_voltage
from calc.physics.battery import RATED_HOURS
from calc.setup import starts
from calc.shared_fields import CAPACITY, CHEMISTRY, LEAD_ACID
from calc.tables import assumption, table
from calc.units import show

CANNOT_TELL = 40.0
"""Points of charge between low and high from which on a reading says too little to act on [%]."""

RATED_TEMPERATURE = 25.0
"""The temperature for which most labels give the capacity [degC]."""

NEAR_FREEZING = 5.0
"""How close to freezing a battery may come before it is said [degC]."""

LFP_COLDEST_CHARGE = 0.0
"""Below this no LFP battery may be charged [degC]. Pack manuals and cell guidelines."""

EMPTY = 10.0
"""Below this a battery is as good as empty [%]."""

WORDS = ((95, "Full"), (80, "Nearly full"), (57, "More than half full"), (43, "About half full"))
WORDS += ((25, "Less than half full"), (EMPTY, "Low"), (0, "As good as empty"))
"""What a charge is called, from this percentage upwards."""


@dataclass(frozen=True)
class Doubts:
    """What makes a reading stand for a range: each in volts, and the curves that are asked."""

    meter: float
    reads_high: float
    reads_low: float
    shift: float
    temperature: float
    spread: float

    @property
    def both_ways(self) -> float:
        """The doubts that act both ways, added as squares [V]."""
        return math.hypot(self.meter, self.temperature, self.spread)

    def band(self, voltage: float) -> tuple[float, float]:
        """Return the settled voltages that the reading may stand for [V]."""
        return rest_voltage.band(voltage, self.shift, self.reads_high, self.reads_low, self.both_ways)

    def charge_range(self, voltage: float, i: Inputs) -> tuple[float, float]:
        """Return the charges that the reading may stand for [%]."""
        return rest_voltage.charge_range(*self.band(voltage), i.chemistry, i.came_from)


@dataclass(frozen=True)
class State:
    """What is known of the battery: charge and its range, and what may be drawn."""

    doubts: Doubts
    settled: float
    charge: float
    low: float
    high: float
    capacity: float
    stop: float

    def amp_hours(self, charge: float) -> float:
        """Return the ampere-hours of a charge in this cold [Ah]."""
        return self.capacity * max(0.0, charge) / 100

    def above_stop(self, charge: float) -> float:
        """Return the points of charge above the stop [%]."""
        return max(0.0, charge - self.stop)


def lead(i: Inputs) -> bool:
    """Return whether the battery is lead-acid."""
    return i.chemistry in LEAD_ACID


def doubts(i: Inputs) -> Doubts:
    """Return how far the reading may be from the settled voltage at the table's temperature."""
    kind = "" if lead(i) else "_lfp"
    settling = assumption(f"surface_settling{kind}")["value"]
    high = rest_voltage.settling(assumption(f"surface_after_charge{kind}")["value"], settling, i.rested)
    low = rest_voltage.settling(assumption(f"surface_after_load{kind}")["value"], settling, i.rested)
    coefficient = assumption("rest_temperature_lead_acid" if lead(i) else "rest_temperature_lfp")
    aside = assumption("battery_temperature_spread")["value"]
    shift = rest_voltage.temperature_shift(i.temperature, coefficient["value"], i.chemistry)
    furthest = max(
        abs(rest_voltage.temperature_shift(i.temperature + d, coefficient[c], i.chemistry) - shift)
        for d in (-aside, aside)
        for c in ("low", "high")
    )
    spread = 0.0 if i.chemistry == "flooded" else assumption(f"rest_spread_{i.chemistry}")["value"]
    return Doubts(
        meter=abs(i.voltage) * i.meter_error / 100,
        reads_high=0.0 if i.came_from == "load" else high,
        reads_low=0.0 if i.came_from == "charge" else low,
        shift=shift,
        temperature=furthest,
        spread=spread,
    )


def cold_share(i: Inputs) -> float:
    """Return how much of the label's capacity the battery gives at its temperature [-]."""
    return lead_acid.cold_share(i.temperature, RATED_TEMPERATURE) if lead(i) else lfp.cold_share(i.temperature)


def stop_charge(i: Inputs) -> float:
    """Return the charge to stop at for a long life [%]."""
    return assumption("stop_lead_acid" if lead(i) else "stop_lfp")["value"]


def state(i: Inputs) -> State:
    """Return what the reading says."""
    d = doubts(i)
    settled = i.voltage + d.shift
    if i.came_from != "unknown":
        settled += (d.reads_low - d.reads_high) / 2
    low, high = d.charge_range(i.voltage, i)
    charge = rest_voltage.charge_at_rest(settled, i.chemistry, i.came_from)
    return State(d, settled, charge, low, high, i.capacity * cold_share(i), stop_charge(i))


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    meaning = reading_means(i)
    if meaning != "resting":
        odd(meaning, i, found)
    else:
        s = state(i)
        record(s, i, found)
        judge(s, i, found)
        working(s, i, found)
    warn(i, found)


def reading_means(i: Inputs) -> str:
    """Return what kind of reading it is: "resting", or the key of something else."""
    family = "lead_acid" if lead(i) else "lfp"
    rows = table("odd_readings").rows
    return next(row["meaning"] for row in rows if row["family"] == family and row["above"] < i.voltage <= row["up_to"])


# Words ----------------------------------------------------------------------------------------------------------


def span(low: float, high: float, unit: str, places: int | None = None) -> str:
    """Return a range in words, or the one number where both ends show alike."""
    if show(low, unit, places) == show(high, unit, places):
        return show(high, unit, places)
    return f"{show(low, '-', places)} to {show(high, unit, places)}"


def up_to(low: float, high: float, unit: str, places: int) -> str:
    """Return a range that may begin at nothing, in words."""
    if float(f"{high:.{places}f}") == 0:
        return "none"
    return f"up to {show(high, unit, places)}" if float(f"{low:.{places}f}") == 0 else span(low, high, unit, places)


def amp_hours_text(low: float, high: float) -> str:
    """Return a range of ampere-hours in words; nobody can use tenths of 50 Ah."""
    return up_to(low, high, "Ah", 0 if high >= 10 else 1)


def hours_text(low: float, high: float) -> str:
    """Return a range of hours in words, in minutes where it is short and in days where it is long."""
    if 0 < 60 * high < 0.5:
        return "under a minute"
    if high < 1:
        return up_to(60 * low, 60 * high, "min", 0)
    if low >= 72:
        return f"{span(low / 24, high / 24, '-', 0)} days"
    return up_to(low, high, "h", 0 if high >= 10 else 1)


def called(charge: float) -> str:
    """Return what a charge is called."""
    return next(word for at, word in WORDS if charge >= at)


# Values ---------------------------------------------------------------------------------------------------------


def record(s: State, i: Inputs, found: Findings) -> None:
    """Record the values of the answer."""
    found.value("charge", s.charge, s.low, s.high, span(s.low, s.high, "%", 0))
    left = [s.amp_hours(q) for q in (s.charge, s.low, s.high)]
    found.value("amp_hours_left", *left, amp_hours_text(*left[1:]))
    record_hours("hours_left", s, i, found, (s.charge, s.low, s.high))
    usable = [s.amp_hours(s.above_stop(q)) for q in (s.charge, s.low, s.high)]
    found.value("usable_amp_hours", *usable, amp_hours_text(*usable[1:]))
    record_hours("hours_to_stop", s, i, found, tuple(s.above_stop(q) for q in (s.charge, s.low, s.high)))
    record_stop(i, found)
    if lead(i):
        weak, strong = freezing(s, i)
        found.value("freezes_at", weak, strong, weak, f"{show(weak, 'degC', 0)}, if the charge is at its low end")


def record_stop(i: Inputs, found: Findings) -> None:
    """Record where to stop: it depends on the battery only."""
    stop = stop_charge(i)
    found.value("stop_at_charge", stop)
    voltage = rest_voltage.voltage_at_rest(stop, i.chemistry, "load")
    found.value("stop_at_voltage", voltage, text=f"{show(voltage, 'V', 2)} at rest")


def record_hours(key: str, s: State, i: Inputs, found: Findings, points: tuple[float, float, float]) -> None:
    """Record how long the load may run on a charge and its range, or why no time is given."""
    if not i.load:
        found.value(key, None, text="give the present load to see the hours")
        return
    time = hours_range(s, i, points)
    if time[2] > quantity("hours").high:
        found.value(key, None, text="many months: the battery's own losses take more than this load")
    else:
        found.value(key, *time, hours_text(*time[1:]))


def hours_range(s: State, i: Inputs, points: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return the hours on a charge, at least and at most, over the usual spread of Peukert's exponent."""
    k = assumption(f"peukert_{i.chemistry}")
    return (
        peukert.lasts(s.capacity, RATED_HOURS, i.load, k["value"], points[0]),
        peukert.lasts(s.capacity, RATED_HOURS, i.load, k["high"], points[1]),
        peukert.lasts(s.capacity, RATED_HOURS, i.load, k["low"], points[2]),
    )


def freezing(s: State, i: Inputs) -> tuple[float, float]:
    """Return where the acid freezes at the low end of the charge, and at the high end [degC]."""
    weakest = rest_voltage.weakest_acid(s.doubts.band(i.voltage)[0], i.chemistry)
    return tuple(lead_acid.freezing_point(lead_acid.gravity(q)) for q in (weakest, s.high))


# Verdicts -------------------------------------------------------------------------------------------------------


def judge(s: State, i: Inputs, found: Findings) -> None:
    """Say how full it is, what to do now, and what the cold means."""
    how_full(s, i, found)
    frozen = lead(i) and cold_acid(s, i, found)
    cold_lfp(i, found)
    if not frozen:
        what_now(s, i, found)


def how_full(s: State, i: Inputs, found: Findings) -> None:
    """Say how full it is, and what makes the doubt."""
    why = doubt(s, i)
    if i.load:
        why += f" The reading counts as taken at rest; with {i.text('load')} on, it reads lower than the truth."
    if i.chemistry in ("calcium", "gel"):
        why += " The curve of this battery type is from memory, so its range is wider."
    if s.high - s.low > CANNOT_TELL:
        found.verdict(
            "caution",
            f"Anywhere from {show(s.low, '%', 0)} to {show(s.high, '%', 0)}: this reading cannot tell.",
            why,
        )
        return
    level = "ok" if s.charge > s.stop else "caution"
    found.verdict(level, f"{called((s.low + s.high) / 2)}: {span(s.low, s.high, '%', 0)}.", why)


def doubt(s: State, i: Inputs) -> str:
    """Name what widens the range most, and what would tell more."""
    width = s.high - s.low
    d = s.doubts
    if width < 1 and d.band(i.voltage)[0] > rest_voltage.voltage_at_rest(100, i.chemistry, i.came_from):
        return "It reads above what a full battery settles at: something still charges it, or did not long ago."
    if width < 1:
        return "Even with the meter's error and the rest counted, it stays there."
    narrower = {
        "rest": replace(d, reads_high=0.0, reads_low=0.0),
        "meter": replace(d, meter=0.0),
        "curve": replace(d, spread=0.0),
    }
    widths = {}
    for cause, without in narrower.items():
        low, high = without.charge_range(i.voltage, i)
        widths[cause] = high - low
    sure = Doubts(0.0, 0.0, 0.0, d.shift, 0.0, 0.0).charge_range(s.settled - d.shift, i)
    widths["curve"] = min(widths["curve"], width - (sure[1] - sure[0]))
    worst = min(widths, key=widths.get)
    if worst == "rest":
        return f"The largest doubt is the rest of only {i.text('rested')}. {more_rest(i)}"
    if worst == "meter":
        return f"The largest doubt is the meter: {show(d.meter, 'V', 2)} either way. A better meter tells more."
    if lead(i):
        more = "A gravity reading of each cell" if i.chemistry == "flooded" else "A load test"
        return f"The largest doubt is the curve itself: sources and batteries differ. {more} tells more."
    return (
        "The largest doubt is the flat middle of this battery type's curve. Counting ampere-hours from full tells "
        "more; so does a reading nearer to full or empty, or a load test."
    )


def more_rest(i: Inputs) -> str:
    """Say how to get a more settled reading."""
    if i.came_from == "unknown":
        more = "Say whether it was last charged or used, and let it rest: at least 8 h, better 24 h."
    else:
        more = "Let it rest at least 8 h, better 24 h, and read again."
    if lead(i) and i.came_from != "load":
        more += " In a hurry: lights on for 15 s, off, wait 3 to 5 min, read again; "
        more += "that takes off most of the surface charge."
    if not lead(i):
        more += " Counting ampere-hours tells more than any voltage in the middle of its range."
    return more


def cold_acid(s: State, i: Inputs, found: Findings) -> bool:
    """Say whether the acid may be frozen; return whether it may."""
    freezes = freezing(s, i)[0]
    why = (
        f"With the charge at the low end of its range, the acid freezes at about {show(freezes, 'degC', 0)}; "
        f"the battery is at {i.text('temperature')}."
    )
    if i.temperature <= freezes:
        found.verdict("stop", "It may be frozen. Do not charge, jump or load it; thaw it in a warm place first.", why)
        return True
    if i.temperature <= freezes + NEAR_FREEZING:
        found.verdict("caution", "It is close to freezing. Charge it soon or keep it warmer.", why)
    return False


def cold_lfp(i: Inputs, found: Findings) -> None:
    """Say whether an LFP battery is too cold to charge."""
    if lead(i):
        return
    if i.temperature < LFP_COLDEST_CHARGE:
        found.verdict(
            "stop",
            "Do not charge it now: it is below 0 °C.",
            "Charging a lithium battery in frost ruins it. It may be used; warm it before it is charged.",
        )
    elif i.temperature < LFP_COLDEST_CHARGE + NEAR_FREEZING:
        found.verdict(
            "caution",
            "It is close to 0 °C: make sure it stays above while it charges.",
            "The inside may be colder than where the temperature was taken.",
        )


def what_now(s: State, i: Inputs, found: Findings) -> None:
    """Say what to do now, by what may still be used."""
    usable = [s.amp_hours(s.above_stop(q)) for q in (s.low, s.charge, s.high)]
    stop = f"{show(s.stop, '%', 0)}"
    settles = rest_voltage.voltage_at_rest(s.stop, i.chemistry, "load")
    why = f"For a long life stop at {stop}, which is {show(settles, 'V', 2)} at rest (common practice, no source). "
    if s.charge <= s.stop:
        how_soon = "today" if s.charge < EMPTY else "before you use more"
        frost = "" if lead(i) or i.temperature >= LFP_COLDEST_CHARGE else " once it is above 0 °C"
        if usable[2] > 0:
            why += f"At the best reading {show(usable[2], 'Ah', 0)} is left above that, at the worst nothing."
        else:
            why += "It is there already, even at the best reading."
        left = found.values["hours_left"]
        if left.value:
            why += f" Down to empty {i.text('load')} would run for {left.text}, at a cost to the battery."
        found.verdict("caution", f"Charge it {how_soon}{frost}. Switch off what you can.", why)
    elif not i.load:
        if usable[0] > 0:
            text = f"You may use {amp_hours_text(usable[0], usable[2])} more, then charge."
        else:
            text = f"Go easy: perhaps {show(usable[2], 'Ah', 0)} may still be used, perhaps none. Then charge."
        found.verdict("ok" if usable[0] > 0 else "caution", text, why + "Give the present load to see the hours.")
    else:
        found.verdict(*tonight(s, i, why))


def tonight(s: State, i: Inputs, why: str) -> tuple[str, str, str]:
    """Return the verdict on running the present load until morning."""
    value, low, high = hours_range(s, i, tuple(s.above_stop(q) for q in (s.charge, s.low, s.high)))
    night = assumption("night")["value"]
    load = i.text("load")
    why += f"A night counts as {show(night, 'h')}. A load that pauses, as a fridge does, lasts longer."
    if high > quantity("hours").high:
        return "ok", f"At {load} it lasts for months.", why
    if low >= night:
        return "ok", f"Run {load} through the night: it lasts {hours_text(low, high)}. Then drive or plug in.", why
    if value >= night:
        return (
            "caution",
            f"{load} should last the night, but not surely: {hours_text(low, high)}. Drive or plug in in the morning.",
            why,
        )
    if low > 0:
        will = "may not" if high >= night else "will not"
        return (
            "caution",
            f"{load} {will} last the night: {hours_text(low, high)}. Charge before that, or use less.",
            why,
        )
    return (
        "caution",
        f"Go easy: {load} may run for {hours_text(high, high)} more, or not at all. Charge soon, or use less.",
        why,
    )


# Readings that are none of a resting battery ------------------------------------------------------------------


def odd(key: str, i: Inputs, found: Findings) -> None:
    """Say what a reading that is none of a resting battery means; give no charge."""
    m = MEANINGS.get(key if lead(i) else f"{key} lfp", MEANINGS[key])
    for name in ("charge", "amp_hours_left", "hours_left", "usable_amp_hours", "hours_to_stop"):
        found.value(name, None, text=m.short if name == "charge" else "not known from this reading")
    record_stop(i, found)
    because = m.because
    if i.load and m.empty:
        because = "Under load a battery may read this low: switch the load off, wait, and read again. " + because
    if key in ("surface", "charger") and i.came_from == "load":
        because = "You said it was last used, yet something charges it, or the meter reads high. " + because
    found.verdict(m.level, m.text, because)
    if key == "overcharge":
        found.caution(cautions.HOT_BATTERY)
    if lead(i):
        water = show(lead_acid.WATER[1], "degC", 0)
        text = f"near {water}: the acid of a flat or dead cell is close to water" if m.empty else None
        found.value("freezes_at", None, text=text or "not known from this reading")
        if m.empty and i.temperature <= lead_acid.WATER[1]:
            found.verdict(
                "stop",
                "It may be frozen. Do not charge or jump it; thaw it in a warm place first.",
                f"The acid of a flat cell is close to water, and the battery is at {i.text('temperature')}.",
            )
    if key not in ("panel", "higher_system", "reversed"):
        cold_lfp(i, found)
    found.step(f"What {show(i.voltage, 'V', 2)} across the posts speaks of", m.text, "practice")


# Cautions and working -------------------------------------------------------------------------------------------


def warn(i: Inputs, found: Findings) -> None:
    """Add what can hurt someone."""
    if lead(i):
        found.caution(cautions.GAS)
        if i.chemistry in ("flooded", "calcium"):
            found.caution(cautions.ACID)
        if i.temperature <= lead_acid.WATER[1] + NEAR_FREEZING:
            found.caution(cautions.FROZEN)
    else:
        found.caution(cautions.LITHIUM_COLD)
    found.caution(cautions.SHORT_CIRCUIT)


def working(s: State, i: Inputs, found: Findings) -> None:
    """Show how the numbers came about."""
    working_voltage(s, i, found)
    working_charge(s, i, found)
    working_use(s, i, found)


def working_voltage(s: State, i: Inputs, found: Findings) -> None:
    """Show what settled voltage the reading stands for."""
    d = s.doubts
    kind = "" if lead(i) else "_lfp"
    settling = assumption(f"surface_settling{kind}")
    found.step(
        f"The meter may be wrong by {i.text('meter_error')} of the reading",
        f"{show(i.voltage, 'V', 2)} × {i.text('meter_error')} = {show(d.meter, 'V', 3)}",
        "practice",
    )
    ways = {
        "charge": f"after a charge it may still read up to {show(d.reads_high, 'V', 2)} high",
        "load": f"after a load it may still read up to {show(d.reads_low, 'V', 2)} low",
        "unknown": f"it may read up to {show(d.reads_high, 'V', 2)} high after a charge, "
        f"or {show(d.reads_low, 'V', 2)} low after a load",
    }
    found.step(
        f"With {i.text('rested')} of rest, {ways[i.came_from]}",
        f"U0/(1 + t/{show(settling['value'], 'h')}), with U0 = "
        f"{show(assumption(f'surface_after_charge{kind}')['value'], 'V')} after a charge, "
        f"{show(assumption(f'surface_after_load{kind}')['value'], 'V')} after a load",
        settling["source"],
    )
    found.step("Rest at least 8 h before a reading, better 24 h", "t ≥ 8 h", "test-guides")
    if lead(i) and i.came_from != "load":
        found.step(
            "Quick way to take off surface charge: lights on, off, wait, read",
            "15 s on, 3 to 5 min off",
            "tm-5-3805",
            "page 5-142",
        )
    coefficient = assumption("rest_temperature_lead_acid" if lead(i) else "rest_temperature_lfp")
    found.step(
        f"Brought from {i.text('temperature')} to the table's temperature, give or take {show(d.temperature, 'V', 3)}",
        f"{show(1000 * coefficient['value'], '-')} mV per °C and cell: {show(d.shift, 'V', 3)}",
        coefficient["source"],
    )
    if d.spread:
        row = assumption(f"rest_spread_{i.chemistry}")
        found.step(f"Spread of batteries: {row['words']}", f"{show(d.spread, 'V', 2)} either way", row["source"])
    low, high = d.band(i.voltage)
    found.step(
        "Settled voltage, at least and at most: doubts that have nothing to do with each other add as squares",
        f"{show(low, 'V', 2)} to {show(high, 'V', 2)}, about {show(s.settled, 'V', 2)}",
        "practice",
    )


def working_charge(s: State, i: Inputs, found: Findings) -> None:
    """Show what charge each curve gives."""
    low, high = s.doubts.band(i.voltage)
    for curve in rest_voltage.curves(i.chemistry, i.came_from):
        found.step(
            f"Charge at {show(low, 'V', 2)}, {show(s.settled, 'V', 2)} and {show(high, 'V', 2)}, read between the rows",
            f"{show(curve.charge(low), '%', 0)}, {show(curve.charge(s.settled), '%', 0)}, "
            f"{show(curve.charge(high), '%', 0)}",
            curve.source,
            curve.where,
        )


def working_use(s: State, i: Inputs, found: Findings) -> None:
    """Show what may be drawn, for how long, and where the acid freezes."""
    share = cold_share(i)
    found.step(
        f"Capacity at {i.text('temperature')}; an old battery holds less than its label says",
        f"{i.text('capacity')} × {show(share, '-', 2)} = {show(s.capacity, 'Ah')}",
        "pv-worksheets" if lead(i) else "memory",
        "below −7 °C by US Army TM 10-6140-200-14 and TM 5-4210-230-14&P-1" if lead(i) else "",
    )
    found.step(
        "Ampere-hours left",
        f"{show(s.charge, '%', 0)} × {show(s.capacity, 'Ah')} = {show(s.amp_hours(s.charge), 'Ah')}",
        "practice",
    )
    if i.load:
        k = assumption(f"peukert_{i.chemistry}")
        rated = s.capacity / RATED_HOURS
        if i.load > rated:
            how = f"t = H·(C/(I·H))^k·charge, H = 20 h, k = {show(k['value'], '-', 2)} ({show(k['low'], '-', 2)} to "
            how += f"{show(k['high'], '-', 2)}); no recovery in pauses is counted"
        else:
            how = f"t = C·charge/I, as {i.text('load')} is not above the 20-hour current of {show(rated, 'A')}; "
            how += "no gain is counted there"
        found.step(
            f"Hours at {i.text('load')}",
            f"{how}: {found.values['hours_left'].text}",
            "peukert-1897" if i.load > rated else "practice",
            f"exponent from {k['source'].replace('peukert-texts', 'public texts')}" if i.load > rated else "",
        )
    stop = assumption("stop_lead_acid" if lead(i) else "stop_lfp")
    found.step(
        f"Where to stop: {stop['words']}",
        f"{show(s.stop, '%', 0)}, {found.values['stop_at_voltage'].text}",
        stop["source"],
    )
    if lead(i):
        weakest = rest_voltage.weakest_acid(s.doubts.band(i.voltage)[0], i.chemistry)
        found.step(
            "Gravity of the acid at the low end of the charge"
            + (
                ""
                if i.chemistry == "flooded"
                else "; sealed batteries hold stronger acid, so this errs on the careful side"
            ),
            f"{show(lead_acid.gravity(weakest), '-', 3)}",
            "bci",
        )
        found.step(
            "It freezes at, by the warmer of two tables",
            f"{show(freezing(s, i)[0], 'degC', 0)}",
            "tm-5-4210",
            "table 2, and a vehicle maker's table",
        )


CHECK = Check(
    id="resting-voltage",
    title="Charge from resting voltage",
    question="How much charge is left in this battery?",
    about="Let the battery rest, read its voltage on its own posts, and see what that says: how full it is, how long "
    "it will last, and how sure that is. A voltage never tells charge exactly; the range says how well.",
    task="camp",
    fields=(
        CHEMISTRY,
        Number(
            "voltage",
            "Voltage at rest",
            "Read on the battery's own posts with everything off",
            None,
            "12.4 V",
            "voltage",
        ),
        Number(
            "rested",
            "Rest before the reading",
            "How long since anything charged it or drew from it",
            "1 h",
            "8 h",
            "hours",
            0,
            10_000,
        ),
        Choice(
            "came_from",
            "Before the rest it was",
            "Just after a charge it reads too high, just after use too low",
            "unknown",
            "load",
            (("charge", "Charged"), ("load", "Used"), ("unknown", "Not known")),
            (("charged", "charge"), ("charging", "charge"), ("used", "load"), ("discharge", "load")),
        ),
        CAPACITY,
        Number(
            "load",
            "Present load",
            "What draws now or will tonight, as an average; a fridge that runs half the time counts half",
            "",
            "3 A",
            "current",
            0,
            600,
            unknown="none",
        ),
        Number(
            "temperature",
            "Battery temperature",
            "Of the battery itself; after a night it is near that of the air",
            "25 degC",
            "5 degC",
            "temperature",
            -40,
            60,
        ),
        Number(
            "meter_error",
            "Meter error",
            "From the meter's leaflet, in per cent of the reading or in volts",
            "0.5 %",
            "0.05 V",
            "share",
            0,
            100,
            part_of="voltage",
            part_unit="V",
        ),
    ),
    outputs=(
        Output("charge", "charge", "Charge"),
        Output("amp_hours_left", "capacity", "Left down to empty"),
        Output("hours_left", "hours", "Lasts down to empty"),
        Output("usable_amp_hours", "capacity", "You may still use"),
        Output("hours_to_stop", "hours", "Lasts until you should stop"),
        Output("stop_at_charge", "charge", "Stop at"),
        Output("stop_at_voltage", "voltage", "Stop when it settles at"),
        Output("freezes_at", "temperature", "Its acid freezes at", always=False),
    ),
    compute=compute,
    example={"chemistry": "agm", "voltage": "12.45 V", "rested": "8 h", "came_from": "load", "load": "2.5 A"},
    example_story="An AGM battery of 100 Ah ran a fridge all day, rested through the night, and reads 12.45 V.",
    cases=(
        Cases(
            "Charge by resting voltage after a day's rest at 25 °C, with a meter good to 0.5 %",
            tuple(
                (f"{volts}\u00a0V", {"voltage": f"{volts} V"})
                for volts in ("11.6", "11.8", "12.0", "12.2", "12.4", "12.6", "12.8", "13.0", "13.2", "13.4")
            ),
            (
                ("Flooded", {"chemistry": "flooded"}),
                ("Calcium", {"chemistry": "calcium"}),
                ("AGM", {"chemistry": "agm"}),
                ("Gel", {"chemistry": "gel"}),
                ("LFP", {"chemistry": "lfp"}),
            ),
            "charge",
            {"rested": "24 h"},
        ),
    ),
    guides=("reading-a-battery", "battery-types", "care-through-the-seasons"),
    starts={
        "chemistry": starts.at("second", "chemistry"),
        "capacity": starts.bank_capacity,
        "load": starts.usual_load,
    },
)
