"""The set-up's declaration: the parts of a vehicle's electrics, and what is asked of each.

The fields are of the same kinds as a check's. None has to be filled: what nobody knows stands for a usual value, which
`calc/tables/set_up_assumptions.csv` holds under "<part>.<field>", with its spread and how to find it out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from calc.fields import Choice, Field, Number, Text, yes_no
from calc.shared_fields import CAPACITY, CHEMISTRY, ENGINES, INSULATION, LENGTH, SIZE


@dataclass(frozen=True)
class Part:
    """A part of a set-up.

    Attributes
    ----------
    key : its name in files and on the command line
    title : what a reader calls it
    about : the question above its fields
    fields : what is asked of it, the telling ones first
    many : how many of it a vehicle may have; 1 for a part that every vehicle has once
    first : names of the fields that are asked at first; the others wait until detail is wanted
    when : field name → the choice it hangs on, as (field, keys): asked only where that holds
    """

    key: str
    title: str
    about: str
    fields: tuple[Field, ...]
    many: int = 1
    first: tuple[str, ...] = ()
    when: Mapping[str, tuple[str, tuple[str, ...]]] = field(default_factory=dict)

    def field(self, name: str) -> Field:
        """Return the field of that name."""
        return next(f for f in self.fields if f.name == name)


def open_(known: Field, **changes) -> Field:
    """Return a check's field as the set-up asks it: it may stay unknown."""
    return replace(known, default="", unknown="not known", **changes)


def number(name, label, help, example, quantity_name, low, high) -> Number:
    """Return a number that may stay unknown."""
    return Number(name, label, help, "", example, quantity_name, low, high)


def choice(name, label, help, options) -> Choice:
    """Return a choice that may stay unknown."""
    return Choice(name, label, help, "", options[0][0], options)


def yes(name, label, help) -> Choice:
    """Return a question of yes or no that may stay unknown."""
    return replace(yes_no(name, label, help), default="")


HEALTH = number(
    "health",
    "Capacity left",
    "Of its rated capacity, by a battery tester or a discharge with a meter",
    "80 %",
    "share",
    20,
    100,
)
NAME = Text("name", "Name", "What you call it", "", "Fridge")

VEHICLE = Part(
    "vehicle",
    "Vehicle",
    "How does the current come back, and where is it hot?",
    (
        choice(
            "earth_path",
            "The way back to the starter battery",
            "A second cable beside the first, or the vehicle's metal body",
            (("cable", "By cable"), ("body", "By the body")),
        ),
        choice("engine", "Engine", "It decides what a start takes", ENGINES),
        number(
            "engine_bay_heat",
            "Heat in the engine bay",
            "The air around a cable there, driving slowly on a hot day",
            "60 degC",
            "temperature",
            0,
            120,
        ),
        number("ambient", "Hottest air outside", "On the hottest day you drive", "35 degC", "temperature", -30, 60),
    ),
    first=("earth_path",),
)

ALTERNATOR = Part(
    "alternator",
    "Alternator",
    "What charges while the engine runs?",
    (
        choice(
            "kind",
            "Kind",
            "Built since about 2015, or with a sensor on the battery's negative post: likely smart",
            (
                ("fixed", "Fixed voltage"),
                ("compensating", "Falls as it warms"),
                ("smart", "Smart, run by the engine computer"),
            ),
        ),
        number(
            "set_point",
            "Voltage it holds",
            "At the starter battery, engine warm and fast, lights off",
            "14.2 V",
            "voltage",
            12,
            16,
        ),
        number("rated_output", "Rated output", "On its plate, or in the handbook", "90 A", "current", 10, 400),
        number(
            "idle_output",
            "Output at idle",
            "Rarely stated; about a third of the rated output",
            "35 A",
            "current",
            0,
            300,
        ),
    ),
    first=("kind",),
)

STARTER = Part(
    "starter",
    "Starter battery",
    "Which battery starts the engine?",
    (
        open_(CHEMISTRY, label="Type"),
        open_(CAPACITY),
        number("age", "Age", "Since it was new", "3 years", "years", 0, 40),
        HEALTH,
        number(
            "cold_cranking",
            "Cold cranking current",
            "On its label in amperes, beside EN, SAE or CCA",
            "640 A",
            "current",
            100,
            2000,
        ),
    ),
)

SECOND = Part(
    "second",
    "Second battery",
    "Which battery do you live from?",
    (
        open_(CHEMISTRY, label="Type"),
        open_(CAPACITY),
        choice(
            "place",
            "Where it stands",
            "Heat and ventilation follow from it",
            (
                ("cabin", "Inside the vehicle"),
                ("engine_bay", "In the engine bay"),
                ("load_bed", "Load bed or trailer"),
                ("under", "Under the vehicle"),
            ),
        ),
        number("age", "Age", "Since it was new", "2 years", "years", 0, 40),
        HEALTH,
        number("heat", "Hottest it gets there", "Of the air around it on a hot day", "35 degC", "temperature", -30, 80),
    ),
    many=3,
    first=("chemistry", "capacity", "place"),
)

LINK = Part(
    "link",
    "Link",
    "What joins the starter battery and the second one?",
    (
        choice(
            "kind",
            "Kind",
            "Follow the thick cable from one to the other and see what it passes through",
            (
                ("none", "Nothing: charged elsewhere"),
                ("wire", "Wired straight through"),
                ("switch", "A switch turned by hand"),
                ("relay", "A voltage-sensitive relay"),
                ("charger", "A DC-DC charger"),
            ),
        ),
        number("rating", "Rated current", "Printed on it", "25 A", "current", 1, 500),
        number("connects_at", "Connects at", "In its leaflet", "13.3 V", "voltage", 12, 15),
        number("disconnects_at", "Disconnects at", "In its leaflet", "12.8 V", "voltage", 11, 14.5),
        number("delay", "Delay before it acts", "In its leaflet", "10 s", "duration", 0, 600),
        number(
            "input_limit",
            "Most it draws at its input",
            "In its leaflet; more than its output, as it has losses",
            "32 A",
            "current",
            1,
            600,
        ),
        choice(
            "profile",
            "Battery it is set for",
            "Its switches or its app say for which battery it charges",
            CHEMISTRY.options,
        ),
        yes("ignition_sense", "Ignition wire", "A thin wire that tells it the engine runs"),
        yes("temperature_sensor", "Battery temperature sensor", "A thin lead with a ring on the battery's post"),
        number(
            "solar_input", "Solar input", "The most sun it takes, if it has an input for it", "200 W", "power", 0, 3000
        ),
    ),
    many=3,
    first=("kind", "rating"),
    when={
        "rating": ("kind", ("switch", "relay", "charger")),
        "connects_at": ("kind", ("relay",)),
        "disconnects_at": ("kind", ("relay",)),
        "delay": ("kind", ("relay",)),
        "input_limit": ("kind", ("charger",)),
        "profile": ("kind", ("charger",)),
        "ignition_sense": ("kind", ("charger",)),
        "temperature_sensor": ("kind", ("charger",)),
        "solar_input": ("kind", ("charger",)),
    },
)

RUN = Part(
    "run",
    "Cable",
    "How does the cable run? One piece for each stretch of the same cable, from the starter battery on.",
    (
        open_(LENGTH, label="Length one way"),
        open_(SIZE, label="Size"),
        choice(
            "zone",
            "Where it lies",
            "The hottest place it passes",
            (("engine_bay", "Engine bay"), ("under", "Under the body"), ("cabin", "Inside the vehicle")),
        ),
        open_(INSULATION),
        number("fuse", "Fuse at its start", "Printed on the fuse; 0 if there is none", "40 A", "current", 0, 600),
        number(
            "end_fuse",
            "Fuse at its end",
            "Of the last piece, at the second battery; 0 if there is none",
            "40 A",
            "current",
            0,
            600,
        ),
        number("joints", "Joints", "Crimps, bolts, plugs and fuse holders, there and back", "4", "number", 0, 100),
    ),
    many=6,
    first=("length", "size", "zone"),
)

LOAD = Part(
    "load",
    "Load",
    "What draws current? One for each: fridge, lights, chargers, pump.",
    (
        NAME,
        number(
            "current",
            "Current while it runs",
            "On its plate: watts divided by 12 are amperes",
            "4 A",
            "current",
            0,
            500,
        ),
        choice(
            "use",
            "How it runs",
            "A fridge runs by turns; lamps for some hours; a tracker always",
            (
                ("steady", "Always"),
                ("timed", "Some hours a day"),
                ("duty", "By turns, as a fridge"),
                ("burst", "Big and short, on an inverter"),
            ),
        ),
        number("hours", "Time a day", "On a usual day; minutes will do: 15 min", "4 h", "hours", 0, 24),
        number("power", "Power on its plate", "Of what hangs on the inverter", "1000 W", "power", 0, 5000),
        number(
            "duty",
            "Share of the time it runs",
            "Watch it for an hour: minutes running of sixty",
            "35 %",
            "share",
            0,
            100,
        ),
        choice(
            "battery",
            "Runs from",
            "Follow its cable, or switch the second battery off and see",
            (("second", "The second battery"), ("starter", "The starter battery")),
        ),
    ),
    many=12,
    first=("name", "use", "current", "hours", "power", "duty"),
    when={
        "current": ("use", ("steady", "timed", "duty")),
        "hours": ("use", ("timed", "burst")),
        "power": ("use", ("burst",)),
        "duty": ("use", ("duty",)),
    },
)

SUN = Part(
    "sun",
    "Solar panel",
    "Is there a solar panel or blanket? One for each; none if there is none.",
    (
        number("power", "Rated power", "On its plate", "160 W", "power", 1, 3000),
        number("tilt", "Tilt", "0 lies flat on the roof", "0 deg", "angle", 0, 90),
        number(
            "shade",
            "Sun lost to shade and dirt",
            "Of a day's sun; under trees it is most of it",
            "10 %",
            "share",
            0,
            100,
        ),
        number("latitude", "Latitude of the trip", "South is negative", "57 deg", "angle", -70, 72),
    ),
    many=4,
    first=("power",),
)

MAINS = Part(
    "mains",
    "Mains charger",
    "Does a charger fed from the mains stay in the vehicle?",
    (
        yes("fitted", "Fitted", "Fed from a socket at a camp site or at home"),
        number("rating", "Rated current", "Printed on it", "15 A", "current", 0.5, 200),
        choice("profile", "Battery it is set for", "Its switch says for which battery it charges", CHEMISTRY.options),
    ),
    first=("fitted",),
    when={"rating": ("fitted", ("yes",)), "profile": ("fitted", ("yes",))},
)

PARTS = (VEHICLE, ALTERNATOR, STARTER, SECOND, LINK, RUN, LOAD, SUN, MAINS)
"""All parts, in the order a file holds them."""

ASKED = ("second", "link", "alternator", "run", "load", "vehicle", "starter", "sun", "mains")
"""The same, in the order a person can answer them."""
