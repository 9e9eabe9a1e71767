"""Does enough voltage arrive to charge this battery?"""

from __future__ import annotations

from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.fields import Number
from calc.physics import charging, lead_acid
from calc.physics.rest_voltage import voltage_at_rest
from calc.setup import starts
from calc.shared_fields import BATTERY_TEMPERATURE, CHEMISTRY, CURRENT
from calc.tables import assumption
from calc.units import show

NEAR = 0.05
"""Shortfall that is not worth a remark: a good meter is no better [V]."""

HIGHEST_12V = 18.0
"""A source above this charges no 12 V battery of any kind; it belongs to a 24 V one [V]."""

HARD_ON_OTHERS = 15.0
"""Charge voltage above which lamps, radios and fridges on the same wires may suffer [V]. Common practice, no source."""

NO_CHARGE = 50.0
"""A voltage that reaches no more than this is said not to charge [%]."""

LFP_FILLS = 13.8
"""Voltage from which a lithium iron phosphate battery is full in the end [V]. Naumann 2018: 99 % after charge."""

SEALED = ("calcium", "agm", "gel")
"""Chemistries whose lost water cannot be put back."""

NAMES = {
    "flooded": "a flooded battery",
    "calcium": "a calcium battery",
    "agm": "an AGM battery",
    "gel": "a gel battery",
    "lfp": "a lithium iron phosphate battery",
}
"""How a sentence names a battery."""

REWIRE = "Less resistance on the way brings more volts: thicker or shorter cable, cleaner joints."
"""What to do where the way there takes too much."""

REMEDY = (
    "Thicker cable cannot add volts that the source does not hold: a charger between the two (d.c. to d.c.) can, or "
    "mains or solar charging now and then."
)
"""What to do where the source itself holds too little."""


@dataclass(frozen=True)
class Supply:
    """What a battery wants and what comes to it."""

    low: float
    high: float
    arriving: float
    at_end: float
    reachable: float

    @property
    def shortfall(self) -> float:
        """What is missing at the current that was asked about [V]."""
        return max(0.0, self.low - self.arriving)

    @property
    def short_at_end(self) -> float:
        """What is missing when hardly any current flows [V]."""
        return max(0.0, self.low - self.at_end)


def remedy(i: Inputs, s: Supply) -> str:
    """Say what brings more volts: to the source or to the way there."""
    return REWIRE if i.source_voltage >= s.low - NEAR else REMEDY


def show_ohm(resistance: float) -> str:
    """Return a resistance in words, in the unit that suits it."""
    return show(resistance, "ohm") if resistance >= 1 else show(1000 * resistance, "mohm")


def supply(i: Inputs) -> Supply:
    """Return what the battery wants and what comes to it."""
    t = i.battery_temperature
    tail = min(i.current, assumption("tail_current")["value"])
    at_end = max(0.0, i.source_voltage - tail * i.loop_resistance)
    return Supply(
        low=charging.stage_voltage(i.chemistry, "absorption_low", t),
        high=charging.stage_voltage(i.chemistry, "absorption_high", t),
        arriving=max(0.0, i.source_voltage - i.current * i.loop_resistance),
        at_end=at_end,
        reachable=charging.reachable_charge(i.chemistry, at_end, t),
    )


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    s = supply(i)
    record(i, s, found)
    judge_temperature(i, found)
    judge_voltage(i, s, found)
    working(i, s, found)
    if i.chemistry == "lfp":
        found.caution(cautions.LITHIUM_COLD)
    else:
        found.caution(cautions.GAS, cautions.FROZEN, cautions.ACID)
    found.caution(cautions.HOT_BATTERY, cautions.SHORT_CIRCUIT, cautions.LOCAL_CODE)


def record_stage(i: Inputs, key: str, stage: str, found: Findings, text: str | None = None) -> None:
    """Record a range of charge voltage; its middle stands as the number."""
    low, high = (
        charging.stage_voltage(i.chemistry, f"{stage}_{end}", i.battery_temperature) for end in ("low", "high")
    )
    found.value(key, (low + high) / 2, low, high, text and text.format(f"{show(low, '-', 2)} to {show(high, 'V', 2)}"))


def record(i: Inputs, s: Supply, found: Findings) -> None:
    """Record the values of the answer."""
    record_stage(i, "absorption_voltage", "absorption", found)
    lithium = i.chemistry == "lfp"
    record_stage(i, "float_voltage", "float", found, "not needed; {} where its maker asks for one" if lithium else None)
    if i.chemistry == "flooded":
        record_stage(i, "equalise_voltage", "equalise", found)
    found.value("arriving_voltage", s.arriving, text=None if s.arriving else "none: so much cannot flow")
    found.value("arriving_at_end", s.at_end)
    found.value("shortfall", s.shortfall, text=None if s.shortfall else "none")
    over = i.source_voltage > s.high
    found.value("reachable_charge", s.reachable, text="full, then overcharged" if over else reachable_text(s.reachable))
    if not lithium and s.reachable > NO_CHARGE and s.at_end <= s.high:
        hours = hours_from_half(i, s)
        found.value("hours_from_half", hours, text=f"{show(hours, 'h', 1)} or more")


def hours_from_half(i: Inputs, s: Supply) -> float:
    """Return the least hours from half charged to where the charge ends."""
    cell = charging.cell_voltage_at_25(i.chemistry, s.at_end, i.battery_temperature)
    return charging.charging_hours(cell, charging.HALF, charging.taper_charge(cell, charging.TAIL))


def reachable_text(charge: float) -> str:
    """Return the reachable charge in words that do not promise a full battery where it is not quite full."""
    if charge == 0:
        return "next to none"
    return (
        "nearly 100\u00a0%"
        if 99.5 <= charge < 100
        else f"about {show(charge, '%', 0)}"
        if charge < 100
        else "100\u00a0%"
    )


def judge_temperature(i: Inputs, found: Findings) -> None:
    """Say whether the battery may be charged at its temperature at all."""
    band = charging.temperature_band(i.chemistry, i.battery_temperature)
    lithium = i.chemistry == "lfp"
    here = f"at {i.text('battery_temperature')}"
    if band["level"] == "stop" and band["high"] < charging.BASE_TEMPERATURE:
        found.verdict(
            "stop",
            f"Do not charge this battery {here}: lithium must not be charged below 0 °C.",
            "Lithium metal settles in cold cells, which spoils them for good and can make them dangerous. Warm the "
            "battery first. What counts is the temperature of the cells, not of the air.",
        )
    elif band["level"] == "stop":
        found.verdict(
            "stop",
            f"Do not charge this battery {here}: it is too hot.",
            f"{show(band['low'], 'degC', 0)} is the limit for {NAMES[i.chemistry]}. Charging heats it further: let "
            "it cool first, and find out what heats it.",
        )
    elif band["level"] == "caution" and lithium:
        found.verdict(
            "caution",
            f"Charge slowly {here}: at most {show(band['rate'], 'A')} for each Ah of capacity.",
            f"For 100 Ah that is {show(100 * band['rate'], 'A')}. A cold lithium battery takes harm from more.",
        )
    elif band["level"] == "caution":
        found.verdict(
            "caution",
            f"This battery is hot: stop before it reaches {show(band['high'], 'degC', 0)}.",
            f"One maker's manual stops the charge when the acid is at {show(band['low'], 'degC', 0)}. In heat a "
            "battery takes more current, and the current makes more heat.",
        )
    freezes = lead_acid.freezing_point(lead_acid.gravity(0))
    if not lithium and i.battery_temperature <= freezes:
        found.verdict(
            "stop",
            f"Do not charge this battery {here} unless you know that it is not frozen.",
            f"The acid of a flat battery freezes at {show(freezes, 'degC', 0)}, and a frozen battery can burst when "
            "it is charged. A full one stands far more cold. Thaw it first if in doubt.",
        )


def judge_voltage(i: Inputs, s: Supply, found: Findings) -> None:
    """Say whether what arrives charges the battery, harms it, or falls short."""
    if i.source_voltage > s.high + 1e-9:
        found.verdict("stop", *too_much(i, s))
    elif s.reachable <= NO_CHARGE:
        rest = voltage_at_rest(100, i.chemistry) if i.chemistry != "lfp" else voltage_at_rest(90, i.chemistry)
        found.verdict(
            "stop",
            f"{show(s.at_end, 'V', 2)} does not charge this battery.",
            f"At rest it stands at about {show(rest, 'V', 2)} when full. A source below that brings no charge to it, "
            f"and can even drain it while the two are linked. {remedy(i, s)}",
        )
    elif i.chemistry == "lfp" and s.at_end >= LFP_FILLS and s.short_at_end:
        go_on(
            found,
            f"{show(s.at_end, 'V', 2)} fills this battery in the end, if slowly.",
            f"Data sheets charge to {show(s.low, 'V', 1)}, and cells are mostly evened out only up there: give it "
            "that now and then. How long the last part takes at fewer volts is not known here.",
        )
    elif s.short_at_end > NEAR:
        found.verdict("caution", *too_little(i, s))
    elif s.shortfall > NEAR and s.arriving < found.values["float_voltage"].low:
        found.verdict(
            "caution",
            f"Only {show(s.arriving, 'V', 2)} arrives while {i.text('current')} flows, so the charge starts slowly.",
            f"As the battery fills, the current falls and {show(s.at_end, 'V', 2)} arrives, which is enough. {REWIRE}",
        )
    else:
        go_on(found, *enough(i, s))
    if i.current * i.loop_resistance > 0 and s.arriving < voltage_at_rest(0, i.chemistry) <= i.source_voltage:
        most = (i.source_voltage - voltage_at_rest(0, i.chemistry)) / i.loop_resistance
        found.verdict(
            "caution",
            f"{i.text('current')} cannot flow here: even into a flat battery it is at most {show(most, 'A')}.",
            f"The way there and back has {show_ohm(i.loop_resistance)}, and the battery's own voltage stands "
            "against the source. Check both numbers.",
        )
    if s.low > HARD_ON_OTHERS:
        found.verdict(
            "caution",
            f"In this cold the battery wants {show(s.low, 'V', 2)} or more, which other things may not bear.",
            "Fridges, lamps and radios on the same wires are mostly made for no more than 15 V. Switch them off, or "
            "warm the battery.",
        )


def go_on(found: Findings, text: str, because: str) -> None:
    """Say that the voltage is right, unless something else forbids to charge."""
    if all(v.level != "stop" for v in found.verdicts):
        found.verdict("ok", text, because)


def too_much(i: Inputs, s: Supply) -> tuple[str, str]:
    """Say what too many volts do to this battery."""
    text = (
        f"{i.text('source_voltage')} is too much for {NAMES[i.chemistry]} at {i.text('battery_temperature')}: "
        f"at most {show(s.high, 'V', 2)}."
    )
    if i.source_voltage > HIGHEST_12V:
        return text, "This is no source for a 12 V battery; a 24 V one has its own chargers. Do not connect it."
    if i.chemistry == "lfp":
        return text, (
            "No cell may go above 3.65 V. The battery's own protection then cuts it off, which can break an "
            "alternator; without protection the cells are damaged and can become dangerous. Lithium is never equalised."
        )
    floating = charging.stage_voltage(i.chemistry, "float_high", i.battery_temperature) / lead_acid.CELLS
    gas = [charging.gassing_current(v, i.battery_temperature, i.chemistry in SEALED) for v in
           (i.source_voltage / lead_acid.CELLS, floating)]  # fmt: skip
    because = f"It makes {show(gas[0] / gas[1], '-')} times the gas that it makes on float. "
    if i.chemistry in SEALED:
        return (
            text,
            because + "Water that a sealed battery loses cannot be put back, so it must never be equalised either.",
        )
    return text, because + (
        "It loses water and heats up. Only equalising goes so high: on purpose, with the caps and the acid seen to, "
        "in the open, for at most 2 hours, and with everything else disconnected."
    )


def too_little(i: Inputs, s: Supply) -> tuple[str, str]:
    """Say how far the volts go, and what would help."""
    text = (
        f"{show(s.at_end, 'V', 2)} never quite fills this battery: it wants {show(s.low, 'V', 2)} or more at "
        f"{i.text('battery_temperature')}."
    )
    if i.chemistry == "lfp":
        return text, f"It stalls at {reachable_text(s.reachable)}. {remedy(i, s)}"
    because = (
        f"It is {show(s.short_at_end, 'V', 2)} short. It gets to {reachable_text(s.reachable)} of what its own charge "
        f"voltage reaches, and takes {show(hours_from_half(i, s), 'h', 0)} or more from half charged. A battery kept "
        "below full for weeks loses capacity. "
    )
    return text, because + remedy(i, s)


def enough(i: Inputs, s: Supply) -> tuple[str, str]:
    """Say why the volts are right, and what to mind."""
    text = (
        f"{show(s.at_end, 'V', 2)} charges this battery: it wants {show(s.low, '-', 2)} to {show(s.high, 'V', 2)} at "
        f"{i.text('battery_temperature')}."
    )
    if i.chemistry == "lfp":
        return text, (
            "Once it is full it needs no float: take the source away or let it fall to 13.6 V or less. Flat, it "
            "takes all that an alternator can give, so something must limit the current."
        )
    because = "Once it is full, the source should fall to the float voltage if it stays connected for days."
    if i.chemistry == "agm" and s.at_end > s.low + 0.1:
        because += " Some AGM data sheets stop at 14.4 V at 25 °C: what your battery's sheet says goes first."
    if s.shortfall > NEAR:
        because = (
            f"While {i.text('current')} flows, {show(s.arriving, 'V', 2)} arrives; more comes as the current falls. "
            + because
        )
    return text, because


def working(i: Inputs, s: Supply, found: Findings) -> None:
    """Show how the numbers came about."""
    low, high, shift = (
        charging.stage_row(i.chemistry, stage) for stage in ("absorption_low", "absorption_high", "compensation")
    )
    for words, row in (("Low", low), ("High", high)):
        found.step(
            f"{words} end of the charge voltage at 25 °C",
            f"U = {show(row['value'], 'V', 2)}",
            row["source"],
            row["where"],
        )
    if shift["value"] and i.battery_temperature != charging.BASE_TEMPERATURE:
        found.step(
            f"The same at {i.text('battery_temperature')}",
            f"U(T) = U(25 °C) − {show(1000 * shift['value'], 'mV')} per °C × (T − 25 °C) = {show(s.low, '-', 2)} to "
            f"{show(s.high, 'V', 2)}",
            shift["source"],
            shift["where"],
        )
    if i.current * i.loop_resistance > 0:
        tail = assumption("tail_current")
        lost = f"{i.text('source_voltage')} − {i.text('current')} × {show_ohm(i.loop_resistance)}"
        found.step(
            "What arrives at this current",
            f"U = {lost} = {show(s.arriving, 'V', 2)}" if s.arriving else f"{lost} is below 0 V",
            "ohm",
        )
        found.step(
            f"What arrives when the current has fallen to {show(min(i.current, tail['value']), 'A')}: {tail['words']}",
            f"U = {show(s.at_end, 'V', 2)}",
            tail["source"],
        )
    if i.chemistry == "lfp":
        found.step(
            "The charge at which a cell rests at that voltage after charging",
            f"U / 4 = {show(s.at_end / 4, 'V', 3)}, so {reachable_text(s.reachable)}",
            "simses-lfp",
            "open-circuit voltage and hysteresis",
        )
    else:
        found.step(
            f"The charge at which the current has fallen to {show(charging.TAIL, 'A')} for each Ah, as a share of "
            "what the low end reaches; the constants are those of one published battery at 25 °C",
            "U = U0 − g·(1 − q) + rho·(I/C)·(1 + Mc·q/(Cc − q)), solved for q: " + reachable_text(s.reachable),
            "schiffer-2007",
            "voltage equation",
        )


CHECK = Check(
    id="charge-voltage",
    title="Charge voltage",
    question="Does enough voltage arrive to charge this battery?",
    about="A battery fills only if enough volts stand at its own posts, and too many harm it. How many are right "
    "depends on its type and on how warm it is. Measure at the alternator or charger with the engine at a fast idle.",
    task="vehicle",
    fields=(
        CHEMISTRY,
        BATTERY_TEMPERATURE,
        Number(
            "source_voltage",
            "Voltage at the source",
            "What the alternator or charger holds at its own terminals while it charges",
            None,
            "14.2 V",
            "voltage",
            0,
            60,
        ),
        replace(
            CURRENT,
            label="Charging current",
            help="What flows into the battery; left blank, none is counted, as when it is nearly full",
            default="0 A",
            low=0,
        ),
        Number(
            "loop_resistance",
            "Resistance there and back",
            "From source to battery and back; the cable check gives it. Left blank, nothing is lost on the way",
            "0 ohm",
            "16 mohm",
            "resistance",
            0,
            1,
        ),
    ),
    outputs=(
        Output("absorption_voltage", "voltage", "It wants, to charge"),
        Output("arriving_voltage", "voltage", "Arrives at this current"),
        Output("arriving_at_end", "voltage", "Arrives at the end of the charge"),
        Output("shortfall", "voltage_drop", "Short by, at this current"),
        Output("reachable_charge", "charge", "Charge it can reach"),
        Output("hours_from_half", "hours", "From half charged to there", always=False),
        Output("float_voltage", "voltage", "To keep it full (float)"),
        Output("equalise_voltage", "voltage", "To equalise, rarely", always=False),
    ),
    compute=compute,
    example={
        "chemistry": "agm",
        "source_voltage": "14.2 V",
        "current": "25 A",
        "loop_resistance": "16 mohm",
    },
    example_story="The alternator holds 14.2 V, and 25 A go through 6 m of cable to an AGM battery behind the seats.",
    cases=(
        Cases(
            "Charge voltage at the battery's posts, by its own temperature",
            tuple(
                (f"{t}\u00a0°C".replace("-", "−"), {"battery_temperature": f"{t} degC"})
                for t in (0, 10, 20, 25, 30, 40)
            ),
            tuple((words.split(" ")[0].rstrip(","), {"chemistry": key}) for key, words in CHEMISTRY.options),
            "absorption_voltage",
            {"source_voltage": "14.2 V"},
        ),
        Cases(
            "Charge that a voltage at the battery's posts reaches, however long it stands there, at 25 °C",
            tuple(
                (f"{v}\u00a0V", {"source_voltage": f"{v} V"})
                for v in ("12.8", "13.0", "13.2", "13.5", "13.8", "14.0", "14.4")
            ),
            tuple((words.split(" ")[0].rstrip(","), {"chemistry": key}) for key, words in CHEMISTRY.options),
            "reachable_charge",
        ),
    ),
    guides=("charging-from-the-alternator", "battery-types", "mains"),
    starts={
        "chemistry": starts.at("second", "chemistry"),
        "battery_temperature": starts.at("second", "heat"),
        "source_voltage": starts.source_voltage,
        "current": starts.output_current,
        "loop_resistance": starts.output_resistance,
    },
)
