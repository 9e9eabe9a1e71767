"""Which cable, and what does it lose on the way?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.fields import Number
from calc.physics import cable
from calc.physics.cable_sizes import AWG, DIAMETER, METRIC, SAE, CableSize, catalogue
from calc.setup import starts
from calc.shared_fields import AMBIENT, CURRENT, ENGINE_BAY, FAMILY, INSULATION, JOINTS, LENGTH, RETURN_PATH, SIZE
from calc.tables import assumption
from calc.units import show

REMEDIES = "Shorten the run, lay two cables side by side with a fuse each, lower the current, or allow more loss."
"""What to change when no size will do."""


@dataclass(frozen=True)
class Run:
    """A size laid in the run that was asked about, and how it does."""

    size: CableSize
    allowable: float
    temperature: float
    resistance: float
    drop: float
    share: float
    cable_heat: float

    def fault(self, i: Inputs) -> str | None:
        """Name what rules the size out: "heat", "drop", or nothing."""
        if i.current > self.allowable or not math.isfinite(self.temperature):
            return "heat"
        return "drop" if self.share > i.allowed_drop * (1 + 1e-9) else None


def lay(size: CableSize, i: Inputs) -> Run:
    """Return how a size does in the run: heat first, as it sets the resistance, then loss."""
    rating = cable.rating_column(i.insulation)
    ambient = max(i.ambient, cable.ENGINE_SPACE_AMBIENT) if i.engine_bay == "yes" else i.ambient
    allowable = cable.allowable_current(size.copper, i.insulation, i.ambient, i.engine_bay == "yes")
    base = cable.table_current(size.copper, i.insulation)
    temperature = cable.conductor_temperature(i.current, base, rating, ambient)
    conductors = 2 if i.return_path == "cable" else 1
    hot = temperature if math.isfinite(temperature) else rating
    copper = conductors * cable.length_resistance(size.resistance_per_km, i.length, hot)
    body = assumption("body_return_resistance")["value"] if i.return_path == "body" else 0.0
    resistance = copper + body + i.joints * assumption("joint_resistance")["value"]
    drop = i.current * resistance
    share = 100 * drop / i.supply
    return Run(size, allowable, temperature, resistance, drop, share, i.current**2 * copper)


def smallest(family: str, i: Inputs) -> Run | None:
    """Return the thinnest size of a family that neither overheats nor loses too much."""
    return next((run for size in catalogue()[family] if not (run := lay(size, i)).fault(i)), None)


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    family = i.size.family if i.size else i.family
    best = smallest(family, i)
    run = lay(i.size, i) if i.size else best or lay(catalogue()[family][-1], i)
    record(i, run, best, found)
    judge(i, run, best, family, found)
    working(i, run, found)
    found.caution(cautions.SHORT_CIRCUIT, cautions.FUSE_LAST, cautions.LOCAL_CODE)


def record(i: Inputs, run: Run, best: Run | None, found: Findings) -> None:
    """Record the values of the answer."""
    found.value("drop", run.drop)
    found.value("drop_percent", run.share)
    found.value("far_end_voltage", i.supply - run.drop)
    found.value("loop_resistance", run.resistance, text=show(1000 * run.resistance, "mohm"))
    found.value("heat", run.cable_heat)
    if math.isfinite(run.temperature):
        found.value("conductor_temperature", run.temperature)
    else:
        found.value("conductor_temperature", None, text="no steady value: it keeps getting hotter")
    found.value("allowable_current", run.allowable)
    if best:
        found.value("smallest_size", best.size.area, text=best.size.text)
    else:
        found.value("smallest_size", None, text="none sold is thick enough")


def judge(i: Inputs, run: Run, best: Run | None, family: str, found: Findings) -> None:
    """Say whether the cable will do, why not, and what would."""
    if not i.size and best:
        found.verdict("ok", f"Use {best.size.text}{in_awg(best, i)}.", why_smallest(best, i))
    elif not i.size:
        found.verdict("stop", "No cable sold is thick enough for this run.", REMEDIES)
    elif run.fault(i) == "heat":
        found.verdict(
            "stop",
            f"{run.size.text} is too thin for {i.text('current')}: it may carry {show(run.allowable, 'A')} here.",
            "More than that overheats the insulation, and heat starts fires. " + instead(best, i),
        )
    elif run.fault(i) == "drop":
        found.verdict(
            "caution",
            f"{run.size.text} loses {show(run.drop, 'V', 2)}, more than the {i.text('allowed_drop')} allowed.",
            "It will not overheat, but what stands at the far end gets too few volts. " + instead(best, i),
        )
    else:
        found.verdict(
            "ok",
            f"{run.size.text} will do: it loses {show(run.drop, 'V', 2)} of {show(i.supply, 'V', 2)} "
            f"({show(run.share, 'percent', 1)}).",
            instead(best, i),
        )
    warn_of_names(run.size, found)
    if i.return_path == "body":
        body = assumption("body_return_resistance")
        found.verdict(
            "caution",
            f"The body as return is counted as {show(1000 * body['value'], 'mohm')}.",
            f"That holds for {body['words']}. Measure it: with the current flowing, the volts between the battery's "
            "negative post and the far earth point, divided by the amperes.",
        )


def in_awg(best: Run, i: Inputs) -> str:
    """Return the AWG size that would do as well, in brackets."""
    other = smallest(AWG, i)
    return f" (or {other.size.text})" if other and best.size.family == METRIC else ""


def why_smallest(best: Run, i: Inputs) -> str:
    """Say what rules out the next thinner size."""
    ladder = catalogue()[best.size.family]
    place = ladder.index(best.size)
    if place == 0:
        return "It is the thinnest that is sold, and it is enough."
    thinner = lay(ladder[place - 1], i)
    if thinner.fault(i) == "heat":
        return (
            f"Heat decides: {thinner.size.text} may carry only {show(thinner.allowable, 'A')} here, "
            f"and you need {i.text('current')}."
        )
    return (
        f"Loss decides: {thinner.size.text} would lose {show(thinner.share, 'percent', 1)}, "
        f"and {i.text('allowed_drop')} is allowed."
    )


def instead(best: Run | None, i: Inputs) -> str:
    """Say which size is the smallest good one."""
    return f"The smallest that is good enough is {best.size.text}. {why_smallest(best, i)}" if best else REMEDIES


def warn_of_names(size: CableSize, found: Findings) -> None:
    """Warn where the name of a size promises more copper than it holds."""
    if size.family == DIAMETER:
        nominal = float(size.name.split()[0])
        found.verdict(
            "caution",
            f"{size.text} holds only {show(size.area, 'mm2')} of copper.",
            f"The number is the diameter over the insulation. Read as {nominal:g} mm² it would promise "
            f"{show(nominal / size.area, '-')} times the copper that is there.",
        )
    if size.family == SAE:
        twin = next(s for s in catalogue()[AWG] if s.name == size.name.replace("SAE", "AWG"))
        found.verdict(
            "caution",
            f"{size.text} holds {show(100 * (1 - size.area / twin.area), 'percent', 0)} less copper than {twin.text}.",
            "SAE battery cable is thinner than AWG of the same number; this answer counts the SAE copper.",
        )


def working(i: Inputs, run: Run, found: Findings) -> None:
    """Show how the numbers came about."""
    size = run.size
    rating = cable.rating_column(i.insulation)
    found.step(
        f"Resistance of {size.text} at 20 °C",
        f"r = {show(size.resistance_per_km, 'ohm/km')}, as {show(size.copper, 'mm2')} of copper",
        size.source,
    )
    place = "in the engine bay" if i.engine_bay == "yes" else "outside the engine bay"
    found.step(
        f"Allowed current for {show(rating, 'degC', 0)} insulation, {place}, air at {i.text('ambient')}",
        f"I = {show(cable.table_current(size.copper, i.insulation), 'A')} × "
        f"{show(run.allowable / cable.table_current(size.copper, i.insulation), '-')} = {show(run.allowable, 'A')}",
        "cfr-183-425",
        "Table 5, read between its rows by copper area",
    )
    if math.isfinite(run.temperature):
        found.step(
            f"The copper settles at {show(run.temperature, 'degC', 0)}, where heat made equals heat lost",
            "T = Ta + (TR − 30)·(I/I30)²·(T + 234.5)/(TR + 234.5)",
            "cfr-183-425",
            "Table 5 as the heat balance; copper by IEC 60364-5-54",
        )
    joints = i.joints * assumption("joint_resistance")["value"]
    found.step(
        "Resistance there and back"
        + (", the body as return" if i.return_path == "body" else "")
        + (
            f", with {i.joints:g} joints of {show(1000 * assumption('joint_resistance')['value'], 'mohm')}"
            if joints
            else ""
        ),
        f"R = {show(1000 * run.resistance, 'mohm')}",
        "iec-60364-5-54",
        "annex A",
    )
    found.step(
        "Volts lost",
        f"ΔU = I·R = {i.text('current')} × {show(1000 * run.resistance, 'mohm')} = {show(run.drop, 'V', 2)}",
        "ohm",
    )


CHECK = Check(
    id="cable-drop",
    title="Cable and voltage drop",
    question="Which cable, and how many volts does it lose?",
    about="A cable has to be thick enough for two reasons: so that it does not get hot, and so that the volts arrive. "
    "Leave the size blank to have it chosen, or name yours to see what it loses.",
    task="vehicle",
    fields=(
        CURRENT,
        LENGTH,
        RETURN_PATH,
        replace(SIZE, default="", help=SIZE.help + "; leave it blank to have it chosen", unknown="chosen for you"),
        Number(
            "supply",
            "Voltage at the near end",
            "12 V for a resting battery; about 14 V while the engine charges",
            "12 V",
            "13.8 V",
            "voltage",
            9,
            16,
        ),
        Number(
            "allowed_drop",
            "Loss you allow",
            "3 % for charging and for what must work; 10 % for lamps",
            "3 %",
            "3 %",
            "share",
            0.1,
            50,
            part_of="supply",
            part_unit="V",
        ),
        ENGINE_BAY,
        AMBIENT,
        INSULATION,
        JOINTS,
        replace(FAMILY, help="As cable is sold where you are, for a size that is left blank"),
    ),
    outputs=(
        Output("drop", "voltage_drop", "Lost on the way"),
        Output("drop_percent", "share", "As a share of the supply"),
        Output("far_end_voltage", "voltage", "Arrives at the far end"),
        Output("smallest_size", "area", "Smallest good size"),
        Output("allowable_current", "current", "This cable may carry"),
        Output("conductor_temperature", "temperature", "The copper gets to"),
        Output("heat", "power", "Heat given off by the cable"),
        Output("loop_resistance", "resistance", "Resistance there and back"),
    ),
    compute=compute,
    example={"current": "25 A", "length": "6 m", "supply": "13.8 V"},
    example_story="A charger behind the seats draws 25 A from a starter battery 6 m of cable away.",
    cases=(
        Cases(
            "Smallest cable for a 12 V run with its return by cable, at most 3 % lost",
            tuple(
                (length.replace(" ", "\u00a0"), {"length": length})
                for length in ("1 m", "2 m", "4 m", "6 m", "8 m", "10 m")
            ),
            tuple((amps.replace(" ", "\u00a0"), {"current": amps}) for amps in ("5 A", "10 A", "20 A", "40 A", "60 A")),
            "smallest_size",
        ),
    ),
    guides=("cable-and-fuse", "joints-and-earths"),
    starts={
        "current": starts.charging_current,
        "length": starts.run_length,
        "return_path": starts.at("vehicle", "earth_path"),
        "size": starts.known_run_size,
        "supply": starts.at("alternator", "set_point"),
        "engine_bay": starts.in_engine_bay,
        "ambient": starts.run_ambient,
        "insulation": starts.run_insulation,
        "joints": starts.run_joints,
    },
    gives={"smallest_size": ("run", "size")},
)
