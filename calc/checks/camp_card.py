"""What do the readings of this vehicle mean at camp, how long does it last, and what brings it back?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output, Sheet
from calc.checks import energy_budget, fault_finder, resting_voltage, trips
from calc.checks import fault_words as words
from calc.checks.commissioning_sheet import name, should
from calc.checks.resting_voltage import EMPTY, hours_text
from calc.checks.trip import STARTER_KEEPS
from calc.glossary import quantity
from calc.legs import Journey, Leg
from calc.physics import faults, peukert
from calc.physics.battery import RATED_HOURS, Battery
from calc.physics.charging import BASE_TEMPERATURE, stage_voltage
from calc.physics.expected import expected, middle
from calc.physics.rest_voltage import voltage_at_rest
from calc.physics.trip import Point
from calc.setup import starts
from calc.setup.vehicle import bank, panels, value
from calc.shared_fields import LEAD_ACID
from calc.tables import assumption, table
from calc.units import show

STEPS = (100, 90, 80, 70, 60, 50, 40, 30, 20)
"""Charges that the card has a line for [%]."""

ENOUGH = 90
"""Up to this a battery is brought back; the last tenth takes many hours more [%]."""

LONGEST_DRIVE = 12.0
"""Driving that is followed [h]."""

WEATHER = trips.Weather(50.0, 172, 9.0, "half", 10.0, 22.0)
"""Of the drive: a mild day, from nine in the morning."""

STARTER_CHARGE = 90.0
"""Of the starter battery as the drive begins [%]."""

READ = (
    ("starter", "running"), ("second", "running"), ("second", "running-load"), ("second", "load-on"),
    ("front-fuse", "running"), ("rear-fuse", "running"), ("second-earth", "running"), ("second-drain", "rested"),
)  # fmt: skip
"""Readings that tell most at camp."""

NO = "–"
"""A cell with nothing to say."""


@dataclass(frozen=True)
class Card:
    """What the card is made of.

    Attributes
    ----------
    i : what was asked
    battery : all second batteries as one
    load : drawn on average; None where nothing is entered [A]
    stop : charge to stop at [%]
    """

    i: Inputs
    battery: Battery
    load: float | None
    stop: float

    @property
    def chemistry(self) -> str:
        """The second battery's type."""
        return self.battery.chemistry

    @property
    def capacity(self) -> float:
        """What it holds at its age [Ah]."""
        return self.battery.capacity * self.battery.health

    @property
    def vehicle(self) -> faults.Vehicle:
        """The vehicle as its readings follow from it."""
        s = self.i.set_up
        return fault_finder.vehicle(
            s, value(s, "link", 0, "kind"), value(s, "vehicle", 0, "earth_path"), self.chemistry
        )

    def rests_at(self, charge: float) -> float:
        """Return the voltage at rest at a charge, after use [V]."""
        return voltage_at_rest(charge, self.chemistry, "load")

    def lasts(self, charge: float) -> float | None:
        """Return how long the load runs from a charge down to where to stop; None where no time can be given [h]."""
        if not self.load:
            return None
        exponent = assumption(f"peukert_{self.chemistry}")["value"]
        hours = peukert.lasts(self.capacity, RATED_HOURS, self.load, exponent, max(0.0, charge - self.stop))
        return hours if hours <= quantity("hours").high else None

    @property
    def endless(self) -> str:
        """Why no time can be given."""
        return "many months: its own losses take more than this load" if self.load else "no load is entered"

    @cached_property
    def reached(self) -> dict[int, float]:
        """When driving first brings the battery to each charge, from the lowest on, without sun [h]."""
        s = self.i.set_up
        if value(s, "link", 0, "kind") == "none":
            return {}
        alone = replace(s, entries={key: several for key, several in s.entries.items() if key != "sun"})
        asked = trips.Question(Journey((Leg("drive", LONGEST_DRIVE),)), WEATHER, float(STEPS[-1]), STARTER_CHARGE)
        points = trips.follow(alone, asked, trips.with_progress(0.0, 1.0, "Driving")).run.points
        times = {c: first_at(points, c) for c in {*STEPS, ENOUGH, round(self.stop)}}
        return {charge: time for charge, time in times.items() if time is not None}

    def driven(self, charge: int) -> float | None:
        """Return how long to drive from a charge until it is enough; None where that is too long [h]."""
        if charge >= ENOUGH:
            return 0.0
        ends = self.reached.get(charge), self.reached.get(ENOUGH)
        return None if None in ends else ends[1] - ends[0]

    @cached_property
    def sun_current(self) -> float:
        """What the panels give in full sun beyond the load [A]."""
        watts = sum(p.rated * (1 - p.lost) * p.efficiency for p in panels(self.i.set_up))
        return watts / stage_voltage(self.chemistry, "absorption_low", BASE_TEMPERATURE) - (self.load or 0.0)

    def shone(self, charge: float) -> float | None:
        """Return the hours of full sun from a charge until it is enough; None where the sun does not bring that [h]."""
        if charge >= ENOUGH:
            return 0.0
        return self.capacity * (ENOUGH - charge) / 100 / self.sun_current if self.sun_current > 0 else None


def first_at(points: Sequence[Point], charge: float) -> float | None:
    """Return when the second battery first has a charge, straight between the points of a run [h]; None if never."""
    for one, other in zip(points, points[1:], strict=False):
        if one.second >= charge:
            return one.time
        if other.second >= charge:
            return one.time + (other.time - one.time) * (charge - one.second) / (other.second - one.second)
    return None


def card(i: Inputs) -> Card:
    """Return what the card is made of."""
    battery = bank(i.set_up)
    load = i.load
    if load is None:
        usual = starts.usual_load(i.set_up)
        load = usual and float(usual.text.partition(" ")[0])
    usual_stop = assumption("stop_lead_acid" if battery.chemistry in LEAD_ACID else "stop_lfp")["value"]
    return Card(i, battery, load, usual_stop if i.keep is None else i.keep)


def compute(i: Inputs, found: Findings) -> None:
    """Fill in the card."""
    c = card(i)
    record(c, found)
    judge(c, found)
    found.sheets += [by_voltage(c), stops(c), to_read(c), about(c)]
    working(c, found)
    found.caution(cautions.SHORT_CIRCUIT)
    found.caution(cautions.GAS if c.chemistry in LEAD_ACID else cautions.LITHIUM_COLD)
    found.caution(cautions.HOT_BATTERY, cautions.EXHAUST, cautions.LOCAL_CODE)


def time_text(hours: float | None, otherwise: str = NO) -> str:
    """Return hours in words, or what stands where there are none."""
    return otherwise if hours is None else hours_text(hours, hours)


def record(c: Card, found: Findings) -> None:
    """Record the values of the answer."""
    found.value("stop_charge", c.stop)
    found.value("stop_voltage", c.rests_at(c.stop), text=f"{show(c.rests_at(c.stop), 'V', 2)} at rest")
    found.value("load", c.load, text=None if c.load else "none is entered")
    found.value("usable", c.capacity * (100 - c.stop) / 100)
    found.value("hours_left", c.lasts(100), text=time_text(c.lasts(100), c.endless))
    found.value("drive_hours", c.driven(round(c.stop)), text=time_text(c.driven(round(c.stop)), no_drive(c)))
    found.value("sun_hours", c.shone(c.stop), text=time_text(c.shone(c.stop), no_sun(c)))


def no_drive(c: Card) -> str:
    """Say why no time of driving is given."""
    if value(c.i.set_up, "link", 0, "kind") == "none":
        return "driving does not charge it"
    return f"not within {show(LONGEST_DRIVE, 'h')}"


def no_sun(c: Card) -> str:
    """Say why no time of sun is given."""
    return "the load takes all of it" if c.i.set_up.count("sun") else "there is no panel"


def judge(c: Card, found: Findings) -> None:
    """Say how long it lasts, where to stop, and what brings it back."""
    stop = f"Stop at {show(c.rests_at(c.stop), 'V', 2)} at rest, which is {show(c.stop, '%', 0)}."
    if c.lasts(100):
        found.verdict("ok", f"Full, it lasts {time_text(c.lasts(100))} at {show(c.load, 'A')}.", stop)
    else:
        found.verdict("ok", stop, f"No hours are given: {c.endless}.")
    back = c.driven(round(c.stop))
    if back is None:
        found.verdict(
            "caution",
            f"Driving does not bring it back to {show(ENOUGH, '%', 0)}: {no_drive(c)}.",
            "Plug in, or use the sun. The question how the second battery should be charged says what else helps.",
        )
    else:
        found.verdict(
            "ok",
            f"From there {time_text(back)} of driving bring it to {show(ENOUGH, '%', 0)}.",
            "The last tenth takes many hours more; a lead-acid battery wants it about once a week."
            if c.chemistry in LEAD_ACID
            else "A lithium battery need not be full.",
        )
    if c.chemistry == "lfp":
        found.verdict(
            "caution",
            "A lithium battery tells its charge by voltage only near its ends.",
            "Between 30 and 90 % its voltage hardly moves: count ampere-hours, and take the table as a hint.",
        )


def resting(c: Card, charge: int) -> str:
    """Return the voltage at rest at a charge in words; a full lithium battery has no one voltage."""
    if charge == STEPS[0] and c.chemistry == "lfp":
        return f"above {show(c.rests_at(STEPS[1]), 'V', 2)}"
    return show(c.rests_at(charge), "V", 2)


def by_voltage(c: Card) -> Sheet:
    """Return what each resting voltage means."""
    has_sun = c.i.set_up.count("sun") > 0
    rows = tuple(
        (
            resting(c, charge),
            show(charge, "%", 0),
            time_text(c.lasts(charge)) if charge > c.stop else "stop",
            time_text(c.driven(charge)) if charge < ENOUGH else NO,
            *((time_text(c.shone(charge)) if charge < ENOUGH else NO,) if has_sun else ()),
        )
        for charge in STEPS
    )
    load = f" at {show(c.load, 'A')}" if c.load else ""
    return Sheet(
        "Charge by voltage at rest",
        ("At rest", "Charge", "Lasts", "Drive", *(("Full sun",) if has_sun else ())),
        rows,
        "Second battery, on its own posts, everything off for 8 h or more. Lasts: down to "
        f"{show(c.stop, '%', 0)}{load}. "
        f"Drive{', full sun' if has_sun else ''}: up to {show(ENOUGH, '%', 0)}, the loads on.",
    )


def stops(c: Card) -> Sheet:
    """Return the voltages at which to stop."""
    loaded = faults.read(faults.at_points(middle(c.vehicle, c.stop), "load-on"), "second")
    starter = value(c.i.set_up, "starter", 0, "chemistry")
    family = "lead_acid" if c.chemistry in LEAD_ACID else "lfp"
    too_high = next(
        row["above"] for row in table("odd_readings").rows if row["meaning"] == "overcharge" and row["family"] == family
    )
    flat = "as good as empty: charge it today, or it is spoilt"
    if c.chemistry not in LEAD_ACID:
        flat = "as good as empty: its own protection is about to cut off"
    rows = (
        ("Second battery at rest", show(c.rests_at(c.stop), "V", 2), f"{show(c.stop, '%', 0)} left: stop, and charge"),
        ("Second battery, all loads on", show(loaded, "V", 2), "about the same charge: switch off what you can"),
        ("Second battery at rest", show(c.rests_at(EMPTY), "V", 2), flat),
        ("Anything that charges it", f"above {show(too_high, 'V', 1)}", "stop the engine or unplug the charger"),
        (
            "Starter battery at rest",
            show(voltage_at_rest(STARTER_KEEPS, starter, "load"), "V", 2),
            f"{show(STARTER_KEEPS, '%', 0)} left: take all off it, and start the engine soon",
        ),
    )
    return Sheet("Stop at", ("Where", "Reads", "What it means"), rows)


def to_read(c: Card) -> Sheet:
    """Return what to read where, and what it should say."""
    found = expected(c.vehicle)
    rows = tuple((name(key), should(key, found[key])) for key in READ if key in found)
    return Sheet(
        "What to read, and what it should say",
        ("Where", "Should read"),
        rows,
        f"Fuses and earths: red probe on one side, black on the other. {words.STATES['running'].how}",
    )


def about(c: Card) -> Sheet:
    """Return which vehicle it is."""
    s = c.i.set_up

    def told(part: str, name: str) -> str:
        known = s.known(part, 0, name)
        return f"{known.entry.text}{', assumed' if known.assumed else ''}"

    missing = len(s.missing())
    rows = (
        ("Set-up", s.name or "a usual vehicle"),
        ("Second battery", f"{told('second', 'chemistry')}; {show(c.battery.capacity, 'Ah')}, of which "
            f"{show(c.capacity, 'Ah')} count at its age"),
        ("Joined by", told("link", "kind")),
        ("Usual load", show(c.load, "A") if c.load else "none is entered"),
        ("Assumed", f"{missing} entries" if missing else "nothing"),
    )  # fmt: skip
    return Sheet("This vehicle", ("What", "Entry"), rows)


def working(c: Card, found: Findings) -> None:
    """Show how the numbers came about."""
    k = assumption(f"peukert_{c.chemistry}")
    found.step(
        "Hours: plain division up to the 20-hour current, Peukert's law above",
        f"{show(c.capacity, 'Ah')} × ({show(100, '%', 0)} − {show(c.stop, '%', 0)}), k = {show(k['value'], '-', 2)}: "
        f"{time_text(c.lasts(100), c.endless)}",
        "peukert-1897",
    )
    found.step(
        f"Driving, followed from {STEPS[-1]} % on for {show(LONGEST_DRIVE, 'h')} of a mild day, loads on and no sun",
        f"{show(c.stop, '%', 0)} to {show(ENOUGH, '%', 0)}: {time_text(c.driven(round(c.stop)), no_drive(c))}",
        "manwell-1993",
    )
    found.step(
        "Full sun: what the panels give by their plates, less dirt, shade and the controller's losses, less the load",
        f"{show(max(c.sun_current, 0.0), 'A')} into {show(c.capacity, 'Ah')}",
        "practice",
    )
    found.step(
        "Voltage at rest by the curve of this type, at about 25 °C, after use",
        f"{show(c.stop, '%', 0)} is {show(c.rests_at(c.stop), 'V', 2)}",
        {"flooded": "bci", "agm": "agm-vehicle", "lfp": "simses-lfp"}.get(c.chemistry, "memory"),
    )


CHECK = Check(
    id="camp-card",
    title="Camp card",
    question="What do my readings mean at camp, and what brings the battery back?",
    about="One card for your own vehicle: what each voltage means, how long it lasts, how long to drive, what to read "
    "where, and where to stop. It is kept with your set-up, and is there at once, even before the calculator has "
    "started.",
    task="camp",
    fields=(
        replace(
            resting_voltage.CHECK.field("load"),
            label="Usual load",
            help="What draws on average over a day; a fridge that runs half the time counts half",
            unknown="as in the set-up",
        ),
        replace(energy_budget.CHECK.field("keep"), label="Charge to stop at"),
    ),
    outputs=(
        Output("stop_charge", "charge", "Stop at"),
        Output("stop_voltage", "voltage", "Which is"),
        Output("load", "current", "Usual load"),
        Output("usable", "capacity", "To use, from full"),
        Output("hours_left", "hours", "Lasts, from full"),
        Output("drive_hours", "hours", "To drive from there"),
        Output("sun_hours", "hours", "Or hours of full sun"),
    ),
    compute=compute,
    example={"load": "2.5 A"},
    example_story="A usual vehicle at camp: a fridge, lights and phones, 2.5 A on average.",
    cases=(
        Cases(
            "How long a usual vehicle's battery lasts from full, by load and by where you stop",
            tuple((f"{amps}\u00a0A", {"load": f"{amps} A"}) for amps in ("1", "2", "4", "8")),
            tuple((f"Stop at {stop}\u00a0%", {"keep": f"{stop} %"}) for stop in ("60", "50", "30")),
            "hours_left",
        ),
    ),
    guides=("reading-a-battery", "flat-at-camp", "voltage-drops"),
    starts={"load": starts.usual_load},
    whole=True,
    prints=("page", "pocket"),
    keeps=True,
)
