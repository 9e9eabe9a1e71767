"""What air, what openings and what hold does this battery need?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output
from calc.fields import Choice, Number
from calc.physics import cable, charging, ventilation
from calc.setup import starts
from calc.shared_fields import BATTERY_TEMPERATURE, CAPACITY, CHEMISTRY
from calc.tables import table
from calc.units import show, worked

NAMES = {
    "flooded": "a flooded battery",
    "calcium": "a calcium battery",
    "agm": "an AGM battery",
    "gel": "a gel battery",
    "lfp": "a lithium iron phosphate battery",
}
"""How a sentence names a battery."""

LONG = 168.0
"""A time beyond this is not told to the hour [h]."""

WAYS = {"float": "kept full", "boost": "charged"}
"""How a step names a way of charging by a charger that limits its voltage."""

CHARGING = Choice(
    "charging",
    "How it is charged",
    "An alternator, a charger's main stage and the sun all count as charging; the worst that happens counts",
    "boost",
    "boost",
    (
        ("boost", "Charged: alternator, charger or sun"),
        ("float", "Only kept full (float)"),
        ("unregulated", "By a charger with no voltage limit"),
    ),
    (("absorption", "boost"), ("bulk", "boost"), ("alternator", "boost"), ("taper", "unregulated")),
)
PLACE = Choice(
    "place",
    "Where it stands",
    "Open to where people sit or sleep, unless a closed box leads outside",
    "cabin",
    "vented_box",
    (
        ("cabin", "Inside, open to the living space"),
        ("vented_box", "Inside, in a closed box vented to the outside"),
        ("load_bed", "Open load bed or trailer"),
        ("engine_bay", "Engine bay"),
        ("under", "Under the vehicle"),
    ),
    (("living", "cabin"), ("inside", "cabin"), ("box", "vented_box"), ("tray", "load_bed"), ("bonnet", "engine_bay")),
)


@dataclass(frozen=True)
class Need:
    """What a battery that gasses needs.

    Attributes
    ----------
    kind : "flooded" or "sealed", as the standards call it
    current : that makes gas [A]
    air : that has to pass [m3/h]
    area : of each of the two openings [cm2]
    """

    kind: str
    current: float
    air: float
    area: float

    @property
    def sealed(self) -> bool:
        """Whether valves hold the gas back."""
        return self.kind == "sealed"

    @property
    def openings(self) -> str:
        """The openings in words, with the round hole that is as large."""
        return f"two openings of {show(self.area, 'cm2')} or more each (round: {whole(self.area)} across)"


def whole(area: float) -> str:
    """Return the diameter of a round hole in words, rounded up to a whole millimetre."""
    return show(math.ceil(ventilation.round_opening(area) - 1e-6), "mm", 0)


def gas(i: Inputs, way: str) -> float:
    """Return the current that makes gas when the battery is charged in some way [A]."""
    hot = ventilation.heat_factor(i.battery_temperature)
    if way != "unregulated":
        return ventilation.gas_current(ventilation.gas_rate(ventilation.kind(i.chemistry), way) * hot, i.capacity)
    if i.charger_rating is not None:
        return ventilation.unregulated_gas_current(i.charger_rating, hot)
    return ventilation.gas_current(ventilation.traction_gas_rate("flooded", "w") * hot, i.capacity)


def need(i: Inputs, way: str) -> Need:
    """Return what the battery needs when it is charged in some way."""
    current = gas(i, way)
    air = ventilation.air_flow(charging.cells(i.chemistry), current)
    return Need(ventilation.kind(i.chemistry), current, air, ventilation.opening_area(air))


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    judge_temperature(i, found)
    if i.chemistry == "lfp":
        compute_lithium(i, found)
    else:
        compute_lead(i, found)
    judge_hold(i, found)
    found.caution(cautions.BATTERY_HELD, cautions.SHORT_CIRCUIT)
    if i.chemistry == "lfp":
        found.caution(cautions.LITHIUM_COLD)
    else:
        found.caution(cautions.GAS, cautions.ACID)
    found.caution(cautions.HOT_BATTERY, cautions.LOCAL_CODE)


def compute_lead(i: Inputs, found: Findings) -> None:
    """Answer for a battery that gasses."""
    n = need(i, i.charging)
    fault = need(i, "unregulated") if i.charger_rating is not None and i.charging != "unregulated" else None
    record(i, n, fault, found)
    judge_place(i, n, found)
    judge_charger(i, n, fault, found)
    judge_box(i, n, found)
    working(i, n, fault, found)


def record(i: Inputs, n: Need, fault: Need | None, found: Findings) -> None:
    """Record the values of the answer."""
    cells = charging.cells(i.chemistry)
    found.value("opening_area_needed", n.area)
    found.value("opening_diameter", ventilation.round_opening(n.area), text=whole(n.area))
    found.value("air_flow", n.air)
    found.value("gas_current", n.current)
    if fault and fault.area > n.area:
        found.value("opening_area_at_fault", fault.area)
    if i.box_volume is not None:
        hours = ventilation.hours_to_danger(i.box_volume, cells, n.current)
        found.value("closed_danger_after", hours, text=brief(hours))
    found.value("free_volume_needed", ventilation.free_volume(n.air))
    found.value("safety_distance", distance(i, n), text=distance_text(i, n))


def told(key: str, times: float = 1.0) -> str:
    """Return a constant of the rules as a step of the working prints it."""
    return show(times * ventilation.constant(key))


def brief(hours: float) -> str:
    """Return a time in words, in the unit that suits it."""
    if hours > LONG:
        return "more than a week"
    if hours >= 1:
        return show(hours, "h", digits=2)
    return show(60 * hours, "min", digits=2) if hours >= 1 / 60 else "less than a minute"


def distance(i: Inputs, n: Need) -> float:
    """Return how far from the battery nothing may spark: the larger of the two rules [m]."""
    computed = ventilation.safety_distance(charging.cells(i.chemistry), n.current)
    return max(ventilation.constant("traction_distance"), computed)


def distance_text(i: Inputs, n: Need) -> str:
    """Return the same in words, which say so where it is from memory."""
    d = distance(i, n)
    return show(d, "m", 2) + (" (from memory)" if d > ventilation.constant("traction_distance") else "")


def judge_temperature(i: Inputs, found: Findings) -> None:
    """Say whether the battery may be charged at its temperature at all, and what heat does."""
    band = charging.temperature_band(i.chemistry, i.battery_temperature)
    here = i.text("battery_temperature")
    hottest = ventilation.constant("hottest")
    if band["level"] == "stop":
        cold = band["high"] < charging.BASE_TEMPERATURE
        limit = band["high"] if cold else band["low"]
        found.verdict(
            "stop",
            f"Do not charge this battery at {here}: it is too {'cold' if cold else 'hot'}.",
            f"{show(limit, 'degC', 0)} is the limit for {NAMES[i.chemistry]}. "
            + (
                "A place that stays warmer lets it charge in winter."
                if cold
                else "Find it a cooler place, or shield it from what heats it."
            ),
        )
    elif i.chemistry != "lfp" and i.battery_temperature > hottest:
        found.verdict(
            "caution",
            f"At {here} this battery makes about {show(ventilation.heat_factor(i.battery_temperature), '-', 1)} times "
            f"the gas that it makes at {show(hottest, 'degC', 0)}.",
            "The standard's numbers end there; the rest is counted here by a published gassing equation. Heat also "
            "wears a battery out, and dries a sealed one. A cooler place is better than larger openings.",
        )


def judge_place(i: Inputs, n: Need, found: Findings) -> None:
    """Say whether a battery that gasses may stand there, and with which openings."""
    if i.place == "cabin":
        judge_cabin(i, n, found)
    elif i.place == "vented_box":
        judge_openings(i, n, found)
    elif i.place == "load_bed":
        found.verdict(
            "ok",
            "An open load bed airs this battery well: leave it room on all sides, and shade.",
            f"Under a lid, a cover or a canopy it stands in a closed box, which needs {n.openings}. Where people sleep "
            "under the canopy, the box has to be sealed from them.",
        )
    elif i.place == "engine_bay":
        found.verdict(
            "caution",
            "An engine bay airs this battery but heats it: choose it only if the battery's maker allows that heat.",
            f"A bay counts as {show(cable.ENGINE_SPACE_AMBIENT, 'degC', 0)} or more (33 CFR 183.425). A hot battery "
            + ("dries out and cannot be topped up" if i.chemistry != "flooded" else "loses water faster")
            + f" and wears out sooner; {i.text('battery_temperature')} is counted here. Keep it from "
            "the exhaust and behind a heat shield, and clear of belts and fan.",
        )
    else:
        found.verdict(
            "caution",
            "Under the vehicle: keep water, mud and stones out, and still let the gas out.",
            f"A closed box there needs {n.openings}, out of the spray, and above the water you drive through. Mind "
            "the exhaust and the clearance to the ground. "
            + ("You must be able to reach the caps." if i.chemistry == "flooded" else "Look at it often."),
        )
    if i.place in ("load_bed", "engine_bay", "under") and i.opening_area is not None:
        judge_openings(i, n, found)


def judge_cabin(i: Inputs, n: Need, found: Findings) -> None:
    """Say why a battery that gasses does not belong in the living space."""
    if n.sealed and i.charging != "unregulated":
        found.verdict(
            "caution",
            f"Sealed or not, give it a closed box that leads outside, with {n.openings}.",
            "In normal service hardly any gas leaves it. Overcharged, by heat or by a fault in the charger, its valves "
            "open and it gives off hydrogen like any other, beside people who sleep.",
        )
        return
    found.verdict(
        "stop",
        "Do not charge this battery open to where people sit or sleep: put it in a closed box that leads outside.",
        f"The box needs {n.openings}. Hydrogen gathers under the roof and burns from "
        f"{show(ventilation.constant('danger'), '%', 0)} in air on. "
        + (
            ""
            if n.sealed
            else "Acid mist comes with it. A battery with one vent spout may lead its gas out through its own hose "
            "instead, if its maker says so and the hose stays on and clear (common practice, no source)."
        ),
    )


def judge_openings(i: Inputs, n: Need, found: Findings) -> None:
    """Say whether the openings are large enough."""
    if i.opening_area is None:
        found.verdict(
            "ok",
            f"Give the box {n.openings}.",
            "One lets fresh air in, the other lets the gas out: both are needed, and both lead outside. Mesh takes "
            "part of the area away, and a long or bent hose slows the air: go larger then.",
        )
    elif i.opening_area < n.area * (1 - 1e-9):
        given = (
            f"{i.text('opening_area')} each is not enough" if i.opening_area else "A box with no openings will not do"
        )
        found.verdict(
            "stop",
            f"{given}: it needs {n.openings}.",
            "Less air than that may let hydrogen gather until one spark lights it. Larger openings cost nothing.",
        )
    else:
        found.verdict(
            "ok",
            f"Openings of {i.text('opening_area')} each are large enough: {show(n.area, 'cm2')} each would do.",
            "That counts what is free: mesh takes part of the area away, and a long or bent hose slows the air. Keep "
            "both clear of mud, bags and bedding.",
        )


def judge_charger(i: Inputs, n: Need, fault: Need | None, found: Findings) -> None:
    """Say what overcharging does to the gas."""
    if i.charging == "unregulated":
        found.verdict(
            "stop" if n.sealed else "caution",
            "Do not charge a sealed battery from a charger that limits no voltage."
            if n.sealed
            else "Do not leave a charger that limits no voltage unwatched.",
            "It goes on pushing current into a full battery, which then only makes gas and heat"
            + (", and loses water that cannot be put back." if n.sealed else "."),
        )
        return
    if n.sealed:
        text = "A sealed battery gasses too when it is overcharged: do not rely on its name."
        because = "Its valves open when a hot battery or a charger's fault makes more gas than it can turn to water. "
    else:
        text = "A fault in the charger makes far more gas than is counted here."
        because = "Then most of the current only splits water. "
    if fault and fault.area > n.area:
        because += (
            "Should this charger fail so that it limits no voltage, each opening would need "
            f"{show(fault.area, 'cm2')}: make them that large if you can. "
        )
    found.verdict(
        "caution",
        text,
        because + "If the battery hisses, smells or is hot, stop charging it and let air in, with nothing that sparks.",
    )


def judge_box(i: Inputs, n: Need, found: Findings) -> None:
    """Say how the box of a battery that gasses is made."""
    found.verdict(
        "caution",
        "Nothing that can spark in the box: no relay, switch, fuse, plug, charger or flame.",
        f"A spark lights hydrogen. Keep such things {distance_text(i, n)} away through the air, or outside the closed "
        "box, with the cable's hole sealed. That holds for the fuse too: it goes outside, as near as it can.",
    )
    if i.box_volume is not None:
        found.verdict(
            "caution",
            f"Blocked, this box could hold an explosive mix after {found.values['closed_danger_after'].text}.",
            f"That is when hydrogen reaches {show(ventilation.constant('danger'), '%', 0)} of {i.text('box_volume')} "
            "of air, with the gas that the rule counts for an old or faulty battery. Look at the openings before each "
            "trip.",
        )
    if i.place in ("cabin", "vented_box"):
        found.verdict(
            "ok",
            "One opening low, one high on the opposite side, both to the outside, never into the living space.",
            "Hydrogen rises, so it leaves at the top and draws fresh air in below. Seal lid and cable holes towards "
            "the living space. AS/NZS 3001.2, as summarised on a public page, asks the same of lead-acid: vents at top "
            "and bottom, to the outside, sealed from the living area.",
        )
    if n.sealed:
        found.verdict(
            "ok",
            "Leave a finger's width of air around the battery, and room above it.",
            "Common practice, no source: a battery packed tight cannot shed its heat, and a hot sealed battery takes "
            "more current, which heats it further.",
        )
    else:
        found.verdict(
            "ok",
            "Stand it upright in a tray that acid does not eat.",
            "Common practice, no source: the tray holds what spills, and is not drained into the living space. Leave "
            "air around the battery, and room above it to "
            + ("open the caps." if i.chemistry == "flooded" else "reach the posts."),
        )


def judge_hold(i: Inputs, found: Findings) -> None:
    """Say how the battery is held."""
    found.verdict(
        "ok",
        "Strap or clamp it to the vehicle's structure so that it cannot move in a crash or a roll-over.",
        "Common practice, no source: a frame or edge that holds its foot on all sides, and a strap or clamp over it, "
        "bolted through structure, not to thin sheet or plywood alone. The lid, the box and the cables hold nothing. "
        "Cover both posts with insulating caps. No strength is computed here: the maker of the vehicle or a local rule "
        "may name one.",
    )


def compute_lithium(i: Inputs, found: Findings) -> None:
    """Answer for a lithium iron phosphate battery, for which no rule used here sizes openings."""
    cold, hot = charging.temperature_band("lfp", -60), charging.temperature_band("lfp", 300)
    limits = f"{show(cold['high'], 'degC', 0)} or above {show(hot['low'], 'degC', 0)}"
    found.value("opening_area_needed", None, text="no rule used here sizes it")
    found.value("gas_current", None, text="none in normal service")
    found.verdict(*lithium_place(i, limits))
    if i.charging == "unregulated":
        found.verdict(
            "stop",
            "Do not charge a lithium battery from a charger that limits no voltage.",
            f"A 12 V battery of this kind may not go above "
            f"{show(charging.stage_row('lfp', 'absorption_high')['value'], 'V', 1)}. Its own protection would have to "
            "cut it off each time, and that is the last resort.",
        )
    found.verdict(
        "ok",
        "Keep it from heat, and from charging in the cold: a place that follows neither engine nor night is best.",
        f"It must not be charged below {limits}. The cells count, not the air.",
    )
    found.step("Gas in normal service", "none; the standards for ventilation do not cover this type", "practice")
    found.step("Never charged in cold and heat", f"below {limits}", hot["source"], hot["where"])
    if i.place == "engine_bay":
        working_engine_bay(found)


def lithium_place(i: Inputs, limits: str) -> tuple[str, str, str]:
    """Return the verdict on where a lithium iron phosphate battery stands."""
    outward = (
        "The standard for ventilation does not cover it. If a cell fails, hot gas that burns and harms comes out of "
        "it, and it should go outside, not to where people sleep (common practice, no source)."
    )
    if i.place == "cabin":
        return (
            "caution",
            "It makes no gas in normal service, so nothing has to be sized; still give it a box that leads outside.",
            outward,
        )
    if i.place == "vented_box":
        return ("ok", "A closed box that leads outside suits it; no rule used here sizes the openings.", outward)
    if i.place == "load_bed":
        return (
            "ok",
            "An open load bed suits it, dry and in shade.",
            "It needs no air to carry gas away in normal service. Sun heats it and night cools it, and it must not be "
            f"charged below {limits}.",
        )
    if i.place == "engine_bay":
        return (
            "stop",
            "Do not put a lithium iron phosphate battery in an engine bay.",
            f"It must not be charged below {limits}, and a bay counts as "
            f"{show(cable.ENGINE_SPACE_AMBIENT, 'degC', 0)} or more (33 CFR 183.425).",
        )
    return (
        "caution",
        "Under the vehicle only in a case that keeps out water, mud and stones.",
        "Water in the case reaches its electronics. It is as cold there as outside, and it must not be charged below "
        f"{limits}. Mind the exhaust and the clearance to the ground.",
    )


def working(i: Inputs, n: Need, fault: Need | None, found: Findings) -> None:
    """Show how the numbers came about."""
    cells = charging.cells(i.chemistry)
    working_gas(i, n, found)
    found.step(
        f"Air that keeps hydrogen below {told('danger')} %: {told('hydrogen', 1000)} l of hydrogen for each Ah and "
        f"cell, thinned, with a safety factor of {told('safety')}: together {told('air_factor')} m³ of air",
        f"Q = {told('air_factor')} × {cells} cells × {show(n.current, 'A')} = {show(n.air, 'm3/h')}",
        "iec-62485-2",
        "air flow",
    )
    found.step(
        "Each of inlet and outlet, for air that moves at 0.1 m/s",
        f"A = {told('opening')} × {show(n.air, 'm3/h')} = {worked(n.area, 'cm2')}; "
        f"round: d = √(4·A/π) = {whole(n.area)}",
        "iec-62485-2",
        "opening area",
    )
    found.step(
        "Without openings of its own only in a large and well aired room, which a closed vehicle is not",
        f"V = {told('room')} h × {show(n.air, 'm3/h')} = {found.values['free_volume_needed'].text}",
        "iec-62485-2",
        "free volume",
    )
    old = ventilation.old_rule_air_flow(1, 1, "flooded")
    found.step(
        f"Cross-check: an old rule gives {show(old, 'm3/h', 2)} for each ampere and cell, a little more than above",
        f"{told('old_rule')} l/s × {cells} cells × {show(n.current, 'A')} = {show(old * cells * n.current, 'm3/h')}",
        "swedish-rule",
    )
    if i.charging == "boost":
        rate = ventilation.traction_gas_rate(n.kind, "iu")
        found.step(
            "Cross-check: the standard for traction, for a charger that holds the same voltage",
            f"{show(rate, 'mA/Ah')}, where {show(ventilation.gas_rate(n.kind, 'boost'), 'mA/Ah')} stands above",
            "iec-62485-3",
            "table of gas currents",
        )
    if fault and fault.area > n.area:
        found.step(
            f"Should the charger fail and limit no voltage: {told('unregulated', 100)} % of its rating makes gas",
            f"A = {told('opening')} × {told('air_factor')} × {cells} cells × {show(fault.current, 'A')} = "
            f"{worked(fault.area, 'cm2')}",
            "iec-62485-3",
            "charger without data",
        )
    if i.box_volume is not None:
        found.step(
            "A box that lets nothing out, evenly mixed",
            f"t = {i.text('box_volume')} × {told('danger')} % / ({told('hydrogen', 1000)} l/Ah × {cells} cells × "
            f"{show(n.current, 'A')}) = {found.values['closed_danger_after'].text}",
            "iec-62485-2",
            "air flow",
        )
    working_distance(i, n, found)
    if i.place == "engine_bay":
        working_engine_bay(found)


def working_gas(i: Inputs, n: Need, found: Findings) -> None:
    """Show which current makes gas."""
    hot = ventilation.heat_factor(i.battery_temperature)
    times = f" × {show(hot, '-', 2)}" if hot > 1 else ""
    if i.charging != "unregulated":
        rate = ventilation.gas_rate(n.kind, i.charging)
        volts = table("iec_62485_2").row(kind=n.kind, charging=i.charging)["cell_voltage"]
        found.step(
            f"Current that makes gas, {n.kind}, {WAYS[i.charging]} at {show(volts, 'V', 2)} per cell: with the "
            "table's factors for gas that leaves and for old cells. It counts 10-hour ampere-hours; the 20-hour label "
            "has a few more, which errs on the careful side",
            f"{show(rate, 'mA/Ah')} × {i.text('capacity')}{times} = {show(n.current, 'A')}",
            "iec-62485-2",
            "table of charge currents for gas",
        )
    elif i.charger_rating is not None:
        found.step(
            f"Current that makes gas, with no voltage limit: {told('unregulated', 100)} % of the charger's rating, "
            "in heat at most all of it",
            f"{told('unregulated')} × {i.text('charger_rating')}{times} → {show(n.current, 'A')}",
            "iec-62485-3",
            "charger without data",
        )
    else:
        rate = ventilation.traction_gas_rate("flooded", "w")
        found.step(
            "Current that makes gas, with no voltage limit and the rating not known: the highest of the table, which "
            "is for flooded batteries and is taken for sealed ones too",
            f"{show(rate, 'mA/Ah')} × {i.text('capacity')}{times} = {show(n.current, 'A')}",
            "iec-62485-3",
            "table of gas currents",
        )
    if hot > 1:
        found.step(
            f"Heat above {show(ventilation.constant('hottest'), 'degC', 0)}, at equal voltage",
            f"e^({show(charging.constant('gas_per_degree'))} × (T − {told('hottest')} °C)) = {show(hot, '-', 2)}",
            "schiffer-2007",
            "gassing equation",
        )


def working_distance(i: Inputs, n: Need, found: Findings) -> None:
    """Show how far sparks have to stay away."""
    cells = charging.cells(i.chemistry)
    found.step(
        "Distance to what sparks, by the standard for stationary batteries; its formula is from memory",
        f"d = {told('distance')} mm × ∛({cells} cells × {show(1000 * n.current, '-')} mA) = "
        f"{worked(ventilation.safety_distance(cells, n.current), 'm', 2)}",
        "memory",
    )
    found.step(
        "The same by the standard for traction; the larger counts",
        f"d ≥ {show(ventilation.constant('traction_distance'), 'm')}",
        "iec-62485-3",
        "safety distance",
    )


def working_engine_bay(found: Findings) -> None:
    """Show what heat an engine bay counts as."""
    found.step("Heat an engine bay counts as", f"{show(cable.ENGINE_SPACE_AMBIENT, 'degC', 0)} at least", "cfr-183-425")


CHECK = Check(
    id="battery-box",
    title="Battery box",
    question="What air and what hold does this battery need?",
    about="A lead-acid battery gives off hydrogen while it is charged, a sealed one too when something goes wrong. "
    "The gas must get out, never to where people sleep; and the battery must stay where it is in a crash. Openings are "
    "sized here by the standard for stationary batteries, as none was found for touring vehicles that gives numbers.",
    task="vehicle",
    fields=(
        CHEMISTRY,
        PLACE,
        CHARGING,
        replace(CAPACITY, help="The ampere-hours on the label; of all that stand together, added up", default=None),
        replace(
            BATTERY_TEMPERATURE,
            help="The hottest it gets there; the standard's numbers hold to 40 °C, and more is added above",
        ),
        Number(
            "opening_area",
            "Area of each opening",
            "The smaller of inlet and outlet, free of mesh; 0 if there are none. Left blank, it is worked out",
            "",
            "8 cm2",
            "opening",
            0,
            5000,
        ),
        Number(
            "box_volume",
            "Air in the box",
            "Inside length × width × height in cm, divided by 1000, less the battery's own size",
            "",
            "12 l",
            "volume",
            1,
            5000,
        ),
        Number(
            "charger_rating",
            "Charger's rating",
            "Printed on it; tells what would happen if it failed to limit its voltage",
            "",
            "25 A",
            "current",
            0.5,
            600,
        ),
    ),
    outputs=(
        Output("opening_area_needed", "opening", "Each of two openings"),
        Output("opening_diameter", "diameter", "Round, inner diameter", always=False),
        Output("air_flow", "air_flow", "Air that must pass", always=False),
        Output("gas_current", "current", "Current that makes gas"),
        Output("opening_area_at_fault", "opening", "Each opening if the charger fails", always=False),
        Output("closed_danger_after", "hours", "Blocked, the box is explosive after", always=False),
        Output("safety_distance", "distance", "Keep sparks away", always=False),
        Output("free_volume_needed", "volume", "A well aired room without openings", always=False),
    ),
    compute=compute,
    example={
        "chemistry": "agm",
        "place": "vented_box",
        "charging": "boost",
        "capacity": "100 Ah",
        "battery_temperature": "35 degC",
        "opening_area": "8 cm2",
        "box_volume": "12 l",
        "charger_rating": "25 A",
    },
    example_story="An AGM battery of 100 Ah stands behind the seats in a closed box with two pipes of 8 cm² to the "
    "outside; a charger of 25 A fills it.",
    cases=(
        Cases(
            "Area of each of two openings, battery up to 40 °C",
            tuple((f"{c}\u00a0Ah", {"capacity": f"{c} Ah"}) for c in (50, 75, 100, 150, 200, 300)),
            (
                ("Flooded, charging", {"chemistry": "flooded", "charging": "boost"}),
                ("Flooded, float", {"chemistry": "flooded", "charging": "float"}),
                ("AGM or gel, charging", {"chemistry": "agm", "charging": "boost"}),
                ("AGM or gel, float", {"chemistry": "agm", "charging": "float"}),
            ),
            "opening_area_needed",
            {"place": "vented_box"},
        ),
        Cases(
            "The same as round holes, inner diameter",
            tuple((f"{c}\u00a0Ah", {"capacity": f"{c} Ah"}) for c in (50, 75, 100, 150, 200, 300)),
            (
                ("Flooded, charging", {"chemistry": "flooded", "charging": "boost"}),
                ("AGM or gel, charging", {"chemistry": "agm", "charging": "boost"}),
            ),
            "opening_diameter",
            {"place": "vented_box"},
        ),
    ),
    guides=("box-gas-and-heat",),
    starts={
        "chemistry": starts.at("second", "chemistry"),
        "place": starts.at("second", "place"),
        "capacity": starts.bank_capacity,
        "battery_temperature": starts.at("second", "heat"),
        "charger_rating": starts.charger_rating,
    },
)
